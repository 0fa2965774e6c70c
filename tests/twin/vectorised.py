"""The same tick loop in plain Python, its cells as numpy arrays."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import ceil, exp, inf, nan

import numpy as np

from .layout import Cells, all_cells, all_series, whole_ticks
from .spec import DAY, EXCESS_SHARE, FULL, HOUR, MINUTE, Floats, Plant, Trigger, TwinResult, viscosity


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


def caught(cells: Cells, load: Floats, factor: float, offered: float) -> Floats:
    """What each cell stops of `offered` g/m2, g/m2."""
    profile = np.exp(-np.cumsum(factor * cells.strength * (1.0 - load / cells.capacity)))
    return np.minimum(offered * -np.diff(profile, prepend=1.0), cells.capacity - load)


def let_through(cells: Cells, load: Floats, factor: float) -> float:
    """Share of the filterable solids that a bed lets through."""
    return exp(-factor * float(np.sum(cells.strength * (1.0 - load / cells.capacity))))


@dataclass
class Filter:
    """A vessel with its bed and its water."""

    plant: Plant
    cells: Cells
    load: Floats  # g/m2 in each cell
    vessel_solids: float  # g
    remnant: float | None  # g/m3 in the water that the last wash left, until it has gone
    passed: float = 0.0  # m3 filtered since that wash
    offered: float = 0.0  # g of filterable solids in the filter run
    factor: float = 1.0  # on the filter coefficients, of the last tick
    old: Floats | float = 0.0  # g/m2 that the last backwash left
    old_firm: Floats | float = 0.0
    firm: Floats | float = 0.0  # g/m2, while a backwash lasts

    def meet(self, mu: float, mu_ref: float) -> None:
        """Take the coefficients that water of a viscosity gives the cells."""
        strength = all_cells(self.plant).strength * (mu_ref / mu) ** self.cells.water_exponent
        self.cells = self.cells._replace(strength=strength)

    def rate_factor(self, flow: float) -> float:
        """What the flow makes of the filter coefficients."""
        rate = flow / self.plant.area / self.plant.reference_rate
        return float(rate**-self.plant.velocity_exponent)

    def take(self, volume: float, solids: float, floc: float, tick: float) -> float:
        """Filter a tick's `volume` of feed with its floc; return the grams that leave below the bed."""
        plant = self.plant
        direct = plant.unfilterable * volume * solids
        offered = volume * (solids + floc) - direct
        if self.remnant is not None:
            all_water, pores, end = plant.water_volume, plant.pore_volume, self.passed + volume
            displaced = left_in_tanks(self.passed, all_water, plant.tanks) - left_in_tanks(
                end, all_water, plant.tanks
            )
            below = left_in_tanks(self.passed, pores, plant.tanks) - left_in_tanks(end, pores, plant.tanks)
            arrived = (volume - displaced) / volume
            direct = self.remnant * below + direct * arrived
            offered = self.remnant * (displaced - below) + offered * arrived
            self.vessel_solids += volume * (solids + floc) - offered - direct
            if end > 20.0 * all_water:
                self.remnant = None
        ripened = (self.passed + volume / 2) / plant.area / plant.ripening_volume
        self.factor = self.rate_factor(volume / tick) * (1.0 - plant.ripening_share * exp(-ripened))
        self.passed += volume
        self.offered += offered
        gain = caught(self.cells, self.load, self.factor, offered / plant.area)
        self.load = self.load + gain
        return offered + direct - plant.area * float(gain.sum())

    def sent_on(self, load: Floats | float, flow: float, solids: float, floc: float) -> float:
        """Concentration that the bed would send on with such a load, were it ripe and its water displaced."""
        through = let_through(self.cells, load + np.zeros_like(self.load), self.rate_factor(flow))
        passing = self.plant.unfilterable * solids
        return (solids + floc - passing) * through + passing

    def begin_backwash(self) -> None:
        """Of what came since the last wash the firm share is firm; what that wash left stays as it was."""
        self.firm = self.old_firm + self.cells.firm_share * (self.load - self.old)

    def backwash(self, volume: float, solids: float, kept: float, firm_kept: float) -> float:
        """Loosen deposit into the stirred vessel and flush it for a tick; return the grams to drain."""
        before_wash = float(np.sum(self.load))
        self.firm, loose = firm_kept**self.cells.cleaning * self.firm, self.load - self.firm
        self.load = kept**self.cells.cleaning * loose + self.firm
        loosened = self.plant.area * (before_wash - float(np.sum(self.load)))
        before, arriving, turnovers = (
            self.vessel_solids,
            loosened + volume * solids,
            volume / self.plant.water_volume,
        )
        staying = (1.0 - exp(-turnovers)) / turnovers if turnovers > 0.0 else 1.0
        self.vessel_solids = before * exp(-turnovers) + arriving * staying
        return before + arriving - self.vessel_solids

    def even(self, load: Floats | float) -> Floats:
        """The same load spread evenly through each layer."""
        layers = (load + np.zeros_like(self.load)).reshape(-1, self.plant.cells_per_layer)
        return np.repeat(layers.mean(axis=1), self.plant.cells_per_layer)

    def end_backwash(self) -> None:
        """Spread what is left evenly through each layer and take the vessel's water as the remnant."""
        self.load = self.old = self.even(self.load)
        self.old_firm = self.even(self.firm)
        self.remnant, self.passed = self.vessel_solids / self.plant.water_volume, 0.0


