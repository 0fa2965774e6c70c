"""The figures that stand first, way by way, with what started the washes of each, and what each figure is."""

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from plots.words import Items, Label, Name, Sentence, apart, items, label, say
from sim.case.quantities import System
from sim.case.records import Case
from sim.case.trigger.records import VolumeLearned, VolumeReserve, singles
from sim.plant.records import RunResult
from sim.tell.comparison.leading import LIMIT, named
from sim.tell.kpis import CARD, KPIS
from sim.tell.present import UNITS, row, with_unit
from sim.tell.sentences import cause_words


class Bar(NamedTuple):
    """One of the figures of a way: its text, its value, and that as a share of the most."""

    text: str
    value: float
    share: float


class Way(NamedTuple):
    """One way to start a wash: its name, its figures, what started its washes."""

    name: str
    bars: tuple[Bar, ...]
    started: str


def figures(case: Case) -> tuple[str, ...]:
    """The three of every first screen and, where there is a limit of the water, the time over it."""
    return CARD if case.judged.limit is None else (*CARD, LIMIT)


def heads(system: System, keys: Sequence[str] = CARD) -> tuple[str, ...]:
    """What figures are called, with their units."""
    return tuple(with_unit(named(key), UNITS[system][KPIS[key].quantity].symbol) for key in keys)


def meant(case: Case) -> Iterator[Sentence]:
    """What each figure is, and what a volume with reserve does where the case has one."""
    yield say("page.start.counts_water")
    yield say("page.start.counts_downtime")
    yield say("compare.risk")
    if case.judged.limit is not None:
        yield say("page.start.counts_hours")
    triggers = [trigger for policy in case.policies for _, trigger in policy.triggers]
    if any(isinstance(each, VolumeReserve | VolumeLearned) for trigger in triggers for each in singles(trigger)):
        yield say("page.start.with_reserve")


def ways(case: Case, results: Sequence[RunResult], system: System) -> Iterator[Way]:
    """Every way, in the order of the results."""
    columns = []
    for key in figures(case):
        values = [each.site[key] or 0.0 for each in results]
        texts = row(KPIS[key], [each.site for each in results], system).texts
        most = max(values) or 1.0
        columns.append([Bar(text, value, value / most) for text, value in zip(texts, values, strict=True)])
    for result, *bars in zip(results, *columns, strict=True):
        yield Way(result.policy, tuple(bars), apart(started(case, result)))


def started(case: Case, result: RunResult) -> Iterator[Label | Items]:
    """What started the washes of each stage, and how many."""
    for stage in case.stages:
        causes = Counter(cause_words(run) for run in result.runs if run.stage == stage.name and run.cause is not None)
        each = [label("card.washes_by", cause=cause, count=washes) for cause, washes in causes.most_common()]
        told = items(each or [label("card.none")])
        yield told if len(case.stages) == 1 else label("card.of_stage", stage=Name(stage.name), causes=told)
