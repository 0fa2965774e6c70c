"""What is to be set at one filter, a row each: its wash as it happens, what starts it, what holds for it."""

from collections.abc import Iterator, Sequence
from typing import Literal, assert_never

from plots.words import Kind, Term, amount, apart, items, label, number, term
from sim.case.quantities import System
from sim.case.record import record
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
from sim.plant.build import water_volumes
from sim.plant.records import SHORT_OF_WATER
from sim.tell.present import amount_of, duration
from sim.tell.sentences import day_time, quoted
from sim.tell.trigger.settings_sheet import minutes_of, reached_words, set_amount, water_of

Starts = Literal[
    "calendar", "interval", "volume", "booked_volume", "reserve", "pressure", "signal", "booked_signal"
]  # fmt: skip
GRAMS = 1000.0  # in a kg


@record
class Row:
    """One setting: `key` tells it from the others of its filter; `part` of a trigger, or which one it is, and its
    `place`; `of_wash`: it is a step."""

    key: str
    name: str
    value: str
    note: str = ""
    place: int = 0
    part: str = ""
    of_wash: bool = False


def rows(
    stage: Stage, trigger: Trigger, system: System, reached: Sequence[float | None] = (), salt: float | None = None
) -> Iterator[Row]:
    """All rows of a filter; of a run `reached`: the least flow of each step [m3/s], `salt` of a regeneration [kg]."""
    for place, step in enumerate(stage.steps):
        number_of = sum(each.do == step.do for each in stage.steps[:place])
        least = reached[place] if reached else None
        yield Row(
            key=f"{step.do} {number_of}", name=step_name(step), value=step_value(step, system),
            note=apart(_step_notes(stage, place, least, salt, system)), of_wash=True,
        )  # fmt: skip
    yield Row(key="other", name=term("sheet_row", "other"), value=label("sheet.none_else"), of_wash=True)
    for place, each in enumerate(singles(trigger)):
        name = "whichever" if place else "starts"
        kind = starts(each)
        yield Row(key=f"starts {place}", name=term("sheet_row", name), value=term("sheet_starts", kind), place=place,
                  note=label("sheet.how", starts=Kind(kind)), part=kind)  # fmt: skip
        for part, value in _parts(each, system):
            yield Row(key=f"{place} {part}", name=_part_name(each, part), value=value, place=place, part=part)
    longest = longest_run_of(stage, trigger)
    if longest is not None:
        yield _rule("longest", duration(longest))
        if stage.longest_run_at is not None:
            yield _rule("longest_at", day_time(stage.longest_run_at))
    yield from rules(stage, system)


def step_name(step: Step) -> Term:
    """A step with its direction."""
    up = step.do in ("regenerant", "displacement") and step.direction == "counter-current"
    return term("sheet_step", f"{step.do}-up" if up else step.do)


def step_value(step: Step, system: System) -> str:
    """Minutes, and with a flow the flow and the water that both make."""
    if not step.flow:
        return label("sheet.step_rest", minutes=minutes_of(step.seconds))
    return label(
        "sheet.step_flow", minutes=minutes_of(step.seconds), flow=set_amount(step.flow, "flow", system),
        volume=set_amount(step.flow * step.seconds, "small volume", system),
    )  # fmt: skip


def _step_notes(
    stage: Stage, place: int, reached: float | None, salt: float | None, system: System
) -> Iterator[str]:
    step = stage.steps[place]
    if step.do == "regenerant":
        if salt is not None and step.salt is None and step.permanganate is None:
            yield label("sheet.salt_each", mass=amount_of(salt * GRAMS, "mass", system))
        else:
            yield water_of(step, system)
    elif step.do == "backwash":
        water = term("wash_water", step.water)
        yield label("sheet.water_and_air", water=water) if step.air else label("sheet.water", water=water)
    elif step.do == "rinse" and step.flow:
        share = step.flow * step.seconds / water_volumes(stage)[0]
        yield label("sheet.tank_volumes", volumes=number(share, 1 if share >= 1.0 else 2))
    if reached is not None and reached < SHORT_OF_WATER * step.flow:
        yield label("sheet.reached", flow=reached_words(reached, system))


