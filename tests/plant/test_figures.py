"""Figures of a run against hand arithmetic: hours over the limit, dirty water, unused capacity, sums of the site."""

import math
from typing import Any

import pytest
from scipy.optimize import brentq

from sim.case.stage.records import Stage
from sim.case.trigger.records import Calendar, Pressure, Trigger
from sim.plant.records import RunResult
from sim.plant.simulate import simulate
from tests.cross_checks import breakthrough_time, remaining_integral, remaining_share
from tests.plant.builders import (
    BACKWASH,
    CALENDAR,
    DAY,
    FILTER,
    HOUR,
    RINSE,
    SAND,
    feed,
    make_case,
    policy,
    replace,
    steady,
    train,
)

AREA = FILTER.vessel.area
RATE = FILTER.reference_rate  # 12 m/h
DIRTY_FEED, LIMIT = 50.0, 10.0
SMALL = replace(SAND, ultimate_deposit=600.0)  # breaks through within hours
START = 4 * DAY + 3 * HOUR
WASH = 960.0


def breaking(**given: Any) -> Stage:
    """One layer of sand, 10/m over 0.25 m, that a dirty feed soon fills."""
    return replace(FILTER, layers=(SMALL,), limit=LIMIT, **given)


def run(*stages: Stage, trigger: Trigger = CALENDAR, **given: Any) -> RunResult:
    case = {"demand": steady(RATE * AREA), "feed": feed(DIRTY_FEED), "days": 5.0, **given}
    return simulate(make_case(stages=stages, policies=(policy("own", trigger, stages=stages),), **case), "own")


def until_limit() -> float:
    """When a fresh bed lets a fifth through [s]: Bohart and Adams with K = lambda v / sigma_u and N0 = sigma_u."""
    return breakthrough_time(LIMIT / DIRTY_FEED, 10.0 * RATE / 600.0, 600.0, concentration=50.0, v=RATE, depth=0.25)


def test_hours_over_the_limit_count_from_the_breakthrough() -> None:
    result = run(breaking(), days=1.0)
    assert 0.0 < until_limit() < DAY
    assert result.site["over_limit_h"] == pytest.approx((DAY - until_limit()) / HOUR, rel=1e-9)
    assert result.runs[0].over_limit_h == result.site["over_limit_h"]
    assert result.site["over_limit_unavoidable_h"] == 0.0


@pytest.mark.parametrize(("solids", "limit"), [(50.0, 0.5), (500.0, 0.05), (9000.0, 0.01)])
def test_a_breakthrough_is_found_where_the_outlet_stays_low_for_long_and_then_rises_steeply(
    solids: float, limit: float
) -> None:
    """40/m over 0.7 m let e^-28 through; in the end the feed passes, up to 900,000 times the limit."""
    deep = replace(FILTER, layers=(replace(SAND, filter_coefficients=(40.0,), depth=0.7),), limit=limit)
    result = run(deep, trigger=Calendar(every=30 * DAY, at=0.0), days=20.0, feed=feed(solids))
    begins = breakthrough_time(limit / solids, 40.0 * RATE / 9000.0, 9000.0, concentration=solids, v=RATE, depth=0.7)
    assert result.site["over_limit_h"] == pytest.approx((20 * DAY - begins) / HOUR, rel=1e-9)


def test_hours_in_which_a_clean_bed_would_be_over_too_are_unavoidable() -> None:
    """A clean bed passes exp(-2.5) of the feed: more than a limit of 4 mg/L."""
    result = run(breaking(), days=1.0, feed=feed(4.0 * math.exp(2.5) * 1.001))
    lower = run(replace(breaking(), limit=4.0), days=1.0, feed=feed(4.0 * math.exp(2.5) * 1.001))
    assert lower.site["over_limit_h"] == pytest.approx(24.0)
    assert lower.site["over_limit_unavoidable_h"] == pytest.approx(24.0)
    assert result.site["over_limit_unavoidable_h"] == 0.0


def test_unused_capacity_is_what_is_left_to_the_limit() -> None:
    """Washed when a share of the time to the limit has passed: the rest is unused."""
    for share in (0.25, 0.75):
        result = run(breaking(), trigger=Calendar(every=1.0, at=share * until_limit()), days=0.9)
        assert result.runs[0].unused_capacity == pytest.approx(1.0 - share, rel=1e-6)
    assert run(breaking()).runs[0].unused_capacity == 0.0


def test_no_capacity_is_unused_when_the_set_point_starts_the_wash() -> None:
    stage = replace(FILTER, limit=None)
    result = run(stage, trigger=Pressure(above=10e3, hold=0.0, longest_run=5 * DAY))
    assert result.runs[0].cause == "pressure drop"
    assert result.runs[0].end_dp_kpa == pytest.approx(10.0, rel=1e-6)
    assert result.runs[0].unused_capacity == pytest.approx(0.0, abs=1e-6)
    assert result.site["peak_dp_kpa"] == pytest.approx(10.0, rel=1e-6)


