"""Cases at the edge: each has a defined outcome."""

import math
from typing import Any

import pytest

from sim.case.series.records import Demand
from sim.case.stage.records import Sloughing
from sim.case.trigger.records import Calendar, Pressure, Trigger, Volume, VolumeReserve
from sim.plant.errors import PolicyError
from sim.plant.records import RunResult
from sim.plant.simulate import Plant, simulate
from tests.plant.builders import (
    ANTHRACITE,
    BACKWASH,
    CALENDAR,
    DAY,
    EXACT_FLOW,
    FILTER,
    HOUR,
    M3_H,
    PRESSURE,
    RINSE,
    SAND,
    TRIGGERS,
    by_the_hour,
    feed,
    make_case,
    policy,
    replace,
    steady,
    train,
)
from tests.plant.fakes import close, told, wash_starts

WASH = 960.0  # 600 s of backwash, 360 s of rinse
BELOW_CLEAN = 100.0  # Pa: less than the signal of a clean bed
every_trigger = pytest.mark.parametrize("name", sorted(TRIGGERS))
GRAVEL = replace(SAND, medium="garnet", depth=0.1, size=3e-3, sublayer_sizes=(3e-3,), filter_coefficients=(0.0,))


def run(trigger: Trigger = CALENDAR, days: float = 10.0, **given: Any) -> RunResult:
    return simulate(make_case(**{"days": days, "policies": (policy("own", trigger),), **given}), "own")


def nothing_happened(result: RunResult) -> None:
    """No water moved, no solids, no wash."""
    moved = ("treated_m3", "unmet_m3", "solids_in_kg", "solids_held_kg", "peak_dp_kpa", "downtime_h", "washes")
    assert {key: result.site[key] for key in moved} == dict.fromkeys(moved, 0)
    assert result.site["drain_fraction"] is None
    assert [entry.what for entry in result.log] == ["run ends"]


# No demand, no time, no solids


@every_trigger
def test_without_demand_only_the_clock_starts_a_wash(name: str) -> None:
    result = run(TRIGGERS[name], demand=steady(0.0))
    if name != "calendar":
        return nothing_happened(result)
    assert wash_starts(result) == [(days * DAY + 3 * HOUR, "calendar") for days in (4, 8)]
    assert result.site["treated_m3"] == result.site["unmet_m3"] == 0.0
    assert result.site["drain_m3"] == pytest.approx(2 * (17 / 6 + 0.9))
    assert result.runs[0].end_dp_kpa == result.runs[0].clean_dp_kpa == 0.0
    return None


@every_trigger
def test_a_run_of_no_length_is_a_run(name: str) -> None:
    result = simulate(make_case(days=0.0), name)
    nothing_happened(result)
    assert result.days == 0.0
    assert [(r.start_s, r.end_s, r.cause, r.volume_m3) for r in result.runs] == [(0.0, 0.0, None, 0.0)]
    assert result.site["mean_run_h"] is None


def test_a_feed_without_solids_loads_nothing() -> None:
    result = run(PRESSURE, days=30.0, feed=feed(0.0))
    assert result.site["washes"] == 0
    assert result.site["over_limit_h"] == result.site["solids_in_kg"] == result.site["solids_held_kg"] == 0.0
    assert result.runs[0].load_g_m2 == 0.0
    assert result.runs[0].end_dp_kpa == result.runs[0].clean_dp_kpa > 0.0


def test_a_policy_that_the_case_does_not_have_is_refused() -> None:
    with pytest.raises(PolicyError, match="no policy 'calender' in this case; it has: 'calendar', 'volume'"):
        simulate(make_case(), "calender")


# Triggers that are true from the start


def test_a_set_point_below_the_clean_bed_washes_without_end() -> None:
    result = run(Pressure(above=BELOW_CLEAN, hold=0.0), days=0.5)
    assert close(wash_starts(result), [(i * WASH, "pressure drop") for i in range(45)], within=1e-6)
    assert result.site["treated_m3"] == 0.0
    assert result.site["downtime_h"] == 12.0
    assert result.site["mean_run_h"] == pytest.approx(0.0, abs=1e-9)


def test_a_set_point_below_the_clean_bed_waits_for_its_hold() -> None:
    hold = 600.0
    result = run(Pressure(above=BELOW_CLEAN, hold=hold), days=0.5)
    assert close(wash_starts(result), [(hold + i * (hold + WASH), "pressure drop") for i in range(28)], within=1e-6)
    assert result.site["mean_run_h"] == pytest.approx(hold / HOUR)


def test_a_set_point_met_from_the_start_waits_for_water_to_flow() -> None:
    demand = by_the_hour(0.0, 0.0, 0.0, EXACT_FLOW)
    result = run(Pressure(above=BELOW_CLEAN, hold=0.0), days=0.4, demand=demand)
    assert wash_starts(result)[:2] == [(3 * HOUR, "pressure drop"), (3 * HOUR + WASH, "pressure drop")]
    assert wash_starts(result)[4] == (7 * HOUR, "pressure drop")


