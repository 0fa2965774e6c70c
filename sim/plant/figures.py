"""Figures read off the line: of a stage at a moment, of a filter run at its end."""

import math
from typing import TypeAlias

from hydraulics.compiled import law
from sim.plant.bed import bed_outlet, carry, read_bed, signal
from sim.plant.layout import RINSE, SERVICE, Rows
from sim.plant.pressure import know_bed
from sim.plant.washing import bring_up

DOUBLINGS = 60  # from a thousandth of a bed's capacity; beyond that a limit or set point is never met
HALVINGS = 60

RunFigures: TypeAlias = tuple[float, float, float, float, float, float, float, bool]


@law
def limit_met(
    extra: float, pressure_set: float, k: int, forcing: Rows, stage: Rows, layer: Rows, cell: Rows, leg: Rows,
    control: Rows,
) -> bool:  # fmt: skip
    """Whether `extra` grams more of the last feed at the last flow bring stage k to its limit or set point."""
    s, g = stage[k], leg[k]
    bed = (1.0 - s.mat_share) * extra / s.area
    if not math.isnan(s.limit):
        conc = (1.0 - s.mat_share) * s.last_filterable
        conc = bed_outlet(k, bed, conc, s.capture, s.ultimate, stage, layer, cell)[1]
        if conc + s.last_fine > s.limit:
            return True
    if pressure_set < math.inf:
        mat = s.mat + s.mat_share * extra / s.area
        read_bed(k, bed, mat, stage, layer, cell, leg, control)
        return bool(signal(k, g.viscous, g.inertial, s.last_flow, forcing[s.last_row], stage) >= pressure_set)
    return False


@law
def spare_load(
    pressure_set: float, k: int, forcing: Rows, stage: Rows, layer: Rows, cell: Rows, leg: Rows, control: Rows,
) -> float:  # fmt: skip
    """Grams that stage k could still be fed before its limit or set point would first be met (inf: never).

    Bracketed by doubling from a thousandth of the bed's capacity, then halved HALVINGS times. The cells must be up
    to date.
    """
    if limit_met(0.0, pressure_set, k, forcing, stage, layer, cell, leg, control):
        return 0.0
    capacity = 0.0
    for i in range(stage[k].first_layer, stage[k].end_layer):
        capacity += layer[i].ultimate * layer[i].depth * stage[k].area
    low, high, met = 0.0, 1e-3 * capacity, False
    for _ in range(DOUBLINGS):
        met = limit_met(high, pressure_set, k, forcing, stage, layer, cell, leg, control)
        if met:
            break
        low, high = high, 2.0 * high
    if not met:
        return math.inf
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        if middle <= low or middle >= high:
            break
        if limit_met(middle, pressure_set, k, forcing, stage, layer, cell, leg, control):
            high = middle
        else:
            low = middle
    return high


@law
def run_figures(
    k: int, pressure_set: float, forcing: Rows, stage: Rows, layer: Rows, part: Rows, cell: Rows, leg: Rows,
    control: Rows,
) -> RunFigures:  # fmt: skip
    """Treated [m3], load [g], residual [g/m2], signal clean and now [Pa], s over the limit, unused share, blocked.

    The residual is what the last wash left in the bed.

    Both signals are at the flow and water of the last moment with flow. The unused share is of the load at which
    the limit or `pressure_set` [Pa] (inf: none) would first be met; nan where neither ever is.
    """
    s = stage[k]
    f = forcing[s.last_row]
    know_bed(k, stage, layer, cell, leg, control)
    clean = signal(k, s.clean_viscous, s.clean_inertial, s.last_flow, f, stage)
    loaded = signal(k, s.bound_viscous, s.bound_inertial, s.last_flow, f, stage)
    blocked = s.bound_blocked > 0
    bring_up(k, stage, layer, cell, control)
    unused = math.nan
    if s.last_flow > 0.0:
        spare = spare_load(pressure_set, k, forcing, stage, layer, cell, leg, control)
        if spare < math.inf:
            unused = spare / (s.load + spare) if spare > 0.0 else 0.0
    residual = 0.0
    for i in range(s.first_part, s.end_part):
        residual += part[i].base_total
    return s.treated, s.load, residual, clean, loaded, s.run_over, unused, blocked


@law
def read_stage(
    k: int, forcing: Rows, stage: Rows, layer: Rows, cell: Rows, leg: Rows, probe: Rows, control: Rows
) -> tuple[float, float, float, float]:
    """Flow through stage k [m3/s], its signal [Pa], inlet and outlet solids [g/m3] at this moment."""
    c = control[0]
    f = forcing[c.row]
    flow = 0.0
    if c.mode == SERVICE:
        flow = f.flow
    elif c.mode == RINSE and k <= c.stage:
        flow = c.flow
    carry(0.0, flow, f.solids, k, stage, layer, cell, probe)
    know_bed(k, stage, layer, cell, leg, control)
    pressure = signal(k, stage[k].bound_viscous, stage[k].bound_inertial, flow, f, stage)
    inlet = probe[k].filterable + probe[k].fine
    return flow, pressure, inlet, probe[k].end_filterable + probe[k].end_fine
