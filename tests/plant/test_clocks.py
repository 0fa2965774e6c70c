"""Clocks, calendars, signals and inhibits, by hand: exact times of washes from what a clock shows."""

import math
from datetime import date, datetime
from itertools import pairwise
from typing import Any

import pytest

from sim.case.series.records import Run
from sim.case.stage.records import Stage
from sim.case.train.records import ByHand, Downstream, HoldUnit, HoursOfDay, Tank, Unit, Vessels, Washing
from sim.case.trigger.records import Calendar, Clock, Contact, OnlyWhile, Signal, Trigger, Volume
from sim.plant.records import Cause, RunResult
from sim.plant.simulate import simulate
from sim.plant.stage_clock import StageClock
from sim.plant.triggers import NO_WASH, LastWash, calendar_slot, contact_due
from tests.plant.builders import (
    BACKWASH,
    DAY,
    EXACT_FLOW,
    FILTER,
    HOUR,
    M3_H,
    MINUTE,
    RINSE,
    make_case,
    policy,
    replace,
    steady,
    train,
)
from tests.plant.fakes import told, wash_starts

WASH = 16 * MINUTE
SHORT = replace(FILTER, steps=(replace(BACKWASH, seconds=13 * MINUTE), RINSE))  # 19 min
DAILY = Calendar(every=DAY, at=3 * HOUR)
NIGHT = HoursOfDay(start=22 * HOUR, end=23 * HOUR)


def run(*triggers: Trigger, stages: tuple[Stage, ...] = (FILTER,), days: float = 8.0, **given: Any) -> RunResult:
    """A train at a steady flow, each stage under its own trigger; nothing stops two of them."""
    case = {"washing": Washing(), "demand": steady(EXACT_FLOW), **given}
    own = (policy("own", *triggers, stages=stages),)
    return simulate(make_case(days=days, stages=stages, policies=own, **case), "own")


def starts(result: RunResult, who: str = "filter") -> list[float]:
    return [time for time, _ in wash_starts(result, who)]


def clock_of(clock: Clock, *summer: tuple[float, float, float], start: datetime = datetime(2027, 1, 4)) -> StageClock:
    """A clock in a year; `summer` as of a run."""
    its = Run(start=start, length=365 * DAY, allowed_over_limit=None, summer=summer)
    return StageClock(replace(FILTER, clock=clock), its)


# Drift


def test_a_clock_that_gains_shows_an_hour_earlier_every_day() -> None:
    """Fast by 20 s a day, 03:00 of day n comes at (n d + 3 h) / (1 + 20 / 86 400)."""
    found = starts(run(DAILY, stages=(replace(FILTER, clock=Clock(drift=20.0)),)))
    assert found == pytest.approx([(n * DAY + 3 * HOUR) / (1.0 + 20.0 / DAY) for n in range(1, 8)], abs=1e-6)


@pytest.mark.parametrize(("drift", "first"), [(17.5, 54), (-17.5, None)])
def test_clocks_that_drift_together_first_overlap_on_day_54(drift: float, first: int | None) -> None:
    """Washes of 19 min whose starts are 50 min apart leave 31 min, 1860 s; at 35 s a day these last 53.14 days.

    One clock loses and the other gains 17.5 s a day; the other way round they never meet within the year.
    """
    clocks = (clock_of(Clock(drift=-drift)), clock_of(Clock(drift=drift)))
    spans = []
    for clock, at in zip(clocks, (HOUR, HOUR + 50 * MINUTE), strict=True):
        last, found = NO_WASH, []
        for _ in range(364):
            time = calendar_slot(Calendar(every=DAY, at=at), last, last.start + 19 * MINUTE, clock)
            last = LastWash(time, Cause.CALENDAR, time)
            found.append(time)
        spans.append(found)
    gaps = [second - one - 19 * MINUTE for one, second in zip(*spans, strict=True)]
    met = next((day for day, gap in enumerate(gaps, 1) if gap < 0.0), None)
    assert met == first
    if first is None:
        assert min(gaps) > 31 * MINUTE
    else:
        assert gaps[first - 2] > 0.0


