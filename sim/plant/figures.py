"""Figures read off the line: of a vessel at a moment, of a filter run at its end."""

import math
from typing import TypeAlias

from hydraulics.compiled import law, routine
from sim.plant.bed import bed_outlet, bed_pressure, carry, read_bed, signal
from sim.plant.layout import Tables
from sim.plant.pressure import know_bed
from sim.plant.route import route
from sim.plant.spikes import set_spikes
from sim.plant.unit import asked_flow
from sim.plant.washing import bring_up

DOUBLINGS = 60  # from a thousandth of a bed's capacity; beyond that a limit or set point is never met
HALVINGS = 60

RunFigures: TypeAlias = tuple[float, float, float, float, float, float, float, bool]


@law
def limit_met(extra: float, pressure_set: float, i: int, line: Tables) -> bool:
    """Whether `extra` grams more of the last feed at the last flow bring vessel i to its limit or set point."""
    s, g = line.vessel[i], line.probe[i]
    bed = (1.0 - s.mat_share) * extra / s.area
    limit = line.stage[s.stage].limit
    if not math.isnan(limit):
        conc = (1.0 - s.mat_share) * s.last_filterable
        conc = bed_outlet(i, bed, conc, s.capture, s.ultimate, line)[1]
        if conc + s.last_fine > limit:
            return True
    if pressure_set < math.inf:
        mat = s.mat + s.mat_share * extra / s.area
        read_bed(i, bed, mat, line.vessel, line.layer, line.cell, line.probe, line.control)
        return bool(signal(i, g.viscous, g.inertial, s.last_flow, line.forcing[s.last_row], line) >= pressure_set)
    return False


@routine
def spare_load(pressure_set: float, i: int, line: Tables) -> float:
    """Grams that vessel i could still be fed before its limit or set point would first be met (inf: never).

    Bracketed by doubling from a thousandth of the bed's capacity, then halved HALVINGS times. The cells must be up
    to date.
    """
    if limit_met(0.0, pressure_set, i, line):
        return 0.0
    capacity = 0.0
    for n in range(line.vessel[i].first_layer, line.vessel[i].end_layer):
        capacity += line.layer[n].ultimate * line.layer[n].depth * line.vessel[i].area
    low, high, met = 0.0, 1e-3 * capacity, False
    for _ in range(DOUBLINGS):
        met = limit_met(high, pressure_set, i, line)
        if met:
            break
        low, high = high, 2.0 * high
    if not met:
        return math.inf
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        if middle <= low or middle >= high:
            break
        if limit_met(middle, pressure_set, i, line):
            high = middle
        else:
            low = middle
    return high


@law
def run_figures(i: int, pressure_set: float, line: Tables) -> RunFigures:
    """Treated [m3], load [g], residual [g/m2], signal clean and now [Pa], s over the limit, unused share, blocked.

    The residual is what the last wash left in the bed. Both signals are at the flow and water of the last moment with
    flow. The unused share is of the load at which the limit or `pressure_set` [Pa] (inf: none) would first be met;
    nan where neither ever is.
    """
    s = line.vessel[i]
    f = line.forcing[s.last_row]
    know_bed(i, line)
    clean = signal(i, s.clean_viscous, s.clean_inertial, s.last_flow, f, line)
    loaded = signal(i, s.bound_viscous, s.bound_inertial, s.last_flow, f, line)
    blocked = s.bound_blocked > 0
    bring_up(i, line)
    unused = math.nan
    if s.last_flow > 0.0:
        spare = spare_load(pressure_set, i, line)
        if spare < math.inf:
            unused = spare / (s.load + spare) if spare > 0.0 else 0.0
    residual = 0.0
    for n in range(s.first_part, s.end_part):
        residual += line.part[n].base_total
    return s.treated, s.load, residual, clean, loaded, s.run_over, unused, blocked


@law
def read_vessel(i: int, t: float, line: Tables) -> tuple[float, float, float, float]:
    """Flow through vessel i [m3/s], its gauge [Pa], inlet and outlet solids [g/m3] at this moment t [s]."""
    s, f = line.vessel[i], line.forcing[line.control[0].row]
    set_spikes(t, line)
    route(asked_flow(line), True, f, line)
    carry(0.0, f, s.stage, line.probe, line.trial, line.tried, line)
    know_bed(i, line)
    pressure = signal(i, s.bound_viscous, s.bound_inertial, s.flow, f, line) + line.stage[s.stage].spike
    inlet = line.trial[s.stage].filterable_end + line.trial[s.stage].fine_end
    if s.flow <= 0.0:
        return 0.0, pressure, inlet, inlet
    return s.flow, pressure, inlet, line.probe[i].end_filterable + line.probe[i].end_fine


@law
def read_at(i: int, flow: float, line: Tables) -> tuple[float, float]:
    """Gauge of vessel i [Pa] at a flow [m3/s] in the water of this moment: as its filter run began, and now."""
    s, f = line.vessel[i], line.forcing[line.control[0].row]
    know_bed(i, line)
    clean: float = signal(i, s.clean_viscous, s.clean_inertial, flow, f, line)
    now: float = signal(i, s.bound_viscous, s.bound_inertial, flow, f, line)
    return clean, now


@law
def service_flow(line: Tables) -> float:
    """What the train delivers at this moment [m3/s]."""
    f = line.forcing[line.control[0].row]
    route(asked_flow(line), True, f, line)
    service: float = line.control[0].service
    return service


@law
def return_rise(i: int, line: Tables) -> float:
    """Gauge of vessel i [Pa] above that of its bed without any deposit, at the flow and water of this moment."""
    s, f = line.vessel[i], line.forcing[line.control[0].row]
    route(asked_flow(line), True, f, line)
    read_bed(i, s.pending, s.mat, line.vessel, line.layer, line.cell, line.probe, line.control)
    loaded = bed_pressure(i, line.probe[i].viscous, line.probe[i].inertial, s.flow, f, line)
    return loaded - bed_pressure(i, s.new_viscous, s.new_inertial, s.flow, f, line)
