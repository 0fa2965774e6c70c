"""The exact meaning of each trigger, at steady demand where the times can be worked out by hand.

A wash takes 960 s: 600 of backwash, 360 of rinse. Runs start at midnight unless a test says otherwise.
"""

import math
from datetime import datetime
from typing import Any

import pytest

from sim.case.records import Run
from sim.case.trigger_records import AnyOf, Calendar, Pressure, Trigger, Volume, VolumeReserve, singles
from sim.plant.records import Cause, RunResult
from sim.plant.simulate import simulate
from sim.plant.triggers import NO_WASH, LastWash, latest_due, pressure_set
from tests.plant.builders import (
    DAY,
    EXACT_FLOW,
    FILTER,
    HOUR,
    MINUTE,
    by_the_hour,
    make_case,
    policy,
    replace,
    steady,
    train,
)
from tests.plant.fakes import close, told, wash_starts

WASH = 960.0
THREE = 3 * HOUR
BELOW_CLEAN, OUT_OF_REACH = 100.0, 1e7  # Pa: signals that a clean bed is above, that no bed reaches
CALENDAR, VOLUME, PRESSURE, LATEST = "calendar", "volume", "pressure drop", "wash at the latest"
BOOKED, AT_ITS_HOUR, SPENT = "wash booked", "reserve reached, at its hour", "reserve spent"


def run(trigger: Trigger, days: float, **given: Any) -> RunResult:
    """One filter at the exact flow under one trigger."""
    case = {"demand": steady(EXACT_FLOW), "policies": (policy("own", trigger),), **given}
    return simulate(make_case(days=days, **case), "own")


def washes(trigger: Trigger, days: float, **given: Any) -> list[tuple[float, str]]:
    return wash_starts(run(trigger, days, **given))


def starting(hour: int, minute: int, days: float) -> Run:
    """A run that starts at an odd time of day."""
    return Run(start=datetime(2027, 1, 4, hour, minute), length=days * DAY, allowed_breach=None)


def volume_of(seconds: float) -> float:
    """What is treated in so many seconds."""
    return EXACT_FLOW * seconds


# Calendar


def test_a_calendar_starts_at_the_first_hour_after_its_days_have_passed() -> None:
    trigger = Calendar(every=4 * DAY, at=THREE, latest=None)
    assert washes(trigger, 17.0) == [(days * DAY + THREE, CALENDAR) for days in (4, 8, 12, 16)]


def test_a_calendar_due_exactly_at_its_hour_starts_then() -> None:
    trigger = Calendar(every=4 * DAY, at=THREE, latest=None)
    at = washes(trigger, 0.0, run=starting(3, 0, 9.0))
    assert at == [(4 * DAY, CALENDAR), (8 * DAY, CALENDAR)]


def test_a_calendar_counts_its_days_from_the_start_of_the_run_and_hours_by_the_clock() -> None:
    """From 13:30 four days pass at 13:30; the next 03:00 is 13.5 h later, and from there it is every four days."""
    trigger = Calendar(every=4 * DAY, at=THREE, latest=None)
    first = 4 * DAY + 13.5 * HOUR
    assert washes(trigger, 0.0, run=starting(13, 30, 13.0)) == [(first + i * 4 * DAY, CALENDAR) for i in range(3)]


def test_a_calendar_of_a_day_and_a_half_washes_every_other_day() -> None:
    """36 h after the 03:00 that was answered it is 15:00; the next 03:00 makes it 48 h."""
    trigger = Calendar(every=1.5 * DAY, at=THREE, latest=None)
    assert washes(trigger, 9.0) == [(days * DAY + THREE, CALENDAR) for days in (2, 4, 6, 8)]


