"""One sentence per policy, built from the texts of the comparison's rows and from nothing else."""

from collections.abc import Iterator, Sequence

from sim.case.quantities import System
from sim.case.records import Case
from sim.plant.records import RunResult
from sim.tell.kpis import KPIS
from sim.tell.present import ABSENT, Row, row

WHERE_MET = {
    "bypass_kg": "of solids in raw water sent on while washing",
    "dirty_return_kg": "of solids in dirty water sent on after washes",
    "downstream_over_min": "of feed over the unit's own limit",
    "downstream_starved_h": "in which the unit starved of water",
    "early_triggers": "set off by a spike alone",
    "missed_triggers": "times past the set point without a wash",
    "cascades": "set off by a sister's wash",
}
"""Figures that a verdict tells only of a policy that has some of it, and how."""
TO_A_UNIT = {"dirty_return_kg"}
"""Those of them that are told only where the case says what the water is for."""


def after_judged(case: Case) -> str:
    """Behind which filter of a train a verdict looks at the water; "" with one filter."""
    return f" after {case.judged.name}" if len(case.stages) > 1 else ""


def verdicts(case: Case, results: Sequence[RunResult], system: System) -> tuple[str, ...]:
    """What the figures say about each policy; the most or the least only where it stands alone."""
    figures = [each.site for each in results]

    def of(key: str) -> Row:
        return row(KPIS[key], figures, system)

    limit = of("breach_h")
    solids = of("solids_to_service_kg")
    told = [(limit, f"over the limit{after_judged(case)}")]
    if all(text == ABSENT for text in limit.texts):
        told = [(solids, "of solids sent to service")]
    told.append((of("drain_m3"), "of water to drain"))
    unmet = of("unmet_m3")
    if any(_is_met(text) for text in unmet.texts):
        told.append((unmet, "of demand not met"))
    return tuple(
        f"{each.policy}: " + "; ".join([_washes(of("washes"), place), *(_told(*fact, place) for fact in told),
                                        *_met(results, system, place)])
        for place, each in enumerate(results)
    )  # fmt: skip


def _is_met(text: str) -> bool:
    return text not in ("0", ABSENT)


def _met(results: Sequence[RunResult], system: System, place: int) -> Iterator[str]:
    """What reached the unit behind the train, and what the switch did, in words."""
    figures = [each.site for each in results]
    for key, words in WHERE_MET.items():
        if figures[place].get(key) and (key not in TO_A_UNIT or figures[place]["downstream_solids_kg"] is not None):
            yield _told(row(KPIS[key], figures, system), words, place)


def _washes(washes: Row, place: int) -> str:
    return f"{washes.texts[place]} wash" + ("" if washes.texts[place] == "1" else "es")


def _told(fact: Row, words: str, place: int) -> str:
    """One figure in words, e.g. "193 h over the limit, the most"."""
    if fact.texts[place] == ABSENT:
        return f"{fact.kpi.words} not known"
    return " ".join(part for part in (fact.texts[place], fact.unit, words) if part) + _standing(fact, place)


def _standing(fact: Row, place: int) -> str:
    if fact.best == {place}:
        return ", the least" if fact.kpi.better == "less" else ", the most"
    if fact.worst == {place}:
        return ", the most" if fact.kpi.better == "less" else ", the least"
    return ""