# A wash that takes longer than its interval


def test_a_calendar_hour_that_passes_during_a_wash_is_not_made_up() -> None:
    """Every half hour, so due at every 03:00; a wash of 25 h: the next 03:00 after it is a day later than due."""
    slow = replace(FILTER, steps=(replace(BACKWASH, seconds=25 * HOUR, flow=1 * M3_H),))
    result = run(Calendar(every=0.5 * HOUR, at=3 * HOUR), days=6.0, stages=(slow,))
    assert wash_starts(result) == [(days * DAY + 3 * HOUR, "calendar") for days in (0, 2, 4)]
    assert result.site["downtime_h"] == pytest.approx(3 * 25)


def test_a_latest_time_that_passes_during_a_wash_starts_the_next_at_once() -> None:
    result = run(Volume(volume=1e6, at=None, longest_run=WASH / 2), days=0.1, demand=steady(EXACT_FLOW))
    starts = [(WASH / 2 + i * WASH, "longest run") for i in range(9)]
    assert wash_starts(result) == starts
    assert result.site["treated_m3"] == EXACT_FLOW * WASH / 2


def test_a_volume_below_what_a_wash_takes_is_washed_for_all_the_same() -> None:
    trigger = Volume(volume=EXACT_FLOW * 1.0, at=None)
    result = run(trigger, days=0.1, demand=steady(EXACT_FLOW))
    assert close(wash_starts(result), [(1.0 + i * (WASH + 1.0), "volume") for i in range(9)], within=1e-6)


# A run that ends in the middle of a wash

AT_FOUR_DAYS = 4 * DAY + 3 * HOUR


@pytest.mark.parametrize(("after", "ended"), [(300.0, []), (600.0, []), (700.0, ["backwash ends"])])
def test_a_run_that_ends_within_a_wash_keeps_its_books(after: float, ended: list[str]) -> None:
    """Not yet a wash, and the hours off line only as far as they went; `simulate` raises unless the books close."""
    result = run(days=(AT_FOUR_DAYS + after) / DAY)
    assert [entry.what for entry in result.log] == ["wash starts", *ended, "wash cut short", "run ends"]
    assert result.site["washes"] == 0
    assert result.site["downtime_h"] == pytest.approx(after / HOUR)
    assert result.site["backwash_m3"] == pytest.approx(17 * min(after, 600.0) / HOUR)
    assert result.site["rinse_m3"] == pytest.approx(9 * max(after - 600.0, 0.0) / HOUR)
    assert result.site["unmet_m3"] == pytest.approx(1.8 * after / HOUR)
    assert [r.cause for r in result.runs] == ["calendar"]


def test_a_run_that_ends_as_a_wash_ends_has_not_come_back() -> None:
    result = run(days=(AT_FOUR_DAYS + WASH) / DAY)
    assert result.site["washes"] == 0
    assert result.site["downtime_h"] == pytest.approx(WASH / HOUR)


def test_a_run_that_ends_while_a_stage_waits_counts_it_in_service() -> None:
    stages = train("first", "second")
    result = run(days=(AT_FOUR_DAYS + 100.0) / DAY, stages=stages, policies=(policy("own", CALENDAR, stages=stages),))
    assert told(result)[1] == (AT_FOUR_DAYS, "second", "waits for its turn")
    assert result.site["downtime_h"] == pytest.approx(100.0 / HOUR)
    assert [(r.stage, r.cause) for r in result.runs] == [("first", "calendar"), ("second", None)]


# Beds at their ends


# 20 kg/m3 of deposit at 50 kg/m3 fill 0.4 of the bed: below its pores of 0.48, floor 0.05.
BLOCKING = (replace(ANTHRACITE, porosity=0.48, ultimate_deposit=20_000.0, deposit_density=50_000.0),)


def test_a_blocked_bed_is_reported_and_runs_on() -> None:
    """At half the reference rate the ultimate deposit is 2^0.5 of that given: 28.3 kg/m3 would fill 0.57 of it."""
    stage = replace(FILTER, layers=BLOCKING, sloughing=Sloughing(exponent=0.5))
    slow = steady(0.5 * stage.reference_rate * stage.vessel.area)
    result = run(Calendar(every=10 * DAY, at=0.0), 10.2, stages=(stage,), feed=feed(100.0), demand=slow)
    assert [r.blocked for r in result.runs] == [True, False]
    at = [(entry.time_s, entry.what, entry.why) for entry in result.log[:2]]
    assert at == [
        (10 * DAY, "wash starts", "calendar"),
        (10 * DAY, "bed was blocked", "pores at their floor"),
    ]
    assert math.isfinite(result.runs[0].end_dp_kpa)