def test_stages_on_drifting_clocks_wash_at_once_from_day_54_on() -> None:
    clocks = (Clock(drift=-17.5), Clock(drift=17.5))
    both = zip(train("one", "two", like=SHORT), clocks, strict=True)
    stages = tuple(replace(each, clock=clock) for each, clock in both)
    result = run(
        Calendar(every=DAY, at=HOUR), Calendar(every=DAY, at=HOUR + 50 * MINUTE), stages=stages, days=56.0
    )
    one, two = (starts(result, who) for who in ("one", "two"))
    assert [day for day, (a, b) in enumerate(zip(one, two, strict=True), 1) if b < a + 19 * MINUTE] == [54, 55]
    assert not told(result, "waits for its turn")


def test_stages_due_at_one_instant_wash_at_once_in_the_order_of_the_train() -> None:
    result = run(DAILY, stages=train("one", "two", "three"), days=1.5)
    assert told(result, "wash starts") == [(27 * HOUR, who, "wash starts") for who in ("one", "two", "three")]


def test_vessels_of_one_stage_take_turns_though_stages_overlap() -> None:
    both = replace(FILTER, vessels=Vessels(count=2))
    result = run(DAILY, stages=(both,), days=1.5)
    assert starts(result, "filter 1") == [27 * HOUR]
    assert starts(result, "filter 2") == [27 * HOUR + WASH]


# Daylight saving


def test_an_hour_that_the_clock_leaves_out_comes_as_it_jumps() -> None:
    """Forward from 02:00 to 03:00 on day 2: 02:30 comes at 02:00 then, and later an hour earlier than before."""
    rule = Run(start=datetime(2027, 3, 26), length=5 * DAY, allowed_over_limit=None,
               summer=((2 * DAY + 2 * HOUR, math.inf, HOUR),))  # fmt: skip
    trigger = Calendar(every=DAY, at=2.5 * HOUR)
    followed = run(trigger, stages=(replace(FILTER, clock=Clock(daylight_saving=True)),), run=rule)
    assert starts(followed) == [DAY + 2.5 * HOUR, 2 * DAY + 2 * HOUR, 3 * DAY + 1.5 * HOUR, 4 * DAY + 1.5 * HOUR]
    assert starts(run(trigger, run=rule)) == [day * DAY + 2.5 * HOUR for day in (1, 2, 3, 4)]


def test_an_hour_that_the_clock_has_twice_comes_the_first_time() -> None:
    """Back from 03:00 to 02:00, at 02:00 of standard time on day 2: 02:30 comes at 01:30 of that, once."""
    rule = Run(start=datetime(2027, 10, 29), length=5 * DAY, allowed_over_limit=None,
               summer=((0.0, 2 * DAY + 2 * HOUR, HOUR),))  # fmt: skip
    trigger = Calendar(every=DAY, at=2.5 * HOUR)
    followed = run(trigger, stages=(replace(FILTER, clock=Clock(daylight_saving=True)),), run=rule)
    assert starts(followed) == [DAY + 1.5 * HOUR, 2 * DAY + 1.5 * HOUR, 3 * DAY + 2.5 * HOUR, 4 * DAY + 2.5 * HOUR]
    assert starts(run(trigger, run=rule)) == [day * DAY + 2.5 * HOUR for day in (1, 2, 3, 4)]


def test_a_clock_that_stands_still_or_is_set_is_behind_by_it() -> None:
    clock = clock_of(Clock(keeps_time=False))
    clock.stop(DAY)
    assert clock.next_hour(DAY, (3 * HOUR,)) == math.inf
    clock.go(DAY + 2 * HOUR)
    assert clock.reading(2 * DAY) == 2 * DAY - 2 * HOUR
    assert clock.next_hour(DAY + 2 * HOUR, (3 * HOUR,)) == DAY + 5 * HOUR
    clock.add(2 * DAY, 6 * HOUR)  # now it is ahead by 4 h, and has been set past 03:00
    assert clock.next_hour(2 * DAY, (3 * HOUR,)) == 2 * DAY
    assert clock.next_hour(2 * DAY + 1.0, (3 * HOUR,)) == 3 * DAY - HOUR
    clock.add(3 * DAY, -4 * HOUR)
    assert clock.next_hour(3 * DAY, (3 * HOUR,)) == 4 * DAY + 3 * HOUR  # 03:00 has been shown that day


# Calendars


