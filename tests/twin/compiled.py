"""The tick loop, plainly: cell by cell as the physics is written, compiled whole, triggers as codes."""

from __future__ import annotations

from collections.abc import Callable
from math import ceil, exp, inf
from typing import Any

import numpy as np

from .layout import (
    BACKWASH,
    CALENDAR,
    PRESSURE,
    RESERVE,
    RINSE,
    VOLUME,
    Bed,
    Rule,
    Series,
    Wash,
    all_series,
    bed_of,
    rule_of,
    wash_of,
    whole_ticks,
)
from .spec import DAY, HOUR, Floats, Plant, TwinResult, viscosity

try:
    from numba import njit
except ImportError:  # the same loop then runs plainly, and slowly

    def njit(**_options: Any) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
        return lambda function: function


# Rows of the cell table: m, 1/m, g/m3, -, g/m3, m, -, -, 1/m2 per g/m3.
DEPTH, COEFFICIENT, ULTIMATE, POROSITY, DENSITY, GRAIN, VISCOUS, INERTIAL, LINEAR = range(9)
# The state beside the cells' loads. REMNANT below zero: the water of the last wash has gone.
VESSEL, REMNANT, PASSED, DRAG, IMPACT, SINCE_WASH, COUNTED_FROM, BOOKED, HELD_FOR, STEP, LEFT = range(11)
# Running totals, m3, s, Pa and g.
TREATED, BACKWASHED, RINSED, OFFLINE, UNMET, OVER, PEAK, CAME, SERVED, DRAINED, WASHES, BEGUN = range(12)


@njit(cache=True, error_model="numpy")
def remnant_inside(turnovers: float, tanks: int) -> float:
    """Share of the water present at first still inside N stirred tanks in series after so many turnovers."""
    x = tanks * turnovers
    term = exp(-x)
    leaving, inside = 0.0, 0.0
    for k in range(tanks):
        leaving += term  # concentration in tank k + 1
        inside += leaving
        term *= x / (k + 1)
    return inside / tanks


@njit(cache=True, error_model="numpy")
def set_resistances(load: Floats, s: Floats, cells: Floats, floor: float) -> None:
    """Viscous and inertial resistance of the bed as it lies: Pa per (mu v) and Pa per (rho v2)."""
    drag, impact = 0.0, 0.0
    for i in range(load.size):
        depth, grain = cells[DEPTH, i], cells[GRAIN, i]
        sigma = load[i] / depth
        pores = max(cells[POROSITY, i] - sigma / cells[DENSITY, i], floor)
        drag += depth * cells[VISCOUS, i] * (1.0 - pores) ** 2 / (pores**3 * grain**2)
        drag += depth * cells[LINEAR, i] * sigma
        impact += depth * cells[INERTIAL, i] * (1.0 - pores) / (pores**3 * grain)
    s[DRAG], s[IMPACT] = drag, impact


@njit(cache=True, error_model="numpy")
def capture(load: Floats, cells: Floats, factor: float, offered: float) -> float:
    """Pass `offered` g/m2 down the bed, cells as they were at first; add what stops and return its sum."""
    solids, stopped = offered, 0.0
    for i in range(load.size):
        depth = cells[DEPTH, i]
        room = 1.0 - load[i] / (depth * cells[ULTIMATE, i])
        passing = solids * exp(-factor * cells[COEFFICIENT, i] * room * depth)
        gain = min(solids - passing, depth * cells[ULTIMATE, i] - load[i])
        load[i] += gain
        stopped += gain
        solids = passing
    return stopped


@njit(cache=True, error_model="numpy")
def filter_tick(
    load: Floats, s: Floats, cells: Floats, bed: Bed, volume: float, solids: float, tick: float
) -> float:
    """Filter `volume`: remnant of the wash, then feed, through the bed. Returns grams leaving below."""
    offered, direct = solids * volume, 0.0
    if s[REMNANT] >= 0.0:
        start, end = s[PASSED], s[PASSED] + volume
        displaced = bed.vessel * (
            remnant_inside(start / bed.vessel, bed.tanks) - remnant_inside(end / bed.vessel, bed.tanks)
        )
        below = bed.pores * (
            remnant_inside(start / bed.pores, bed.tanks) - remnant_inside(end / bed.pores, bed.tanks)
        )
        direct = s[REMNANT] * below
        offered = s[REMNANT] * (displaced - below) + solids * (volume - displaced)
        s[VESSEL] += solids * volume - offered - direct
        if end > 20.0 * bed.vessel:
            s[REMNANT] = -1.0
    factor = 1.0
    if bed.exponent != 0.0:
        factor = (volume / tick / bed.area / bed.reference_rate) ** -bed.exponent
    if bed.ripening_share > 0.0:
        mid = (s[PASSED] + 0.5 * volume) / bed.area
        factor *= 1.0 - bed.ripening_share * exp(-mid / bed.ripening_volume)
    stopped = bed.area * capture(load, cells, factor, offered / bed.area)
    set_resistances(load, s, cells, bed.floor)
    s[PASSED] += volume
    return offered - stopped + direct


