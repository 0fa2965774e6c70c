"""The exact meaning of each trigger, at steady demand where the times can be worked out by hand.

A wash takes 960 s: 600 of backwash, 360 of rinse. Runs start at midnight unless a test says otherwise.
"""

import math
from datetime import datetime
from typing import Any

import pytest

from sim.case.series.records import Run
from sim.case.stage.records import Stage
from sim.case.train.records import HoursOfDay, Washing
from sim.case.trigger.records import AnyOf, Calendar, Pressure, Trigger, Volume, VolumeReserve, singles
from sim.plant.records import Cause, RunResult
from sim.plant.simulate import simulate
from sim.plant.stage_clock import StageClock
from sim.plant.triggers import NO_WASH, LastWash, longest_run_due, pressure_set
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
CLOCK = StageClock(FILTER, Run(start=datetime(2027, 1, 4), length=60 * 86_400.0, allowed_over_limit=None))
THREE = 3 * HOUR
BELOW_CLEAN, OUT_OF_REACH = 100.0, 1e7  # Pa: signals that a clean bed is above, that no bed reaches
CALENDAR, VOLUME, PRESSURE, LONGEST = "calendar", "volume", "pressure drop", "longest run"
BOOKED, AT_ITS_HOUR, SPENT = "wash booked", "reserve reached, at its hour", "reserve spent"


def run(trigger: Trigger, days: float, **given: Any) -> RunResult:
    """One filter at the exact flow under one trigger."""
    case = {"demand": steady(EXACT_FLOW), "policies": (policy("own", trigger),), **given}
    return simulate(make_case(days=days, **case), "own")


def washes(trigger: Trigger, days: float, **given: Any) -> list[tuple[float, str]]:
    return wash_starts(run(trigger, days, **given))


def starting(hour: int, minute: int, days: float) -> Run:
    """A run that starts at an odd time of day."""
    return Run(start=datetime(2027, 1, 4, hour, minute), length=days * DAY, allowed_over_limit=None)


def volume_of(seconds: float) -> float:
    """What is treated in so many seconds."""
    return EXACT_FLOW * seconds


# Calendar


def test_a_calendar_starts_at_the_first_hour_after_its_days_have_passed() -> None:
    trigger = Calendar(every=4 * DAY, at=THREE)
    assert washes(trigger, 17.0) == [(days * DAY + THREE, CALENDAR) for days in (4, 8, 12, 16)]


def test_a_calendar_due_exactly_at_its_hour_starts_then() -> None:
    trigger = Calendar(every=4 * DAY, at=THREE)
    at = washes(trigger, 0.0, run=starting(3, 0, 9.0))
    assert at == [(4 * DAY, CALENDAR), (8 * DAY, CALENDAR)]


def test_a_calendar_counts_its_days_from_the_start_of_the_run_and_hours_by_the_clock() -> None:
    """From 13:30 four days pass at 13:30; the next 03:00 is 13.5 h later, and from there it is every four days."""
    trigger = Calendar(every=4 * DAY, at=THREE)
    first = 4 * DAY + 13.5 * HOUR
    assert washes(trigger, 0.0, run=starting(13, 30, 13.0)) == [(first + i * 4 * DAY, CALENDAR) for i in range(3)]


def test_a_calendar_of_a_day_and_a_half_washes_every_other_day() -> None:
    """36 h after the 03:00 that was answered it is 15:00; the next 03:00 makes it 48 h."""
    trigger = Calendar(every=1.5 * DAY, at=THREE)
    assert washes(trigger, 9.0) == [(days * DAY + THREE, CALENDAR) for days in (2, 4, 6, 8)]


@pytest.mark.parametrize("at", [THREE, THREE + 0.3, THREE + 0.9])
@pytest.mark.parametrize(("hour", "days"), [(0, 1), (13, 2)])
def test_a_calendar_of_whole_days_loses_none_to_rounding(at: float, hour: int, days: int) -> None:
    """03:00:00.3 is no exact number of seconds, and a year of days adds up all the same."""
    starts = [time for time, _ in washes(Calendar(every=DAY, at=at), 0.0, run=starting(hour, 37, 366.0))]
    first = days * DAY + at - hour * HOUR - 37 * MINUTE
    assert starts == pytest.approx([first + i * DAY for i in range(len(starts))], abs=1e-6)
    assert len(starts) in (364, 365)