@pytest.mark.parametrize("at", [THREE, THREE + 0.3, THREE + 0.9])
@pytest.mark.parametrize(("hour", "days"), [(0, 1), (13, 2)])
def test_a_calendar_of_whole_days_loses_none_to_rounding(at: float, hour: int, days: int) -> None:
    """03:00:00.3 is no exact number of seconds, and a year of days adds up all the same."""
    starts = [time for time, _ in washes(Calendar(every=DAY, at=at, latest=None), 0.0, run=starting(hour, 37, 366.0))]
    first = days * DAY + at - hour * HOUR - 37 * MINUTE
    assert starts == pytest.approx([first + i * DAY for i in range(len(starts))], abs=1e-6)
    assert len(starts) in (364, 365)


def test_waiting_for_a_turn_shifts_no_later_wash() -> None:
    """Every other wash of the second stage waits for the first; the ones between stay at 03:00."""
    stages = train("first", "second")
    rare, often = Calendar(every=4 * DAY, at=THREE, latest=None), Calendar(every=2 * DAY, at=THREE, latest=None)
    result = run(rare, 9.0, stages=stages, policies=(policy("own", rare, often, stages=stages),))
    assert told(result, "waits for its turn") == [(d * DAY + THREE, "second", "waits for its turn") for d in (4, 8)]
    assert [time - THREE for time, _ in wash_starts(result, "second")] == [
        2 * DAY, 4 * DAY + WASH, 6 * DAY, 8 * DAY + WASH
    ]  # fmt: skip


def test_after_a_wash_at_the_latest_the_calendar_counts_from_its_start() -> None:
    """every 96 h at 03:00, latest 97 h, in hours from midnight.

    Calendar due 96, its 03:00 is 99; the latest time, 97, is first. From its start: calendar due 193, 195 at 03:00;
    latest 194. From there: calendar due 290, 291 at 03:00; latest 291 too, and the calendar goes first. From the 291
    it answered: calendar due 387, at 03:00 already; latest 388.
    """
    trigger = Calendar(every=96 * HOUR, at=THREE, latest=97 * HOUR)
    due = [(97, LATEST), (194, LATEST), (291, CALENDAR), (387, CALENDAR)]
    assert washes(trigger, 17.0) == [(hours * HOUR, why) for hours, why in due]


def test_after_another_wash_that_had_to_wait_the_calendar_counts_from_its_start() -> None:
    """Due at the latest at 12:00, washed at 12:14:20: three hours from there miss the 15:00 of that day."""
    stages = train("first", "second")
    first = Volume(volume=1e6, at=None, latest=12 * HOUR - 100.0)
    second = Calendar(every=3 * HOUR, at=15 * HOUR, latest=12 * HOUR)
    result = run(first, 1.0, stages=stages, policies=(policy("own", first, second, stages=stages),))
    assert wash_starts(result, "second") == [(12 * HOUR - 100.0 + WASH, LATEST)]


# Volume


def test_a_volume_starts_the_moment_it_is_treated() -> None:
    seconds = 100_000.0
    result = run(Volume(volume=volume_of(seconds), at=None, latest=None), 4.0)
    assert wash_starts(result)[0] == (seconds, VOLUME)
    expected = [(seconds + i * (seconds + WASH), VOLUME) for i in range(3)]
    assert close(wash_starts(result), expected, within=1e-6)
    assert [r.volume_m3 for r in result.runs[:-1]] == pytest.approx([volume_of(seconds)] * 3, rel=1e-12)


def test_a_volume_is_not_treated_while_nothing_flows() -> None:
    """Two hours of flow, two without: six hours of flow end after ten, and the wash waits for no flow to end it."""
    demand = by_the_hour(EXACT_FLOW, EXACT_FLOW, 0.0, 0.0)
    trigger = Volume(volume=volume_of(5.5 * HOUR), at=None, latest=None)
    assert washes(trigger, 0.5, demand=demand) == [(9.5 * HOUR, VOLUME)]


