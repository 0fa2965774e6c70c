"""The same tick loop in plain Python, its cells as numpy arrays."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import ceil, exp, inf

import numpy as np

from .layout import Cells, all_cells, all_series, whole_ticks
from .spec import DAY, HOUR, Floats, Plant, Trigger, TwinResult


def left_in_tanks(passed: float, volume: float, tanks: int) -> float:
    """Of `volume` m3 of water in stirred tanks in series, the m3 still inside after `passed` m3."""
    x = tanks * passed / volume
    terms = exp(-x) * np.cumprod([1.0, *(x / k for k in range(1, tanks))])
    return volume * float(np.mean(np.cumsum(terms)))


def bed_loss(cells: Cells, load: Floats, rate: float, mu: float, rho: float, floor: float) -> float:
    """Pressure loss of the bed, Pa."""
    pores = np.maximum(cells.porosity - cells.narrowing * load, floor)
    solid = (1.0 - pores) / pores**3
    viscous = cells.viscous * solid * (1.0 - pores) + cells.linear * load
    return float(np.sum(mu * rate * viscous + rho * rate**2 * cells.inertial * solid))


@dataclass
class Filter:
    """A vessel with its bed and its water."""

    plant: Plant
    cells: Cells
    load: Floats  # g/m2 in each cell
    vessel_solids: float  # g
    remnant: float | None  # g/m3 in the water that the last wash left, until it has gone
    passed: float = 0.0  # m3 filtered since that wash

    def take(self, volume: float, solids: float, tick: float) -> float:
        """Filter a tick's `volume` of feed; return the grams that leave below the bed."""
        plant, offered, direct = self.plant, volume * solids, 0.0
        if self.remnant is not None:
            all_water, pores, end = plant.water_volume, plant.pore_volume, self.passed + volume
            displaced = left_in_tanks(self.passed, all_water, plant.tanks) - left_in_tanks(
                end, all_water, plant.tanks
            )
            below = left_in_tanks(self.passed, pores, plant.tanks) - left_in_tanks(end, pores, plant.tanks)
            direct = self.remnant * below
            offered = self.remnant * (displaced - below) + solids * (volume - displaced)
            self.vessel_solids += volume * solids - offered - direct
            if end > 20.0 * all_water:
                self.remnant = None
        factor = (volume / tick / plant.area / plant.reference_rate) ** -plant.velocity_exponent
        ripened = (self.passed + volume / 2) / plant.area / plant.ripening_volume
        factor *= 1.0 - plant.ripening_share * exp(-ripened)
        self.passed += volume
        profile = np.exp(-np.cumsum(factor * self.cells.strength * (1.0 - self.load / self.cells.capacity)))
        caught = offered / plant.area * -np.diff(profile, prepend=1.0)
        gain = np.minimum(caught, self.cells.capacity - self.load)
        self.load = self.load + gain
        return offered + direct - plant.area * float(gain.sum())

    def backwash(self, volume: float, solids: float, kept: float) -> float:
        """Loosen deposit into the stirred vessel and flush it for a tick; return the grams to drain."""
        loosened = self.plant.area * float(np.sum(self.load * (1.0 - kept)))
        self.load = self.load * kept
        before, arriving, turnovers = (
            self.vessel_solids,
            loosened + volume * solids,
            volume / self.plant.water_volume,
        )
        staying = (1.0 - exp(-turnovers)) / turnovers if turnovers > 0.0 else 1.0
        self.vessel_solids = before * exp(-turnovers) + arriving * staying
        return before + arriving - self.vessel_solids

    def end_backwash(self) -> None:
        """Spread what is left evenly through each layer and take the vessel's water as the remnant."""
        layers = self.load.reshape(-1, self.plant.cells_per_layer)
        self.load = np.repeat(layers.mean(axis=1), self.plant.cells_per_layer)
        self.remnant, self.passed = self.vessel_solids / self.plant.water_volume, 0.0


@dataclass
class Watch:
    """What the controller remembers between ticks."""

    trigger: Trigger
    start_of_day: float
    counted_from: float = 0.0
    booked: float = inf
    held_for: float = 0.0
    treated: float = 0.0  # m3 since the last wash

    def hour(self, time: float) -> float:
        """First moment on or after `time` when the clock shows the trigger's hour."""
        if self.trigger.at is None:
            return time
        shift = self.trigger.at - self.start_of_day
        return ceil((time - shift) / DAY - 1e-12) * DAY + shift

    def starts(self, now: float, tick: float, signal: float) -> bool:
        """Whether a wash starts at the end of this tick."""
        trigger, start = self.trigger, False
        if trigger.kind == "calendar" and self.booked == inf:
            self.booked = self.hour(self.counted_from + trigger.every)
        elif trigger.kind == "volume" and self.booked == inf and self.treated >= trigger.volume:
            self.booked = self.hour(now)
        elif trigger.kind == "volume with reserve":
            if self.booked == inf and self.treated >= trigger.volume - trigger.reserve:
                self.booked = self.hour(now)
            start = self.treated >= trigger.volume
        elif trigger.kind == "pressure drop":
            self.held_for = self.held_for + tick if signal >= trigger.above else 0.0
            start = self.held_for > 0.0 and self.held_for >= trigger.hold
        booked = now >= self.booked
        overdue = trigger.latest is not None and now >= self.counted_from + trigger.latest
        if not (start or booked or overdue):
            return False
        self.counted_from = self.booked if booked and trigger.kind == "calendar" else now
        self.booked, self.held_for, self.treated = inf, 0.0, 0.0
        return True