def test_waiting_for_a_turn_shifts_no_later_wash() -> None:
    """Every other wash of the second stage waits for the first; the ones between stay at 03:00."""
    stages = train("first", "second")
    rare, often = Calendar(every=4 * DAY, at=THREE), Calendar(every=2 * DAY, at=THREE)
    result = run(rare, 9.0, stages=stages, policies=(policy("own", rare, often, stages=stages),))
    assert told(result, "waits for its turn") == [(d * DAY + THREE, "second", "waits for its turn") for d in (4, 8)]
    assert [time - THREE for time, _ in wash_starts(result, "second")] == [
        2 * DAY, 4 * DAY + WASH, 6 * DAY, 8 * DAY + WASH
    ]  # fmt: skip


def test_after_a_wash_by_the_longest_run_the_calendar_counts_from_its_start() -> None:
    """every 96 h at 03:00, longest run 97 h at 04:00, in hours from midnight.

    Calendar due 96, its 03:00 is 99; the longest run is over at 97, its last 04:00 before that is 76. From its start:
    calendar due 172, at 03:00 195; longest run 173, at 04:00 172. And so on: the calendar is never first.
    """
    stage = replace(FILTER, longest_run=97 * HOUR, longest_run_at=4 * HOUR)
    due = [(76, LONGEST), (172, LONGEST), (268, LONGEST), (364, LONGEST)]
    trigger = Calendar(every=96 * HOUR, at=THREE)
    assert washes(trigger, 17.0, stages=(stage,)) == [(hours * HOUR, why) for hours, why in due]


def test_after_another_wash_that_had_to_wait_the_calendar_counts_from_its_start() -> None:
    """Longest run over at 12:00, washed at 12:14:20: three hours from there miss the 15:00 of that day."""
    stages = (FILTER, stage_of(0.5, 12 * HOUR, "second"))
    first = Volume(volume=1e6, at=None, longest_run=12 * HOUR - 100.0)
    second = Calendar(every=3 * HOUR, at=15 * HOUR)
    result = run(first, 1.0, stages=stages, policies=(policy("own", first, second, stages=stages),))
    assert wash_starts(result, "second") == [(12 * HOUR - 100.0 + WASH, LONGEST)]


# Volume


def test_a_volume_starts_the_moment_it_is_treated() -> None:
    seconds = 100_000.0
    result = run(Volume(volume=volume_of(seconds), at=None), 4.0)
    assert wash_starts(result)[0] == (seconds, VOLUME)
    expected = [(seconds + i * (seconds + WASH), VOLUME) for i in range(3)]
    assert close(wash_starts(result), expected, within=1e-6)
    assert [r.volume_m3 for r in result.runs[:-1]] == pytest.approx([volume_of(seconds)] * 3, rel=1e-12)


def test_a_volume_is_not_treated_while_nothing_flows() -> None:
    """Two hours of flow, two without: six hours of flow end after ten, and the wash waits for no flow to end it."""
    demand = by_the_hour(EXACT_FLOW, EXACT_FLOW, 0.0, 0.0)
    trigger = Volume(volume=volume_of(5.5 * HOUR), at=None)
    assert washes(trigger, 0.5, demand=demand) == [(9.5 * HOUR, VOLUME)]


def test_a_volume_with_an_hour_books_the_next_one() -> None:
    """100 000 s are 27.8 h: booked, washed at 51 h. Back at 51 h 16 min; 27.8 h more are 79.04 h: washed at 99 h."""
    seconds = 100_000.0
    result = run(Volume(volume=volume_of(seconds), at=THREE), 4.5)
    assert wash_starts(result) == [(51 * HOUR, VOLUME), (99 * HOUR, VOLUME)]
    booked = [(time, what) for time, _, what in told(result, BOOKED)]
    assert close(booked, [(seconds, BOOKED), (51 * HOUR + WASH + seconds, BOOKED)], within=1e-6)


def test_a_volume_reached_exactly_at_its_hour_starts_then() -> None:
    assert washes(Volume(volume=volume_of(THREE), at=THREE), 0.5) == [(THREE, VOLUME)]


