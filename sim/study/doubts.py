"""What would change a reader's mind about a way to start a wash, as facts: a record for each thing that applies.

`of_case` and `of_policy` ask what can be known without a run, `of_figures` what the figures of a run show, or the
worst of many runs, `cannot_keep` what those of all policies show; `doubts` asks all of a comparison, and who comes to
the same as whom. `doubt_words` says them in sentences.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict
from typing import Any, Final, Literal, TypeVar

from sim.case.chemistry.records import Carbon, Oxidising, Resin
from sim.case.record import record
from sim.case.records import Case
from sim.case.stage.records import Stage
from sim.case.trigger.records import Policy, Trigger, devices
from sim.case.units import PA_PER_KPA
from sim.plant.records import SHORT_OF_WATER, Cause, Figure, FilterRun, RunResult
from sim.review.bearable import Bound, bearable
from sim.review.site import site_of
from sim.review.without_run import calendar_interval, is_rounded
from sim.study.many.arrays import SITE

MOST: Final = 0.5  # of the hours over the limit: from more unavoidable ones on a bed cannot keep it
SAME_TIME: Final = 1.0  # s

Item = TypeVar("Item")
Why = Literal["no wash", "longest run", "same times"]
Lack = Literal["salt", "permanganate", "medium"]
"""What a regeneration that restored nothing did not have; "medium": one that salt or permanganate restores."""


LEAST_SEEN = 0.01  # mg/L of chlorine that a test at the plant shows: common practice, from memory

@record
class CannotKeep:
    """Most hours over the limit of a stage are such that a bed just washed would be over it too, with the policy that
    has the fewest of them [h, in `days`]."""

    policy: str
    stage: str
    unavoidable_h: float
    over_h: float
    days: float


@record
class ShortWash:
    """The least share of the flow of a step of a wash that was reached."""

    policy: str
    stage: str
    fraction: float


@record
class BeyondPressure:
    """A peak of the pressure drop beyond the least of what the vessel and the supply bear or give [kPa]."""

    policy: str
    stage: str
    peak_kpa: float
    most_kpa: float
    bound: Bound


@record
class SetBelowClean:
    """A set point no higher than the clean bed in the coldest water at the largest service flow [kPa]."""

    policy: str
    stage: str
    set_kpa: float
    clean_kpa: float


@record
class IdleSwitch:
    """A switch that started no wash of its stage; what did, and how often, where that is known."""

    policy: str
    stage: str
    set_kpa: float
    peak_kpa: float
    causes: tuple[tuple[str, int], ...]


@record
class OnlyLongestRun:
    """Every wash of a stage was started by its longest run: nothing else of the trigger decides."""

    policy: str
    stage: str


@record
class RoundedInterval:
    """A calendar whose hour makes a longer interval of the one it is set to [s]."""

    policy: str
    stage: str
    every_s: float
    at_s: float
    interval_s: float


@record
class SameResult:
    """Policies whose washes start at the same times, and why: no wash, the longest run alone, or as it happens."""

    policies: tuple[str, ...]
    why: Why


@record
class SolidsOnly:
    """A stage whose chemistry no run follows: it takes no part in a verdict."""

    stage: str
    media: tuple[str, ...]


@record
class RestoredNothing:
    """Regenerations that restored nothing, of how many, and what was not there; of many runs the most of any."""

    policy: str
    stage: str
    without: float
    regenerations: float
    lack: Lack


@record
class UnitExposed:
    """Oxidant that reaches a membrane of polyamide: in all [mg/L h as chlorine, in `days`], and the most [mg/L]."""

    policy: str
    exposure_g_h_m3: float
    peak_mg_l: float | None


@record
class CarbonLife:
    """A stage with carbon against chlorine of which nobody knows how long it lasts."""

    policy: str
    stage: str


Doubt = (
    CannotKeep | ShortWash | BeyondPressure | SetBelowClean | IdleSwitch | OnlyLongestRun | RoundedInterval
    | SameResult | SolidsOnly | RestoredNothing | UnitExposed | CarbonLife
)  # fmt: skip
DoubtName = Literal[
    "limit cannot be kept", "same result", "pressure beyond what is possible", "set point below the clean bed",
    "wash short of its flow", "switch never acts", "only the longest run decides", "interval rounded up by its hour",
    "solids only", "regeneration restored nothing", "oxidant reaches the membrane", "life of the carbon not known",
]  # fmt: skip
NAMES: dict[type[Doubt], DoubtName] = {
    CannotKeep: "limit cannot be kept",
    SameResult: "same result",
    UnitExposed: "oxidant reaches the membrane",
    RestoredNothing: "regeneration restored nothing",
    BeyondPressure: "pressure beyond what is possible",
    SetBelowClean: "set point below the clean bed",
    ShortWash: "wash short of its flow",
    IdleSwitch: "switch never acts",
    OnlyLongestRun: "only the longest run decides",
    RoundedInterval: "interval rounded up by its hour",
    CarbonLife: "life of the carbon not known",
    SolidsOnly: "solids only",
}


def doubt_json(doubt: Doubt) -> dict[str, Any]:
    """A doubt as plain data: which one under "doubt", then its fields."""
    return {"doubt": NAMES[type(doubt)], **asdict(doubt)}


def doubts(case: Case, results: Sequence[RunResult]) -> tuple[Doubt, ...]:
    """All that applies to a comparison, a kind after the other in the order of NAMES."""
    named = {policy.name: policy for policy in case.policies}
    found: list[Doubt] = [*of_case(case), *same_results(results)]
    for stage in case.stages:
        hours = {each.policy: hours_over(each.stages[stage.name]) for each in results}
        found += cannot_keep(stage.name, hours, results[0].days)
    for each in results:
        found += of_policy(case, named[each.policy])
        found += of_figures(case, named[each.policy], {SITE: each.site, **each.stages}, each.runs)
    return in_order(found)


def in_order(found: Sequence[Doubt]) -> tuple[Doubt, ...]:
    """A kind after the other, as NAMES has them."""
    kinds = list(NAMES)
    return tuple(sorted(found, key=lambda each: kinds.index(type(each))))


def of_case(case: Case) -> Iterator[SolidsOnly]:
    """What applies whatever starts a wash."""
    for stage in case.stages:
        if stage.only_solids:
            yield SolidsOnly(stage=stage.name, media=stage.only_solids)


def without_verdict(case: Case) -> frozenset[str]:
    """The stages that take no part in a verdict."""
    return frozenset(each.stage for each in of_case(case))


def of_policy(case: Case, policy: Policy) -> Iterator[Doubt]:
    """What can be known of a policy, its settings as they are, without a run."""
    site, triggers = site_of(case), dict(policy.triggers)
    for stage in case.stages:
        trigger = triggers[stage.name]
        calendar, _, switch, _ = devices(trigger)
        if switch is not None:
            clean = site.clean(stage)
            if switch.above <= clean:
                yield SetBelowClean(
                    policy=policy.name, stage=stage.name, set_kpa=switch.above / PA_PER_KPA,
                    clean_kpa=clean / PA_PER_KPA,
                )  # fmt: skip
        if calendar is not None and is_rounded(calendar):
            yield RoundedInterval(
                policy=policy.name, stage=stage.name, every_s=calendar.every or 0.0, at_s=calendar.at or 0.0,
                interval_s=calendar_interval(calendar),
            )  # fmt: skip


def of_figures(
    case: Case, policy: Policy, places: Mapping[str, Mapping[str, Figure]], runs: Sequence[FilterRun] = ()
) -> Iterator[Doubt]:
    """What the figures of SITE and each stage show of a policy in one run, or the worst of many; `runs`: where known.
    """
    triggers = dict(policy.triggers)
    exposure, peak = places[SITE]["oxidant_exposure_g_h_m3"], places[SITE]["oxidant_peak_mg_l"] or 0.0
    if exposure and peak >= LEAST_SEEN and case.downstream is not None and case.downstream.membrane == "polyamide":
        yield UnitExposed(
            policy=policy.name, exposure_g_h_m3=exposure, peak_mg_l=peak
        )
    for stage in case.stages:
        figures = places[stage.name]
        fraction, peak = figures["wash_short_fraction"], figures["peak_dp_kpa"] or 0.0
        if fraction is not None and fraction < SHORT_OF_WATER:
            yield ShortWash(policy=policy.name, stage=stage.name, fraction=fraction)
        most, bound = bearable(site_of(case), stage)
        if peak * PA_PER_KPA > most:
            yield BeyondPressure(
                policy=policy.name, stage=stage.name, peak_kpa=peak, most_kpa=most / PA_PER_KPA, bound=bound
            )
        yield from _deciding(policy.name, stage.name, triggers[stage.name], figures, runs)
        without = figures["regenerations_without"]
        if without:
            yield RestoredNothing(
                policy=policy.name, stage=stage.name, without=without, lack=_lack(stage),
                regenerations=figures["regenerations"] or without,
            )  # fmt: skip
        if _takes_up(stage, Carbon) and figures["carbon_life_y"] is None:
            yield CarbonLife(policy=policy.name, stage=stage.name)


def _takes_up(stage: Stage, kind: type[Resin | Oxidising | Carbon]) -> bool:
    return any(isinstance(layer.uptake, kind) for layer in stage.layers)


def _lack(stage: Stage) -> Lack:
    if _takes_up(stage, Resin):
        return "salt"
    return "permanganate" if _takes_up(stage, Oxidising) else "medium"


def hours_over(figures: Mapping[str, Figure]) -> tuple[float, float]:
    """Hours over the limit of a stage, and the unavoidable ones of them; none without a limit."""
    return figures["over_limit_h"] or 0.0, figures["over_limit_unavoidable_h"] or 0.0


def cannot_keep(stage: str, hours: Mapping[str, tuple[float, float]], days: float) -> Iterator[CannotKeep]:
    """Whether a stage cannot keep its limit, by the `hours_over` of every policy or setting in so many days."""
    policy, (over, unavoidable) = min(hours.items(), key=lambda each: each[1][0])
    if unavoidable > MOST * over:
        yield CannotKeep(policy=policy, stage=stage, unavoidable_h=unavoidable, over_h=over, days=days)


def _deciding(
    policy: str, stage: str, trigger: Trigger, figures: Mapping[str, Figure], runs: Sequence[FilterRun]
) -> Iterator[Doubt]:
    """Whether the switch ever acted, and whether anything but the longest run did."""
    _, _, switch, _ = devices(trigger)
    if switch is not None and not figures["pressure_share"]:
        causes = Counter(run.cause.value for run in runs if run.stage == stage and run.cause is not None)
        yield IdleSwitch(
            policy=policy, stage=stage, set_kpa=switch.above / PA_PER_KPA,
            peak_kpa=figures["peak_dp_kpa"] or 0.0, causes=tuple(causes.items()),
        )  # fmt: skip
    if figures["longest_run_share"] == 1.0:
        yield OnlyLongestRun(policy=policy, stage=stage)


def same_results(results: Sequence[RunResult]) -> Iterator[SameResult]:
    """Policies whose washes start at the same times, in groups of two or more."""
    for group in alike(results, lambda one, other: _same_washes(one.runs, other.runs)):
        yield SameResult(policies=tuple(each.policy for each in group), why=_why_same(group))


def alike(items: Sequence[Item], same: Callable[[Item, Item], bool]) -> list[list[Item]]:
    """Items that are the same as the first of their group, in groups of two or more."""
    groups: list[list[Item]] = []
    for each in items:
        known = next((group for group in groups if same(group[0], each)), None)
        if known is None:
            groups.append([each])
        else:
            known.append(each)
    return [group for group in groups if len(group) > 1]


def _same_washes(one: Sequence[FilterRun], other: Sequence[FilterRun]) -> bool:
    return len(one) == len(other) and all(
        (a.stage, a.vessel) == (b.stage, b.vessel) and abs(a.end_s - b.end_s) <= SAME_TIME
        for a, b in zip(one, other, strict=True)
    )


def _why_same(group: Sequence[RunResult]) -> Why:
    causes = {run.cause for each in group for run in each.runs} - {None}
    if not causes:
        return "no wash"
    return "longest run" if causes == {Cause.LONGEST_RUN} else "same times"
