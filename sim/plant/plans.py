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
    SingleTrigger,
    Volume,
    VolumeLearned,
    VolumeReserve,
)
from sim.plant.clock import next_time_of_day
from sim.plant.learned import learned_reserve, volumes_of, wash_is_due
from sim.plant.records import Cause
from sim.plant.triggers import LastWash, calendar_slot


@dataclass(slots=True, kw_only=True)
class Plan:
    """Waits for nothing but what is set: hour [s], treated volume [m3], signal [Pa] held for a time [s].

    The water itself says when the signal has been high for long enough.
    """

    hour: float = math.inf
    volume: float = math.inf
    pressure: float = math.inf
    hold: float = 0.0

    def at_hour(self, now: float, treated: float) -> Cause | None:
        """The hour has come, with so much treated [m3]: the cause of a wash, None to wait on."""
        return None

    def at_volume(self, now: float) -> Cause | None:
        """The volume is treated: the cause of a wash, None to wait on."""
        return None

    def at_pressure(self, now: float) -> Cause | None:
        """The signal has been high for long enough: the cause of a wash, None to wait on."""
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
    midnight: float

    def at_volume(self, now: float) -> Cause | None:
        self.volume = math.inf
        if self.trigger.at is None:
            return Cause.VOLUME
        self.hour = next_time_of_day(now, self.trigger.at, self.midnight)
        return None

    def at_hour(self, now: float, treated: float) -> Cause | None:
        return Cause.VOLUME


@dataclass(slots=True, kw_only=True)
class ReservePlan(Plan):
    """A wash at the first `at` once only the reserve is left, at once if nothing is."""

    trigger: VolumeReserve
    midnight: float

    def at_volume(self, now: float) -> Cause | None:
        if self.volume >= self.trigger.volume:
            return Cause.RESERVE_SPENT
        self.volume = self.trigger.volume
        self.hour = next_time_of_day(now, self.trigger.at, self.midnight)
        return None

    def at_hour(self, now: float, treated: float) -> Cause | None:
        return Cause.RESERVE_HOUR


@dataclass(slots=True, kw_only=True)
class LearnedPlan(Plan):
    """A wash at an `at` at which no more is left than the reserve learned so far; at once if nothing is.

    `readings` are those of the vessel's meter at every `at`, which somebody else keeps.
    """

    trigger: VolumeLearned
    midnight: float
    readings: list[float]

    def at_volume(self, now: float) -> Cause | None:
        return Cause.RESERVE_SPENT

    def at_hour(self, now: float, treated: float) -> Cause | None:
        reserve = learned_reserve(self.trigger, volumes_of(self.readings))
        if wash_is_due(self.trigger, treated, reserve):
            return Cause.RESERVE_HOUR
        self.hour = next_time_of_day(now + 1.0, self.trigger.at, self.midnight)
        return None


def plan_of(
    trigger: SingleTrigger, last: LastWash, now: float, midnight: float, readings: list[float]
) -> Plan:
    """The plan of one trigger for a filter run that begins now."""
    match trigger:
        case Pressure():
            return PressurePlan(pressure=trigger.above, hold=trigger.hold, cause=Cause.PRESSURE)
        case Calendar():
            return HourPlan(hour=calendar_slot(trigger, last, now, midnight), cause=Cause.CALENDAR)
        case Volume():
            return VolumePlan(volume=trigger.volume, trigger=trigger, midnight=midnight)
        case VolumeReserve():
            first = trigger.volume - trigger.reserve
            return ReservePlan(volume=first, trigger=trigger, midnight=midnight)
        case VolumeLearned():
            hour = next_time_of_day(now, trigger.at, midnight)
            return LearnedPlan(
                hour=hour, volume=trigger.volume, trigger=trigger, midnight=midnight, readings=readings
            )
        case _:
            assert_never(trigger)


def read_at(trigger: SingleTrigger) -> float | None:
    """The time of day at which a trigger has the meter read [s after midnight]; None if it keeps no record."""
    match trigger:
        case VolumeLearned():
            return trigger.at
        case Calendar() | Volume() | VolumeReserve() | Pressure():
            return None
        case _:
            assert_never(trigger)