def test_a_volume_reached_just_after_its_hour_waits_a_day() -> None:
    trigger = Volume(volume=volume_of(THREE + 1.0), at=THREE)
    assert washes(trigger, 1.5) == [(DAY + THREE, VOLUME)]


@pytest.mark.parametrize(
    ("longest", "expected"),
    [
        # before the volume, 27.8 h: 03:00 is the last hour before 20 h; 20 h from there it is 23:00, and none lies
        # between; from 23:00 on 43 h, with 03:00 at 27 h between
        (20 * HOUR, [(3 * HOUR, LONGEST), (23 * HOUR, LONGEST), (27 * HOUR, LONGEST), (47 * HOUR, LONGEST)]),
        # between the booking and its hour, 51 h: at 27 h, then over at 57 h, whose last 03:00 is 51 h
        (30 * HOUR, [(27 * HOUR, LONGEST), (51 * HOUR, LONGEST)]),
        (55 * HOUR, [(51 * HOUR, VOLUME)]),  # both at 51 h: its own trigger goes first
    ],
)
def test_a_volume_with_an_hour_waits_no_longer_than_the_longest_run(
    longest: float, expected: list[tuple[float, str]]
) -> None:
    trigger = Volume(volume=volume_of(100_000.0), at=THREE, longest_run=longest)
    assert washes(trigger, 2.2)[: len(expected)] == expected


def test_a_volume_reached_in_the_rinse_of_a_later_stage_is_met_without_any_demand() -> None:
    """The first stage lacks 0.5 m3 at noon, when demand ends; the second's rinse draws 0.9 m3 through it."""
    stages = train("first", "second")
    first = Volume(volume=volume_of(12 * HOUR) + 0.5, at=None)
    second = Volume(volume=1e6, at=None, longest_run=12 * HOUR)
    demand = by_the_hour(*[EXACT_FLOW] * 12, *[0.0] * 12)
    result = run(first, 0.9, stages=stages, demand=demand, policies=(policy("own", first, second, stages=stages),))
    assert wash_starts(result, "second") == [(12 * HOUR, LONGEST)]
    assert wash_starts(result, "first") == [(12 * HOUR + WASH, VOLUME)]


# Volume with reserve: 100 000 s, 27.8 h, of flow in all


def reserve(seconds: float, longest: float | None = None) -> VolumeReserve:
    """Keeps back the last `seconds` of flow."""
    return VolumeReserve(volume=volume_of(100_000.0), reserve=volume_of(seconds), at=THREE, longest_run=longest)


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
    trigger = VolumeReserve(volume=volume_of(27 * HOUR), reserve=volume_of(HOUR), at=THREE)
    assert washes(trigger, 1.5) == [(27 * HOUR, SPENT)]


def test_no_reserve_washes_the_moment_the_volume_is_treated() -> None:
    assert washes(reserve(0.0), 1.5) == [(100_000.0, SPENT)]


@pytest.mark.parametrize("longest", [20 * HOUR, 26 * HOUR])  # before and after it is booked at 22.2 h
def test_a_reserve_waits_no_longer_than_the_longest_run(longest: float) -> None:
    """Its last 03:00 is that of the first day."""
    assert washes(reserve(20_000.0, longest), 1.5)[0] == (THREE, LONGEST)


# Pressure drop


def pressure(above: float, hold: float) -> Pressure:
    return Pressure(above=above, hold=hold)


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
    triggers = (pressure(BELOW_CLEAN, 2 * HOUR), Calendar(every=HOUR, at=HOUR))
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


# The longest run, of the stage


def stage_of(days: float, at: float | None = None, name: str = "filter") -> Stage:
    """The filter with a longest run, and the hour at which it ends."""
    return replace(FILTER, name=name, longest_run=days * DAY, longest_run_at=at)


NEVER_MET = {
    "calendar": Calendar(every=30 * DAY, at=THREE),
    "volume": Volume(volume=1e6, at=None),
    "volume at an hour": Volume(volume=1e6, at=THREE),
    "reserve": VolumeReserve(volume=1e6, reserve=1.0, at=THREE),
    "pressure": Pressure(above=OUT_OF_REACH, hold=0.0),
    "several": AnyOf(triggers=(Volume(volume=1e6, at=None), Pressure(above=OUT_OF_REACH, hold=0.0))),
}


