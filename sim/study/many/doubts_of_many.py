"""What would change a reader's mind about many runs: the worst that any of them showed."""

from collections.abc import Callable, Iterator, Mapping

import numpy as np

from sim.plant.records import Figure
from sim.study.doubts import (
    Doubt,
    SameResult,
    Why,
    alike,
    cannot_keep,
    in_order,
    of_case,
    of_figures,
    of_policy,
)
from sim.study.many.repeat import Repeated

WORST: Mapping[str, Callable[..., float]] = {
    "peak_dp_kpa": np.max,
    "wash_short_fraction": np.min,
    "pressure_share": np.max,
    "longest_run_share": np.min,
    "regenerations_without": np.max,
    "regenerations": np.max,
    "oxidant_exposure_g_h_m3": np.max,
    "oxidant_peak_mg_l": np.max,
    "carbon_life_y": np.min,
}
"""Which of the runs is the worst by a figure: a switch acted if it did in any, the longest run decides if in all."""
ALIKE = ("washes", "drain_m3", "downtime_h", "treated_m3", "over_limit_h", "solids_to_service_kg")


def doubts_of(repeated: Repeated) -> tuple[Doubt, ...]:
    """All that applies to many runs, as `doubts` for one."""
    case = repeated.case
    found: list[Doubt] = [*of_case(case), *_same(repeated)]
    for stage in case.stages:
        hours = {policy.name: _hours(repeated, policy.name, stage.name) for policy in case.policies}
        found += cannot_keep(stage.name, hours, repeated.days)
    for policy in case.policies:
        worst = {place: worst_figures(repeated, policy.name, place) for place in repeated.figures.places}
        found += [*of_policy(case, policy), *of_figures(case, policy, worst)]
    return in_order(found)


def worst_figures(repeated: Repeated, policy: str, place: str) -> dict[str, Figure]:
    """The figures of WORST, each of its worst run; None where no run has one."""
    found: dict[str, Figure] = {}
    for key, worst in WORST.items():
        values = repeated.values(policy, key, place)
        known = values[~np.isnan(values)]
        found[key] = float(worst(known)) if known.size else None
    return found


def _hours(repeated: Repeated, policy: str, stage: str) -> tuple[float, float]:
    over, unavoidable = (repeated.mean(policy, key, stage) for key in ("over_limit_h", "over_limit_unavoidable_h"))
    return (over.mean if over else 0.0), (unavoidable.mean if unavoidable else 0.0)


def _same(repeated: Repeated) -> Iterator[SameResult]:
    def same(one: str, other: str) -> bool:
        pairs = ((repeated.values(one, key), repeated.values(other, key)) for key in ALIKE)
        return all(np.array_equal(*pair, equal_nan=True) for pair in pairs)

    for group in alike(repeated.figures.policies, same):
        yield SameResult(policies=tuple(group), why=_why(repeated, group[0]))


def _why(repeated: Repeated, policy: str) -> Why:
    if not repeated.values(policy, "washes").any():
        return "no wash"
    shares = repeated.values(policy, "longest_run_share")
    return "longest run" if np.all(shares == 1.0) else "same times"
