"""What a range test of a comparison says."""

from collections.abc import Iterator, Sequence

from plots.words import Kind, Name, Sentence, label, paragraph, say
from sim.case.quantities import System
from sim.case.records import Case
from sim.study.over_ranges import End
from sim.study.ranking import SPREAD, RangeTest, Turn
from sim.tell.comparison.leading import named
from sim.tell.comparison.spread_words import (
    Named,
    RangesTold,
    brief_words,
    change_words,
    endless_words,
    refused_words,
    spread_caption,
    spread_listing,
)
from sim.tell.kpis import KPIS
from sim.tell.present import UNITS
from sim.tell.sentences import quoted


def ranges_told(test: RangeTest | None, case: Case, system: System) -> RangesTold:
    """How a comparison stands up to the ranges of what is assumed; nothing where they were not tried."""
    if test is None or not case.ranged:
        return RangesTold()
    names = {key: Named(words=named(key), quantity=KPIS[key].quantity,
                        unit=UNITS[system][KPIS[key].quantity].symbol) for key in SPREAD}  # fmt: skip
    alone: dict[str, list[Turn]] = {}
    for turn in test.turns:
        alone.setdefault(turn.keys[0], []).extend([turn] if len(turn.keys) == 1 else [])
    turns = {key: paragraph(*_reversed(own)) for key, own in alone.items() if own}
    return RangesTold(
        order=(*refused_words(test.refused, case), *endless_words(test.endless, case)),
        caption=spread_caption(test.over),
        spread=spread_listing(test.over, names, label("compare.way"), system, label("compare.keep")),
        change=change_words(test.over, test.moves, names, case, system, turns),
        brief=brief_words(test.moves, names, case, system),
    )


def _reversed(turns: Sequence[Turn]) -> Iterator[Sentence]:
    """Who changes places at which end of a constant."""
    groups: dict[tuple[End, str, str], list[str]] = {}
    for turn in turns:
        groups.setdefault((turn.end, turn.kpi, turn.better), []).append(turn.worse)
    for (end, kpi, better), names in groups.items():
        yield say("range.reversed", end=Kind(end), figure=named(kpi), worse=quoted(names), better=Name(better))
