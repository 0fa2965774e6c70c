"""Time and ties: absolute times only, and one written order for what happens at the same instant.

The water has always arrived first (`LeapingEnvironment`). Then, at one instant: faults, trips, ends of phases,
hours of the clock (policy), turns at shared supplies (grants), records; within one kind the stages in the order of
the train.
"""

import math
from enum import IntEnum

from sim.plant.errors import ClockError

DAY = 86_400.0
STAGES_AT_MOST = 1000
DAYS_OF_ROUNDING = 1e-9


class Order(IntEnum):
    """What goes first at one instant. simpy's own follow-ups (a process starting, a request granted) use 0 and 1."""

    FAULT = 1
    TRIP = 2
    PHASE = 3
    POLICY = 4
    GRANT = 5
    RECORD = 6

    def of(self, stage: int) -> int:
        """Heap priority of this kind of event for a stage."""
        return self * STAGES_AT_MOST + stage


def checked(now: float, time: float) -> float:
    """`time` if the clock can go there: finite and not in the past [s].

    Raises ClockError otherwise: simpy itself takes a nan or a step back and lets the clock run backwards.
    """
    if not math.isfinite(time) or time < now:
        raise ClockError(now, time, "an event must lie at a finite time, now or later")
    return time


def phase_end(now: float, seconds: float) -> float:
    """End of a phase that takes some time [s]; raises ClockError when the clock would not move by it."""
    end = checked(now, now + seconds)
    if seconds > 0.0 and end <= now:
        raise ClockError(now, end, "the phase is shorter than the clock can resolve this late in the run")
    return end


def next_time_of_day(time: float, at: float, midnight: float) -> float:
    """The first `at` [s after midnight] on or after `time`; `midnight` is any midnight on the run's clock [s].

    Computed as midnight + at + days x 86 400, so that a year of them adds no rounding; a `time` that rounding has put
    a hair behind its own slot is taken as being there.
    """
    days = math.ceil((time - midnight - at) / DAY - DAYS_OF_ROUNDING)
    return max(midnight + at + days * DAY, time)


def last_time_of_day(time: float, at: float, midnight: float) -> float:
    """The last `at` [s after midnight] at or before `time`; see `next_time_of_day`."""
    days = math.floor((time - midnight - at) / DAY + DAYS_OF_ROUNDING)
    return min(midnight + at + days * DAY, time)
