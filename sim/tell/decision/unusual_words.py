"""Advised settings beyond what is usual: water through a bed between two washes, its pressure drop, days."""

from collections.abc import Iterator
from dataclasses import replace

from sim.case.stage.longest_run import usual_longest_run
from sim.case.stage.records import Stage
from sim.case.units import DAY
from sim.review.bands import LOADED_PRESSURE, RUN_LOADING, SOLIDS_MEDIA
from sim.study.costs import YEAR_DAYS
from sim.study.decide.advice import Advice, Advised
from sim.study.decide.trials import Tried, rated
from sim.study.kpis import System
from sim.tell.present import PA_PER_KPA, measured
from sim.tell.sentences import joined


def unusual_words(advice: Advice, system: System) -> tuple[str, ...]:
    """A sentence for each kind of it, with the policies and stages."""
    return (*_loading_words(advice, system), *_pressure_words(advice, system), *_rare_words(advice))


def _loading_words(advice: Advice, system: System) -> Iterator[str]:
    band, told = RUN_LOADING, []
    assert band.high is not None
    for each in advice.policies:
        for stage, loading in loadings(advice, each):
            if loading > band.high:
                text = " ".join(measured(loading, "loading", system))
                times = f"{loading / band.high:.2g} times the most that is usual"
                told.append(f"“{each.policy}”, {stage}: {text}, {times}")
    if told:
        low, high = (" ".join(measured(end, "loading", system)) for end in (band.low or 0.0, band.high))
        yield (
            f"More water through a bed between two washes than is usual ({low} to {high} over its area, "
            f"{band.source}): {'; '.join(told)}. It rests on assumed constants: approach it in steps, and watch for "
            "mudballs, growth and a packed bed."
        )


def unusual_in_short(advice: Advice) -> Iterator[str]:
    """That the setting chosen is beyond what is usual, without the figures; nothing where it is not."""
    chosen = advice.chosen
    alone = replace(advice, policies=() if chosen is None else (chosen,))
    kinds = {
        "more water through a bed between two washes": _loading_words(alone, "si"),
        "a higher pressure drop": _pressure_words(alone, "si"), "washes further apart": _rare_words(alone),
    }  # fmt: skip
    if told := [kind for kind, words in kinds.items() if any(words)]:
        yield f"Beyond what is usual: {joined(told)}."


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


def _pressure_words(advice: Advice, system: System) -> Iterator[str]:
    low, high, told = LOADED_PRESSURE.low or 0.0, LOADED_PRESSURE.high or 0.0, []
    for each in advice.policies:
        for stage in advice.case.stages if each.best is not None else ():
            assert each.best is not None
            peak = PA_PER_KPA * float(each.best.figures[rated(stage.name)].max())
            if stage.layers[0].medium in SOLIDS_MEDIA and peak > high:
                told.append(f"“{each.policy}”, {stage.name}: {' '.join(measured(peak, 'pressure', system))}")
    if told:
        usual = " to ".join(" ".join(measured(end, "pressure", system)) for end in (low, high))
        yield (
            f"A higher pressure drop before a wash than is usual ({usual}, common practice): {'; '.join(told)}. A "
            "bed pressed so hard packs, cracks or lets deposit through at once, which is not simulated: set a lower "
            "limit, as in --pressure."
        )


def _rare_words(advice: Advice) -> Iterator[str]:
    usual, told = {stage.name: usual_longest_run(stage) for stage in advice.case.stages}, []
    for each in advice.policies:
        if each.best is not None:
            pairs = zip(each.knobs, each.best.candidate.values, strict=True)
            told += [f"“{each.policy}”, {knob.stage}: every {value / DAY:g} d against {usual[knob.stage].high:g} d"
                     for knob, value in pairs
                     if knob.part == "every" and value > usual[knob.stage].high * DAY]  # fmt: skip
    if told:
        yield (
            f"Washes further apart than common practice: {'; '.join(told)}. What grows in a bed that stands, and "
            "what a stage takes up beside solids, is not simulated."
        )