def test_a_volume_with_an_hour_books_the_next_one() -> None:
    """100 000 s are 27.8 h: booked, washed at 51 h. Back at 51 h 16 min; 27.8 h more are 79.04 h: washed at 99 h."""
    seconds = 100_000.0
    result = run(Volume(volume=volume_of(seconds), at=THREE, latest=None), 4.5)
    assert wash_starts(result) == [(51 * HOUR, VOLUME), (99 * HOUR, VOLUME)]
    booked = [(time, what) for time, _, what in told(result, BOOKED)]
    assert close(booked, [(seconds, BOOKED), (51 * HOUR + WASH + seconds, BOOKED)], within=1e-6)


def test_a_volume_reached_exactly_at_its_hour_starts_then() -> None:
    assert washes(Volume(volume=volume_of(THREE), at=THREE, latest=None), 0.5) == [(THREE, VOLUME)]


def test_a_volume_reached_just_after_its_hour_waits_a_day() -> None:
    trigger = Volume(volume=volume_of(THREE + 1.0), at=THREE, latest=None)
    assert washes(trigger, 1.5) == [(DAY + THREE, VOLUME)]


@pytest.mark.parametrize(
    ("latest", "expected"),
    [
        (20 * HOUR, [(20 * HOUR, LATEST), (40 * HOUR, LATEST), (60 * HOUR, LATEST)]),  # before the volume, 27.8 h
        (30 * HOUR, [(30 * HOUR, LATEST), (60 * HOUR, LATEST)]),  # between the booking and its hour, 51 h
        (55 * HOUR, [(51 * HOUR, VOLUME)]),
    ],
)
def test_a_volume_with_an_hour_waits_no_longer_than_latest(latest: float, expected: list[tuple[float, str]]) -> None:
    trigger = Volume(volume=volume_of(100_000.0), at=THREE, latest=latest)
    assert washes(trigger, 2.75) == expected


def test_a_volume_reached_in_the_rinse_of_a_later_stage_is_met_without_any_demand() -> None:
    """The first stage lacks 0.5 m3 at noon, when demand ends; the second's rinse draws 0.9 m3 through it."""
    stages = train("first", "second")
    first = Volume(volume=volume_of(12 * HOUR) + 0.5, at=None, latest=None)
    second = Volume(volume=1e6, at=None, latest=12 * HOUR)
    demand = by_the_hour(*[EXACT_FLOW] * 12, *[0.0] * 12)
    result = run(first, 0.9, stages=stages, demand=demand, policies=(policy("own", first, second, stages=stages),))
    assert wash_starts(result, "second") == [(12 * HOUR, LATEST)]
    assert wash_starts(result, "first") == [(12 * HOUR + WASH, VOLUME)]


# Volume with reserve: 100 000 s, 27.8 h, of flow in all


def reserve(seconds: float, latest: float | None = None) -> VolumeReserve:
    """Keeps back the last `seconds` of flow."""
    return VolumeReserve(volume=volume_of(100_000.0), reserve=volume_of(seconds), at=THREE, latest=latest)


def test_a_reserve_that_lasts_washes_at_its_hour() -> None:
    """Down to the reserve at 80 000 s, 22.2 h; the next 03:00 is 27 h, and then 2 800 s of it are left."""
    result = run(reserve(20_000.0), 1.5)
    assert told(result, BOOKED) == [(80_000.0, "filter", BOOKED)]
    assert wash_starts(result) == [(27 * HOUR, AT_ITS_HOUR)]


def test_a_reserve_that_runs_out_before_its_hour_washes_at_once() -> None:
    """Down to the reserve at 99 000 s, 27.5 h; spent at 27.8 h, long before the 51 h booked."""
    result = run(reserve(1_000.0), 2.5)
    assert told(result, BOOKED)[0] == (99_000.0, "filter", BOOKED)
    assert wash_starts(result)[0] == (100_000.0, SPENT)


def test_after_a_reserve_is_spent_the_count_starts_anew() -> None:
    starts = wash_starts(run(reserve(1_000.0), 2.5))
    assert close(starts, [(100_000.0, SPENT), (200_000.0 + WASH, SPENT)], within=1e-6)


