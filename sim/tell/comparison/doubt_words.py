"""What would change a reader's mind, in a line each, one for all policies to which the same applies."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from plots.words import (
    Amount,
    Items,
    Kind,
    Name,
    Sentence,
    amount,
    count,
    in_days,
    in_quotes,
    items,
    label,
    number,
    paragraph,
    say,
    term,
)
from sim.case.quantities import System
from sim.case.units import PA_PER_KPA
from sim.study.doubts import (
    BeyondPressure,
    CannotKeep,
    CarbonLife,
    Doubt,
    IdleSwitch,
    OnlyLongestRun,
    RestoredNothing,
    RoundedInterval,
    SameResult,
    SetBelowClean,
    ShortWash,
    SolidsOnly,
    UnitExposed,
)
from sim.tell.kpis import KPIS
from sim.tell.present import amount_of, duration, row, written
from sim.tell.sentences import day_time, quoted

GRAVE = (UnitExposed, RestoredNothing)


def first_words(found: Sequence[Doubt]) -> tuple[Sentence, ...]:
    """What has to stand before any answer: limits that no washing can keep."""
    return tuple(cannot_keep_words(each) for each in found if isinstance(each, CannotKeep))


def cannot_keep_words(doubt: CannotKeep) -> Sentence:
    """That a bed cannot keep its limit.

    >>> print(cannot_keep_words(CannotKeep(policy="meter", stage="sand", unavoidable_h=1117, over_h=1120, days=365)))
    Stage sand cannot keep its limit: 1,117 of 1,120 hours a year over it are unavoidable (“meter” has the fewest). \