def test_several_hours_of_every_second_day() -> None:
    found = run(Calendar(every=2 * DAY, at=15 * HOUR, also_at=(3 * HOUR,)), days=5.0)
    assert starts(found) == [2 * DAY + 3 * HOUR, 2 * DAY + 15 * HOUR, 4 * DAY + 3 * HOUR, 4 * DAY + 15 * HOUR]


def test_named_weekdays_whatever_else_washes() -> None:
    """From Monday on: Tuesday, Friday and Tuesday at 03:00; a wash by hand on Wednesday moves none."""
    rules = Washing(by_hand=(ByHand(stage="filter", at=2 * DAY),))
    found = run(Calendar(on=(4, 1), at=3 * HOUR), days=9.0, washing=rules)
    assert starts(found) == [DAY + 3 * HOUR, 2 * DAY, 4 * DAY + 3 * HOUR, 8 * DAY + 3 * HOUR]


@pytest.mark.parametrize(
    ("trigger", "days"),
    [
        (Calendar(every=2 * DAY, at=3 * HOUR, skip_closed=True), [3, 5, 7]),  # the 6th of January and Sundays
        (Calendar(every=2 * DAY, at=3 * HOUR), [2, 4, 6]),
        (Calendar(on=(2, 3), at=3 * HOUR, skip_closed=True), [3]),
    ],
    ids=["passes by", "holds", "weekdays"],
)
def test_an_hour_on_a_closed_day_passes_by_or_holds(trigger: Calendar, days: list[int]) -> None:
    rules = Washing(closed_days=(6, date(2027, 1, 6)))
    assert starts(run(trigger, washing=rules)) == [day * DAY + 3 * HOUR for day in days]


def test_every_30_hours_from_the_start_of_the_last_wash() -> None:
    rules = Washing(by_hand=(ByHand(stage="filter", at=40 * HOUR),))
    assert starts(run(Calendar(every=30 * HOUR), days=5.0, washing=rules)) == [
        30 * HOUR, 40 * HOUR, 70 * HOUR, 100 * HOUR,
    ]  # fmt: skip


# Rules of a stage


def test_a_stage_waits_for_its_own_least_interval() -> None:
    """A volume every 2 h would wash at once again; 5 h lie between the starts, and nothing hinders the sister."""
    one, two = train("one", "two")
    stages = (replace(one, least_interval=5 * HOUR), two)
    result = run(Volume(volume=EXACT_FLOW * 2 * HOUR, at=None), stages=stages, days=1.0)
    assert {after - before for before, after in pairwise(starts(result, "one"))} == {5 * HOUR}
    assert min(after - before for before, after in pairwise(starts(result, "two"))) < 3 * HOUR
    assert {why for _, why in [(e.who, e.why) for e in result.log if e.what == "wash put off"]} == {
        "too soon after the wash before it"
    }


def test_none_washes_during_the_wash_of_another() -> None:
    """Both due at one instant and each barred by the other: the first of the train goes, the second follows."""
    one, two = train("one", "two")
    stages = (replace(one, not_while=("two",)), replace(two, not_while=("one",)))
    result = run(DAILY, stages=stages, days=2.5)
    assert starts(result, "one") == [27 * HOUR, 51 * HOUR]
    assert starts(result, "two") == [27 * HOUR + WASH, 51 * HOUR + WASH]
    only_one = run(DAILY, stages=(one, replace(two, not_while=("one",))), days=1.5)
    assert starts(only_one, "two") == [27 * HOUR + WASH]


UNIT = Unit(
    feed_flow=6.0 * M3_H, recovery=0.75, tank=Tank(volume=20.0, start_below=5.0, stop_above=15.0, level=10.0)
)  # 4.5 m3/h against 3 m3/h: full after 3 h 20 min, then 3 h 20 min without the unit and 6 h 40 min with it


