"""What is to be set at each filter, as the tables of a report and a workbook."""

from collections.abc import Collection, Sequence

from plots.words import apart, colon, label
from sim.case.quantities import System
from sim.case.records import Case
from sim.plant.records import RunResult
from sim.tell.listing import Column, Listing
from sim.tell.sheet.rows import rules, step_name, step_value
from sim.tell.trigger.settings_sheet import reached_words, trigger_words, water_of


def settings_listing(case: Case, policies: Collection[str], system: System) -> Listing:
    """What starts a wash, and what else holds for it: a row for every stage of these policies."""
    return Listing(
        columns=(
            Column(label("settings.way"), "words"), Column(label("column.stage"), "words"),
            Column(label("settings.to_set"), "long words"),
        ),
        rows=tuple(
            (policy.name if place == 0 else "", stage.name,
             apart([trigger_words(stage, trigger, system),
                        *(f"{each.name}{colon()}{each.value}" for each in rules(stage, system))]))
            for policy in case.policies
            if policy.name in policies
            for place, (stage, (_, trigger)) in enumerate(zip(case.stages, policy.triggers, strict=True))
        ),
    )  # fmt: skip


def steps_listing(case: Case, results: Sequence[RunResult], system: System) -> Listing:
    """The wash of every stage, by steps: what is set, the least flow that any of these runs reached, water."""
    return Listing(
        columns=(
            Column(label("column.stage"), "words"), Column(label("settings.step"), "words"),
            Column(label("sheet.set"), "words"), Column(label("settings.reached"), "words"),
            Column(label("settings.water"), "words"),
        ),
        rows=tuple(
            (stage.name if place == 0 else "", step_name(step), step_value(step, system),
             reached_words(_least(results, stage.name, place), system), water_of(step, system))
            for stage in case.stages
            for place, step in enumerate(stage.steps)
        ),
    )  # fmt: skip


def _least(results: Sequence[RunResult], stage: str, place: int) -> float | None:
    """The least flow of a step in any of the runs [m3/s]."""
    return min((flow for each in results if (flow := each.wash_flows[stage][place]) is not None), default=None)