def test_a_full_bed_that_keeps_its_pores_is_not_blocked() -> None:
    stage = replace(FILTER, layers=BLOCKING)
    result = run(Calendar(every=10 * DAY, at=0.0), 12.0, stages=(stage,), feed=feed(100.0))
    assert [r.blocked for r in result.runs] == [False, False]
    assert result.runs[0].end_dp_kpa > 3 * result.runs[0].clean_dp_kpa


def test_gravel_resists_and_catches_nothing() -> None:
    with_gravel = run(PRESSURE, stages=(replace(FILTER, layers=(ANTHRACITE, SAND, GRAVEL)),))
    without = run(PRESSURE, stages=(FILTER,))
    assert with_gravel.runs[0].clean_dp_kpa > without.runs[0].clean_dp_kpa
    plant = Plant(make_case(stages=(replace(FILTER, layers=(ANTHRACITE, SAND, GRAVEL)),)), "calendar")
    plant.run_until(3 * DAY)
    assert plant.look().deposits(0)[-20:] == [0.0] * 20


def test_a_bed_of_gravel_passes_all_it_gets() -> None:
    result = run(days=3.0, stages=(replace(FILTER, layers=(GRAVEL,)),))
    assert result.site["solids_to_service_kg"] == pytest.approx(result.site["solids_in_kg"], rel=1e-12)
    assert result.site["solids_held_kg"] == 0.0
    assert result.runs[0].unused_capacity is None


def test_a_stage_without_a_limit_has_no_hours_over_it() -> None:
    result = run(stages=(replace(FILTER, limit=None),))
    keys = ("over_limit_h", "over_limit_unavoidable_h", "breakthrough_risk", "dirty_water_kg", "dirty_water_min")
    assert [result.site[key] for key in keys] == [None] * 5
    assert result.runs[0].unused_capacity is None
    assert result.runs[0].over_limit_h == 0.0
    limited = run()
    assert all(limited.site[key] is not None for key in keys)
    assert limited.site["solids_to_service_kg"] == result.site["solids_to_service_kg"]


def test_a_wash_may_be_any_list_of_steps() -> None:
    settle = replace(RINSE, do="settle", seconds=60.0, flow=0.0)
    twice = replace(FILTER, steps=(RINSE, BACKWASH, settle, BACKWASH, settle, RINSE, RINSE))
    result = run(days=5.0, stages=(twice,))
    names = ["rinse", "backwash", "settle", "backwash", "settle", "rinse", "rinse"]
    times = [360.0, 960.0, 1020.0, 1620.0, 1680.0, 2040.0, 2400.0]
    ends = [(AT_FOUR_DAYS + time, "filter", f"{name} ends") for time, name in zip(times, names, strict=True)]
    assert told(result)[1:-1] == ends


# A steady plant, with nothing on the clock before the end


def test_a_steady_plant_meets_its_set_point_with_nothing_else_to_happen() -> None:
    """A demand that changes by nothing to speak of gives the same washes, hour by hour."""
    even = steady(5.5 * M3_H)
    by_hours = by_the_hour(5.5 * M3_H, 5.5 * M3_H * (1.0 - 2.0**-40))
    starts = [wash_starts(run(PRESSURE, days=20.0, demand=demand)) for demand in (even, by_hours)]
    assert len(starts[1]) == 7
    assert close(*starts, within=1e-3)


def test_a_signal_that_rises_in_the_last_hours_of_a_run_is_met() -> None:
    """The same first wash, however little of the run comes after it."""
    for days in (3.66, 5.0):
        result = run(PRESSURE, days=days)
        assert [round(time / DAY, 3) for time, _ in wash_starts(result)] == [3.651]


@pytest.mark.parametrize("days", [0.5, 5.0])
def test_a_long_wait_without_events_is_one_like_any_other(days: float) -> None:
    trigger = VolumeReserve(volume=EXACT_FLOW * 10 * DAY, reserve=1e-3, at=3 * HOUR)
    result = run(trigger, days=days, demand=steady(EXACT_FLOW))
    assert result.site["treated_m3"] == EXACT_FLOW * days * DAY
    assert wash_starts(result) == []


@pytest.mark.parametrize("demand", [steady(EXACT_FLOW), by_the_hour(EXACT_FLOW, 0.0)])
def test_plain_python_meets_no_infinity_on_the_way(demand: Demand, monkeypatch: pytest.MonkeyPatch) -> None:
    """Warnings are errors here, and plain Python warns where compiled code goes on in silence."""
    monkeypatch.setenv("FILTERRUN_PLAIN", "1")
    assert run(PRESSURE, days=0.2, demand=demand).site["washes"] == 0