@dataclass
class Watch:
    """What the controller remembers between ticks."""

    trigger: Trigger
    start_of_day: float
    counted_from: float = 0.0
    began: float = 0.0  # s, the last wash
    booked: float = inf
    held_for: float = 0.0
    treated: float = 0.0  # m3 since the last wash

    def hour(self, time: float) -> float:
        """First moment on or after `time` when the clock shows the trigger's hour."""
        if self.trigger.at is None:
            return time
        shift = self.trigger.at - self.start_of_day
        return ceil((time - shift) / DAY - 1e-12) * DAY + shift

    def overdue(self, now: float, returned: float) -> bool:
        """Whether the longest run is over: at its last hour before it has passed since the return, or then."""
        longest, at = self.trigger.longest_run, self.trigger.longest_run_at
        if longest is None:
            return False
        at = self.trigger.at if at is None else at
        ends = self.began + longest
        hours = [] if at is None else [day * DAY + at - self.start_of_day for day in range(round(ends / DAY) + 3)]
        return now >= max((hour for hour in hours if returned < hour <= ends), default=ends)

    def starts(self, now: float, tick: float, signal: float, returned: float) -> bool:
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
        if not (start or booked or self.overdue(now, returned)):
            return False
        self.counted_from = self.booked if booked and trigger.kind == "calendar" else now
        self.began, self.booked, self.held_for, self.treated = now, inf, 0.0, 0.0
        return True


@dataclass
class Run:
    """The filter run under way."""

    start: float = 0.0  # s
    broken: bool = False  # through before its wash
    dirty: bool = False  # whether the last wash still shows
    last: tuple[float, float, float, float, float] = (0.0,) * 5  # flow, feed, viscosity, density, floc


@dataclass
class Totals:
    """Running sums in m3, s, Pa and g; per filter run lists."""

    treated: float = 0.0
    backwash: float = 0.0
    rinse: float = 0.0
    offline: float = 0.0
    unmet: float = 0.0
    over: float = 0.0
    unavoidable: float = 0.0
    dirty_mass: float = 0.0
    dirty_time: float = 0.0
    peak: float = 0.0
    drain_peak: float = 0.0
    came: float = 0.0
    dosed: float = 0.0
    served: float = 0.0
    drained: float = 0.0
    washes: int = 0
    starts: list[float] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)
    unused: list[float] = field(default_factory=list)


def wash_tick(vessel: Filter, total: Totals, step: int, feed: float, floc: float, tick: float) -> None:
    """One tick of the wash's step number `step`."""
    what = vessel.plant.steps[step]
    volume = what.flow * tick
    total.offline += tick
    total.drain_peak = max(total.drain_peak, what.flow)
    if what.do == "backwash":
        solids = feed if what.water_solids is None else what.water_solids
        total.backwash += volume
        total.came += volume * solids
        total.drained += vessel.backwash(volume, solids, exp(-what.cleaning_rate * tick), exp(-what.firm_rate * tick))
    elif what.do == "rinse" and volume > 0.0:
        total.rinse += volume
        total.came += volume * feed
        total.dosed += volume * floc
        total.drained += vessel.take(volume, feed, floc, tick)


def service_tick(
    vessel: Filter, total: Totals, watch: Watch, run: Run, flow: float, feed: float, floc: float, tick: float
) -> None:
    """One tick of service."""
    limit, volume = vessel.plant.limit, flow * tick
    rinsed = volume * vessel.sent_on(vessel.load, flow, feed, floc) if run.dirty else 0.0
    out = vessel.take(volume, feed, floc, tick)
    total.treated += volume
    total.came += volume * feed
    total.dosed += volume * floc
    total.served += out
    watch.treated += volume
    if out > limit * volume:
        total.over += tick
        if vessel.sent_on(0.0, flow, feed, floc) > limit:
            total.unavoidable += tick
        elif vessel.sent_on(vessel.load, flow, feed, floc) > limit:
            run.broken = True
    run.dirty = run.dirty and out - rinsed >= EXCESS_SHARE * limit * volume
    if run.dirty:
        total.dirty_mass += out - rinsed
        total.dirty_time += tick