def test_a_reserve_spent_exactly_at_its_hour_is_spent() -> None:
    trigger = VolumeReserve(volume=volume_of(27 * HOUR), reserve=volume_of(HOUR), at=THREE, latest=None)
    assert washes(trigger, 1.5) == [(27 * HOUR, SPENT)]


def test_no_reserve_washes_the_moment_the_volume_is_treated() -> None:
    assert washes(reserve(0.0), 1.5) == [(100_000.0, SPENT)]


@pytest.mark.parametrize("latest", [20 * HOUR, 25 * HOUR])  # before and after it is booked at 22.2 h
def test_a_reserve_waits_no_longer_than_latest(latest: float) -> None:
    assert washes(reserve(20_000.0, latest), 1.5)[0] == (latest, LATEST)


# Pressure drop


def pressure(above: float, hold: float, latest: float | None = None) -> Pressure:
    return Pressure(above=above, hold=hold, latest=latest)


@pytest.mark.parametrize("hold", [0.0, 180.0, 5_000.0])
def test_a_signal_must_stay_above_for_the_whole_hold(hold: float) -> None:
    """A clean bed is above already: each run lasts as long as the hold."""
    expected = [(hold + i * (hold + WASH), PRESSURE) for i in range(20)]
    starts = washes(pressure(BELOW_CLEAN, hold), 5.0)
    assert close(starts[:20], expected, within=1e-6)


def test_a_stop_of_the_flow_starts_the_hold_anew() -> None:
    """One hour on, one off: an hour and a half without a break never comes, half an hour does at once."""
    demand = by_the_hour(EXACT_FLOW, 0.0)
    assert washes(pressure(BELOW_CLEAN, 1.5 * HOUR), 3.0, demand=demand) == []
    assert washes(pressure(BELOW_CLEAN, 0.5 * HOUR), 0.02, demand=demand) == []
    assert washes(pressure(BELOW_CLEAN, 0.5 * HOUR), 0.03, demand=demand) == [(0.5 * HOUR, PRESSURE)]


def test_a_fall_of_the_flow_below_the_set_point_starts_the_hold_anew() -> None:
    """The signal is above at the full flow and below at half: 40 min of hold end 40 min after each rise."""
    clean = run(pressure(OUT_OF_REACH, 0.0), 0.01).runs[0].clean_dp_kpa * 1e3
    demand = by_the_hour(0.5 * EXACT_FLOW, EXACT_FLOW, EXACT_FLOW)
    assert washes(pressure(0.9 * clean, 2.5 * HOUR), 3.0, demand=demand) == []
    assert washes(pressure(0.9 * clean, 100 * MINUTE), 0.15, demand=demand) == [(HOUR + 100 * MINUTE, PRESSURE)]


def test_a_wash_of_another_stage_starts_the_hold_anew() -> None:
    """Above since midnight, two hours of hold; at one o'clock the other stage takes the train off line for 960 s."""
    stages = train("held up", "washing")
    triggers = (pressure(BELOW_CLEAN, 2 * HOUR), Calendar(every=HOUR, at=HOUR, latest=None))
    result = run(
        triggers[0], 0.2, stages=stages, policies=(policy("own", *triggers, stages=stages),)
    )
    assert wash_starts(result, "washing")[0] == (HOUR, CALENDAR)
    assert wash_starts(result, "held up") == [(HOUR + WASH + 2 * HOUR, PRESSURE)]


def test_a_hold_longer_than_the_run_never_ends() -> None:
    assert washes(pressure(BELOW_CLEAN, 2 * DAY), 1.0) == []


def test_a_gauge_at_the_bed_does_not_see_the_valve() -> None:
    """With 15 kPa lost in the valve a gauge at the vessel is above 10 kPa at once; one at the bed is not."""
    valve = 15e3 / EXACT_FLOW**2
    for tap, count in (("vessel", 1), ("bed", 0)):
        stage = replace(FILTER, head_loss=replace(FILTER.head_loss, valve_constant=valve, tap=tap))
        result = run(pressure(10e3, HOUR), 0.05, stages=(stage,))
        assert len(wash_starts(result)) == count
        assert result.site["peak_dp_kpa"] > 15.0


