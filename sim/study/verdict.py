"""One sentence per policy, built from the texts of the comparison's rows and from nothing else."""

from collections.abc import Sequence

from sim.plant.records import RunResult
from sim.study.kpis import KPIS, System
from sim.study.present import ABSENT, Row, row


def verdicts(results: Sequence[RunResult], system: System) -> tuple[str, ...]:
    """What the figures say about each policy; the most or the least only where it stands alone."""
    figures = [each.site for each in results]

    def of(key: str) -> Row:
        return row(KPIS[key], figures, system)

    limit = of("breach_h")
    solids = of("solids_to_service_kg")
    told = [(limit, "over the limit")]
    if all(text == ABSENT for text in limit.texts):
        told = [(solids, "of solids sent to service")]
    told.append((of("drain_m3"), "of water to drain"))
    unmet = of("unmet_m3")
    if any(text not in ("0", ABSENT) for text in unmet.texts):
        told.append((unmet, "of demand not met"))
    return tuple(
        f"{each.policy}: " + "; ".join([_washes(of("washes"), place), *(_told(*fact, place) for fact in told)])
        for place, each in enumerate(results)
    )


def _washes(washes: Row, place: int) -> str:
    return f"{washes.texts[place]} wash" + ("" if washes.texts[place] == "1" else "es")


def _told(fact: Row, words: str, place: int) -> str:
    """One figure in words, e.g. "193 h over the limit, the most"."""
    if fact.texts[place] == ABSENT:
        return f"{fact.kpi.words} not known"
    return f"{fact.texts[place]} {fact.unit} {words}{_standing(fact, place)}"


def _standing(fact: Row, place: int) -> str:
    if fact.best == {place}:
        return ", the least" if fact.kpi.better == "less" else ", the most"
    if fact.worst == {place}:
        return ", the most" if fact.kpi.better == "less" else ", the least"
    return ""