def unused(vessel: Filter, run: Run, tick: float) -> float | None:
    """Share unspent of the load at which limit or set pressure would be met if the run went on as it ended."""
    plant, load, ticks = vessel.plant, vessel.load, 0
    flow, feed, mu, rho, floc = run.last
    coming = ((1.0 - plant.unfilterable) * feed + floc) * flow * tick
    while coming > 0.0:
        through = let_through(vessel.cells, load, vessel.factor)
        signal = bed_loss(vessel.cells, load, flow / plant.area, mu, rho, plant.porosity_floor)
        signal += plant.valve_constant * flow**2 if plant.valve_seen else 0.0
        above = plant.trigger.kind == "pressure drop" and signal >= plant.trigger.above
        sent = through * coming / (flow * tick) + plant.unfilterable * feed
        if above or sent > plant.limit:
            return ticks * coming / (vessel.offered + ticks * coming) if ticks else 0.0
        gain = caught(vessel.cells, load, vessel.factor, coming / plant.area)
        if plant.area * float(gain.sum()) < FULL * coming:
            break
        load, ticks = load + gain, ticks + 1
    return None


def run_vectorised(plant: Plant, tick: float = 60.0) -> TwinResult:
    """March `plant` in ticks of `tick` seconds, cells as numpy arrays."""
    cells, series, water = all_cells(plant), all_series(plant), plant.initial_water_solids
    vessel = Filter(plant, cells, np.zeros(cells.capacity.size), plant.solids_at_start, water)
    vessel.passed = plant.filtered_at_start
    watch, total, run = Watch(plant.trigger, plant.start_of_day), Totals(), Run()
    step_ticks = [whole_ticks(step.seconds, tick, step.do) for step in plant.steps]
    ticks, repeat = whole_ticks(plant.length, tick, "run"), whole_ticks(plant.series_seconds, tick, "series")
    step, left = -1, 0
    mu_ref = float(viscosity(np.array(plant.reference_temperature)))
    for i in range(ticks):
        flow, feed, mu, rho, floc = (float(column[i // repeat]) for column in series)
        if flow > 0.0 or step >= 0:
            vessel.meet(mu, mu_ref)
        if step >= 0:
            total.unmet += flow * tick
            if left == step_ticks[step] and plant.steps[step].do == "backwash":
                vessel.begin_backwash()
            wash_tick(vessel, total, step, feed, floc, tick)
            left -= 1
            if left == 0:
                if plant.steps[step].do == "backwash":
                    vessel.end_backwash()
                step = step + 1 if step + 1 < len(step_ticks) else -1
                left = step_ticks[step]
                if step < 0:
                    total.washes, vessel.offered = total.washes + 1, 0.0
                    run = Run(start=(i + 1) * tick, dirty=True)
            continue
        if flow > 0.0:
            service_tick(vessel, total, watch, run, flow, feed, floc, tick)
            run.last = (flow, feed, mu, rho, floc)
        lost = bed_loss(cells, vessel.load, flow / plant.area, mu, rho, plant.porosity_floor)
        valve = plant.valve_constant * flow**2
        total.peak = max(total.peak, lost + valve)
        seen = lost + valve if plant.valve_seen else lost
        if i + 1 < ticks and watch.starts((i + 1) * tick, tick, seen, run.start):
            total.starts.append((i + 1) * tick)
            total.runs.append(run)
            spare = unused(vessel, run, tick)
            total.unused += [] if spare is None else [spare]
            step, left = 0, step_ticks[0]
    return result(vessel, total, run if step < 0 else None)


def result(vessel: Filter, total: Totals, cut: Run | None) -> TwinResult:
    """The run's totals in the units of the results; `cut`: the filter run that its end cut short."""
    drain, runs = total.backwash + total.rinse, total.runs
    judged = [*runs, *([cut] if cut is not None and cut.broken else [])]
    served = [start - run.start for start, run in zip(total.starts, runs, strict=True)]
    return TwinResult(
        washes=total.washes,
        treated_m3=total.treated,
        backwash_m3=total.backwash,
        rinse_m3=total.rinse,
        drain_m3=drain,
        drain_peak_m3_h=total.drain_peak * HOUR,
        drain_fraction=drain / (drain + total.treated) if drain + total.treated > 0.0 else nan,
        downtime_h=total.offline / HOUR,
        unmet_m3=total.unmet,
        unmet_by_washing_m3=total.unmet,
        over_limit_h=total.over / HOUR,
        over_limit_unavoidable_h=total.unavoidable / HOUR,
        breakthrough_risk=sum(run.broken for run in judged) / len(judged) if judged else 0.0,
        dirty_water_kg=total.dirty_mass / 1e3,
        dirty_water_min=total.dirty_time / MINUTE,
        peak_dp_kpa=total.peak / 1e3,
        mean_run_h=sum(served) / len(runs) / HOUR if runs else nan,
        unused_capacity=sum(total.unused) / len(total.unused) if total.unused else nan,
        solids_in_kg=total.came / 1e3,
        solids_to_service_kg=total.served / 1e3,
        solids_to_drain_kg=total.drained / 1e3,
        solids_held_kg=(vessel.vessel_solids + vessel.plant.area * float(vessel.load.sum())) / 1e3,
        solids_at_start_kg=vessel.plant.solids_at_start / 1e3,
        solids_dosed_kg=nan if vessel.plant.dosed is None else total.dosed / 1e3,
        wash_starts=tuple(total.starts),
    )