@dataclass
class Totals:
    """Running sums in m3, s, Pa and g."""

    treated: float = 0.0
    backwash: float = 0.0
    rinse: float = 0.0
    offline: float = 0.0
    unmet: float = 0.0
    over: float = 0.0
    peak: float = 0.0
    came: float = 0.0
    served: float = 0.0
    drained: float = 0.0
    washes: int = 0
    starts: list[float] = field(default_factory=list)


def wash_tick(vessel: Filter, total: Totals, step: int, feed: float, tick: float) -> None:
    """One tick of the wash's step number `step`."""
    what = vessel.plant.steps[step]
    volume = what.flow * tick
    total.offline += tick
    if what.do == "backwash":
        solids = feed if what.water_solids is None else what.water_solids
        total.backwash += volume
        total.came += volume * solids
        total.drained += vessel.backwash(volume, solids, exp(-what.cleaning_rate * tick))
    elif what.do == "rinse" and volume > 0.0:
        total.rinse += volume
        total.came += volume * feed
        total.drained += vessel.take(volume, feed, tick)


def service_tick(
    vessel: Filter, total: Totals, watch: Watch, volume: float, feed: float, tick: float
) -> None:
    """One tick of service."""
    out = vessel.take(volume, feed, tick)
    total.treated += volume
    total.came += volume * feed
    total.served += out
    watch.treated += volume
    if out > vessel.plant.limit * volume:
        total.over += tick


def run_vectorised(plant: Plant, tick: float = 60.0) -> TwinResult:
    """March `plant` in ticks of `tick` seconds, cells as numpy arrays."""
    cells, series, water = all_cells(plant), all_series(plant), plant.initial_water_solids
    at_start = plant.water_volume * float(series.solids[0] if water is None else water)
    vessel = Filter(plant, cells, np.zeros(cells.capacity.size), at_start, water)
    watch, total = Watch(plant.trigger, plant.start_of_day), Totals()
    step_ticks = [whole_ticks(step.seconds, tick, step.do) for step in plant.steps]
    ticks, repeat = whole_ticks(plant.length, tick, "run"), whole_ticks(plant.series_seconds, tick, "series")
    step, left = -1, 0
    for i in range(ticks):
        flow, feed, mu, rho = (float(column[i // repeat]) for column in series)
        if step >= 0:
            total.unmet += flow * tick
            wash_tick(vessel, total, step, feed, tick)
            left -= 1
            if left == 0:
                if plant.steps[step].do == "backwash":
                    vessel.end_backwash()
                step = step + 1 if step + 1 < len(step_ticks) else -1
                left = step_ticks[step]
                total.washes += step < 0
            continue
        if flow > 0.0:
            service_tick(vessel, total, watch, flow * tick, feed, tick)
        signal = bed_loss(cells, vessel.load, flow / plant.area, mu, rho, plant.porosity_floor)
        signal += plant.valve_constant * flow**2
        total.peak = max(total.peak, signal)
        if i + 1 < ticks and watch.starts((i + 1) * tick, tick, signal):
            total.starts.append((i + 1) * tick)
            step, left = 0, step_ticks[0]
    return result(vessel, total, at_start)


def result(vessel: Filter, total: Totals, at_start: float) -> TwinResult:
    """The run's totals in the units of the results."""
    return TwinResult(
        washes=total.washes,
        treated_m3=total.treated,
        backwash_m3=total.backwash,
        rinse_m3=total.rinse,
        drain_m3=total.backwash + total.rinse,
        offline_h=total.offline / HOUR,
        unmet_m3=total.unmet,
        breach_h=total.over / HOUR,
        peak_dp_kpa=total.peak / 1e3,
        solids_in_kg=total.came / 1e3,
        solids_to_service_kg=total.served / 1e3,
        solids_to_drain_kg=total.drained / 1e3,
        solids_held_kg=(vessel.vessel_solids + vessel.plant.area * float(vessel.load.sum())) / 1e3,
        solids_at_start_kg=at_start / 1e3,
        wash_starts=tuple(total.starts),
    )
