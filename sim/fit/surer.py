"""How much surer the answer of a comparison is with a fitted case: its range over all constants, before and after."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from sim.case.load import load_case, read_case
from sim.case.record import record
from sim.case.records import Case
from sim.study.choice import Choice, once
from sim.study.compare import compare
from sim.study.many.repeat import Count
from sim.study.many.workers import Crew
from sim.study.over_ranges import OverRanges
from sim.study.ranking import range_test

DRAIN = "drain_m3"
Span = tuple[float, float]


@record
class Surer:
    """Water to drain [m3] over all ranges, low and high: what a way saves against today's, or with a single way what
    it sends there."""

    way: str
    today: str | None
    before: Span
    after: Span

    @property
    def share(self) -> float:
        """The range after over that before; nan where there was none."""
        before, after = (high - low for low, high in (self.before, self.after))
        return after / before if before > 0.0 else float("nan")


def surer(
    path: Path, case: Case, text: str, target: Path, crew: Crew, *, seed: int = 1, progress: Count | None = None
) -> Surer:
    """Compare the case at `path` and the fitted one in `text`, as it will be at `target`, with all constants at both
    ends of their ranges."""
    fitted = read_case(text, target, {})
    old, new = compare(case, seed=seed).results, compare(fitted, seed=seed).results

    def load(at: Path, settings: Mapping[str, Any]) -> Case:
        return read_case(text, at, settings)

    before = range_test(path, case, old, crew, seed=seed, progress=progress, load=load_case).over
    after = range_test(target, fitted, new, crew, seed=seed, progress=progress, load=load).over
    choice = Choice(once(fitted, seed, new))
    today = choice.today if choice.is_compared else None
    return Surer(
        way=choice.way, today=today, before=_span(before, choice.way, today), after=_span(after, choice.way, today)
    )


def _span(over: OverRanges, way: str, today: str | None) -> Span:
    """The least and the most over all runs; one that washes without end is left out."""
    shown = [over.typical, *(each.shown for each in over.trials)]
    values = [each[way][DRAIN] if today is None else each[today][DRAIN] - each[way][DRAIN] for each in shown]
    known = [each for each in values if each == each]
    return min(known), max(known)
