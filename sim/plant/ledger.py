"""The books of a run: the KPIs of stages and site, and the balances that must close."""

import math
from collections.abc import Sequence

from sim.case.records import Case
from sim.plant.errors import LedgerError
from sim.plant.line import Line
from sim.plant.recorder import HOUR, KILO, Recorder
from sim.plant.records import Figure, FilterRun

CLOSES_TO = 1e-9
LEAST_SOLIDS, LEAST_WATER = 1e-3, 1e-3  # g and m3: what counts as nothing in a relative comparison
NOT_YET: dict[str, Figure] = {
    "downstream_stopped_h": None,
    "downstream_starts": None,
    "downstream_solids_kg": None,
    "breakthrough_risk": None,
    "early_triggers": None,
    "missed_triggers": None,
    "cost": None,
}


def stage_figures(case: Case, line: Line, recorder: Recorder, k: int, off_line: float) -> dict[str, Figure]:
    """The KPIs of stage k; solids in kg, water in m3, times in h; None where a figure does not apply."""
    x = line.stage[k]
    name = case.stages[k].name
    limited = case.stages[k].limit is not None
    drain = float(x.backwash_total + x.rinse_total)
    drawn = float(x.served_total) + drain
    return {
        "washes": recorder.washes[k],
        "treated_m3": float(x.served_total),
        "backwash_m3": float(x.backwash_total),
        "rinse_m3": float(x.rinse_total),
        "drain_m3": drain,
        "drain_peak_m3_h": recorder.peak_drain[k] * HOUR,
        "drain_fraction": drain / drawn if drawn > 0.0 else None,
        "offline_h": (recorder.off_line[k] + off_line) / HOUR,
        "unmet_m3": None,
        "breach_h": float(x.breach_total) / HOUR if limited else None,
        "breach_unavoidable_h": float(x.unavoidable_total) / HOUR if limited else None,
        "solids_in_kg": float(x.in_total + x.wash_in_total) / KILO,
        "solids_to_service_kg": float(x.out_total) / KILO,
        "solids_to_drain_kg": float(x.drain_total) / KILO,
        "solids_held_kg": line.held(k) / KILO,
        "dirty_return_kg": float(x.dirty_total) / KILO if limited else None,
        "dirty_return_min": float(x.dirty_time_total) / 60.0 if limited else None,
        "dirty_return_peak_mg_l": float(x.dirty_peak) if limited else None,
        "peak_dp_kpa": float(x.peak_pressure) / KILO,
        **_run_figures([run for run in recorder.runs if run.stage == name], limited),
        **NOT_YET,
    }


def site_figures(
    case: Case, line: Line, recorder: Recorder, stages: Sequence[dict[str, Figure]]
) -> dict[str, Figure]:
    """The KPIs of the site: sums over stages, or the last stage's where it is what the site sends on."""
    last = stages[-1]
    drain = _sum(stages, "drain_m3")
    drawn = drain + _number(last, "treated_m3")
    wash_solids = sum(float(x.wash_in_total) for x in line.stage) / KILO
    return {
        **last,
        **{key: _sum(stages, key) for key in ("backwash_m3", "rinse_m3", "offline_h", "solids_to_drain_kg")},
        "washes": sum(recorder.washes),
        "drain_m3": drain,
        "drain_peak_m3_h": max(_number(stage, "drain_peak_m3_h") for stage in stages),
        "drain_fraction": drain / drawn if drawn > 0.0 else None,
        "unmet_m3": float(line.control.unmet_total),
        "solids_in_kg": float(line.stage[0].in_total) / KILO + wash_solids,
        "solids_held_kg": _sum(stages, "solids_held_kg"),
        "peak_dp_kpa": max(_number(stage, "peak_dp_kpa") for stage in stages),
        "mean_run_h": _run_figures(recorder.runs, False)["mean_run_h"],
        "unused_capacity": _run_figures(recorder.runs, False)["unused_capacity"],
    }


def check_balances(case: Case, line: Line, stages: Sequence[dict[str, Figure]], site: dict[str, Figure]) -> None:
    """Raise LedgerError unless water and solids close to 1e-9 for every stage and for the site."""
    for stage, figures in zip(case.stages, stages, strict=True):
        _close_solids(f"stage {stage.name!r}", figures)
    _close_solids("the site", site)
    first = line.stage[0]
    _close("the site", "water through the first stage", "m3",
           float(first.served_total + first.rinse_total),
           _number(site, "treated_m3") + _number(site, "rinse_m3"), LEAST_WATER)  # fmt: skip
    _close("the site", "water asked for", "m3", float(line.control.demand_total),
           _number(site, "treated_m3") + _number(site, "unmet_m3"), LEAST_WATER)  # fmt: skip


def _close_solids(where: str, figures: dict[str, Figure]) -> None:
    out = sum(_number(figures, f"solids_{way}_kg") for way in ("to_service", "to_drain", "held"))
    _close(where, "solids", "g", _number(figures, "solids_in_kg") * KILO, out * KILO, LEAST_SOLIDS)


def _close(where: str, what: str, unit: str, given: float, found: float, least: float) -> None:
    if not abs(given - found) <= CLOSES_TO * max(abs(given), abs(found), least):
        raise LedgerError(where, what, unit, given, found)


def _run_figures(runs: Sequence[FilterRun], limited: bool) -> dict[str, Figure]:
    """Figures over finished filter runs."""
    unused = [run.unused_capacity for run in runs if run.unused_capacity is not None]
    over = sum(run.over_limit_h > 0.0 for run in runs)
    return {
        "breach_runs": over / len(runs) if runs and limited else None,
        "mean_run_h": math.fsum(run.end_s - run.start_s for run in runs) / len(runs) / HOUR if runs else None,
        "unused_capacity": math.fsum(unused) / len(unused) if unused else None,
    }


def _number(figures: dict[str, Figure], key: str) -> float:
    value = figures[key]
    assert value is not None, key
    return float(value)


def _sum(stages: Sequence[dict[str, Figure]], key: str) -> float:
    return math.fsum(_number(stage, key) for stage in stages)
