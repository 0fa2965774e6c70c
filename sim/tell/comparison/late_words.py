"""Why a pressure switch does not protect where its set point comes late."""

from collections.abc import Iterator, Sequence

from plots.words import Name, Sentence, say
from sim.case.records import Case
from sim.case.trigger.records import Pressure, singles
from sim.plant.records import RunResult
from sim.tell.present import amount_of

LATE = 0.5  # of the filter runs broke through before their wash


def late_set_points(case: Case, results: Sequence[RunResult]) -> Iterator[Sentence]:
    """Of a way that is over the limit for longest, where only a switch starts its washes and most come too late."""
    worst = max(results, key=lambda each: each.site["over_limit_h"] or 0.0)
    policy = next(each for each in case.policies if each.name == worst.policy)
    switched = all(isinstance(one, Pressure) for _, trigger in policy.triggers for one in singles(trigger))
    risk = worst.site["breakthrough_risk"] or 0.0
    if switched and risk > LATE and worst.site["over_limit_h"]:
        yield say("compare.late_set_point", way=Name(worst.policy), share=amount_of(risk, "share", "si"))