@pytest.mark.parametrize("name", NEVER_MET)
def test_it_holds_whatever_starts_the_other_washes(name: str) -> None:
    """Two days and a half from midnight are over at 12:00; the last 21:00 before is 45 h, then every 48 h.

    From 45 h on it is over at 105 h, whose last 21:00 is 93 h.
    """
    found = washes(NEVER_MET[name], 8.0, stages=(stage_of(2.5, 21 * HOUR),))
    assert found == [(hours * HOUR, LONGEST) for hours in (45, 93, 141, 189)]


@pytest.mark.parametrize(("name", "first", "every"), [
    ("calendar", 51, 48), ("volume", 60, 60), ("volume at an hour", 51, 48), ("reserve", 51, 48),
    ("pressure", 60, 60), ("several", 60, 60),
])  # fmt: skip
def test_without_an_hour_of_its_own_it_takes_that_of_the_trigger(name: str, first: int, every: int) -> None:
    """The last 03:00 before 60 h is 51 h, then every 48 h; without any hour the moment it has passed."""
    found = washes(NEVER_MET[name], 7.0, stages=(stage_of(2.5),))
    assert found == [(hours * HOUR, LONGEST) for hours in range(first, 7 * 24, every)]


def test_of_several_hours_it_takes_the_last() -> None:
    """03:00 and 10:00 both come before 60 h: 58 h. From there 118 h, whose last hour is 10:00, 106 h."""
    triggers = (Volume(volume=1e6, at=10 * HOUR), Calendar(every=30 * DAY, at=THREE))
    found = washes(AnyOf(triggers=triggers), 5.0, stages=(stage_of(2.5),))
    assert found == [(58 * HOUR, LONGEST), (106 * HOUR, LONGEST)]


def test_an_hour_at_which_it_has_just_passed_is_its_own() -> None:
    """From 03:00 on, two days to the second."""
    found = washes(NEVER_MET["volume"], 0.0, stages=(stage_of(2.0, THREE),), run=starting(3, 0, 7.0))
    assert found == [(days * DAY, LONGEST) for days in (2, 4, 6)]


def test_where_no_hour_lies_between_it_ends_when_it_has_passed() -> None:
    """20 h, at 03:00: at 3 h, then at 23 h, for 03:00 of the second day lies beyond; from there 43 h, at 27 h."""
    found = washes(NEVER_MET["pressure"], 2.0, stages=(stage_of(20 / 24, THREE),))
    assert found == [(hours * HOUR, LONGEST) for hours in (3, 23, 27, 47)]


def test_an_hour_that_passes_during_the_wash_is_none() -> None:
    """Washed at 02:50 by the meter, back at 03:06: 20 h from 02:50, 03:00 left out, are 22:50."""
    at = 2 * HOUR + 50 * MINUTE
    demand = by_the_hour(EXACT_FLOW, EXACT_FLOW, EXACT_FLOW, *[0.0] * 21)
    trigger = Volume(volume=volume_of(at), at=None)
    found = washes(trigger, 1.0, stages=(stage_of(20 / 24, THREE),), demand=demand)
    assert found == [(at, VOLUME), (at + 20 * HOUR, LONGEST)]


def test_a_trigger_met_at_the_same_instant_goes_first() -> None:
    both = {"stages": (stage_of(2.0, THREE),), "run": starting(3, 0, 7.0)}
    assert washes(Calendar(every=2 * DAY, at=THREE), 0.0, **both) == [(d * DAY, CALENDAR) for d in (2, 4, 6)]


def test_it_counts_from_the_start_of_another_wash() -> None:
    """Four hours on, eight off: seven hours of flow end at 15 h; 20 h from there nothing flows."""
    demand = by_the_hour(*[EXACT_FLOW] * 4, *[0.0] * 8)
    trigger = Volume(volume=volume_of(7 * HOUR), at=None)
    found = washes(trigger, 2.0, demand=demand, stages=(stage_of(20 / 24),))
    assert found == [(15 * HOUR, VOLUME), (35 * HOUR, LONGEST)]


