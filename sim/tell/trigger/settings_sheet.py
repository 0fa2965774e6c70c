"""What starts a wash in words, and amounts as they are set, for whoever stands before a filter."""

from collections.abc import Iterator
from typing import assert_never

from plots.words import Amount, Kind, Label, Number, Term, amount, apart, items, label, localised, number, term
from sim.case.quantities import Quantity, System
from sim.case.stage.longest_run import longest_run_of
from sim.case.stage.records import Stage, Step
from sim.case.time_rules import WEEKDAYS
from sim.case.trigger.records import (
    Calendar,
    Pressure,
    Signal,
    SingleTrigger,
    Trigger,
    Volume,
    VolumeLearned,
    VolumeReserve,
    singles,
)
from sim.case.units import MINUTE
from sim.tell.present import ABSENT, amount_of, duration, measured
from sim.tell.sentences import day_time

DIGITS = 6  # a setting is told as it is set
MORE_DIGITS = 9  # that show whether it was set in these units
DIGITS_ROUNDED = 4  # where it was set in other units, or reached


def trigger_words(stage: Stage, trigger: Trigger, system: System) -> str:
    """All that a stage has to be set to for a trigger, its longest run included."""
    ways = [way for each in singles(trigger) for way in _single(each, system)]
    if len(singles(trigger)) > 1:
        ways.append(label("settings.whichever"))
    longest, at = longest_run_of(stage, trigger), stage.longest_run_at
    if longest is not None:
        length = duration(longest)
        ways.append(label("settings.longest_run", longest=length) if at is None
                    else label("settings.longest_run_at", longest=length, hour=day_time(at)))  # fmt: skip
    return apart(ways)


def _single(trigger: SingleTrigger, system: System) -> Iterator[Label]:
    match trigger:
        case Calendar():
            yield from _calendar(trigger)
        case Signal():
            yield from _signal(trigger, system)
        case Pressure():
            pressure = set_amount(trigger.above, "pressure", system)
            yield (label("settings.pressure_held", pressure=pressure, hold=duration(trigger.hold)) if trigger.hold
                   else label("settings.pressure", pressure=pressure))  # fmt: skip
        case Volume():
            volume = set_amount(trigger.volume, "volume", system)
            yield (label("settings.volume", volume=volume) if trigger.at is None
                   else label("settings.volume_at", volume=volume, hour=day_time(trigger.at)))  # fmt: skip
        case VolumeReserve():
            yield label(
                "settings.reserve", hour=day_time(trigger.at), reserve=set_amount(trigger.reserve, "volume", system),
                volume=set_amount(trigger.volume, "volume", system),
            )  # fmt: skip
        case VolumeLearned():
            yield label(
                "settings.learned", days_by=Kind(trigger.by), hour=day_time(trigger.at),
                reserve=set_amount(trigger.reserve, "volume", system),
                volume=set_amount(trigger.volume, "volume", system), days=trigger.days,
                share=amount(number(100.0 * trigger.quantile), "%"),
            )  # fmt: skip
        case _:
            assert_never(trigger)


def _calendar(trigger: Calendar) -> Iterator[Label]:
    hours, every = items([day_time(each) for each in trigger.hours]), duration(trigger.every or 0.0)
    if trigger.at is None:
        yield label("settings.interval", every=every)
    elif trigger.on:
        days = items([term("weekday", WEEKDAYS[each]) for each in trigger.on])
        yield label("settings.weekdays", days=days, hours=hours)
    else:
        yield label("settings.calendar", every=every, hour=hours)
    if trigger.skip_closed:
        yield label("settings.skip_closed")


def _signal(trigger: Signal, system: System) -> Iterator[Label]:
    hold = duration(trigger.hold)
    if trigger.contact is None:
        above = set_amount(trigger.above or 0.0, "solids", system)
        yield label("settings.signal", what=term("monitored", trigger.of), above=above, hold=hold)
    else:
        hours = [f"{day_time(each.start)}-{day_time(each.end)}" for each in trigger.contact.hours]
        yield label("settings.contact_hours", hold=hold, hours=items(hours)) if hours else label(
            "settings.contact", hold=hold)  # fmt: skip
    if trigger.at is not None:
        yield label("settings.booked", hour=day_time(trigger.at))


def minutes_of(seconds: float) -> Number:
    """Minutes as they are set."""
    return localised(f"{seconds / MINUTE:g}")


def reached_words(flow: float | None, system: System) -> Amount | Number:
    """A flow that a step reached [m3/s], where it did."""
    return ABSENT if flow is None else amount_of(flow, "flow", system, digits=DIGITS_ROUNDED)


def water_of(step: Step, system: System) -> Label | Term | Number:
    """The water that a step takes; of a regenerant what it brings, of a make-up where it goes."""
    if step.do == "make-up":
        return label("settings.to_tank")
    if step.do == "regenerant":
        return _brought(step, system)
    if not step.flow:
        return ABSENT
    water = term("wash_water", step.water)
    return label("settings.with_air", water=water) if step.air else water


def _brought(step: Step, system: System) -> Label:
    if step.permanganate is not None:
        return label("settings.with_permanganate", mass=set_amount(step.permanganate, "mass", system))
    if step.salt is not None:
        return label("settings.with_salt", mass=set_amount(step.salt, "mass", system))
    return label("settings.from_tank")


def set_amount(value: float, measure: Quantity, system: System) -> Amount:
    """To the digit where it was set in these units, else rounded."""
    told, nearly = (measured(value, measure, system, digits=digits) for digits in (DIGITS, MORE_DIGITS))
    return amount(*told) if told == nearly else amount_of(value, measure, system, digits=DIGITS_ROUNDED)
