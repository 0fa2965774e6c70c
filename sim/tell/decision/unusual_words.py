"""Advised settings beyond what is usual: water through a bed between two washes, its pressure drop, days."""

from collections.abc import Iterator, Sequence

from sim.case.quantities import Quantity, System
from sim.case.stage.longest_run import usual_longest_run
from sim.case.stage.records import Stage
from sim.case.units import DAY, PA_PER_KPA
from sim.review.bands import LOADED_PRESSURE, RUN_LOADING, SOLIDS_MEDIA
from sim.review.findings import Band
from sim.study.costs import YEAR_DAYS
from sim.study.decide.advice import Advice, Advised
from sim.study.decide.trials import Tried, rated
from sim.tell.present import measured
from sim.tell.sentences import joined

LOADING, HIGHER = "more water through a bed between two washes", "a higher pressure drop"
RARER = "washes further apart"


def unusual_words(advice: Advice, system: System) -> tuple[str, ...]:
    """A sentence for each kind of it, with the policies and stages."""
    water, usual = _ends(RUN_LOADING, "loading", system), _ends(LOADED_PRESSURE, "pressure", system)
    sentences = {
        LOADING: (
            f"More water through a bed between two washes than is usual ({water} over its area, "
            f"{RUN_LOADING.source}): {{}}. It rests on assumed constants: approach it in steps, and watch for "
            "mudballs, growth and a packed bed."
        ),
        HIGHER: (
            f"A higher pressure drop before a wash than is usual ({usual}, common practice): {{}}. A "
            "bed pressed so hard packs, cracks or lets deposit through at once, which is not simulated: set a lower "
            "limit, as in --pressure."
        ),
        RARER: (
            "Washes further apart than common practice: {}. What grows in a bed that stands, and what a stage takes "
            "up beside solids, is not simulated."
        ),
    }
    found = _beyond(advice, advice.policies, system)
    return tuple(words.format("; ".join(found[kind])) for kind, words in sentences.items() if found[kind])


def _ends(band: Band, quantity: Quantity, system: System) -> str:
    return " to ".join(" ".join(measured(end or 0.0, quantity, system)) for end in (band.low, band.high))


def unusual_in_short(advice: Advice) -> Iterator[str]:
    """That the setting chosen is beyond what is usual, without the figures; nothing where it is not."""
    found = _beyond(advice, [advice.chosen] if advice.chosen else [], "si")
    if kinds := [kind for kind, told in found.items() if told]:
        yield f"Beyond what is usual: {joined(kinds)}."


def _beyond(advice: Advice, policies: Sequence[Advised], system: System) -> dict[str, list[str]]:
    """By kind what is beyond what is usual: policy, stage, figure."""
    found: dict[str, list[str]] = {LOADING: [], HIGHER: [], RARER: []}
    stages, usual = advice.case.stages, {stage.name: usual_longest_run(stage) for stage in advice.case.stages}
    for each in (each for each in policies if each.best is not None):
        assert each.best is not None
        for name, loading in loadings(advice, each):
            times = loading / (RUN_LOADING.high or 1.0)
            text = f"“{each.policy}”, {name}: {' '.join(measured(loading, 'loading', system))}"
            found[LOADING] += [f"{text}, {times:.2g} times the most that is usual"] if times > 1.0 else []
        for stage in (stage for stage in stages if stage.layers[0].medium in SOLIDS_MEDIA):
            peak = PA_PER_KPA * float(each.best.figures[rated(stage.name)].max())
            text = f"“{each.policy}”, {stage.name}: {' '.join(measured(peak, 'pressure', system))}"
            found[HIGHER] += [text] if peak > (LOADED_PRESSURE.high or 0.0) else []
        for knob, value in zip(each.knobs, each.best.candidate.values, strict=True):
            if knob.part == "every" and value > usual[knob.stage].high * DAY:
                days = f"every {value / DAY:g} d against {usual[knob.stage].high:g} d"
                found[RARER].append(f"“{each.policy}”, {knob.stage}: {days}")
    return found


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
