"""Exact: the range of every setting, worked out by hand from a small plant with two vessels in parallel."""

from dataclasses import replace

import pytest

from sim.case.quantities import QUANTITIES
from sim.case.stage.records import Stage
from sim.case.train.records import Vessels
from sim.case.trigger.records import AnyOf, Calendar, Trigger, VolumeReserve
from sim.review.site import Site, site_of
from sim.study.settable import (
    RANGES,
    Range,
    TriggerPart,
    around,
    least_rinse,
    longest_of,
    step_by_hand,
    step_range,
    trigger_ranges,
    trigger_settings,
)
from tests.plant.builders import DAY, FILTER, HOUR, M3_H, MINUTE, PRESSURE, RINSE, by_the_hour, make_case, policy

DEMAND = by_the_hour(*(1.0 * M3_H,) * 12, *(3.0 * M3_H,) * 12)  # 48 m3 a day, 2 m3/h in the mean
PAIR = replace(
    FILTER,
    longest_run=9.5 * DAY,
    vessels=Vessels(count=2, arrangement="parallel", inhibit_while_sister_washes=False),
)
EITHER = AnyOf(triggers=(Calendar(every=4 * DAY, at=3 * HOUR), PRESSURE))


def site(stage: Stage = PAIR, *triggers: Trigger, days: float = 60.0) -> Site:
    policies = (policy("own", *(triggers or (EITHER,)), stages=(stage,)),)
    return site_of(make_case(stages=(stage,), policies=policies, demand=DEMAND, days=days))


def ends(part: TriggerPart) -> tuple[float, float]:
    triggers = (EITHER.triggers[0], VolumeReserve(volume=40.0, reserve=10.0, at=3 * HOUR), PRESSURE)
    of_kinds = (trigger_ranges(site(), PAIR, each, 9.5 * DAY) for each in triggers)
    found = next(each[part] for each in of_kinds if part in each)
    return found.low, found.high


def test_a_vessel_of_two_takes_half_of_the_day() -> None:
    """24 m3 a day: a quarter of it at the least, 9.5 days of it at the most; from 5 % to two such days in reserve."""
    assert ends("volume") == pytest.approx((6.0, 228.0))
    assert ends("reserve") == pytest.approx((1.2, 48.0))
    assert ends("every") == (DAY, 9 * DAY)  # whole days
    assert ends("hold") == (0.0, 720.0)


def test_a_set_point_lies_above_the_clean_bed_and_below_what_a_vessel_bears() -> None:
    """3 % above it; by hand no further than ten times it, though the supply, 4 bar as usual, could give more."""
    clean = site().clean(PAIR)
    assert ends("above") == pytest.approx((1.03 * clean, 4e5))
    every, above, hold = trigger_settings(site().case)
    assert (above.range.low, above.range.high) == pytest.approx((1.03 * clean, 10.0 * clean))
    assert [each.key.rpartition(".filter.")[2] for each in (every, above, hold)] == [
        "any_of.0.every", "any_of.1.above", "any_of.1.hold",
    ]  # fmt: skip
    assert (every.value, above.value, hold.value) == (4 * DAY, 14e3, 3 * MINUTE)
    weak = replace(PAIR, vessel=replace(PAIR.vessel, pressure_rating=2.0 * clean))
    assert list(trigger_settings(site(weak).case))[1].range.high == 2.0 * clean


def test_a_setting_without_room_to_search_is_moved_around_its_value() -> None:
    """No set point lies above the clean bed and below its rating: 14 kPa is moved from a quarter to four times."""
    weak = replace(PAIR, vessel=replace(PAIR.vessel, pressure_rating=site().clean(PAIR)))
    above = list(trigger_settings(site(weak).case))[1].range
    assert (above.low, above.high) == (3.5e3, 56e3)
    pressure = QUANTITIES["pressure"]
    assert around(pressure, 8.0) == Range(pressure, 2.0, 32.0)
    assert around(pressure, 0.0) == Range(pressure, 0.0, 10.0, 0.5)


def test_the_longest_run_tried_is_half_of_what_is_run_and_a_day_at_least() -> None:
    own = VolumeReserve(volume=90.0, reserve=9.0, at=HOUR, longest_run=4 * DAY)
    assert longest_of(site(), PAIR, EITHER) == 9.5 * DAY
    assert longest_of(site(), PAIR, own) == 4 * DAY
    assert longest_of(site(days=12.0), PAIR, EITHER) == 6 * DAY
    assert longest_of(site(days=1.0), PAIR, EITHER) == DAY


@pytest.mark.parametrize(
    ("key", "high"),
    [
        ("prices.energy", 2.0),  # per kWh
        ("prices.water", 20.0),  # per m3
        ("feed.temperature", 35.0),  # degC
        ("over_limit", 4000.0),  # h
        ("backwash", 30.0),  # min
        ("rinse", 60.0),
    ],
)
def test_ranges_of_the_table_end_at_round_figures_of_their_units(key: str, high: float) -> None:
    assert RANGES[key].units.shown(RANGES[key].high, "si") == pytest.approx(high, rel=1e-12)


def test_a_step_is_searched_from_half_to_twice_its_time() -> None:
    assert step_range(PAIR, "backwash", 600.0)[1:3] == (300.0, 1200.0)
    assert step_by_hand("rinse", 600.0).high == 3600.0
    assert step_by_hand("rinse", 2400.0).high == 4800.0


def test_all_rinses_together_take_one_volume_of_the_vessel() -> None:
    """By hand: 0.456 m2 times 1.5 m less 0.379 m of grains are 0.511 m3; 9 m3/h for 1 min leave 0.361 m3, 2.5 min."""
    assert least_rinse(replace(FILTER, steps=(RINSE,))) == 210.0  # 3.41 min, in half minutes
    first = replace(RINSE, seconds=MINUTE)
    assert least_rinse(replace(FILTER, steps=(first, RINSE))) == 150.0  # 2.41 min
    slow = replace(RINSE, flow=1.0 * M3_H)
    assert least_rinse(replace(FILTER, steps=(slow,))) == 1860.0  # 30.7 min
    assert step_range(replace(FILTER, steps=(slow,)), "rinse", 360.0)[1:3] == (1860.0, 1860.0)
    assert least_rinse(replace(FILTER, steps=())) == 0.0
