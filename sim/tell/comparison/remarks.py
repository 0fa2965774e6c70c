"""What the figures of the site do not tell: which stage before the one that is judged is over its own limit."""

from collections.abc import Sequence

from plots.words import Name, Sentence, amount, paragraph, say
from sim.case.quantities import System
from sim.case.records import Case
from sim.plant.records import RunResult
from sim.tell.kpis import KPIS
from sim.tell.present import row


def earlier_stage(case: Case, results: Sequence[RunResult], system: System) -> tuple[Sentence, ...]:
    """The stage before the one that is judged that is longest over its own limit, with whom and how long, if any is.

    Stages whose chemistry no run follows are left out.
    """
    before = case.stages[: case.stages.index(case.judged)]
    earlier = [stage.name for stage in before if not stage.only_solids]
    found = [(each.stages[stage]["over_limit_h"] or 0.0, stage, place) for stage in earlier
             for place, each in enumerate(results)]  # fmt: skip
    most, stage, place = max(found, key=lambda each: each[0], default=(0.0, "", 0))
    if not most:
        return ()
    figures = [each.stages[stage] for each in results]
    hours, broken = (row(KPIS[key], figures, system) for key in ("over_limit_h", "breakthrough_risk"))
    judged, time = Name(case.judged.name), amount(hours.texts[place], hours.unit)
    told = say("earlier.alone", judged=judged, stage=Name(stage), time=time)
    if len(results) > 1:
        told = say("earlier.way", judged=judged, stage=Name(stage), time=time, way=Name(results[place].policy))
    if broken.texts[place] == "0":
        return (told,)
    return (paragraph(told, say("earlier.broke_through", share=amount(broken.texts[place], broken.unit))),)
