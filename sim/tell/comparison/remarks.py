"""What the figures of the site do not tell: which stage before the one that is judged is over its own limit."""

from collections.abc import Sequence

from sim.case.quantities import System
from sim.case.records import Case
from sim.plant.records import RunResult
from sim.tell.kpis import KPIS
from sim.tell.present import row


def earlier_stage(case: Case, results: Sequence[RunResult], system: System) -> str:
    """The stage before the one that is judged that is longest over its own limit, with whom and how long; "" if none.

    Stages whose chemistry no run follows are left out.
    """
    before = case.stages[: case.stages.index(case.judged)]
    earlier = [stage.name for stage in before if not stage.only_solids]
    found = [(each.stages[stage]["breach_h"] or 0.0, stage, place) for stage in earlier
             for place, each in enumerate(results)]  # fmt: skip
    most, stage, place = max(found, key=lambda each: each[0], default=(0.0, "", 0))
    if not most:
        return ""
    figures = [each.stages[stage] for each in results]
    hours, broken = (row(KPIS[key], figures, system) for key in ("breach_h", "breakthrough_risk"))
    share = f"; {broken.texts[place]} % of its filter runs broke through" if broken.texts[place] != "0" else ""
    whose = f" with “{results[place].policy}”" if len(results) > 1 else ""
    return (
        f"Before {case.judged.name}, stage {stage} is over its own limit for {hours.texts[place]} h{whose}{share}: "
        "the filters behind it have to hold that back."
    )
