"""What would change a reader's mind, in a line each, one for all policies to which the same applies."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from sim.case.quantities import System
from sim.case.spelling import plain_duration
from sim.case.units import PA_PER_KPA
from sim.study.doubts import (
    BeyondPressure,
    CannotKeep,
    Doubt,
    IdleSwitch,
    OnlyLongestRun,
    RoundedInterval,
    SameResult,
    SetBelowClean,
    ShortWash,
    SolidsOnly,
)
from sim.tell.kpis import KPIS
from sim.tell.present import measured, row, written
from sim.tell.sentences import day_time, days_words, joined

BOUNDS = {
    "rating": "its vessel is rated for",
    "pump": "the pump can give",
    "shared line": "the line can give that it shares with the wash",
    "usual supply": "a supply usually gives, the case saying nothing of it",
}
WHY_SAME = {
    "no wash": "none of them ever starts a wash",
    "longest run": "the longest run alone starts every one of them",
    "same times": "each of them is met at the same hours",
}


def first_words(found: Sequence[Doubt]) -> tuple[str, ...]:
    """What has to stand before any answer: limits that no washing can keep."""
    return tuple(cannot_keep_words(each) for each in found if isinstance(each, CannotKeep))


def cannot_keep_words(doubt: CannotKeep) -> str:
    """That a bed cannot keep its limit.

    >>> print(cannot_keep_words(CannotKeep(policy="meter", stage="sand", unavoidable_h=1117, over_h=1120, days=365)))
    Stage sand cannot keep its limit: 1,117 of 1,120 hours a year over it are unavoidable (“meter” has the fewest); \
a bed just washed is over it too.
    """
    some, every = written([doubt.unavoidable_h, doubt.over_h])
    span = "a year over it" if 365.0 <= doubt.days <= 366.0 else f"over it in {days_words(doubt.days)}"
    return (
        f"Stage {doubt.stage} cannot keep its limit: {some} of {every} hours {span} are unavoidable "
        f"(“{doubt.policy}” has the fewest); a bed just washed is over it too."
    )


def same_words(found: Sequence[Doubt]) -> tuple[str, ...]:
    """Who comes to the same as whom, and why; it stands in place of a ranking of these."""
    return tuple(
        f"{joined(each.policies)} come to the same, since {WHY_SAME[each.why]}; they are not ranked."
        for each in found
        if isinstance(each, SameResult)
    )


def other_words(found: Sequence[Doubt], system: System) -> tuple[str, ...]:
    """All the rest, in a line each."""
    told: list[str] = []
    for kind, words in _OTHERS.items():
        of_kind = [each for each in found if type(each) is kind]
        told += words(_unless_idle(of_kind, found), system)
    return tuple(told)


def telling_words(found: Sequence[Doubt], system: System) -> tuple[str, ...]:
    """Those that would change what a reader takes from a comparison."""
    return other_words([each for each in found if not isinstance(each, SolidsOnly)], system)


def chemistry_words(found: Sequence[Doubt]) -> tuple[str, ...]:
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


def _short(found: Sequence[ShortWash], _system: System) -> Iterator[str]:
    for stage, those in _by_stage(found).items():
        least = min(each.fraction for each in those)
        yield (
            f"Washes of {stage} fall short of their flow, down to {100.0 * least:.0f} % of it, with {_whose(those)}: "
            "they leave more behind than the full flow would."
        )


def _beyond(found: Sequence[BeyondPressure], system: System) -> Iterator[str]:
    for stage, those in _by_stage(found).items():
        peaks = _pressures([each.peak_kpa for each in those], system)
        named = joined([f"{peak} with “{each.policy}”" for peak, each in zip(peaks, those, strict=True)])
        (most,) = _pressures([those[0].most_kpa], system)
        yield (
            f"The pressure drop of {stage} comes to {named}, beyond the {most} that {BOUNDS[those[0].bound]}: no "
            "plant runs like that."
        )


def _below(found: Sequence[SetBelowClean], system: System) -> Iterator[str]:
    for each in found:
        point, clean = _pressures([each.set_kpa, each.clean_kpa], system)
        yield (
            f"“{each.policy}”: the set point of {each.stage}, {point}, is not above its clean bed, {clean} in the "
            "coldest water at full flow: a clean filter is washed again."
        )


def _idle(found: Sequence[IdleSwitch], system: System) -> Iterator[str]:
    for each in found:
        shown = row(KPIS["peak_dp_kpa"], [{"peak_dp_kpa": each.set_kpa}, {"peak_dp_kpa": each.peak_kpa}], system)
        by = ", ".join(f"{cause} ({count})" for cause, count in each.causes)
        yield (
            f"“{each.policy}”: the switch of {each.stage}, set at {shown.texts[0]} {shown.unit}, never acts; the "
            f"pressure drop comes to {shown.texts[1]} {shown.unit} at most.{f' What washed it: {by}.' if by else ''}"
        )


def _longest(found: Sequence[OnlyLongestRun], _system: System) -> Iterator[str]:
    for stage, those in _by_stage(found).items():
        yield f"Stage {stage} always washes at its longest run with {_whose(those)}: nothing else was met."


def _rounded(found: Sequence[RoundedInterval], _system: System) -> Iterator[str]:
    for each in found:
        yield (
            f"“{each.policy}”: {each.stage} is washed every {plain_duration(each.interval_s)}, not every "
            f"{plain_duration(each.every_s)}, since each wash waits for {day_time(each.at_s)}."
        )


def _solids(found: Sequence[SolidsOnly], _system: System) -> Iterator[str]:
    match [each.stage for each in found]:
        case []:
            return
        case [stage]:
            yield f"Stage {stage} only filters solids here: its chemistry has no part in the verdict."
        case stages:
            yield f"Stages {joined(stages)} only filter solids here: their chemistry has no part in the verdict."


def _whose(found: Sequence[Any]) -> str:
    return joined([f"“{each.policy}”" for each in found])


def _pressures(values: Sequence[float], system: System) -> list[str]:
    return [" ".join(measured(value * PA_PER_KPA, "pressure", system)) for value in values]


_OTHERS: dict[type[Doubt], Callable[[Sequence[Any], System], Iterator[str]]] = {
    BeyondPressure: _beyond,
    SetBelowClean: _below,
    ShortWash: _short,
    IdleSwitch: _idle,
    OnlyLongestRun: _longest,
    RoundedInterval: _rounded,
    SolidsOnly: _solids,
}
