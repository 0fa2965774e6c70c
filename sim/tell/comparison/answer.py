"""The answer in one paragraph, built from the texts of the comparison's rows and from nothing else."""

from collections.abc import Sequence

from sim.case.quantities import System
from sim.case.records import Case
from sim.plant.records import RunResult
from sim.study.doubts import doubts
from sim.tell.comparison.doubt_words import first_words, same_words
from sim.tell.comparison.remarks import earlier_stage
from sim.tell.comparison.verdict import after_judged, verdicts
from sim.tell.kpis import KPIS, Kpi
from sim.tell.present import ABSENT, Row, row
from sim.tell.sentences import days_words, joined

LIMIT = "breach_h"
SIDE_BY_SIDE = (LIMIT, "drain_m3", "offline_h")
WITHOUT_LIMIT = ("solids_to_service_kg", *SIDE_BY_SIDE[1:])
NAMED_AT_MOST = 3
REACHED_THE_UNIT = ("bypass_kg", "dirty_return_kg", "downstream_over_min", "downstream_starved_h")
SPOKEN = {
    LIMIT: "time over the limit",
    "bypass_kg": "solids in raw water sent on while washing",
    "dirty_return_kg": "solids in dirty water sent on after washes",
    "downstream_over_min": "time that the unit's feed was over its own limit",
    "downstream_starved_h": "time that the unit starved of water",
}
ALL = {2: "both", 3: "all three"}


def side_by_side(results: Sequence[RunResult], system: System) -> tuple[Row, ...]:
    """The figures that stand first: time over the limit (solids sent on where there is none), drain, off line."""
    figures = [each.site for each in results]
    keys = WITHOUT_LIMIT if all(each[LIMIT] is None for each in figures) else SIDE_BY_SIDE
    return tuple(row(KPIS[key], figures, system) for key in keys)


def spoken(kpi: Kpi, case: Case) -> str:
    """What a figure of a site is called outside a table: where the water is judged, in a train."""
    words = SPOKEN.get(kpi.key, kpi.words.strip())
    return f"{words}{after_judged(case)}" if kpi.key == LIMIT else words


def answer(case: Case, results: Sequence[RunResult], system: System) -> str:
    """Which way to start a wash has the least and the most of each figure, and whether one has the least of all.

    A limit that no washing keeps stands before all else, and in place of a ranking who comes to the same as whom.
    """
    days, found = days_words(results[0].days), doubts(case, results)
    if len(results) == 1:
        return " ".join([*first_words(found), f"{days} with {verdicts(case, results, system)[0]}."])
    names = [each.policy for each in results]
    facts = side_by_side(results, system)
    sentences = [
        *first_words(found),
        f"Compared: {len(names)} ways to start a wash, each for {days} on the same water and demand.",
        *same_words(found),
    ]
    sentences += [_compared(fact, names, case) for fact in facts]
    judged = [fact.best for fact in facts if fact.best]
    if len(judged) > 1:
        whose = listed([names[place] for place in sorted(frozenset.intersection(*judged))])
        sentences.append(f"{whose or 'None of them'} has the least of {ALL[len(judged)]}.")
    sentences += [_compared(fact, names, case) for fact in reached_the_unit(results, system)]
    return " ".join([*sentences, earlier_stage(case, results, system)]).rstrip()


def reached_the_unit(results: Sequence[RunResult], system: System) -> tuple[Row, ...]:
    """What somebody behind the train must be told, where there is any of it with some policy."""
    figures = [each.site for each in results]
    is_told = any(each["downstream_solids_kg"] is not None for each in figures)
    keys = [key for key in REACHED_THE_UNIT if is_told or key != "dirty_return_kg"]
    met = (key for key in keys if any(each[key] for each in figures))
    return tuple(row(KPIS[key], figures, system) for key in met)


def _compared(fact: Row, names: Sequence[str], case: Case) -> str:
    unit = f" {fact.unit}" if fact.unit else ""
    words = spoken(fact.kpi, case)
    words = f"{words[0].upper()}{words[1:]}"
    if not fact.best:
        text = next((each for each in fact.texts if each != ABSENT), ABSENT)
        return f"{words}: {text}{unit} with every one."
    told = [
        f"{most} with {listed([names[place] for place in sorted(places)])} ({fact.texts[min(places)]}{unit})"
        for most, places in (("least", fact.best), ("most", fact.worst))
    ]
    return f"{words}: {', '.join(told)}."


def listed(names: Sequence[str]) -> str:
    """Names in a sentence.

    >>> listed(["a", "b", "c"]), listed(["a", "b", "c", "d", "e"])
    ('a, b and c', '5 of them')
    """
    if len(names) > NAMED_AT_MOST:
        return f"{len(names)} of them"
    return joined(names)
