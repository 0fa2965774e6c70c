"""The longest run: how long a stage goes without a wash at the most, whatever else starts its washes.

It belongs to the stage, so that every way to start a wash is held to the same one.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from sim.case.records import Case
from sim.case.stage.records import Stage
from sim.case.trigger.records import Trigger, hours
from sim.case.units import DAY

PRACTICE = "common practice, from memory"


@dataclass(frozen=True, slots=True)
class Usual:
    """Low, typical and high of a figure, and where they come from."""

    low: float
    typical: float
    high: float
    source: str


USUAL: Mapping[str, Usual] = MappingProxyType(
    {
        "anthracite": Usual(5.0, 10.0, 14.0, PRACTICE),
        "sand": Usual(5.0, 10.0, 14.0, PRACTICE),
        "garnet": Usual(5.0, 10.0, 14.0, PRACTICE),
        "carbon": Usual(5.0, 14.0, 28.0, PRACTICE),
        "oxidising media": Usual(3.0, 6.0, 10.0, PRACTICE),
        "resin": Usual(5.0, 12.0, 21.0, PRACTICE),
    }
)
"""Usual longest run by medium [d]. No standard sets one: it stands here for want of the plant's own."""


def usual_of(media: Iterable[str]) -> Usual:
    """The usual longest run of a bed [d]: the shortest of its media."""
    return min((USUAL[medium] for medium in media), key=lambda each: each.typical)


def usual_longest_run(stage: Stage) -> Usual:
    """The usual longest run of a stage [d]."""
    return usual_of(layer.medium for layer in stage.layers)


def longest_run_of(stage: Stage, trigger: Trigger) -> float | None:
    """The longest run of a stage under a trigger [s]: the trigger's own, which is the shorter, else the stage's."""
    return stage.longest_run if trigger.longest_run is None else trigger.longest_run


def longest_run_hours(stage: Stage, trigger: Trigger) -> tuple[float, ...]:
    """The times of day at which the longest run ends [s after midnight]: the stage's own, else the trigger's."""
    return hours(trigger) if stage.longest_run_at is None else (stage.longest_run_at,)


def usual_longest_runs(case: Case) -> tuple[tuple[str, float], ...]:
    """The stages that have no longest run, each with the one that is usual [s]."""
    return tuple(
        (each.name, usual_longest_run(each).typical * DAY) for each in case.stages if each.longest_run is None
    )


def with_usual_longest_runs(case: Case) -> Case:
    """The case with the usual longest run for every stage that has none, so that no filter run is without an end."""
    usual = dict(usual_longest_runs(case))
    stages = (replace(each, longest_run=usual.get(each.name, each.longest_run)) for each in case.stages)
    return replace(case, stages=tuple(stages)) if usual else case
