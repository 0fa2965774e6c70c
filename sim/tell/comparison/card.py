"""The three figures that stand first, way by way, with what started the washes of each."""

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from plots.words import Items, Label, Name, apart, items, label
from sim.case.quantities import System
from sim.case.records import Case
from sim.plant.records import RunResult
from sim.tell.comparison.leading import named
from sim.tell.kpis import CARD, KPIS
from sim.tell.present import UNITS, row, with_unit
from sim.tell.sentences import cause_words


class Bar(NamedTuple):
    """One of the three figures of a way: its text, its value, and that as a share of the most."""

    text: str
    value: float
    share: float


class Way(NamedTuple):
    """One way to start a wash: its name, its three figures, what started its washes."""

    name: str
    bars: tuple[Bar, ...]
    started: str


def heads(system: System) -> tuple[str, ...]:
    """What the three are called, with their units."""
    return tuple(with_unit(named(key), UNITS[system][KPIS[key].quantity].symbol) for key in CARD)


def ways(case: Case, results: Sequence[RunResult], system: System) -> Iterator[Way]:
    """Every way, in the order of the results."""
    columns = []
    for key in CARD:
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
