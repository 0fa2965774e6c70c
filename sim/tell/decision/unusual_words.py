"""Advised settings beyond what is usual: water through a bed between two washes, its pressure drop, days."""

from collections.abc import Iterator, Sequence
from typing import Literal

from plots.words import Amount, Code, Sentence, in_quotes, items, say, span, term
from sim.case.quantities import Quantity, System
from sim.case.stage.longest_run import usual_longest_run
from sim.case.stage.records import Stage
from sim.case.units import DAY, PA_PER_KPA
from sim.review.bands import LOADED_PRESSURE, RUN_LOADING, SOLIDS_MEDIA
from sim.review.findings import Band
from sim.study.costs import YEAR_DAYS
from sim.study.decide.advice import Advice, Advised
from sim.study.decide.trials import Tried, of_stage
from sim.tell.present import amount_of, duration, measured

Unusual = Literal["loading", "pressure", "days"]


def unusual_words(advice: Advice, system: System) -> tuple[Sentence, ...]:
    """Each kind of it, with the ways and stages."""
    found = _beyond(advice, advice.policies, system)
    told = []
    if found["loading"]:
        water = _usual(RUN_LOADING, "loading", system)
        told += [say("unusual.loading", usual=water, where=items(found["loading"]))]
    if found["pressure"]:
        pressure = _usual(LOADED_PRESSURE, "pressure", system)
        told += [say("unusual.pressure", usual=pressure, where=items(found["pressure"]), option=Code("--pressure"))]
    if found["days"]:
        told += [say("unusual.days", where=items(found["days"]))]
    return tuple(told)


def _usual(band: Band, quantity: Quantity, system: System) -> Amount:
    low, high = (measured(end or 0.0, quantity, system) for end in (band.low, band.high))
    return span(low[0], *high)


def unusual_in_short(advice: Advice) -> Iterator[Sentence]:
    """That the setting chosen is beyond what is usual, without the figures; nothing where it is not."""
    found = _beyond(advice, [advice.chosen] if advice.chosen else [], "si")
    if kinds := [term("unusual", kind) for kind, where in found.items() if where]:
        yield say("unusual.in_short", kinds=items(kinds))


def _beyond(advice: Advice, policies: Sequence[Advised], system: System) -> dict[Unusual, list[str]]:
    """By kind what is beyond what is usual: way, stage, figure."""
    found: dict[Unusual, list[str]] = {"loading": [], "pressure": [], "days": []}
    stages, usual = advice.case.stages, {stage.name: usual_longest_run(stage) for stage in advice.case.stages}
    for each in policies:
        if each.best is None:
            continue
        for name, loading in loadings(advice, each):
            if loading > (RUN_LOADING.high or 1.0):
                found["loading"].append(_where(each, name, amount_of(loading, "loading", system)))
        for stage in (stage for stage in stages if stage.layers[0].medium in SOLIDS_MEDIA):
            peak = PA_PER_KPA * float(each.best.figures[of_stage("pressure_kpa", stage.name)].max())
            if peak > (LOADED_PRESSURE.high or 0.0):
                found["pressure"].append(_where(each, stage.name, amount_of(peak, "pressure", system)))
        for knob, value in zip(each.knobs, each.best.candidate.values, strict=True):
            high = usual[knob.stage].high * DAY
            if knob.part == "every" and value > high:
                found["days"].append(_where(each, knob.stage, Amount(" > ".join(map(duration, (value, high))))))
    return found


def _where(advised: Advised, stage: str, figure: Amount) -> str:
    return f"{in_quotes(advised.policy)}, {stage} ({figure})"


def loadings(advice: Advice, advised: Advised) -> list[tuple[str, float]]:
    """Stages of solids media with the water treated between two washes over the area of a bed [m] when advised."""
    best, found = advised.best, []
    for stage in advice.case.stages:
        if best is not None and stage.layers[0].medium in SOLIDS_MEDIA:
            found += [(stage.name, each / stage.vessel.area) for each in _volumes(advice, advised, best, stage)]
    return found


def _volumes(advice: Advice, advised: Advised, best: Tried, stage: Stage) -> list[float]:
    """What a vessel of a stage treats between two washes [m3]: the volume that is set, what comes between two days
    of its calendar, else, of a vessel that is the only one, what its runs treated; empty where that is not known."""
    own = {knob.part: value for knob, value in zip(advised.knobs, best.candidate.values, strict=True)
           if knob.stage == stage.name}  # fmt: skip
    treated, washes = best.mean("treated_m3"), best.mean("washes")
    if "volume" in own:
        return [own["volume"]]
    if "every" in own:
        return [treated / stage.vessels.sharing * own["every"] / (YEAR_DAYS * DAY)]
    alone = len(advice.case.stages) == 1 and stage.vessels.count == 1
    return [treated / washes] if alone and washes > 0.0 else []
