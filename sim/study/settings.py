"""The settings sheet: what is to be set at each filter, for whoever stands before it."""

from collections.abc import Collection, Iterator

from sim.case.longest_run import longest_run_of
from sim.case.records import Case, Stage, Step
from sim.case.trigger_records import Calendar, Pressure, SingleTrigger, Trigger, Volume, VolumeLearned, singles
from sim.case.units import HOUR, MINUTE
from sim.case.wording import plain_duration
from sim.review.findings import Measure
from sim.study.kpis import System
from sim.study.listing import Column, Listing
from sim.study.present import ABSENT, measured

DIGITS = 6  # a setting is told as it is set


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


def steps_listing(case: Case, system: System) -> Listing:
    """The wash of every stage, step by step, with the minutes in which the unit downstream is held."""
    heads = ("stage", "step", "minutes", "flow", "water")
    held = any(stage.hold_unit is not None for stage in case.stages)
    columns = tuple(Column(head, "numbers" if head == "minutes" else "words") for head in heads)
    return Listing(
        columns=(*columns, *((Column("unit downstream held", "words"),) if held else ())),
        rows=tuple(row for stage in case.stages for row in _steps(stage, system, held=held)),
    )


def trigger_words(stage: Stage, trigger: Trigger, system: System) -> str:
    """All that a stage has to be set to for a trigger, its longest run included."""
    ways = "; or ".join(_single(each, system) for each in singles(trigger))
    longest = longest_run_of(stage, trigger)
    if longest is None:
        return ways
    at = "" if stage.longest_run_at is None else f", at the last {_clock(stage.longest_run_at)} before it has passed"
    return f"{ways}; longest run {plain_duration(longest)}{at}"


def _single(trigger: SingleTrigger, system: System) -> str:
    match trigger:
        case Calendar():
            return f"every {plain_duration(trigger.every)}, at {_clock(trigger.at)}"
        case Pressure():
            held = f", held for {plain_duration(trigger.hold)}" if trigger.hold else ""
            return f"at a pressure drop of {_amount(trigger.above, 'pressure', system)}{held}"
        case Volume():
            at = "" if trigger.at is None else f", at the next {_clock(trigger.at)}"
            return f"after {_amount(trigger.volume, 'volume', system)}{at}"
    reserve = f"{_amount(trigger.reserve, 'volume', system)} of {_amount(trigger.volume, 'volume', system)} are left"
    learned = ""
    if isinstance(trigger, VolumeLearned):
        days = "days" if trigger.by == "trailing" else "days of the same name"
        learned = f" (until {trigger.days} {days} are on record; then what {trigger.quantile:.0%} of them used)"
    return f"at {_clock(trigger.at)} once {reserve}{learned}, at once when none is"


def _steps(stage: Stage, system: System, *, held: bool) -> Iterator[tuple[str, ...]]:
    for place, step in enumerate(stage.steps):
        first = place == 0
        unit = (_held(stage) if first else "",) if held else ()
        yield (stage.name if first else "", step.do, f"{step.seconds / MINUTE:g}", *_water(step, system), *unit)


def _water(step: Step, system: System) -> tuple[str, str]:
    if not step.flow:
        return ABSENT, ABSENT
    air = ", with air" if step.air else ""
    return _amount(step.flow, "flow", system), f"{step.water}{air}"


def _held(stage: Stage) -> str:
    hold = stage.hold_unit
    return "no" if hold is None else f"from minute {hold.start / MINUTE:g} to {hold.end / MINUTE:g}"


def _amount(value: float, measure: Measure, system: System) -> str:
    return " ".join(measured(value, measure, system, digits=DIGITS))


def _clock(time: float) -> str:
    return f"{int(time // HOUR):02d}:{round(time % HOUR / MINUTE):02d}"