def test_a_wash_that_waited_for_its_turn_is_counted_from_its_start_and_comes_back_to_its_hour() -> None:
    """Every other wash of the second stage waits for the first, which washes at the same hour."""
    stages = (stage_of(4.0, THREE, "first"), stage_of(2.0, THREE, "second"))
    own = policy("own", NEVER_MET["volume"], stages=stages)
    result = run(NEVER_MET["volume"], 0.0, stages=stages, policies=(own,), run=starting(3, 0, 9.0))
    assert [time for time, _ in wash_starts(result, "first")] == [4 * DAY, 8 * DAY]
    assert [time for time, _ in wash_starts(result, "second")] == [2 * DAY, 4 * DAY + WASH, 6 * DAY, 8 * DAY + WASH]


def test_without_an_hour_a_wash_that_waited_shifts_those_that_follow() -> None:
    """It lasts no longer than it says: the second starts 16 min late at 2 d, and a day from there is 16 min past."""
    stages = train("first", "second")
    triggers = (Volume(volume=1e6, at=None, longest_run=2 * DAY), Volume(volume=1e6, at=None, longest_run=DAY))
    result = run(triggers[0], 4.5, stages=stages, policies=(policy("own", *triggers, stages=stages),))
    late = 2 * DAY + WASH
    assert [time for time, _ in wash_starts(result, "second")] == [DAY, late, late + DAY, late + 2 * DAY]


def test_a_policy_may_have_a_shorter_one() -> None:
    found = washes(replace(NEVER_MET["volume"], longest_run=DAY), 3.5, stages=(stage_of(2.5),))
    assert found == [(days * DAY, LONGEST) for days in (1, 2, 3)]


def test_rules_of_the_site_put_it_off() -> None:
    """Over at 12:00, allowed from 14:00 on: 62 h, and from there 122 h at 02:00, put off to 134 h."""
    washing = Washing(allowed_hours=(HoursOfDay(start=14 * HOUR, end=16 * HOUR),))
    found = washes(NEVER_MET["volume"], 6.0, stages=(stage_of(2.5),), washing=washing)
    assert found == [(62 * HOUR, LONGEST), (134 * HOUR, LONGEST)]


def test_the_set_point_of_several_triggers_is_that_of_their_pressure_drop() -> None:
    volume = Volume(volume=250.0, at=None)
    pressure = Pressure(above=14_000.0, hold=180.0)
    calendar = Calendar(every=4 * DAY, at=0.0)
    assert pressure_set(AnyOf(triggers=(volume, pressure))) == 14_000.0
    assert pressure_set(AnyOf(triggers=(volume, calendar))) == math.inf
    assert singles(AnyOf(triggers=(volume, pressure))) == (volume, pressure)
    assert singles(volume) == (volume,)


def test_the_longest_run_as_a_rule_without_state() -> None:
    """Seven days from the start of the last wash, whatever it answered; none in the past; inf without one."""
    either = AnyOf(triggers=(Volume(volume=250.0, at=None), Pressure(above=14_000.0, hold=0.0)))
    stage = stage_of(7.0)
    assert longest_run_due(stage, either, NO_WASH, 0.0, CLOCK) == 7 * DAY
    late = LastWash(7.5 * DAY, Cause.LONGEST_RUN, 7 * DAY)
    assert longest_run_due(stage, either, late, 7.6 * DAY, CLOCK) == 14.5 * DAY
    assert longest_run_due(stage_of(0.01), either, LastWash(DAY, Cause.PRESSURE, DAY), 1.1 * DAY, CLOCK) == 1.1 * DAY
    assert longest_run_due(FILTER, either, NO_WASH, 0.0, CLOCK) == math.inf


def test_two_trips_at_one_instant_keep_their_own_causes() -> None:
    """The first has stood above its set point for an hour from the start, the second has treated an hour's volume."""
    stages = train("first", "second")
    first = Pressure(above=BELOW_CLEAN, hold=HOUR)
    second = Volume(volume=volume_of(HOUR), at=None)
    own = policy("own", first, second, stages=stages)
    case = make_case(days=1.0, demand=steady(EXACT_FLOW), stages=stages, policies=(own,))
    starts = [(e.who, e.why) for e in simulate(case, "own").log if e.what == "wash starts"]
    assert starts[:2] == [("first", PRESSURE), ("second", VOLUME)]
