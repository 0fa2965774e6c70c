"""What the figures of the site do not tell: which stage before the last is over its own limit."""

from collections.abc import Sequence

from sim.case.records import Case
from sim.plant.records import RunResult
from sim.study.doubts import without_verdict
from sim.study.kpis import KPIS, System
from sim.study.present import row


def earlier_stage(case: Case, results: Sequence[RunResult], system: System) -> str:
    """The stage before the last that is longest over its own limit, with whom and how long; "" if none is.

    Stages whose chemistry no run follows are left out.
    """
    earlier = [name for name in list(results[0].stages)[:-1] if name not in without_verdict(case)]
    found = [(each.stages[stage]["breach_h"] or 0.0, stage, place) for stage in earlier
             for place, each in enumerate(results)]  # fmt: skip
    most, stage, place = max(found, key=lambda each: each[0], default=(0.0, "", 0))
    if not most:
        return ""
    figures = [each.stages[stage] for each in results]
    hours, broken = (row(KPIS[key], figures, system) for key in ("breach_h", "breakthrough_risk"))
    share = f"; {broken.texts[place]} % of its filter runs broke through" if broken.texts[place] != "0" else ""
    whose = f" with {results[place].policy}" if len(results) > 1 else ""
    return (
        f"Before the last filter, stage {stage} is over its own limit for {hours.texts[place]} h{whose}{share}: "
        "what it lets through falls to the filters behind it."
    )
