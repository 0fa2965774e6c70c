"""What the figures of the site do not tell: stages before the last over their own limit, switches that never act."""

import math
from collections import Counter
from collections.abc import Iterator, Sequence

from sim.case.records import Case
from sim.plant.records import Cause, RunResult
from sim.plant.triggers import pressure_set
from sim.study.kpis import KPIS, System
from sim.study.present import PA_PER_KPA, row
from sim.study.single import triggers_of


def remarks(case: Case, results: Sequence[RunResult], system: System) -> tuple[str, ...]:
    """All of it, in sentences."""
    earlier = earlier_stage(results, system)
    return (*([earlier] if earlier else []), *idle_switches(case, results, system))


def earlier_stage(results: Sequence[RunResult], system: System) -> str:
    """The stage before the last that is longest over its own limit, with whom and how long; "" if none is."""
    earlier = list(results[0].stages)[:-1]
    found = [(each.stages[stage]["breach_h"] or 0.0, stage, place) for stage in earlier
             for place, each in enumerate(results)]  # fmt: skip
    most, stage, place = max(found, key=lambda each: each[0], default=(0.0, "", 0))
    if not most:
        return ""
    figures = [each.stages[stage] for each in results]
    hours, runs = (row(KPIS[key], figures, system) for key in ("breach_h", "breakthrough_risk"))
    broken = figures[place]["breakthrough_risk"]
    share = f"; {runs.texts[place]} % of its filter runs broke through" if broken else ""
    whose = f" with {results[place].policy}" if len(results) > 1 else ""
    return (
        f"Before the last filter, stage {stage} is over its own limit for {hours.texts[place]} h{whose}{share}: "
        "what it lets through falls to the filters behind it."
    )


def idle_switches(case: Case, results: Sequence[RunResult], system: System) -> tuple[str, ...]:
    """A sentence for each switch whose pressure drop started no wash of its stage in the whole run."""
    return tuple(sentence for each in results for sentence in _idle(case, each, system))


def _idle(case: Case, result: RunResult, system: System) -> Iterator[str]:
    for stage, trigger in triggers_of(case, result.policy).items():
        set_point = pressure_set(trigger) / PA_PER_KPA
        causes = Counter(run.cause for run in result.runs if run.stage == stage and run.cause is not None)
        if set_point == math.inf or Cause.PRESSURE in causes:
            continue
        shown = row(KPIS["peak_dp_kpa"], [{"peak_dp_kpa": set_point}, result.stages[stage]], system)
        by = ", ".join(f"{cause.value} ({count})" for cause, count in causes.items()) or "nothing"
        yield (
            f"{result.policy}: the switch of {stage}, set at {shown.texts[0]} {shown.unit}, never acted; the "
            f"pressure drop came to {shown.texts[1]} {shown.unit} at most. What washed it: {by}."
        )
