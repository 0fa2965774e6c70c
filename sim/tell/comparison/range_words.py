"""What a range test of a comparison says."""

from collections.abc import Sequence

from sim.case.quantities import System
from sim.case.records import Case
from sim.study.ranking import SPREAD, RangeTest, Turn
from sim.tell.comparison.leading import named
from sim.tell.comparison.spread_words import (
    Named,
    RangesTold,
    brief_words,
    change_words,
    kept_words,
    refused_words,
    spread_caption,
    spread_listing,
)
from sim.tell.kpis import KPIS
from sim.tell.present import UNITS
from sim.tell.sentences import joined


def ranges_told(test: RangeTest | None, case: Case, system: System) -> RangesTold:
    """How a comparison stands up to the ranges of what is assumed; nothing where they were not tried."""
    if test is None or not test.assumed:
        return RangesTold()
    names = {key: Named(words=named(key), quantity=KPIS[key].quantity,
                        unit=UNITS[system][KPIS[key].quantity].symbol) for key in SPREAD}  # fmt: skip
    alone: dict[str, list[Turn]] = {}
    for turn in test.turns:
        alone.setdefault(turn.keys[0], []).extend([turn] if len(turn.keys) == 1 else [])
    turns = {key: _turn_words(own) for key, own in alone.items()}
    return RangesTold(
        order=refused_words(test.refused, case),
        caption=spread_caption(test.over, kept_words(case, system)),
        spread=spread_listing(test.over, names, "what starts a wash", system),
        change=change_words(test.over, test.moves, names, case, system, turns),
        brief=brief_words(test.moves, names, case, system),
    )


def _turn_words(turns: Sequence[Turn]) -> str:
    """Who changes places at which end of a constant."""
    groups: dict[tuple[str, str, str], list[str]] = {}
    for turn in turns:
        groups.setdefault((turn.end, turn.kpi, turn.better), []).append(f"“{turn.worse}”")
    return "; ".join(
        f"at its {end} end the {named(kpi)} is then less with {joined(names)} than with “{better}”"
        for (end, kpi, better), names in groups.items()
    )
