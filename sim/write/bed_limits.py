"""The limit of each filter: the one given, or one that its clean bed can keep."""

import math
from dataclasses import dataclass

from sim.case.records import Case
from sim.case.series.series import mean_of
from sim.case.stage.longest_run import Usual
from sim.case.units import TURBIDITY
from sim.write.answers import MOST_LIMIT, Answers
from sim.write.floc import formed_of
from sim.write.rule import ROOM, ROOM_BEHIND, Arriving, Ending, arriving_at, ending_of, passing_of
from sim.write.written import number, plain_span


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit as the file has it, in g/m3 of solids, and where it comes from; `instead_of`: one that the clean bed
    cannot keep, "" for none."""

    text: str
    value: float
    comment: str
    instead_of: str = ""


def limits_of(answers: Answers, case: Case) -> list[Limit]:
    """For each filter of a case that is made for nothing else than to be asked what its beds let through.

    What was given holds for the filter whose water is judged, come what may; elsewhere as far as it can be kept. No
    limit is raised above what comes: a bed that lets that much through, as under an absurd dose, keeps none.
    """
    limits: list[Limit] = []
    before: Ending | None = None
    for k in range(len(case.stages)):
        arriving = arriving_at(case, k, before)
        limits.append(_limit(answers, case, k, arriving))
        before = ending_of(case, k, arriving, limits[-1].value)
    return limits


def _limit(answers: Answers, case: Case, k: int, arriving: Arriving) -> Limit:
    limit, ratio = answers.limit, case.feed.turbidity_ratio
    unit = "mg/L"
    value = limit.value
    factor = 1.0
    if limit.kind is TURBIDITY:
        assert ratio is not None, "the kind of water tells it"
        unit, factor = "NTU", ratio
    passing = passing_of(case, k, arriving) / factor
    comes = (mean_of(case.feed.solids) + sum(map(sum, formed_of(case)[: k + 1]))) / factor
    room = ROOM_BEHIND if k else ROOM
    least = passing + (room - 1.0) * min(passing, max(comes - passing, 0.0))
    if value >= least or passing >= comes or (answers.limit_given and case.stages[k] == case.judged):
        comment = "as given" if answers.limit_given else _assumed(value, unit, FIFTH)
        return Limit(limit.text, factor * value, comment)
    value = min(_up(least), comes)
    comment = _assumed(value, unit, f"{room:g} times {KEPT}; it cannot keep {limit.text}")
    return Limit(f"{number(value)} {unit}", factor * value, comment, limit.text)


FIFTH = f"a fifth of what comes, at most {MOST_LIMIT:g}; put in what the site needs"
KEPT = "what its clean bed lets through in the coldest water"


def _assumed(value: float, unit: str, source: str) -> str:
    """Half the limit, the limit, twice the limit: nobody has said what the site needs."""
    return plain_span(Usual(0.5 * value, value, 2.0 * value, source), unit)


def _up(value: float) -> float:
    """To two figures, up.

    >>> _up(0.1234), _up(1.5)
    (0.13, 1.5)
    """
    step = 10.0 ** (math.floor(math.log10(value)) - 1)
    return float(f"{math.ceil(value / step - 1e-9) * step:.6g}")