@pytest.mark.parametrize(
    ("only", "at", "start"),
    [
        (OnlyWhile(unit_idle=True), 3 * HOUR + 30.0, 53 * HOUR + 20 * MINUTE + 30.0),  # it stands from 53:20 on
        (OnlyWhile(tank_above=12.01), 3 * HOUR, 51 * HOUR + 21 * MINUTE),  # 11.5 m3 at 51:00, 1.5 m3/h more
    ],
    ids=["unit", "tank"],
)
def test_a_wash_waits_for_the_unit_or_the_tank_and_looks_once_a_minute(
    only: OnlyWhile, at: float, start: float
) -> None:
    below = Downstream(membrane=None, unit=UNIT, feed_limit=None, cartridge=None)
    result = run(
        Calendar(every=2 * DAY, at=at), stages=(replace(FILTER, only_while=only),), days=2.5,
        downstream=below, demand=steady(3.0 * M3_H),
    )  # fmt: skip
    assert starts(result) == [start]
    assert len(told(result, "wash put off")) == 1


def test_a_unit_is_held_by_steps_and_for_some_minutes_more() -> None:
    below = Downstream(membrane=None, unit=UNIT, feed_limit=None, cartridge=None)

    def holds(hold: HoldUnit) -> list[tuple[float, str]]:
        result = run(DAILY, stages=(replace(FILTER, hold_unit=hold),), days=1.5, downstream=below)
        return [(time - 27 * HOUR, what) for time, _, what in told(result, "unit held", "unit released")]

    assert holds(HoldUnit()) == [(0.0, "unit held"), (WASH, "unit released")]
    assert holds(HoldUnit(start=1, plus=300.0)) == [(600.0, "unit held"), (WASH + 300.0, "unit released")]
    assert holds(HoldUnit(end=0)) == [(0.0, "unit held"), (600.0, "unit released")]


# Signals


def contact(hold: float, at: float | None = None, **given: Any) -> Signal:
    return Signal(of="contact", hold=hold, at=at, contact=Contact(**given))


def test_a_contact_starts_one_wash_each_time_that_it_closes() -> None:
    found = run(contact(600.0, hours=(NIGHT,)), days=3.0)
    assert wash_starts(found) == [(day * DAY + 22 * HOUR + 600.0, "signal") for day in range(3)]
    spans = ((HOUR, 2 * HOUR), (3 * HOUR, 3 * HOUR + 599.0), (30 * HOUR, 40 * HOUR))
    assert starts(run(contact(600.0, spans=spans), days=3.0)) == [HOUR + 600.0, 30 * HOUR + 600.0]
    booked = run(contact(600.0, 4 * HOUR, spans=spans), days=3.0)
    assert starts(booked) == [4 * HOUR, 2 * DAY + 4 * HOUR]
    assert told(booked, "wash booked") == [(t + 600.0, "filter", "wash booked") for t in (HOUR, 30 * HOUR)]


def test_a_contact_washes_the_next_vessel_in_turn() -> None:
    both = replace(FILTER, vessels=Vessels(count=2))
    found = run(contact(0.0, hours=(NIGHT,)), stages=(both,), days=3.0)
    assert starts(found, "filter 1") == [22 * HOUR, 2 * DAY + 22 * HOUR]
    assert starts(found, "filter 2") == [DAY + 22 * HOUR]


def test_a_contact_is_read_from_the_clock_and_that_of_the_night_before_counts() -> None:
    over = contact(HOUR, hours=(HoursOfDay(start=23 * HOUR, end=5 * HOUR),))
    assert contact_due(over, -math.inf, 0.0, clock_of(Clock())) == HOUR  # closed as the run begins
    fast = clock_of(Clock(drift=86.4))
    assert contact_due(over, 2 * HOUR, 6 * HOUR, fast) == pytest.approx(23 * HOUR / 1.001 + HOUR)


def test_a_monitor_starts_a_wash_after_its_hold() -> None:
    """Feed of 5 mg/L through a bed that keeps little: over 1 mg/L from the start of the run on."""
    layers = tuple(replace(layer, filter_coefficients=(0.1,)) for layer in FILTER.layers)
    weak = replace(FILTER, layers=layers, limit=None)
    found = run(Signal(of="turbidity", above=1.0, hold=7 * MINUTE), stages=(weak,), days=0.05)
    assert wash_starts(found)[0] == (7 * MINUTE, "signal")
    later = run(Signal(of="turbidity", above=1.0, hold=7 * MINUTE, at=3 * HOUR), stages=(weak,), days=0.2)
    assert wash_starts(later) == [(3 * HOUR, "signal")]
    assert not wash_starts(run(Signal(of="turbidity", above=5.1, hold=0.0), stages=(weak,), days=2.0))
