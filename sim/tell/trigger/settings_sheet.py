"""The settings sheet: what is to be set at each filter, for whoever stands before it."""

from collections.abc import Collection, Iterator, Sequence
from typing import assert_never

from sim.case.quantities import Quantity, System
from sim.case.records import Case
from sim.case.spelling import plain_duration
from sim.case.stage.longest_run import longest_run_of
from sim.case.stage.records import Stage, Step
from sim.case.trigger.records import (
    Calendar,
    Pressure,
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
from sim.tell.present import ABSENT, measured
from sim.tell.sentences import day_time

DIGITS = 6  # a setting is told as it is set
MORE_DIGITS = 9  # that show whether it was set in these units
DIGITS_ROUNDED = 4  # where it was set in other units, or reached


def settings_listing(case: Case, policies: Collection[str], system: System) -> Listing:
    """What starts a wash: a row for every stage of these policies."""
    return Listing(
        columns=(Column("what starts a wash", "words"), Column("stage", "words"), Column("to be set", "long words")),
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
    heads = ("stage", "step", "minutes", "flow set", "least flow reached", "water")
    held = any(stage.hold_unit is not None for stage in case.stages)
    columns = tuple(Column(head, "numbers" if head == "minutes" else "words") for head in heads)
    return Listing(
        columns=(*columns, *((Column("unit downstream held", "words"),) if held else ())),
        rows=tuple(
            row
            for stage in case.stages
            for row in _steps(stage, [each.wash_flows[stage.name] for each in results], system, held=held)
        ),
    )


def trigger_words(stage: Stage, trigger: Trigger, system: System) -> str:
    """All that a stage has to be set to for a trigger, its longest run included."""
    ways = "; or ".join(_single(each, system) for each in singles(trigger))
    longest = longest_run_of(stage, trigger)
    if longest is None:
        return ways
    hour = stage.longest_run_at
    at = "" if hour is None else f", at the last {day_time(hour)} before it has passed"
    return f"{ways}; longest run {plain_duration(longest)}{at}"


def _single(trigger: SingleTrigger, system: System) -> str:
    match trigger:
        case Calendar():
            return f"every {plain_duration(trigger.every)}, at {day_time(trigger.at)}"
        case Pressure():
            held = f", held for {plain_duration(trigger.hold)}" if trigger.hold else ""
            return f"at a pressure drop of {_amount(trigger.above, 'pressure', system)}{held}"
        case Volume():
            at = "" if trigger.at is None else f", at the next {day_time(trigger.at)}"
            return f"after {_amount(trigger.volume, 'volume', system)}{at}"
        case VolumeReserve():
            return _reserve(trigger, "", system)
        case VolumeLearned():
            days = "days" if trigger.by == "trailing" else "days of the same name"
            record = f"until {trigger.days} {days} are on record; then what {trigger.quantile:.0%} of them used"
            return _reserve(trigger, f" ({record})", system)
        case _:
            assert_never(trigger)


def _reserve(trigger: VolumeReserve | VolumeLearned, learned: str, system: System) -> str:
    reserve, volume = (_amount(each, "volume", system) for each in (trigger.reserve, trigger.volume))
    return f"at {day_time(trigger.at)} once {reserve} of {volume} are left{learned}, at once when none is"


def _steps(
    stage: Stage, reached: Sequence[Sequence[float | None]], system: System, *, held: bool
) -> Iterator[tuple[str, ...]]:
    for place, step in enumerate(stage.steps):
        first = place == 0
        unit = (_held(stage) if first else "",) if held else ()
        least = min((flow for each in reached if (flow := each[place]) is not None), default=None)
        flows = ABSENT if not step.flow else _amount(step.flow, "flow", system), _reached(least, system)
        yield (stage.name if first else "", step.do, f"{step.seconds / MINUTE:g}", *flows, _water(step), *unit)


def _reached(flow: float | None, system: System) -> str:
    return ABSENT if flow is None else " ".join(measured(flow, "flow", system, digits=DIGITS_ROUNDED))


def _water(step: Step) -> str:
    if not step.flow:
        return ABSENT
    return f"{step.water}, with air" if step.air else step.water


def _held(stage: Stage) -> str:
    hold = stage.hold_unit
    return "no" if hold is None else f"from minute {hold.start / MINUTE:g} to {hold.end / MINUTE:g}"


def _amount(value: float, measure: Quantity, system: System) -> str:
    """To the digit where it was set in these units, else rounded."""
    told, nearly = (measured(value, measure, system, digits=digits) for digits in (DIGITS, MORE_DIGITS))
    return " ".join(told if told == nearly else measured(value, measure, system, digits=DIGITS_ROUNDED))
