"""What starts a wash: each trigger as small, stateless rules over what a filter has seen.

A trigger met at the very start of a filter run is met: the wash follows at once (pressure: after its hold).
"""

import math
from typing import NamedTuple, assert_never

from sim.case.stage.longest_run import longest_run_hours, longest_run_of
from sim.case.stage.records import Stage
from sim.case.trigger.records import (
    Calendar,
    Pressure,
    SingleTrigger,
    Trigger,
    Volume,
    VolumeLearned,
    VolumeReserve,
    devices,
)
from sim.plant.clock import last_time_of_day, next_time_of_day
from sim.plant.records import Cause


class LastWash(NamedTuple):
    """The last wash of a filter: when it started, why, and the due time that it answered [s]."""

    start: float
    cause: Cause | None
    answered: float


NO_WASH = LastWash(0.0, None, 0.0)


def calendar_slot(trigger: Calendar, last: LastWash, now: float, midnight: float) -> float:
    """The first `at` on or after the calendar is due [s]; hours that passed during a wash are not made up.

    It is due `every` after the due time that the last calendar wash answered, so that waiting for a turn shifts no
    later wash; after another wash it counts from that one's start, before any from the start of the run.
    """
    since = last.answered if last.cause is Cause.CALENDAR else last.start
    return next_time_of_day(max(since + trigger.every, now), trigger.at, midnight)


def longest_run_due(stage: Stage, trigger: Trigger, last: LastWash, now: float, midnight: float) -> float:
    """When the longest run ends a filter run that begins now [s]; inf without one.

    At the last of its hours at or before it has passed since the last wash began; where none of them lies after now
    and before that, or there is no hour, the moment it has passed.
    """
    longest = longest_run_of(stage, trigger)
    if longest is None:
        return math.inf
    passed = last.start + longest
    slots = [last_time_of_day(passed, at, midnight) for at in longest_run_hours(stage, trigger)]
    return max([each for each in slots if each > now], default=max(passed, now))


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
        case _:
            assert_never(trigger)


def pressure_set(trigger: Trigger) -> float:
    """The set point of the pressure switch [Pa]; inf for a trigger that has none."""
    _, _, switch = devices(trigger)
    return math.inf if switch is None else switch.above