@njit(cache=True, error_model="numpy")
def backwash_tick(load: Floats, s: Floats, bed: Bed, kept: float, volume: float, solids: float) -> float:
    """Loosen deposit into the vessel's stirred water and flush it. Returns the grams to drain."""
    loosened = 0.0
    for i in range(load.size):
        loosened += (1.0 - kept) * load[i] * bed.area
        load[i] *= kept
    turnovers = volume / bed.vessel
    before, arriving = s[VESSEL], loosened + volume * solids
    staying = (1.0 - exp(-turnovers)) / turnovers if turnovers > 0.0 else 1.0  # arrives evenly over the tick
    s[VESSEL] = before * exp(-turnovers) + arriving * staying
    return before + arriving - s[VESSEL]


@njit(cache=True, error_model="numpy")
def end_backwash(load: Floats, s: Floats, cells: Floats, bed: Bed) -> None:
    """What is left lies evenly through each layer; the vessel's water is the remnant to displace."""
    for top in range(0, load.size, bed.per_layer):
        total = 0.0
        for i in range(top, top + bed.per_layer):
            total += load[i]
        for i in range(top, top + bed.per_layer):
            load[i] = total / bed.per_layer
    s[REMNANT], s[PASSED] = s[VESSEL] / bed.vessel, 0.0
    set_resistances(load, s, cells, bed.floor)


@njit(cache=True)
def next_at(time: float, at: float, start_of_day: float) -> float:
    """First moment on or after `time` when the clock shows `at`; `time` itself where no hour is set."""
    if at < 0.0:
        return time
    return ceil((time + start_of_day - at) / DAY - 1e-12) * DAY + at - start_of_day


@njit(cache=True)
def starts_now(s: Floats, now: float, tick: float, signal: float, rule: Rule) -> bool:
    """Whether a wash starts at `now`, the end of a tick in service; keeps the booking and the hold."""
    start = False
    if rule.kind == CALENDAR:
        if s[BOOKED] == inf:
            s[BOOKED] = next_at(s[COUNTED_FROM] + rule.every, rule.at, rule.start_of_day)
    elif rule.kind == VOLUME or rule.kind == RESERVE:
        spent = rule.volume - (rule.reserve if rule.kind == RESERVE else 0.0)
        if s[BOOKED] == inf and s[SINCE_WASH] >= spent:
            s[BOOKED] = next_at(now, rule.at, rule.start_of_day)
        start = rule.kind == RESERVE and s[SINCE_WASH] >= rule.volume
    elif rule.kind == PRESSURE:
        s[HELD_FOR] = s[HELD_FOR] + tick if signal >= rule.above else 0.0
        start = signal >= rule.above and s[HELD_FOR] >= rule.hold
    booked = now >= s[BOOKED]
    if not (start or booked or now >= s[COUNTED_FROM] + rule.latest):
        return False
    s[COUNTED_FROM] = s[BOOKED] if rule.kind == CALENDAR and booked else now
    s[BOOKED], s[HELD_FOR], s[SINCE_WASH] = inf, 0.0, 0.0
    return True


