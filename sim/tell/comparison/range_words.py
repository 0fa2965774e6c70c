"""What a range test of a comparison says."""

from collections.abc import Sequence

from sim.case.records import Case
from sim.study.kpis import KPIS, System
from sim.study.ranking import RANKED_BY, SPREAD, RangeTest, Turn
from sim.tell.comparison.spread_words import (
    Named,
    RangesTold,
    brief_words,
    change_words,
    kept_words,
    spread_caption,
    spread_listing,
)
from sim.tell.present import UNITS
from sim.tell.review.constant_names import constant_name

FIGURES = {"breach_h": "time over the limit", "drain_m3": "water to drain"}


def ranges_told(test: RangeTest | None, case: Case, system: System) -> RangesTold:
    """How a comparison stands up to the ranges of what is assumed; nothing where they were not tried."""
    if test is None or not test.assumed:
        return RangesTold()
    names = {key: Named(words=FIGURES.get(key, KPIS[key].words.strip()), quantity=KPIS[key].quantity,
                        unit=UNITS[system][KPIS[key].quantity].symbol) for key in SPREAD}  # fmt: skip
    turns = {key: _turn_words([turn for turn in test.turns if turn.keys == (key,)]) for key in _alone(test.turns)}
    return RangesTold(
        order=_order(test, case),
        caption=spread_caption(test.over, kept_words(case, system)),
        spread=spread_listing(test.over, names, "what starts a wash", system),
        change=change_words(test.over, test.moves, names, case, system, turns),
        brief=brief_words(test.moves, names, case, system),
    )


def _order(test: RangeTest, case: Case) -> tuple[str, ...]:
    """How many constants are assumed, whether the order of the policies rests on one, and what could not be tried."""
    count = f"{test.assumed} of {test.constants} constants assumed"
    together = ", one at a time and all together" if test.assumed > 1 else ""
    if not test.turns:
        by = " and by ".join(FIGURES.get(kpi, KPIS[kpi].words) for kpi in RANKED_BY)
        holds = f"the order by {by} holds at low, typical and high{together}"
        sentences = [f"{count}: {holds}; how far the figures spread is shown below."]
    else:
        trials = len({(turn.keys, turn.end) for turn in test.turns})
        of = test.over.runs - 1
        sentences = [f"{count}: the order turns in {trials} of {of} trials at low and high{together}."]
        for end in dict.fromkeys(turn.end for turn in test.turns if len(turn.keys) > 1):
            turned = [turn for turn in test.turns if len(turn.keys) > 1 and turn.end == end]
            sentences.append(f"All of them {end}: {_turn_words(turned)}.")
        if test.steady_pairs:
            pairs = "; ".join(f"{one} and {other}" for one, other in test.steady_pairs)
            sentences.append(f"No trial made these change places: {pairs}.")
    if test.refused:
        keys = "; ".join(f"{constant_name(key, case.stages)} {end}" for key, end, _ in test.refused)
        sentences.append(f"Not tried, since the case cannot run there: {keys}.")
    return tuple(sentences)


def _alone(turns: Sequence[Turn]) -> tuple[str, ...]:
    """The constants that turn the order by themselves."""
    return tuple(dict.fromkeys(turn.keys[0] for turn in turns if len(turn.keys) == 1))


def _turn_words(turns: Sequence[Turn]) -> str:
    """Who changes places by what, at which end where one constant does it."""
    groups: dict[tuple[str, str, str], list[str]] = {}
    for turn in turns:
        where = f"at its {turn.end} end " if len(turn.keys) == 1 else ""
        groups.setdefault((where, turn.kpi, turn.better), []).append(f"“{turn.worse}”")
    return "; ".join(
        f"{where}{_together(names)} then {'has' if len(names) == 1 else 'have'} less {FIGURES.get(kpi, kpi)} than "
        f"“{better}”"
        for (where, kpi, better), names in groups.items()
    )


def _together(names: Sequence[str]) -> str:
    *most, last = names
    return f"{', '.join(most)} and {last}" if most else last
