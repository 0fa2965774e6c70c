"""The settings sheet: what is to be set at each filter, for whoever stands before it."""

from collections.abc import Collection, Iterator, Sequence
from typing import assert_never

from plots.words import Amount, Kind, Label, Number, Term, amount, items, label, localised, number, term
from sim.case.quantities import Quantity, System
from sim.case.records import Case
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
from sim.plant.records import RunResult
from sim.tell.listing import Column, Listing
from sim.tell.present import ABSENT, amount_of, duration, measured
from sim.tell.sentences import day_time

DIGITS = 6  # a setting is told as it is set
MORE_DIGITS = 9  # that show whether it was set in these units
DIGITS_ROUNDED = 4  # where it was set in other units, or reached


def settings_listing(case: Case, policies: Collection[str], system: System) -> Listing:
    """What starts a wash: a row for every stage of these policies."""
    return Listing(
        columns=(
            Column(label("settings.way"), "words"), Column(label("column.stage"), "words"),
            Column(label("settings.to_set"), "long words"),
        ),
        rows=tuple(
            (policy.name if place == 0 else "", stage.name, trigger_words(stage, trigger, system))
            for policy in case.policies
            if policy.name in policies
            for place, (stage, (_, trigger)) in enumerate(zip(case.stages, policy.triggers, strict=True))
        ),
    )


def steps_listing(case: Case, results: Sequence[RunResult], system: System) -> Listing:
    """The wash of every stage, step by step: the flow set, the least that any of these runs reached, the water, and
    the minutes in which the unit downstream is held."""
    held = any(stage.hold_unit is not None for stage in case.stages)
    columns = (
        Column(label("column.stage"), "words"), Column(label("settings.step"), "words"),
        Column(label("settings.minutes"), "numbers"), Column(label("settings.flow"), "words"),
        Column(label("settings.reached"), "words"), Column(label("settings.water"), "words"),
    )  # fmt: skip
    return Listing(
        columns=(*columns, *((Column(label("settings.held"), "words"),) if held else ())),
        rows=tuple(
            row
            for stage in case.stages
            for row in _steps(stage, [each.wash_flows[stage.name] for each in results], system, held=held)
        ),
    )


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
    return "; ".join(ways)


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


def _steps(
    stage: Stage, reached: Sequence[Sequence[float | None]], system: System, *, held: bool
) -> Iterator[tuple[str, ...]]:
    for place, step in enumerate(stage.steps):
        first = place == 0
        unit = (held_words(stage) if first else "",) if held else ()
        least = min((flow for each in reached if (flow := each[place]) is not None), default=None)
        flows = ABSENT if not step.flow else set_amount(step.flow, "flow", system), reached_words(least, system)
        name = stage.name if first else ""
        yield (name, _step(step), minutes_of(step.seconds), *flows, water_of(step, system), *unit)


def _step(step: Step) -> Label | Term:
    """What a step is called, with its direction where that is not the one of service."""
    called = term("step", step.do)
    return label("settings.counter_current", step=called) if step.direction == "counter-current" else called


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


def held_words(stage: Stage) -> Label:
    """The minutes of a wash in which the unit is held."""
    start, end = stage.hold_span
    if start == end:
        return label("settings.not_held")
    return label("settings.held_from", start=minutes_of(start), end=minutes_of(end))


def set_amount(value: float, measure: Quantity, system: System) -> Amount:
    """To the digit where it was set in these units, else rounded."""
    told, nearly = (measured(value, measure, system, digits=digits) for digits in (DIGITS, MORE_DIGITS))
    return amount(*told) if told == nearly else amount_of(value, measure, system, digits=DIGITS_ROUNDED)