@njit(cache=True, error_model="numpy")
def wash_tick(
    load: Floats,
    s: Floats,
    total: Floats,
    cells: Floats,
    bed: Bed,
    wash: Wash,
    feed: float,
    tick: float,
) -> None:
    """One tick of the step under way; moves on to the next step, or back to service, at its end."""
    step = int(s[STEP])
    volume = wash.flow[step] * tick
    if wash.do[step] == BACKWASH:
        solids = feed if wash.solids[step] < 0.0 else wash.solids[step]
        total[DRAINED] += backwash_tick(load, s, bed, wash.kept[step], volume, solids)
        total[BACKWASHED] += volume
        total[CAME] += volume * solids
    elif wash.do[step] == RINSE and volume > 0.0:
        total[DRAINED] += filter_tick(load, s, cells, bed, volume, feed, tick)
        total[RINSED] += volume
        total[CAME] += volume * feed
    total[OFFLINE] += tick
    s[LEFT] -= 1.0
    if s[LEFT] > 0.0:
        return
    if wash.do[step] == BACKWASH:
        end_backwash(load, s, cells, bed)
    if step + 1 < wash.do.size:
        s[STEP], s[LEFT] = step + 1.0, wash.ticks[step + 1]
    else:
        s[STEP] = -1.0
        total[WASHES] += 1.0


@njit(cache=True, error_model="numpy")
def march(
    ticks: int,
    tick: float,
    repeat: int,
    cells: Floats,
    series: Series,
    bed: Bed,
    wash: Wash,
    rule: Rule,
    limit: float,
    load: Floats,
    s: Floats,
    total: Floats,
    starts: Floats,
) -> None:
    """The loop: each tick moves the water, then reads the signal and decides."""
    for i in range(ticks):
        entry = i // repeat
        demand, feed = series.flow[entry], series.solids[entry]
        volume = demand * tick
        if s[STEP] >= 0.0:
            total[UNMET] += volume
            wash_tick(load, s, total, cells, bed, wash, feed, tick)
            continue
        if demand > 0.0:
            out = filter_tick(load, s, cells, bed, volume, feed, tick)
            total[TREATED] += volume
            total[CAME] += volume * feed
            total[SERVED] += out
            s[SINCE_WASH] += volume
            if out > limit * volume:
                total[OVER] += tick
        rate = demand / bed.area
        signal = rate * (series.viscosity[entry] * s[DRAG] + series.density[entry] * rate * s[IMPACT])
        signal += bed.valve * demand * demand
        total[PEAK] = max(total[PEAK], signal)
        now = (i + 1) * tick
        if i + 1 < ticks and starts_now(s, now, tick, signal, rule):
            starts[int(total[BEGUN])] = now
            total[BEGUN] += 1.0
            s[STEP], s[LEFT] = 0.0, wash.ticks[0]


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
                )
            )
    return np.array(columns).T.copy()


def run_compiled(plant: Plant, tick: float = 60.0) -> TwinResult:
    """March `plant` in ticks of `tick` seconds through the compiled loop."""
    cells, series, bed, wash = cell_table(plant), all_series(plant), bed_of(plant), wash_of(plant, tick)
    load, s, total = np.zeros(cells.shape[1]), np.zeros(11), np.zeros(12)
    water = plant.initial_water_solids
    at_start = plant.water_volume * (series.solids[0] if water is None else water)
    s[VESSEL], s[REMNANT], s[BOOKED], s[STEP] = at_start, -1.0 if water is None else water, inf, -1.0
    set_resistances(load, s, cells, bed.floor)
    ticks, repeat = whole_ticks(plant.length, tick, "run"), whole_ticks(plant.series_seconds, tick, "series")
    rule, limit = rule_of(plant), plant.limit
    starts = np.zeros(ticks // int(wash.ticks.sum()) + 1)
    march(ticks, tick, repeat, cells, series, bed, wash, rule, limit, load, s, total, starts)
    return TwinResult(
        washes=int(total[WASHES]),
        treated_m3=float(total[TREATED]),
        backwash_m3=float(total[BACKWASHED]),
        rinse_m3=float(total[RINSED]),
        drain_m3=float(total[BACKWASHED] + total[RINSED]),
        offline_h=float(total[OFFLINE]) / HOUR,
        unmet_m3=float(total[UNMET]),
        breach_h=float(total[OVER]) / HOUR,
        peak_dp_kpa=float(total[PEAK]) / 1e3,
        solids_in_kg=float(total[CAME]) / 1e3,
        solids_to_service_kg=float(total[SERVED]) / 1e3,
        solids_to_drain_kg=float(total[DRAINED]) / 1e3,
        solids_held_kg=float(s[VESSEL] + plant.area * load.sum()) / 1e3,
        solids_at_start_kg=float(at_start) / 1e3,
        wash_starts=tuple(float(start) for start in starts[: int(total[BEGUN])]),
    )
