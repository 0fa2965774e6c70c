"""What starts a wash: each trigger as small, stateless rules over what a filter has seen.

A trigger met at the very start of a filter run is met: the wash follows at once (pressure: after its hold).
"""

import math
from typing import NamedTuple

from sim.case.trigger_records import Calendar, Pressure, Trigger, Volume, VolumeReserve, singles
from sim.plant.clock import next_time_of_day
from sim.plant.records import Cause


class LastWash(NamedTuple):
    """The last wash of a filter: when it started, why, and the due time that it answered [s]."""

    start: float
    cause: Cause | None
    answered: float


NO_WASH = LastWash(0.0, None, 0.0)


def due_after(interval: float, cause: Cause, last: LastWash) -> float:
    """When an interval has passed [s] since the due time that the last wash of this cause answered.

    After a wash of another cause it counts from that wash's start, before any wash from the start of the run. A wash
    that had to wait for its turn therefore shifts no later one.
    """
    since = last.answered if last.cause is cause else last.start
    return since + interval


def calendar_slot(trigger: Calendar, last: LastWash, now: float, midnight: float) -> float:
    """The first `at` on or after the calendar is due [s]; hours that passed during a wash are not made up."""
    due = due_after(trigger.every, Cause.CALENDAR, last)
    return next_time_of_day(max(due, now), trigger.at, midnight)


def latest_due(trigger: Trigger, last: LastWash, now: float) -> float:
    """When the longest time between washes is over [s], whatever the hour; inf without such a limit."""
    if trigger.latest is None:
        return math.inf
    return max(due_after(trigger.latest, Cause.LATEST, last), now)


def first_volume(trigger: Volume | VolumeReserve) -> float:
    """Treated volume [m3] at which the trigger first acts: all of it, or down to the reserve."""
    return trigger.volume - (trigger.reserve if isinstance(trigger, VolumeReserve) else 0.0)


def pressure_set(trigger: Trigger) -> float:
    """The set point of the pressure switch [Pa]; inf for a trigger that has none."""
    return next((each.above for each in singles(trigger) if isinstance(each, Pressure)), math.inf)