def starts(trigger: SingleTrigger) -> Starts:
    """Which way of starting a wash it is."""
    match trigger:
        case Calendar():
            return "interval" if trigger.at is None else "calendar"
        case Volume():
            return "volume" if trigger.at is None else "booked_volume"
        case VolumeReserve() | VolumeLearned():
            return "reserve"
        case Pressure():
            return "pressure"
        case Signal():
            return "signal" if trigger.at is None else "booked_signal"
        case _:
            assert_never(trigger)


def _parts(trigger: SingleTrigger, system: System) -> Iterator[tuple[str, str]]:
    """The settings of a trigger by name, each with its value."""
    match trigger:
        case Calendar():
            if trigger.on:
                yield "on", items([term("weekday", WEEKDAYS[each]) for each in trigger.on])
            elif trigger.every is not None:
                yield "every", duration(trigger.every)
            if trigger.hours:
                yield "hours", items([day_time(each) for each in trigger.hours])
            if trigger.skip_closed:
                yield "closed", term("sheet_row", "no_wash")
        case Volume():
            yield "volume", set_amount(trigger.volume, "volume", system)
            if trigger.at is not None:
                yield "hours", day_time(trigger.at)
        case VolumeReserve() | VolumeLearned():
            yield "volume", set_amount(trigger.volume, "volume", system)
            yield "reserve", set_amount(trigger.reserve, "volume", system)
            if isinstance(trigger, VolumeLearned):
                share = amount(number(100.0 * trigger.quantile), "%")
                yield "learned", (label("sheet.weekday_days", days=trigger.days, share=share)
                                  if trigger.by == "weekday"
                                  else label("sheet.learned_days", days=trigger.days, share=share))  # fmt: skip
            yield "hours", day_time(trigger.at)
        case Pressure():
            yield "above", set_amount(trigger.above, "pressure", system)
            yield "hold", duration(trigger.hold)
        case Signal():
            if trigger.above is not None:
                yield "sensed", set_amount(trigger.above, "solids", system)
            elif trigger.contact is not None and trigger.contact.hours:
                yield "contact", items([f"{day_time(each.start)}-{day_time(each.end)}"
                                        for each in trigger.contact.hours])  # fmt: skip
            yield "hold", duration(trigger.hold)
            if trigger.at is not None:
                yield "hours", day_time(trigger.at)
        case _:
            assert_never(trigger)


def _part_name(trigger: SingleTrigger, part: str) -> str:
    if part == "sensed" and isinstance(trigger, Signal):
        return label("sheet.sensed", what=term("monitored", trigger.of))
    return term("sheet_row", part)


def rules(stage: Stage, system: System) -> Iterator[Row]:
    """What holds for a filter whatever starts its wash, the longest run apart."""
    start, end = stage.hold_span
    if stage.least_interval:
        yield _rule("interval", duration(stage.least_interval))
    if start < end:
        yield _rule("held", label("sheet.minutes", start=minutes_of(start), end=minutes_of(end)))
    if stage.only_while is not None and stage.only_while.unit_idle:
        yield _rule("only_while", label("sheet.unit_idle"))
    if stage.only_while is not None and stage.only_while.tank_above is not None:
        volume = set_amount(stage.only_while.tank_above, "volume", system)
        yield _rule("only_while", label("sheet.tank_above", volume=volume))
    if stage.not_while:
        yield _rule("not_while", quoted(stage.not_while))
    if stage.store is not None and stage.store.salt is not None and stage.store.refilled is not None:
        salt = set_amount(stage.store.salt, "mass", system)
        yield _rule("salt", label("sheet.salt_store", mass=salt, every=duration(stage.store.refilled)))


def _rule(key: str, value: str) -> Row:
    return Row(key=key, name=term("sheet_row", key), value=value)
