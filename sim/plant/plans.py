"""What a filter in service waits for, trigger by trigger, and what follows once it is met.

A plan is made when a filter run begins. It says what it waits for now; told that it is met, it either gives the cause
of a wash or waits for the next thing.
"""

import math
from dataclasses import dataclass
from typing import assert_never

from sim.case.trigger.records import (
    Calendar,
    Pressure,
    Signal,
    SingleTrigger,
    Volume,
    VolumeLearned,
    VolumeReserve,
)
from sim.plant.learned import learned_reserve, volumes_of, wash_is_due
from sim.plant.line import Monitor
from sim.plant.records import Cause
from sim.plant.stage_clock import StageClock
from sim.plant.triggers import Closed, LastWash, calendar_slot, contact_due


@dataclass(slots=True, kw_only=True)
class Plan:
    """Waits for nothing but what is set: hour [s], treated volume [m3], signal [Pa] held for a time [s], a monitor of
    what the stage sends on (of what, at or above [g/m3]) held for a time [s].

    The water itself says when a signal has been high for long enough.
    """

    hour: float = math.inf
    volume: float = math.inf
    pressure: float = math.inf
    hold: float = 0.0
    monitor: tuple[Monitor, float] | None = None
    monitor_hold: float = 0.0

    def at_hour(self, now: float, treated: float) -> Cause | None:
        """The hour has come, with so much treated [m3]: the cause of a wash, None to wait on."""
        return None

    def at_volume(self, now: float) -> Cause | None:
        """The volume is treated: the cause of a wash, None to wait on."""
        return None

    def at_pressure(self, now: float) -> Cause | None:
        """The signal has been high for long enough: the cause of a wash, None to wait on."""
        return None

    def at_monitor(self, now: float) -> Cause | None:
        """The monitor has been high for long enough: the cause of a wash, None to wait on."""
        return None


@dataclass(slots=True, kw_only=True)
class PressurePlan(Plan):
    """A wash once the signal has been high for long enough."""

    cause: Cause

    def at_pressure(self, now: float) -> Cause | None:
        return self.cause


@dataclass(slots=True, kw_only=True)
class HourPlan(Plan):
    """A wash at an hour."""

    cause: Cause

    def at_hour(self, now: float, treated: float) -> Cause | None:
        return self.cause


@dataclass(slots=True, kw_only=True)
class VolumePlan(Plan):
    """A wash once a volume is treated, at once or at the next `at`."""

    trigger: Volume
    clock: StageClock

    def at_volume(self, now: float) -> Cause | None:
        self.volume = math.inf
        if self.trigger.at is None:
            return Cause.VOLUME
        self.hour = self.clock.next_hour(now, (self.trigger.at,))
        return None

    def at_hour(self, now: float, treated: float) -> Cause | None:
        return Cause.VOLUME


@dataclass(slots=True, kw_only=True)
class ReservePlan(Plan):
    """A wash at the first `at` once only the reserve is left, at once if nothing is."""

    trigger: VolumeReserve
    clock: StageClock

    def at_volume(self, now: float) -> Cause | None:
        if self.volume >= self.trigger.volume:
            return Cause.RESERVE_SPENT
        self.volume = self.trigger.volume
        self.hour = self.clock.next_hour(now, (self.trigger.at,))
        return None

    def at_hour(self, now: float, treated: float) -> Cause | None:
        return Cause.RESERVE_HOUR


@dataclass(slots=True, kw_only=True)
class LearnedPlan(Plan):
    """A wash at an `at` at which no more is left than the reserve learned so far; at once if nothing is.

    `readings` are those of the vessel's meter at every `at`, which somebody else keeps.
    """

    trigger: VolumeLearned
    clock: StageClock
    readings: list[float]

    def at_volume(self, now: float) -> Cause | None:
        return Cause.RESERVE_SPENT

    def at_hour(self, now: float, treated: float) -> Cause | None:
        reserve = learned_reserve(self.trigger, volumes_of(self.readings))
        if wash_is_due(self.trigger, treated, reserve):
            return Cause.RESERVE_HOUR
        self.hour = self.clock.next_hour(now + 1.0, (self.trigger.at,))
        return None


@dataclass(slots=True, kw_only=True)
class SignalPlan(Plan):
    """A wash once a monitor has been high for long enough, at once or at the next `at`."""

    trigger: Signal
    clock: StageClock
    booked: bool = False

    def at_monitor(self, now: float) -> Cause | None:
        self.monitor = None
        return self._met(now)

    def at_hour(self, now: float, treated: float) -> Cause | None:
        return Cause.SIGNAL if self.booked else self._met(now)

    def _met(self, now: float) -> Cause | None:
        if self.trigger.at is None:
            return Cause.SIGNAL
        self.booked, self.hour = True, self.clock.next_hour(now, (self.trigger.at,))
        return None


@dataclass(slots=True, kw_only=True)
class ContactPlan(SignalPlan):
    """As a SignalPlan, of a contact: it is looked at anew whenever the turn in its stage may have moved on."""

    def look(self, now: float, answered: float, powered: float, *, is_next: bool) -> None:
        """Have the stage's next vessel wait for the next closing that no wash has answered, due at `answered` [s]; no
        hold counts from before `powered`."""
        if not self.booked:
            self.hour = contact_due(self.trigger, answered, now, self.clock, powered) if is_next else math.inf


def plan_of(
    trigger: SingleTrigger,
    last: LastWash,
    now: float,
    clock: StageClock,
    readings: list[float],
    closed: Closed = (),
) -> Plan:
    """The plan of one trigger for a filter run that begins now."""
    match trigger:
        case Pressure():
            return PressurePlan(pressure=trigger.above, hold=trigger.hold, cause=Cause.PRESSURE)
        case Calendar():
            return HourPlan(hour=calendar_slot(trigger, last, now, clock, closed), cause=Cause.CALENDAR)
        case Volume():
            return VolumePlan(volume=trigger.volume, trigger=trigger, clock=clock)
        case VolumeReserve():
            first = trigger.volume - trigger.reserve
            return ReservePlan(volume=first, trigger=trigger, clock=clock)
        case VolumeLearned():
            hour = clock.next_hour(now, (trigger.at,))
            return LearnedPlan(
                hour=hour, volume=trigger.volume, trigger=trigger, clock=clock, readings=readings
            )
        case Signal(contact=None):
            assert trigger.of != "contact"
            assert trigger.above is not None
            return SignalPlan(
                monitor=(trigger.of, trigger.above), monitor_hold=trigger.hold, trigger=trigger, clock=clock
            )
        case Signal():
            return ContactPlan(trigger=trigger, clock=clock)
        case _:
            assert_never(trigger)


def by_the_clock_anew(plan: Plan, fresh: Plan, now: float) -> None:
    """Have a plan wait for the hours that come from now on, as a `fresh` one: the clock was changed, or stood."""
    if not isinstance(plan, VolumePlan | ReservePlan | SignalPlan):
        plan.hour = fresh.hour
    elif plan.hour < math.inf and plan.trigger.at is not None:
        plan.hour = plan.clock.next_hour(now, (plan.trigger.at,))


def read_at(trigger: SingleTrigger) -> float | None:
    """The time of day at which a trigger has the meter read [s after midnight]; None if it keeps no record."""
    match trigger:
        case VolumeLearned():
            return trigger.at
        case Calendar() | Volume() | VolumeReserve() | Pressure() | Signal():
            return None
        case _:
            assert_never(trigger)