In those hours a bed just washed is over it too.
    """
    some, every = written([doubt.unavoidable_h, doubt.over_h])
    stage, way = Name(doubt.stage), Name(doubt.policy)
    if 365.0 <= doubt.days <= 366.0:
        return say("doubt.cannot_keep_in_a_year", stage=stage, some=some, every=every, way=way)
    length = in_days(doubt.days)
    return say("doubt.cannot_keep", stage=stage, some=some, every=every, length=length, way=way)


def same_words(found: Sequence[Doubt]) -> tuple[Sentence, ...]:
    """Who comes to the same as whom, and why; it stands in place of a ranking of these."""
    return tuple(
        say("doubt.same", why=Kind(each.why), ways=quoted(each.policies))
        for each in found
        if isinstance(each, SameResult)
    )


def other_words(found: Sequence[Doubt], system: System) -> tuple[Sentence, ...]:
    """All the rest, in a line each."""
    told: list[Sentence] = []
    for kind, words in _OTHERS.items():
        of_kind = [each for each in found if type(each) is kind]
        told += words(_unless_idle(of_kind, found), system)
    return tuple(told)


def telling_words(found: Sequence[Doubt], system: System) -> tuple[Sentence, ...]:
    """Those that would change what a reader takes from a comparison, without the grave ones."""
    return other_words([each for each in found if not isinstance(each, (SolidsOnly, *GRAVE))], system)


def grave_words(found: Sequence[Doubt], system: System) -> tuple[Sentence, ...]:
    """Those that no first screen leaves out."""
    return other_words([each for each in found if isinstance(each, GRAVE)], system)


def chemistry_words(found: Sequence[Doubt]) -> tuple[Sentence, ...]:
    """Which stages take no part in the verdict."""
    return tuple(_solids([each for each in found if isinstance(each, SolidsOnly)], "si"))


def _unless_idle(of_kind: Sequence[Any], found: Sequence[Doubt]) -> list[Any]:
    """A stage whose switch never acts needs no second line that only the longest run washes it."""
    idle = {(each.policy, each.stage) for each in found if isinstance(each, IdleSwitch)}
    return [each for each in of_kind if not isinstance(each, OnlyLongestRun) or (each.policy, each.stage) not in idle]


def _by_stage(found: Sequence[Any]) -> Mapping[str, list[Any]]:
    stages: dict[str, list[Any]] = {}
    for each in found:
        stages.setdefault(each.stage, []).append(each)
    return stages


def _short(found: Sequence[ShortWash], _system: System) -> Iterator[Sentence]:
    for stage, those in _by_stage(found).items():
        least = min(each.fraction for each in those)
        reached = amount(number(100.0 * least), "%")
        yield say("doubt.short_washes", stage=Name(stage), least=reached, ways=_ways(those))


def _beyond(found: Sequence[BeyondPressure], system: System) -> Iterator[Sentence]:
    for stage, those in _by_stage(found).items():
        peaks = items([f"{_pressure(each.peak_kpa, system)} ({in_quotes(each.policy)})" for each in those])
        most = _pressure(those[0].most_kpa, system)
        yield say("doubt.beyond", bound=Kind(those[0].bound), stage=Name(stage), peaks=peaks, most=most)


def _below(found: Sequence[SetBelowClean], system: System) -> Iterator[Sentence]:
    for each in found:
        point, clean = _pressure(each.set_kpa, system), _pressure(each.clean_kpa, system)
        way, stage = Name(each.policy), Name(each.stage)
        yield say("doubt.set_below_clean", way=way, stage=stage, point=point, clean=clean)


def _idle(found: Sequence[IdleSwitch], system: System) -> Iterator[Sentence]:
    for each in found:
        shown = row(KPIS["peak_dp_kpa"], [{"peak_dp_kpa": each.set_kpa}, {"peak_dp_kpa": each.peak_kpa}], system)
        point, peak = (amount(text, shown.unit) for text in shown.texts)
        never = say("doubt.idle_switch", way=Name(each.policy), stage=Name(each.stage), point=point, peak=peak)
        causes = [label("doubt.started", cause=term("cause", cause), count=washes) for cause, washes in each.causes]
        yield paragraph(never, say("doubt.washed_by", causes=items(causes))) if causes else never


def _longest(found: Sequence[OnlyLongestRun], _system: System) -> Iterator[Sentence]:
    for stage, those in _by_stage(found).items():
        yield say("doubt.only_longest_run", stage=Name(stage), ways=_ways(those))


def _rounded(found: Sequence[RoundedInterval], _system: System) -> Iterator[Sentence]:
    for each in found:
        yield say(
            "doubt.rounded_interval",
            way=Name(each.policy), stage=Name(each.stage), interval=duration(each.interval_s),
            every=duration(each.every_s), hour=day_time(each.at_s),
        )  # fmt: skip


def _restored_nothing(found: Sequence[RestoredNothing], _system: System) -> Iterator[Sentence]:
    for stage, those in _by_stage(found).items():
        shares = [
            label("doubt.of_way", some=count(round(each.without)), every=count(round(each.regenerations)),
                  way=Name(each.policy))
            for each in those
        ]  # fmt: skip
        yield say("doubt.restored_nothing", lack=Kind(those[0].lack), stage=Name(stage), shares=items(shares))


def _exposed(found: Sequence[UnitExposed], system: System) -> Iterator[Sentence]:
    if not found:
        return
    most = max(found, key=lambda each: each.exposure_g_h_m3)
    exposure = row(KPIS["oxidant_exposure_g_h_m3"], [{"oxidant_exposure_g_h_m3": most.exposure_g_h_m3}], system)
    peak = row(KPIS["oxidant_peak_mg_l"], [{"oxidant_peak_mg_l": most.peak_mg_l}], system)
    yield say(
        "doubt.unit_exposed", exposure=amount(exposure.texts[0], exposure.unit),
        peak=amount(peak.texts[0], peak.unit), way=Name(most.policy),
    )  # fmt: skip


def _carbon(found: Sequence[CarbonLife], _system: System) -> Iterator[Sentence]:
    for stage in _by_stage(found):
        yield say("doubt.carbon_life", stage=Name(stage))


def _solids(found: Sequence[SolidsOnly], _system: System) -> Iterator[Sentence]:
    stages = [each.stage for each in found]
    if stages:
        yield say("doubt.solids_only", count=len(stages), stages=items(stages))


def _ways(found: Sequence[Any]) -> Items:
    return quoted([each.policy for each in found])


def _pressure(kpa: float, system: System) -> Amount:
    return amount_of(kpa * PA_PER_KPA, "pressure", system)


_OTHERS: dict[type[Doubt], Callable[[Sequence[Any], System], Iterator[Sentence]]] = {
    UnitExposed: _exposed,
    RestoredNothing: _restored_nothing,
    BeyondPressure: _beyond,
    SetBelowClean: _below,
    ShortWash: _short,
    IdleSwitch: _idle,
    OnlyLongestRun: _longest,
    RoundedInterval: _rounded,
    CarbonLife: _carbon,
    SolidsOnly: _solids,
}
