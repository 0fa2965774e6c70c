"""What a range test says, in words."""

from collections.abc import Iterable

from sim.case.records import Case
from sim.study.constants import constant_name
from sim.study.kpis import KPIS
from sim.study.ranking import RANKED_BY, RangeTest, Turn

TOLD_AT_MOST = 6
FIGURES = {"breach_h": "time over the limit", "drain_m3": "water to drain"}


def range_words(test: RangeTest, case: Case) -> tuple[str, ...]:
    """How many constants are assumed, whether the order of the policies rests on one, and what could not be tried."""
    if not test.assumed:
        return ()
    count = f"{test.assumed} of {test.constants} constants assumed"
    if not test.turns:
        together = ", one at a time and all together" if test.assumed > 1 else ""
        by = " and by ".join(FIGURES.get(kpi, KPIS[kpi].words) for kpi in RANKED_BY)
        sentences = [f"{count}: the order by {by} holds at low, typical and high{together}."]
    else:
        sentences = [f"{count}: the order turns if"]
        causes = _causes(test.turns, case)
        sentences += causes[:TOLD_AT_MOST]
        if len(causes) > TOLD_AT_MOST:
            sentences.append(f"and in {len(causes) - TOLD_AT_MOST} more trials (--json lists them all)")
        if test.steady_pairs:
            pairs = "; ".join(f"{one} and {other}" for one, other in test.steady_pairs)
            sentences.append(f"No trial made these change places: {pairs}.")
    if test.refused:
        keys = "; ".join(f"{constant_name(key, case.stages)} {end}" for key, end, _ in test.refused)
        sentences.append(f"Not tried, since the case cannot run there: {keys}.")
    return tuple(sentences)


def _causes(turns: Iterable[Turn], case: Case) -> list[str]:
    """One line per trial that turned the order, with the pairs that changed places in it."""
    trials: dict[str, list[str]] = {}
    for turn in turns:
        one = len(turn.keys) == 1
        name = f"{constant_name(turn.keys[0], case.stages)} is {turn.end}" if one else f"all of them are {turn.end}"
        figure = FIGURES.get(turn.kpi, turn.kpi)
        trials.setdefault(name, []).append(f"{turn.worse} then has less {figure} than {turn.better}")
    return [f"{name}: {'; '.join(pairs)}" for name, pairs in trials.items()]
