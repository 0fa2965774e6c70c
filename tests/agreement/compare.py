"""What of a product run and a twin run may differ, and by how much."""

from __future__ import annotations

from math import inf, isnan
from typing import NamedTuple

import numpy as np

from sim.case.records import Case
from sim.plant import RunResult
from tests.twin import TwinResult
from tests.twin.spec import EXCESS_SHARE, HOUR, MINUTE, Floats

TICKS_A_RUN = 3.1
"""Ticks by which a filter run of the twin may end late: one tick too many at 5.5 m3/h may be made up at 1.8."""
WATER_SECONDS = 3.0
"""What the twin's own water adds to a filter run on pressure drop: its viscosity is 1.7e-5 off at 15 degC."""


class Share(NamedTuple):
    """How much two values may differ: a share of them at ticks of 60, 20 and 5 s, shrinking faster than the tick."""

    minute: float
    twenty: float
    five: float

    def at(self, tick: float) -> float:
        """The share for a tick."""
        return self.five if tick <= 5.0 else self.twenty if tick <= 20.0 else self.minute


# The widest of each is that of the short wash: two ticks of a minute each cannot follow it.
SHARES = {
    "solids_in_kg": Share(1e-4, 3e-5, 1e-5),
    "solids_dosed_kg": Share(1e-4, 3e-5, 1e-5),
    "solids_to_service_kg": Share(5e-2, 5e-3, 5e-4),
    "solids_to_drain_kg": Share(3e-2, 3e-3, 3e-4),
    "solids_held_kg": Share(6e-2, 2e-2, 3e-3),
    "over_limit_h": Share(8e-2, 1e-2, 1e-3),
    "over_limit_unavoidable_h": Share(8e-2, 1e-2, 1e-3),
    "dirty_water_kg": Share(2e-1, 2e-2, 1e-2),
    "dirty_water_min": Share(5e-2, 5e-2, 5e-2),  # the product ripens its beds in steps
    "peak_dp_kpa": Share(3e-2, 3e-3, 3e-4),
    "mean_run_h": Share(1e-3, 3e-4, 1e-4),
}
SAME = ("washes", "backwash_m3", "rinse_m3", "drain_m3", "drain_peak_m3_h", "downtime_h")


def washes(result: RunResult) -> Floats:
    """When the product's washes started, s."""
    return np.array([run.end_s for run in result.runs if run.cause is not None])


def gaps(result: RunResult, other: TwinResult) -> Floats:
    """By how many seconds each wash of the twin starts late; inf everywhere if it washed more or less often."""
    ours, theirs = washes(result), np.array(other.wash_starts)
    return np.full(ours.shape, inf) if ours.shape != theirs.shape else theirs - ours


def largest_gap(result: RunResult, other: TwinResult) -> float:
    """The largest of them, either way; 0 without a wash."""
    return float(np.max(np.abs(gaps(result, other)), initial=0.0))


def gaps_in_ticks_a_run(result: RunResult, other: TwinResult, tick: float) -> Floats:
    """The gap of the nth wash over n ticks."""
    found = np.abs(gaps(result, other))
    return found / (tick * np.arange(1, found.size + 1))


def slack(key: str, case: Case, result: RunResult, tick: float) -> float:
    """What a KPI may differ by whatever its size: a tick or two at an edge of each of its filter runs."""
    edges = len(result.runs) * tick
    flow = largest_flow(case)
    limit = case.stages[-1].limit or 0.0
    drained, treated = result.site["drain_fraction"] or 0.0, result.site["treated_m3"] or 1.0
    return {
        "treated_m3": 0.5 * edges * flow,
        "drain_fraction": 0.5 * edges * flow * drained / treated,
        "unmet_m3": 0.5 * edges * flow,
        "unmet_by_washing_m3": 0.5 * edges * flow,
        "over_limit_h": 1.5 * edges / HOUR,
        "over_limit_unavoidable_h": 1.5 * edges / HOUR,
        "dirty_water_kg": 2.0 * edges * EXCESS_SHARE * limit * flow / 1e3,
        "dirty_water_min": 2.0 * edges / MINUTE,
        # A wash at the turn of an hour may end on the feed of either.
        "unused_capacity": 2e-2 * (tick / 60.0) ** 2 + 1e-3,
    }.get(key, 0.0)


def largest_flow(case: Case) -> float:
    """The largest demand of a case, m3/s."""
    flow = case.demand.flow
    largest = max(flow.hourly) * max(flow.weekday) if hasattr(flow, "hourly") else flow.value
    return largest * (1.0 + (case.demand.season.swing if case.demand.season else 0.0))


def differences(case: Case, result: RunResult, other: TwinResult, tick: float) -> list[str]:
    """Every KPI of the two that differs by more than it may."""
    found = []
    for key, ours in result.site.items():
        if not hasattr(other, key):
            continue
        theirs = getattr(other, key)
        if ours is None:
            if not isnan(theirs):
                found.append(f"{key}: nothing against {theirs}")
            continue
        allowed = slack(key, case, result, tick) + (SHARES[key].at(tick) * abs(ours) if key in SHARES else 0.0)
        if key in SAME:
            allowed = 1e-9 * abs(ours)
        if not abs(theirs - ours) <= allowed:
            found.append(f"{key}: {ours} against {theirs}, more than {allowed:.2e} apart")
    return found
