"""A plant through the compiled loop."""

from __future__ import annotations

from math import inf, nan

import numpy as np

from .layout import all_series, bed_of, rule_of, wash_of, whole_ticks
from .loop import (
    BACKWASHED,
    BEGUN,
    BOOKED,
    CAME,
    CUT_BROKEN,
    DIRTY_MASS,
    DIRTY_TIME,
    DOSED,
    DRAG,
    DRAIN_PEAK,
    DRAINED,
    HELD,
    IMPACT,
    OFFLINE,
    OVER,
    PASSED,
    PEAK,
    REMNANT,
    RINSED,
    RUN_TIME,
    RUNS_BROKEN,
    SERVED,
    STATES,
    STEP,
    TOTALS,
    TREATED,
    UNAVOIDABLE,
    UNMET,
    UNUSED,
    UNUSED_RUNS,
    VESSEL,
    WASHES,
    march,
    resistances,
)
from .spec import HOUR, MINUTE, Floats, Plant, TwinResult, viscosity


def cell_table(plant: Plant) -> Floats:
    """The constants of every cell, top down, as the physics gives them."""
    count, linear = plant.cells_per_layer, plant.growth == "linear"
    unit_drag = plant.reference_rate * float(viscosity(np.array(plant.reference_temperature)))
    columns = []
    for layer in plant.layers:
        for i in range(count):
            columns.append(
                (
                    layer.depth / count,
                    layer.coefficients[i * len(layer.coefficients) // count],
                    layer.ultimate,
                    layer.porosity,
                    inf if linear else layer.deposit_density,
                    layer.sphericity * layer.sizes[i * len(layer.sizes) // count],
                    plant.viscous,
                    plant.inertial,
                    layer.linear_gain / unit_drag if linear else 0.0,
                    layer.firm_share,
                    layer.cleaning[i * len(layer.cleaning) // count],
                    layer.coefficients[i * len(layer.coefficients) // count],
                    layer.water_exponent,
                )
            )
    return np.array(columns).T.copy()


def run_compiled(plant: Plant, tick: float = 60.0) -> TwinResult:
    """March `plant` in ticks of `tick` seconds through the compiled loop."""
    cells, series, bed, wash = cell_table(plant), all_series(plant), bed_of(plant), wash_of(plant, tick)
    state, s, total = np.zeros((4, cells.shape[1])), np.zeros(STATES), np.zeros(TOTALS)
    water = plant.initial_water_solids
    s[VESSEL], s[REMNANT] = plant.solids_at_start, -1.0 if water is None else water
    s[PASSED], s[BOOKED], s[STEP] = plant.filtered_at_start, inf, -1.0
    s[DRAG], s[IMPACT] = resistances(state[HELD], cells, bed.floor)
    ticks, repeat = whole_ticks(plant.length, tick, "run"), whole_ticks(plant.series_seconds, tick, "series")
    starts = np.zeros(ticks // int(wash.ticks.sum()) + 1)
    march(ticks, tick, repeat, cells, series, bed, wash, rule_of(plant), state, s, total, starts)
    held = s[VESSEL] + plant.area * state[HELD].sum()
    return result(plant, total, held, tuple(float(start) for start in starts[: int(total[BEGUN])]))


def result(plant: Plant, total: Floats, held: float, starts: tuple[float, ...]) -> TwinResult:
    """The totals in the units of the results; `held` are grams."""
    drain = float(total[BACKWASHED] + total[RINSED])
    drawn = float(total[TREATED]) + drain
    broken, judged = float(total[RUNS_BROKEN] + total[CUT_BROKEN]), float(total[BEGUN] + total[CUT_BROKEN])
    return TwinResult(
        washes=int(total[WASHES]),
        treated_m3=float(total[TREATED]),
        backwash_m3=float(total[BACKWASHED]),
        rinse_m3=float(total[RINSED]),
        drain_m3=drain,
        drain_peak_m3_h=float(total[DRAIN_PEAK]) * HOUR,
        drain_fraction=drain / drawn if drawn > 0.0 else nan,
        downtime_h=float(total[OFFLINE]) / HOUR,
        unmet_m3=float(total[UNMET]),
        unmet_by_washing_m3=float(total[UNMET]),
        over_limit_h=float(total[OVER]) / HOUR,
        over_limit_unavoidable_h=float(total[UNAVOIDABLE]) / HOUR,
        breakthrough_risk=broken / judged if judged > 0.0 else 0.0,
        dirty_water_kg=float(total[DIRTY_MASS]) / 1e3,
        dirty_water_min=float(total[DIRTY_TIME]) / MINUTE,
        peak_dp_kpa=float(total[PEAK]) / 1e3,
        mean_run_h=mean(total[RUN_TIME], total[BEGUN]) / HOUR,
        unused_capacity=mean(total[UNUSED], total[UNUSED_RUNS]),
        solids_in_kg=float(total[CAME]) / 1e3,
        solids_to_service_kg=float(total[SERVED]) / 1e3,
        solids_to_drain_kg=float(total[DRAINED]) / 1e3,
        solids_held_kg=float(held) / 1e3,
        solids_at_start_kg=plant.solids_at_start / 1e3,
        solids_dosed_kg=nan if plant.dosed is None else float(total[DOSED]) / 1e3,
        wash_starts=starts,
    )


def mean(total: float, count: float) -> float:
    """The mean of so many, nan of none."""
    return float(total / count) if count > 0 else nan
