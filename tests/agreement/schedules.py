"""Trains of clean water drawn at random for the twin's schedule, and the product's case of each."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from hypothesis import strategies as st
from hypothesis.strategies import DrawFn, SearchStrategy

from sim.case.fault.records import Fault, What
from sim.case.records import Case
from sim.case.series.records import Run
from sim.case.stage.records import Stage, Step
from sim.case.train.records import ByHand, HoursOfDay, Lines, Vessels, Washing
from sim.case.trigger import records as trigger
from sim.plant.records import Cause, Event, RunResult
from tests.plant.builders import BACKWASH, FILTER, HOUR, M3_H, MINUTE, RINSE, feed, make_case, steady
from tests.twin import schedule as twin
from tests.twin.schedule import DAY, Mark, Train

POLICY = "drawn"
NEVER_REACHED = 5e6  # Pa, of a switch in clean water
CAUSES = {
    Cause.CALENDAR: "calendar", Cause.VOLUME: "volume", Cause.RESERVE_HOUR: "reserve hour",
    Cause.RESERVE_SPENT: "reserve spent", Cause.PRESSURE: "pressure drop", Cause.SIGNAL: "signal",
    Cause.LONGEST_RUN: "longest run", Cause.HAND: "by hand",
}  # fmt: skip
WHATS = {
    "cut": What("power cut"), "clock": What("clock wrong"), "meter": What("meter reads wrong"),
    "closed": What("switch stuck closed"),
}  # fmt: skip
HOURS = tuple(hour * HOUR for hour in (0.0, 1.5, 2.25, 2.5, 3.0, 3.25, 11.0, 13.5, 23.75))
"""Few, and close to each other, so that filters meet; some lie in the hour that summer skips and doubles."""


# The product's case


def case_of(train: Train) -> Case:
    """The case of a train, its one policy called POLICY."""
    names = [each.name for each in train.filters]
    triggers = tuple(trigger_of(each.triggers) for each in train.filters)
    by_hand = [ByHand(stage=each.name, at=time) for each in train.filters for time in each.by_hand]
    supply, raw, drain = train.lines
    return make_case(
        run=Run(start=train.start, length=train.length, allowed_over_limit=None, summer=train.summer),
        feed=feed(0.0),
        demand=steady(train.flow),
        stages=tuple(stage_of(each) for each in train.filters),
        policies=(trigger.Policy(name=POLICY, triggers=tuple(zip(names, triggers, strict=True))),),
        washing=Washing(
            allowed_hours=tuple(HoursOfDay(start=a, end=b) for a, b in train.allowed),
            least_interval=train.least_interval,
            most_a_day=train.most_a_day,
            together=train.together,
            lines=Lines(supply=supply, raw=raw, drain=drain),
            by_hand=tuple(sorted(by_hand, key=lambda each: each.at)),
            after_abort="wash again" if train.wash_again else "return",
            closed_days=train.closed_weekdays,
        ),
        faults=tuple(fault_of(each) for each in train.faults),
    )


def stage_of(each: twin.Filter) -> Stage:
    clock = trigger.Clock(
        drift=each.clock.drift, daylight_saving=each.clock.follows_summer, keeps_time=each.clock.keeps_time
    )
    return replace(
        FILTER, name=each.name, limit=None, steps=tuple(step_of(step) for step in each.steps),
        vessels=Vessels(count=each.vessels), while_washing="passes raw" if each.passes_raw else "closed",
        clock=clock, least_interval=each.least_interval, not_while=each.not_while, longest_run=each.longest_run,
        longest_run_at=each.longest_run_at,
    )  # fmt: skip


def step_of(step: twin.Step) -> Step:
    like = BACKWASH if step.do == "backwash" else replace(RINSE, do=step.do)
    return replace(like, seconds=step.seconds, flow=step.flow)


def trigger_of(each: tuple[twin.Trigger, ...]) -> trigger.Trigger:
    found = tuple(single(one) for one in each)
    return found[0] if len(found) == 1 else trigger.AnyOf(triggers=found)


def single(each: twin.Trigger) -> trigger.SingleTrigger:
    match each:
        case twin.Calendar():
            first, *others = each.hours
            return trigger.Calendar(
                every=each.every, at=first, also_at=tuple(others), on=each.weekdays, skip_closed=each.skips_closed
            )
        case twin.Interval():
            return trigger.Calendar(every=each.every, at=None)
        case twin.Meter(reserve=None):
            return trigger.Volume(volume=each.volume, at=each.hour)
        case twin.Meter():
            return trigger.VolumeReserve(volume=each.volume, reserve=each.reserve, at=each.hour)
        case twin.Switch():
            return trigger.Pressure(above=NEVER_REACHED, hold=each.hold)
        case twin.Contact():
            hours = tuple(HoursOfDay(start=a, end=b) for a, b in each.spans)
            contact = trigger.Contact(hours=hours)
            return trigger.Signal(of="contact", above=None, hold=each.hold, at=each.hour, contact=contact)


def fault_of(each: twin.Fault) -> Fault:
    what = WHATS[each.what]
    if what == "meter reads wrong" and each.number == 0.0:
        what = What("meter stuck")
    return Fault(
        what=what, stage=each.filter, start=each.start, end=each.end,
        share=each.number if what == "meter reads wrong" else None,
        by=each.number if each.what == "clock" else None,
        valve=("home" if each.home else "frozen") if each.what == "cut" else None,
    )  # fmt: skip


def marks_of(train: Train, result: RunResult) -> list[Mark]:
    """The product's log in the twin's words."""
    vessels = {
        each.name if each.vessels == 1 else f"{each.name} {number + 1}": (each.name, number)
        for each in train.filters
        for number in range(each.vessels)
    }
    found = []
    for entry in result.log:
        if entry.event is Event.WASH_STARTS:
            assert isinstance(entry.why, Cause)
            found.append(Mark(entry.time_s, *vessels[entry.who], CAUSES[entry.why]))
        elif entry.event is Event.BACK:
            found.append(Mark(entry.time_s, *vessels[entry.who], "back"))
    return found


# Drawn


def some(*values: object) -> SearchStrategy:
    return st.sampled_from(values)


def hours() -> SearchStrategy[float]:
    return st.sampled_from(HOURS)


@st.composite
def calendars(draw: DrawFn) -> twin.Calendar:
    at = tuple(draw(st.lists(hours(), min_size=1, max_size=3, unique=True)))
    skips = draw(st.booleans())
    if draw(st.booleans()):
        return twin.Calendar(hours=at, every=draw(some(0.5, 1.0, 2.0, 3.0)) * DAY, skips_closed=skips)
    days = draw(st.lists(st.integers(0, 6), min_size=1, max_size=4, unique=True))
    return twin.Calendar(hours=at, weekdays=tuple(sorted(days)), skips_closed=skips)


@st.composite
def meters(draw: DrawFn, flow: float) -> twin.Meter:
    volume = draw(st.integers(3, 90)) * HOUR * flow * 1.0137
    kind = draw(some("at once", "at an hour", "with reserve"))
    if kind == "with reserve":
        share = draw(some(0.1, 0.3, 0.55))
        return twin.Meter(volume=volume, reserve=share * volume, hour=draw(hours()))
    return twin.Meter(volume=volume, hour=draw(hours()) if kind == "at an hour" else None)


@st.composite
def contacts(draw: DrawFn) -> twin.Contact:
    start, length = draw(st.integers(0, 23)), draw(st.integers(1, 9))
    span = (start * HOUR, (start + length) % 24 * HOUR)
    return twin.Contact(
        spans=(span,), hold=draw(some(0.0, 240.0, 1500.0)), hour=draw(st.one_of(st.none(), hours()))
    )


@st.composite
def several(draw: DrawFn, flow: float) -> tuple[twin.Trigger, ...]:
    """What starts the washes of a filter: one thing, or a calendar or a contact beside a meter."""
    intervals = st.integers(1, 60).map(lambda n: twin.Interval(every=n * HOUR))
    switches = some(0.0, 180.0, 2700.0).map(lambda hold: twin.Switch(hold=hold))
    kind = draw(some("calendar", "calendar", "interval", "meter", "switch", "contact", "two"))
    if kind == "two":
        return draw(st.one_of(calendars(), intervals, contacts())), draw(meters(flow))
    by_kind = {
        "calendar": calendars(), "interval": intervals, "meter": meters(flow), "switch": switches,
        "contact": contacts(),
    }  # fmt: skip
    return (draw(by_kind[kind]),)


def steps() -> SearchStrategy[tuple[twin.Step, ...]]:
    backwash = twin.Step("backwash", 11 * MINUTE, 17 * M3_H)
    settle = twin.Step("settle", 3 * MINUTE, 0.0)
    rinse = twin.Step("rinse", 9 * MINUTE, 7 * M3_H)
    return some(
        (backwash, rinse), (backwash,), (backwash, settle, rinse), (settle, backwash, settle, backwash, rinse),
        (rinse, backwash, rinse), (backwash, rinse._replace(seconds=2 * HOUR)),
    )  # fmt: skip


@st.composite
def clocks(draw: DrawFn) -> twin.Clock:
    drift = draw(some(0.0, 0.0, 35.0, -64.0, 310.0, -900.0))
    return twin.Clock(drift=drift, follows_summer=draw(st.booleans()), keeps_time=draw(st.booleans()))


@st.composite
def filters(draw: DrawFn, place: int, names: list[str], flow: float, length: float) -> twin.Filter:
    triggers = draw(several(flow))
    by_clock = all(isinstance(each, twin.Calendar | twin.Interval) for each in triggers)
    many = by_clock and draw(some(False, False, True))
    others = [name for name in names if name != names[place]]
    longest = st.integers(10, 200).map(lambda n: n * HOUR)
    hands = st.lists(st.integers(1, int(length // HOUR)), max_size=2, unique=True)
    return twin.Filter(
        name=names[place],
        triggers=triggers,
        steps=draw(steps()),
        vessels=draw(some(2, 3)) if many else 1,
        passes_raw=draw(st.booleans()),
        clock=draw(clocks()),
        least_interval=0.0 if many else draw(some(0.0, 0.0, 4 * HOUR, 30 * HOUR)),
        not_while=tuple(sorted(draw(st.sets(st.sampled_from(others), max_size=2)))) if others else (),
        longest_run=draw(st.one_of(st.none(), longest)),
        longest_run_at=draw(st.one_of(st.none(), hours())),
        by_hand=() if many else tuple(sorted(hour * HOUR + 111.0 for hour in draw(hands))),
    )


NUMBERS = {
    "clock": some(-7 * HOUR, -1200.0, 900.0, 5 * HOUR, 1.5 * DAY), "meter": some(0.0, 0.5, 0.9, 1.2),
    "closed": st.just(0.0),
}  # fmt: skip


@st.composite
def faults(draw: DrawFn, each: twin.Filter, length: float) -> tuple[twin.Fault, ...]:
    """Up to two of the devices that a filter has."""
    whats = ["clock"]
    whats += ["meter"] if any(isinstance(one, twin.Meter) for one in each.triggers) else []
    whats += ["closed"] if any(isinstance(one, twin.Switch) for one in each.triggers) else []
    found = []
    for what in draw(st.lists(st.sampled_from(whats), max_size=2)):
        start = draw(st.integers(0, int(length // HOUR) - 2)) * HOUR + 1234.5
        end = draw(st.one_of(st.just(twin.NEVER), st.integers(1, 120).map(lambda n: n * 1.01 * HOUR + 77.0)))
        number = draw(NUMBERS[what])
        found.append(twin.Fault(what=what, start=start, end=start + end, filter=each.name, number=number))
    return tuple(found)


@st.composite
def cuts(draw: DrawFn, length: float) -> tuple[twin.Fault, ...]:
    """Up to three power cuts, each within two days of its own."""
    found = []
    for pair in sorted(draw(st.lists(st.integers(0, int(length // DAY) // 2 - 1), max_size=3, unique=True))):
        start = 2 * pair * DAY + draw(hours()) + draw(some(1.7, 333.3, 777.7))
        end = start + draw(some(613.9, 3.01 * HOUR, 20.3 * HOUR))
        found.append(twin.Fault(what="cut", start=start, end=end, home=draw(st.booleans())))
    return tuple(found)


@st.composite
def trains(draw: DrawFn, *, faulty: bool) -> Train:
    """One to three filters for one to two weeks, with a summer in them now and then."""
    length = draw(st.integers(8, 16)) * DAY
    flow = draw(some(3.1, 5.3)) * M3_H
    names = ["north", "middle", "south"][: draw(st.integers(1, 3))]
    train_filters = tuple(draw(filters(place, names, flow, length)) for place in range(len(names)))
    start, end = draw(st.integers(0, 4)), draw(st.integers(5, 12))
    summer = (start * DAY + 2 * HOUR, end * DAY + 2 * HOUR, draw(some(HOUR, HOUR / 2)))
    together = draw(some("overlap", "overlap", "wait", "share"))
    span = (draw(st.integers(0, 23)), draw(st.integers(2, 14)))
    lines = tuple(draw(st.integers(1, 3)) for _ in range(3))
    return Train(
        start=datetime(2027, 3, 1) + timedelta(hours=draw(some(0, 0, 9))),
        length=length,
        flow=flow,
        filters=train_filters,
        summer=draw(some((), (summer,))),
        together=together,
        lines=lines if together == "share" else (1, 1, 1),
        allowed=draw(some((), ((span[0] * HOUR, (span[0] + span[1]) % 24 * HOUR),))),
        least_interval=draw(some(0.0, 0.0, 1.5 * HOUR)),
        most_a_day=draw(some(None, None, 1, 2)),
        closed_weekdays=draw(some((), (6,), (0, 2))),
        wash_again=draw(st.booleans()),
        faults=(*draw(cuts(length)), *(one for each in train_filters for one in draw(faults(each, length))))
        if faulty
        else (),
    )