def test_dirty_water_is_counted_until_it_is_a_hundredth_of_the_limit() -> None:
    """No solids in the feed, 50 mg/L in the wash water, no rinse: C (S_b + e^-2.5 (S - S_b)) after each volume."""
    stage = replace(
        FILTER, layers=(replace(SAND, ultimate_deposit=1e13, deposit_density=1e14),),
        steps=(replace(BACKWASH, water="filtered", water_solids=50.0),),
    )  # fmt: skip
    whole, pores, passed = AREA * (1.5 - 0.25 * 0.58), AREA * 0.25 * 0.42, math.exp(-2.5)
    left = 50.0 * (1.0 - math.exp(-BACKWASH.flow * 600.0 / whole))

    def sent_on(volume: float) -> float:
        below = remaining_share(volume / pores, 3)
        return left * (below + passed * (remaining_share(volume / whole, 3) - below))

    enough = brentq(lambda volume: sent_on(volume) - 0.01 * 0.5, pores, 10 * whole, xtol=1e-12)
    below = pores * remaining_integral(enough / pores, 3)
    grams = left * (below + passed * (whole * remaining_integral(enough / whole, 3) - below))
    site = run(stage, feed=feed(0.0)).site
    assert site["dirty_water_min"] == pytest.approx(enough / (RATE * AREA) / 60.0, rel=1e-6)
    assert site["dirty_water_kg"] == pytest.approx(grams / 1e3, rel=1e-6)
    assert site["dirty_water_peak_mg_l"] == pytest.approx(sent_on(0.0), rel=1e-9)


def test_runs_are_numbered_and_join_without_gaps() -> None:
    result = simulate(make_case(), "volume")
    assert [r.number for r in result.runs] == list(range(1, 26))
    assert result.runs[0].start_s == 0.0
    for before, after in zip(result.runs, result.runs[1:], strict=False):
        assert after.start_s - before.end_s == pytest.approx(WASH)
    assert (result.runs[-1].cause, result.runs[-1].end_s) == (None, 60 * DAY)
    finished = [r.end_s - r.start_s for r in result.runs[:-1]]
    assert result.site["mean_run_h"] == pytest.approx(sum(finished) / len(finished) / HOUR)
    assert result.runs[0].load_g_m2 == pytest.approx(5.0 * 250.0 / AREA)


def test_the_site_sums_what_is_spent_and_sends_on_what_the_last_stage_does() -> None:
    stages = train("first", "second", like=replace(FILTER, steps=(replace(BACKWASH, water="raw"), RINSE)))
    result = run(*stages, days=9.0)
    first, second = result.stages.values()
    summed = ("washes", "backwash_m3", "rinse_m3", "drain_m3", "downtime_h", "solids_to_drain_kg", "solids_held_kg")
    of_the_last = ("treated_m3", "solids_to_service_kg", "over_limit_h", "breakthrough_risk", "dirty_water_kg")
    for key in summed:
        assert result.site[key] == pytest.approx(first[key] + second[key]), key
    for key in of_the_last:
        assert result.site[key] == second[key], key
    for key in ("peak_dp_kpa", "drain_peak_m3_h"):
        assert result.site[key] == max(first[key], second[key]), key
    washed_in = 4 * BACKWASH.flow * 600.0 * DIRTY_FEED / 1e3
    through_first = (result.site["treated_m3"] + first["rinse_m3"] + second["rinse_m3"]) * DIRTY_FEED / 1e3
    assert result.site["solids_in_kg"] == pytest.approx(through_first + washed_in)


def test_the_highest_pressure_drop_is_that_of_bed_and_valve() -> None:
    """Water without solids: the bed as clean as ever, and 15 kPa more at this flow through the valve, seen or not."""
    without = replace(FILTER, limit=None)
    valve = replace(FILTER.head_loss, valve_constant=15e3 / (RATE * AREA) ** 2)
    through = replace(without, head_loss=valve)
    beside = replace(without, head_loss=replace(valve, tap="bed"))
    bed, seen, unseen = (run(each, feed=feed(0.0)).site["peak_dp_kpa"] for each in (without, through, beside))
    assert bed > 1.0
    assert seen == unseen == pytest.approx(bed + 15.0, rel=1e-12)


def test_the_same_seed_gives_the_same_bytes_and_leaves_the_case_as_it_was() -> None:
    case = make_case()
    before = repr(case)
    first, second = (simulate(case, "pressure drop", seed=3) for _ in range(2))
    assert repr(first) == repr(second)
    assert repr(case) == before
    assert (first.seed, first.policy, first.days) == (3, "pressure drop", 60.0)


def test_the_site_is_over_the_limit_where_a_run_can_judge_its_water() -> None:
    """A carbon behind it, whose chemistry no run follows, keeps its own limit and hides nothing."""
    behind = breaking(name="carbon")
    behind = replace(behind, limit=1e3, layers=(replace(SMALL, medium="carbon"),))
    result = run(breaking(), behind, days=1.0)
    assert result.site["over_limit_h"] == pytest.approx((DAY - until_limit()) / HOUR, rel=1e-9)
    assert result.stages["carbon"]["over_limit_h"] == 0.0
    for key in ("over_limit_unavoidable_h", "breakthrough_risk"):
        assert result.site[key] == result.stages[FILTER.name][key]
    alone = run(behind, days=1.0)
    assert alone.site["over_limit_h"] == alone.stages["carbon"]["over_limit_h"]
