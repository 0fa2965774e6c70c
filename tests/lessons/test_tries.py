"""What is to be tried after a lesson, answered by hand from made figures and by the runs."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import pytest

from sim.lessons.lesson import Studied
from sim.lessons.names import NAMES, lesson


def tried(studied: Studied, made: Sequence[Mapping[str, Any]]) -> tuple[str, ...]:
    """The answer, with these figures in the rows of the first things that were tried, and no others."""
    rows = tuple({**row, **each} for row, each in zip(studied.tries, made, strict=False))
    return replace(studied, tries=rows).told("si").tried


def test_the_fewest_minutes_of_rinse_are_those_from_which_on_a_tenth_is_left(rinsed: Studied) -> None:
    """The lengths of the lesson leave 12.9 g, 1.1 g and less; made ones of 1 and 2 minutes leave more or less."""
    first = rinsed.rows[0]["dirty_water_g_a_wash"]
    none, some = {"dirty_water_g_a_wash": 0.11 * first}, {"dirty_water_g_a_wash": 0.09 * first}
    assert tried(rinsed, (none, none))[0].startswith("The fewest whole minutes are 3:")
    assert tried(rinsed, (none, some))[0].startswith("The fewest whole minutes are 2:")
    assert tried(rinsed, (some, some))[0].startswith("The fewest whole minutes are 1:")


def test_half_the_backwash_leaves_more_in_the_bed_whatever_the_rinse(rinsed: Studied) -> None:
    half, whole = rinsed.tries[-1], rinsed.rows[-1]
    assert (half["half"], half["rinse_min"]) == (True, whole["rinse_min"])
    assert half["left_g_m2"] > 1.5 * whole["left_g_m2"]
    area = rinsed.stage.vessel.area
    assert f"leaves {half['left_g_m2'] * area:.0f} g in the bed instead of {whole['left_g_m2'] * area:.0f} g" in (
        rinsed.told("si").tried[1])  # fmt: skip


def test_the_first_set_point_that_is_worse_than_the_calendar(stormed: Studied) -> None:
    calendar = stormed.rows[0]["over_limit_h"]
    made = [{"over_limit_h": calendar + more} for more in (-2.0, -1.0, 0.0, 1.0, 2.0, 3.0, 4.0)]
    assert "36 kPa is the first set point" in tried(stormed, made)[0]


def test_the_least_spacing_is_the_one_behind_the_last_wait(staggered: Studied) -> None:
    made = [{"waits": waits} for waits in (9, 0, 3, 0, 0)]  # of 15 to 35 minutes
    assert "30 minutes is the least spacing" in tried(staggered, made)[1]


def test_the_reserve_goes_down_until_the_limit_is_not_kept(softened: Studied) -> None:
    salt, over = softened.rows[-1]["salt_kg"], softened.rows[-1]["hardness_over_h"]
    made = [{"salt_kg": salt - 40.0, "hardness_over_h": over}, {"hardness_over_h": over + 2.0}]
    saved, little = tried(softened, [*made, *({"hardness_over_h": 0.0} for _ in range(6))])
    assert "reserve of 38.9 m3 instead of 41.0 m3 the softener takes 40" in saved  # 0.95 * 41 = 38.95
    assert little.startswith("A reserve of 36.9 m3 is too little")


def test_washes_a_year_that_a_longest_run_adds(stuck: Studied) -> None:
    """A wash every 2 days instead of every 3.024: 182.5 instead of 120.7 a year."""
    assert stuck.rows[-1]["by_meter_d"] == pytest.approx(3.024, abs=1e-3)
    assert tried(stuck, [{"by_meter_d": 2.0}])[1].endswith(": 62.")
    assert stuck.told("si").tried[1].endswith(": 0.")


def test_a_longer_wash_of_too_little_flow_does_not_make_up_for_it(warmed: Studied) -> None:
    strong, weak, (long,) = warmed.rows[2], warmed.rows[3], warmed.tries
    assert strong["residual_kg_m3"] < long["residual_kg_m3"] < weak["residual_kg_m3"]


@pytest.mark.parametrize("name", NAMES)
def test_every_lesson_answers_what_is_to_be_tried(name: str) -> None:
    found = lesson(name)
    answer = found.study().told("us").tried
    assert answer
    assert all(each.endswith(".") for each in answer)
