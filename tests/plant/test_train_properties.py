"""Whole trains drawn at random: books that close, one wash at a time, a run in parts, compiled and plain."""

import math
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings

from sim.case.chemistry.records import Limits
from sim.case.records import Case
from sim.case.series.records import Demand, Feed, Profile, Steady
from sim.case.stage.records import Sloughing
from sim.case.train.records import Vessels
from sim.case.trigger.records import Calendar, Policy, Volume
from sim.plant.records import Event, RunResult
from sim.plant.simulate import Plant, simulate
from tests.plant.builders import BACKWASH, DAY, FILTER, HOUR, M3_H, RINSE, make_case, policy
from tests.plant.random_cases import POLICY
from tests.plant.random_trains import trains
from tests.plant.test_properties import compiled_and_plain_agree

SLOW = [HealthCheck.too_slow, HealthCheck.data_too_large]
FEW = settings(max_examples=6, deadline=None, derandomize=True, suppress_health_check=SLOW)
FEWER = settings(FEW, max_examples=4)
HOURLY = Profile(hourly=(10.0, 12.0) * 12, weekday=(1.0,) * 7)
MANY = settings(max_examples=300, deadline=None, suppress_health_check=SLOW)


def figures_make_sense(case: Case, result: RunResult) -> None:
    """The run has closed its own books to 1e-9 (or raised); beside them, what no run may break."""
    for figures in (result.site, *result.stages.values()):
        for key, value in figures.items():
            assert value is None or (math.isfinite(value) and value >= -1e-9), key
    site = result.site
    assert site["unmet_by_washing_m3"] <= site["unmet_m3"] * (1.0 + 1e-9)
    limits = ("over_limit_h", "hardness_over_h", "iron_over_h", "manganese_over_h", "oxidant_over_h")
    for figures in result.stages.values():
        assert (figures["breakthrough_risk"] is None) == all(figures[limit] is None for limit in limits)
        assert (figures["breakthrough_risk"] or 0.0) <= 1.0
        assert (figures["wash_short_fraction"] or 0.0) <= 1.0
    only_solids = [stage.name for stage in case.stages if stage.limits == Limits()]
    assert not any(run.broke_through and run.over_limit_h <= 0.0 for run in result.runs if run.stage in only_solids)
    span = case.run.length / 3600.0
    if site["downstream_run_h"] is not None:
        working = [site[f"downstream_{what}_h"] for what in ("run", "stopped", "starved")]
        assert all(hours is not None and hours <= span * (1.0 + 1e-9) for hours in working)
    for entry, after in zip(result.log, result.log[1:], strict=False):
        assert entry.time_s <= after.time_s


def one_washes_at_a_time(case: Case, result: RunResult) -> None:
    """One of the site where they wait, one of each stage where stages overlap; any number where they share."""
    if case.washing.together == "share":
        return
    names = {f"{stage.name} {place + 1}": stage.name for stage in case.stages for place in range(stage.vessels.count)}
    washing: dict[str, str] = {}
    for entry in result.log:
        group = names.get(entry.who, entry.who) if case.washing.together == "overlap" else "site"
        if entry.what == "wash starts":
            assert group not in washing, entry
            washing[group] = entry.who
        elif entry.who == washing.get(group) and entry.what in ("back in service", "stands by"):
            del washing[group]


def a_run_in_parts_is_a_run_in_one(case: Case, whole: RunResult) -> None:
    plant = Plant(case, POLICY, seed=7)
    for i in range(1, 24):
        plant.run_until(case.run.length * (i + 0.3371) / 25)
        plant.look()
    plant.run_until(case.run.length)
    parts = plant.result()
    assert (parts.log, parts.runs, parts.site, parts.stages) == (whole.log, whole.runs, whole.site, whole.stages)


def holds_for(case: Case) -> None:
    result = simulate(case, POLICY, seed=7)
    assert repr(simulate(case, POLICY, seed=7)) == repr(result)
    figures_make_sense(case, result)
    one_washes_at_a_time(case, result)
    a_run_in_parts_is_a_run_in_one(case, result)


def test_sloughing_in_a_piece_that_stays_undone_leaves_no_trace() -> None:
    """Three loaded vessels share a flow that changes by the hour: what sloughs as a piece begins moves the shares."""
    stage = replace(
        FILTER, sloughing=Sloughing(exponent=0.3), velocity_exponent=1.0,
        vessels=Vessels(count=3, arrangement="parallel", inhibit_while_sister_washes=False),
    )  # fmt: skip
    hourly = tuple((6.0 + 5.0 * (hour % 3)) * M3_H for hour in range(24))
    feed = Feed(temperature=Steady(value=15.0), solids=Steady(value=60.0), turbidity_ratio=None)
    case = make_case(
        stages=(stage,), days=9.0, feed=feed,
        demand=Demand(flow=Profile(hourly=hourly, weekday=(1.0,) * 7), season=None),
        policies=(policy(POLICY, Volume(volume=180.0, at=0.0), stages=(stage,)),),
    )  # fmt: skip
    a_run_in_parts_is_a_run_in_one(case, simulate(case, POLICY, seed=7))


def test_a_volume_met_while_nobody_asks_for_water_is_noticed_however_often_a_run_stops() -> None:
    """The long rinse of a stage that raw water may pass draws the first stage's volume full, at night."""
    first, second = replace(FILTER, name="first"), replace(FILTER, name="second", while_washing="passes raw")
    second = replace(second, steps=(BACKWASH, replace(RINSE, seconds=3 * HOUR)))
    day = Profile(hourly=(0.0,) * 6 + (3.0 * M3_H,) * 18, weekday=(1.0,) * 7)
    feed = Feed(temperature=Steady(value=15.0), solids=HOURLY, turbidity_ratio=None)
    volume = 54.0 + 0.5 * 3.0 * RINSE.flow / M3_H  # of a day, and of half a rinse
    triggers = (("first", Volume(volume=volume, at=None)), ("second", Calendar(every=DAY, at=HOUR)))
    case = make_case(
        stages=(first, second), days=4.0, feed=feed, demand=Demand(flow=day, season=None),
        policies=(Policy(name=POLICY, triggers=triggers),),
    )  # fmt: skip
    whole = simulate(case, POLICY, seed=7)
    trips = [entry.time_s % DAY for entry in whole.log if entry.who == "first" and entry.event is Event.WASH_STARTS]
    assert any(0.0 < trip < 6 * HOUR for trip in trips)
    plant = Plant(case, POLICY, seed=7)
    for quarter in range(1, 4 * 96):
        plant.run_until(quarter * DAY / 96 - 1.7)
    plant.run_until(case.run.length)
    assert plant.result().log == whole.log


def try_on(check: Callable[[Case], None], most_days: float, how_many: settings) -> None:
    how_many(given(trains(most_days))(check))()


def test_a_few_random_trains_hold() -> None:
    try_on(holds_for, 12.0, FEW)


@pytest.mark.long
def test_many_random_trains_hold() -> None:
    try_on(holds_for, 20.0, MANY)


def test_compiled_and_plain_agree_on_a_few_trains() -> None:
    try_on(compiled_and_plain_agree, 1.0, FEWER)
