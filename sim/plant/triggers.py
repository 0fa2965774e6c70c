"""What starts a wash: each trigger as small, stateless rules over what a filter has seen.

A trigger met at the very start of a filter run is met: the wash follows at once (pressure: after its hold).
"""

import math
from collections.abc import Collection, Iterator
from datetime import date
from typing import NamedTuple, assert_never

from sim.case.stage.longest_run import longest_run_hours, longest_run_of
from sim.case.stage.records import Stage
from sim.case.trigger.records import (
    Calendar,
    Contact,
    Pressure,
    Signal,
    SingleTrigger,
    Trigger,
    Volume,
    VolumeLearned,
    VolumeReserve,
    devices,
)
from sim.plant.clock import DAY, last_time_of_day
from sim.plant.records import Cause
from sim.plant.stage_clock import StageClock


class LastWash(NamedTuple):
    """The last wash of a filter: when it started, why, and the due time that it answered [s]."""

    start: float
    cause: Cause | None
    answered: float


NO_WASH = LastWash(0.0, None, 0.0)
DAYS_AHEAD = 8  # of a contact's hours that are looked at

Closed = Collection[int | date]


def calendar_slot(trigger: Calendar, last: LastWash, now: float, clock: StageClock, closed: Closed = ()) -> float:
    """The first of its hours on or after the calendar is due [s]; hours that passed during a wash are not made up.

    It is due `every` after the hour that the last calendar wash answered, on that day's first hour where there are
    several, so that waiting for a turn shifts no later wash; one wash answers all hours that the clock jumps past at
    once. After another wash it counts from that one's start, before any from the start of the run. On named weekdays
    every hour counts that no wash has answered. Without an hour it is due `every` after the start of the last wash,
    whatever started that.
    """
    every, hours = trigger.every or 0.0, trigger.hours
    if not hours:
        return max(last.start + every, now)

    def fits(day: int) -> bool:
        its = clock.date(day)
        skipped = trigger.skip_closed and (its in closed or its.weekday() in closed)
        return not skipped and (not trigger.on or its.weekday() in trigger.on)

    since = clock.reading(last.start)
    if last.cause is Cause.CALENDAR:
        shown = clock.reading(last.answered)
        since, at = max((last_time_of_day(shown, each, clock.midnight), each) for each in hours)
        later = clock.next_slot(now, hours, since=shown + 1.0, fits=fits)
        if trigger.on or later < clock.midnight + (clock.day(since) + 1) * DAY:
            return clock.when(later, now)
        since += hours[0] - at
    elif trigger.on:
        since = -math.inf
    return clock.next_hour(now, hours, since=since + every, fits=fits)


def contact_due(
    trigger: Signal, answered: float, now: float, clock: StageClock, powered: float = -math.inf
) -> float:
    """When a contact has been closed for its hold [s], now if it has and still is; inf if that never comes.

    `answered`: when the last wash was due that it started; each time that it closes starts one at the most. No hold
    counts from before `powered`, when the power came back.
    """
    assert trigger.contact is not None
    for start, end in _closed(trigger.contact, now, clock):
        met = max(start, powered) + trigger.hold
        if end > max(start, now) and met <= end and start > answered:
            return max(met, now)
    return math.inf


def _closed(contact: Contact, now: float, clock: StageClock) -> Iterator[tuple[float, float]]:
    """From when to when a contact is closed: all that may last beyond now, in order of time [s]."""
    if contact.spans:
        yield from contact.spans
        return
    today = clock.day(clock.reading(now))
    for day in range(today - 1, today + DAYS_AHEAD):
        for span in sorted(contact.hours, key=lambda each: each.start):
            begins = clock.midnight + day * DAY + span.start
            lasts = (span.end - span.start) % DAY or DAY
            start = clock.when(begins, 0.0)
            yield start, clock.when(begins + lasts, start)


def longest_run_due(
    stage: Stage, trigger: Trigger, last: LastWash, now: float, clock: StageClock, began: float | None = None
) -> float:
    """When the longest run ends a filter run that `began` now, or that is looked at anew now [s]; inf without one.

    At the last of its hours at or before it has passed since the last wash began; where none of them is still to come
    before that, none after the run began, or there is no hour, the moment it has passed.
    """
    longest = longest_run_of(stage, trigger)
    if longest is None:
        return math.inf
    passed, began = last.start + longest, now if began is None else began
    slots = [clock.last_hour(now, at, passed) for at in longest_run_hours(stage, trigger)]
    return max([each for each in slots if each > began], default=max(passed, now))


def causes_of(trigger: SingleTrigger) -> tuple[Cause, ...]:
    """The causes by which a trigger starts washes."""
    match trigger:
        case Calendar():
            return (Cause.CALENDAR,)
        case Volume():
            return (Cause.VOLUME,)
        case VolumeReserve() | VolumeLearned():
            return Cause.RESERVE_HOUR, Cause.RESERVE_SPENT
        case Pressure():
            return (Cause.PRESSURE,)
        case Signal():
            return (Cause.SIGNAL,)
        case _:
            assert_never(trigger)


def pressure_set(trigger: Trigger) -> float:
    """The set point of the pressure switch [Pa]; inf for a trigger that has none."""
    _, _, switch, _ = devices(trigger)
    return math.inf if switch is None else switch.above