# Latest


@pytest.mark.parametrize(
    "trigger",
    [
        Calendar(every=30 * DAY, at=THREE, latest=2 * DAY),
        Volume(volume=1e6, at=None, latest=2 * DAY),
        Volume(volume=1e6, at=THREE, latest=2 * DAY),
        VolumeReserve(volume=1e6, reserve=1.0, at=THREE, latest=2 * DAY),
        Pressure(above=OUT_OF_REACH, hold=0.0, latest=2 * DAY),
    ],
)
def test_latest_counts_from_the_time_it_was_last_due(trigger: Trigger) -> None:
    assert washes(trigger, 7.0) == [(days * DAY, LATEST) for days in (2, 4, 6)]


def test_latest_counts_from_the_start_of_another_wash() -> None:
    """Four hours on, eight off: seven hours of flow end at 15 h; 20 h from there nothing flows."""
    demand = by_the_hour(*[EXACT_FLOW] * 4, *[0.0] * 8)
    trigger = Volume(volume=volume_of(7 * HOUR), at=None, latest=20 * HOUR)
    assert washes(trigger, 2.0, demand=demand) == [(15 * HOUR, VOLUME), (35 * HOUR, LATEST)]


def test_waiting_for_a_turn_shifts_no_later_latest() -> None:
    stages = train("first", "second")
    triggers = (Volume(volume=1e6, at=None, latest=2 * DAY), Volume(volume=1e6, at=None, latest=DAY))
    result = run(triggers[0], 4.5, stages=stages, policies=(policy("own", *triggers, stages=stages),))
    assert [time for time, _ in wash_starts(result, "second")] == [DAY, 2 * DAY + WASH, 3 * DAY, 4 * DAY + WASH]


def test_the_set_point_of_several_triggers_is_that_of_their_pressure_drop() -> None:
    volume = Volume(volume=250.0, at=None, latest=None)
    pressure = Pressure(above=14_000.0, hold=180.0, latest=None)
    calendar = Calendar(every=4 * DAY, at=0.0, latest=None)
    assert pressure_set(AnyOf(triggers=(volume, pressure), latest=None)) == 14_000.0
    assert pressure_set(AnyOf(triggers=(volume, calendar), latest=None)) == math.inf
    assert singles(AnyOf(triggers=(volume, pressure), latest=None)) == (volume, pressure)
    assert singles(volume) == (volume,)


def test_several_triggers_have_one_latest_time() -> None:
    """Seven days after the start of the last wash; after one at the latest, from the time that one was due."""
    triggers = (Volume(volume=250.0, at=None, latest=None), Pressure(above=14_000.0, hold=0.0, latest=None))
    either = AnyOf(triggers=triggers, latest=7 * DAY)
    assert latest_due(either, NO_WASH, 0.0) == 7 * DAY
    assert latest_due(either, LastWash(2 * DAY, Cause.PRESSURE, 2 * DAY), 2.1 * DAY) == 9 * DAY
    assert latest_due(either, LastWash(7.5 * DAY, Cause.LATEST, 7 * DAY), 7.6 * DAY) == 14 * DAY
    assert latest_due(AnyOf(triggers=triggers, latest=None), NO_WASH, 0.0) == math.inf


def test_two_trips_at_one_instant_keep_their_own_causes() -> None:
    """The first has stood above its set point for an hour from the start, the second has treated an hour's volume."""
    stages = train("first", "second")
    first = Pressure(above=BELOW_CLEAN, hold=HOUR, latest=None)
    second = Volume(volume=volume_of(HOUR), at=None, latest=None)
    own = policy("own", first, second, stages=stages)
    case = make_case(days=1.0, demand=steady(EXACT_FLOW), stages=stages, policies=(own,))
    starts = [(e.who, e.why) for e in simulate(case, "own").log if e.what == "wash starts"]
    assert starts[:2] == [("first", PRESSURE), ("second", VOLUME)]
