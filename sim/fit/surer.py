"""How much surer the answer of a comparison is with a fitted case: its range over all constants, before and after."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal, get_args

from sim.case.load import load_case, read_case
from sim.case.record import record
from sim.case.records import Case
from sim.study.choice import Choice, once
from sim.study.compare import compare
from sim.study.many.repeat import Count
from sim.study.many.workers import Crew
from sim.study.over_ranges import OverRanges
from sim.study.ranking import EQUAL_SHARE, range_test

Figure = Literal["drain_m3", "peak_dp_kpa", "over_limit_h"]
FIGURES: tuple[Figure, ...] = get_args(Figure)
Span = tuple[float, float]


@record
class Surer:
    """A figure over all ranges, low and high: the first of FIGURES that they move by more than counts as equal, None
    where they move none. Against a way of `today` its water to drain is what is saved."""

    way: str
    today: str | None
    figure: Figure | None
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
    for figure in FIGURES:
        today = choice.today if choice.is_compared and figure == "drain_m3" else None
        spans = [_span(over, figure, choice.way, today) for over in (before, after)]
        if any(high - low > EQUAL_SHARE * max(abs(low), abs(high)) for low, high in spans):
            return Surer(way=choice.way, today=today, figure=figure, before=spans[0], after=spans[1])
    return Surer(way=choice.way, today=None, figure=None, before=spans[0], after=spans[1])


def _span(over: OverRanges, figure: str, way: str, today: str | None) -> Span:
    """The least and the most over all runs; one that washes without end is left out."""
    shown = [over.typical, *(each.shown for each in over.trials)]
    values = [each[way][figure] if today is None else each[today][figure] - each[way][figure] for each in shown]
    known = [each for each in values if each == each]
    return min(known), max(known)
