"""Washing a bed of the line: pools of attached solids, the vessel's water, and the way back to service."""

import math

from hydraulics.compiled import law, routine
from hydraulics.shear import sublayer_cleaning
from hydraulics.wash import attached_after, vessel_solids_after
from sim.plant.bed import forget_bed, read_bed, settle
from sim.plant.layout import BACKWASH, REGENERANT, SERVICE, SETTLE, STANDBY, Rows, Tables
from sim.plant.solutes import begin_fresh, leave_remnants

EFFECTIVE = -1.0  # in place of a flow: the rates hold whatever it is


@law
def bring_up(k: int, line: Tables) -> None:
    """Bring the cells of vessel k up to date; their factors stay as they are."""
    if line.vessel[k].pending > 0.0:
        s = line.vessel[k]
        settle(k, s.capture, s.ultimate, s.bed_viscosity, line.vessel, line.layer, line.cell, line.control)


@law
def begin_step(
    i: int,
    t: float,
    mode: int,
    flow: float,
    raw_wash: bool,
    water_solids: float,
    loose_rate: float,
    firm_rate: float,
    sheared: bool,
    slow: bool,
    line: Tables,
) -> None:
    """Take vessel i off line and begin a step of its wash at t [s].

    `sheared`: the rates are those at the best shear, each part cleans at its own; else they are effective ones.
    `slow`: a rinse is the displacement of a regenerant.
    """
    s = line.vessel[i]
    bring_up(i, line)
    take_off_line(i, mode, line)
    s.wash_flow, s.step_flow, s.raw_wash, s.water_solids = flow, flow, raw_wash, water_solids
    s.loose_rate, s.firm_rate, s.slow = loose_rate, firm_rate, slow
    find_row(t, line)
    if mode == BACKWASH:
        split_pools(i, line)
        shear_parts(i, flow if sheared else EFFECTIVE, line.forcing[line.control[0].row], line)


@law
def set_wash_flow(i: int, flow: float, loose_rate: float, firm_rate: float, line: Tables) -> None:
    """Another flow [m3/s] and other cleaning rates [1/s] for the step of vessel i that is under way."""
    s = line.vessel[i]
    if s.mode == BACKWASH and s.factor_flow != EFFECTIVE:
        shear_parts(i, flow, line.forcing[line.control[0].row], line)
    s.wash_flow, s.loose_rate, s.firm_rate = flow, loose_rate, firm_rate


@law
def take_off_line(i: int, mode: int, line: Tables) -> None:
    """Give vessel i something else to do than service."""
    p = line.stage[line.vessel[i].stage]
    if line.vessel[i].mode == SERVICE:
        p.serving -= 1
        p.split_reach = 0.0
    line.vessel[i].mode = mode


@law
def find_row(t: float, line: Tables) -> float:
    """Take up the row of forcing that holds at t [s]; the temperature of its water [degC]."""
    c = line.control[0]
    while line.forcing[c.row].end <= t and c.row < line.forcing.shape[0] - 1:
        c.row += 1
    temperature: float = line.forcing[c.row].temperature
    return temperature


@routine
def shear_parts(k: int, flow: float, f: Rows, line: Tables) -> None:
    """How well each part of bed k is cleaned by `flow` [m3/s] of the water of forcing row f; fully if EFFECTIVE."""
    s = line.vessel[k]
    if flow == s.factor_flow and f.viscosity == s.factor_viscosity:
        return
    s.factor_flow, s.factor_viscosity = flow, f.viscosity
    for i in range(s.first_part, s.end_part):
        p = line.part[i]
        p.cleaning = 1.0
        if flow != EFFECTIVE:
            p.cleaning = sublayer_cleaning(
                flow / s.area, f.viscosity, f.density, size=p.grain_size, sphericity=p.sphericity,
                porosity=p.porosity, grain_density=p.grain_density,
                viscous=s.ergun_viscous, inertial=s.ergun_inertial,
            )  # fmt: skip


@law
def split_pools(k: int, line: Tables) -> None:
    """Loose and firm solids of bed k as a backwash begins [g/m2].

    Of what came since the last wash each part's firm share holds firmly; what that wash left stays as it was. The
    mat belongs to the top part; sloughed solids still on their way out belong to the vessel's water.
    """
    s = line.vessel[k]
    for i in range(s.first_part, s.end_part):
        p = line.part[i]
        held = line.cell[p.end_cell - 1].deposit
        if i > s.first_part and line.part[i - 1].layer == p.layer:
            held = max(held - line.cell[p.first_cell - 1].deposit, 0.0)
        if i == s.first_part:
            held += s.mat
        fresh = held - p.base_total
        if fresh >= 0.0:
            p.firm = p.base_firm + p.firm_share * fresh
        else:  # sloughing took old deposit too
            p.firm = p.base_firm * held / p.base_total
        p.loose = held - p.firm
    s.mat = 0.0
    s.vessel_solids += s.slough_solids
    s.slough_solids, s.slough_left = 0.0, 0.0


@routine
def wash_piece(i: int, dt: float, solids: float, line: Tables) -> None:
    """Wash vessel i for dt seconds; what is left lies evenly through each medium."""
    s = line.vessel[i]
    brought = s.water_solids
    if s.pulls == 1:
        ahead = line.water[s.stage]
        brought = ahead.filterable + ahead.fine if s.drawn > 0.0 else 0.0
        s.pulled_total += s.drawn * dt
        s.pulled_solids += s.drawn * brought * dt
    elif s.raw_wash == 1:
        brought = solids
    before = s.vessel_solids + s.drawn * brought * dt
    after = vessel_solids_after(
        s.vessel_solids, 0.0, 0.0,
        seconds=dt, flow=s.drawn, water_volume=s.vessel_water, water_solids=brought,
    )  # fmt: skip
    for n in range(s.first_part, s.end_part):
        p = line.part[n]
        loose_rate, firm_rate = s.loose_rate * p.cleaning, s.firm_rate * p.cleaning
        before += s.area * (p.loose + p.firm)
        after += vessel_solids_after(
            0.0, s.area * p.loose, loose_rate,
            seconds=dt, flow=s.drawn, water_volume=s.vessel_water, water_solids=0.0,
        )  # fmt: skip
        after += vessel_solids_after(
            0.0, s.area * p.firm, firm_rate,
            seconds=dt, flow=s.drawn, water_volume=s.vessel_water, water_solids=0.0,
        )  # fmt: skip
        p.loose = attached_after(p.loose, loose_rate, dt)
        p.firm = attached_after(p.firm, firm_rate, dt)
        before -= s.area * (p.loose + p.firm)
    lay_evenly(i, line)
    s.vessel_solids = after
    s.drain_total += before - after
    s.wash_in_total += s.drawn * brought * dt
    s.backwash_total += s.drawn * dt


@law
def flush_piece(i: int, dt: float, line: Tables) -> None:
    """Draw a regenerant through vessel i for dt seconds: solids suspended in its water leave with it."""
    s = line.vessel[i]
    after = vessel_solids_after(
        s.vessel_solids, 0.0, 0.0,
        seconds=dt, flow=s.drawn, water_volume=s.vessel_water, water_solids=0.0,
    )  # fmt: skip
    s.drain_total += s.vessel_solids - after
    s.vessel_solids = after
    s.brine_total += s.drawn * dt


@routine
def lay_evenly(k: int, line: Tables) -> None:
    """Put what a wash has left so far into the cells of bed k, evenly through each medium."""
    s = line.vessel[k]
    forget_bed(k, line)
    for i in range(s.first_part, s.end_part):
        if i == line.part[i].first_mate:
            left, depth = 0.0, 0.0
            for mate in range(i, line.part[i].end_mate):
                left += line.part[mate].loose + line.part[mate].firm
                depth += line.part[mate].depth
            for j in range(line.part[i].first_cell, line.part[line.part[i].end_mate - 1].end_cell):
                line.cell[j].deposit = left * (line.cell[j].node / depth)


@law
def leave_residual(k: int, line: Tables) -> None:
    """What a backwash of bed k left is where the next one starts: mixed through each medium, loose and firm."""
    for i in range(line.vessel[k].first_part, line.vessel[k].end_part):
        if i == line.part[i].first_mate:
            loose, firm, depth = 0.0, 0.0, 0.0
            for mate in range(i, line.part[i].end_mate):
                loose += line.part[mate].loose
                firm += line.part[mate].firm
                depth += line.part[mate].depth
            for mate in range(i, line.part[i].end_mate):
                line.part[mate].base_firm = firm * (line.part[mate].depth / depth)
                line.part[mate].base_total = (loose + firm) * (line.part[mate].depth / depth)


@law
def end_step(i: int, line: Tables) -> tuple[float, float]:
    """End a step of the wash of vessel i; returns all water [m3] and solids [g] it has ever sent to drain.

    The vessel's water after a backwash or a regenerant is the remnant to displace.
    """
    s = line.vessel[i]
    if s.mode == BACKWASH:
        lay_evenly(i, line)  # a step may be broken off as it begins
        leave_residual(i, line)
    if s.mode == BACKWASH or s.mode == REGENERANT:
        s.remnant = s.vessel_solids / s.vessel_water
        s.brined = 1 if s.mode == REGENERANT else 0
        s.filtered, s.gone_vessel, s.gone_pores = 0.0, 0.0, 0.0
        s.edge = s.first_edge
        if line.control[0].dissolves == 1:
            leave_remnants(i, line)
        settle(i, s.capture, s.ultimate, s.bed_viscosity, line.vessel, line.layer, line.cell, line.control)
    s.mode = SETTLE
    return s.backwash_total + s.rinse_total + s.brine_total, s.drain_total


@law
def return_to_service(i: int, line: Tables) -> None:
    """Put vessel i in service and begin a filter run of it: counts from zero, the clean resistance kept."""
    s = line.vessel[i]
    s.mode = SERVICE
    line.stage[s.stage].serving += 1
    line.stage[s.stage].split_reach = 0.0
    read_bed(i, s.pending, 0.0, line.vessel, line.layer, line.cell, line.probe, line.control)
    s.clean_viscous, s.clean_inertial = line.probe[i].viscous, line.probe[i].inertial
    s.treated, s.load, s.run_over, s.broken = 0.0, 0.0, 0.0, 0
    s.bound_step, s.close = s.settle_load, 0
    s.dirty = 1
    begin_fresh(i, line)


@law
def stand_by(i: int, line: Tables) -> None:
    """Have vessel i stand washed beside the others until it is called."""
    take_off_line(i, STANDBY, line)


@law
def hold_unit(more: int, line: Tables) -> None:
    """One wash more, or less, holds the unit downstream."""
    line.unit[0].held += more


@law
def set_watch(
    i: int, volume: float, pressure: float, hold: float, of: int, conc: float, for_so_long: float, line: Tables
) -> None:
    """What trips vessel i: treated volume [m3], signal [Pa] held for a time [s], what its stage sends on `of` a kind
    of `outlet` [g/m3] for so long [s]; inf is never."""
    s = line.vessel[i]
    s.volume_set, s.pressure_set, s.hold = volume, pressure, hold
    if of != s.monitor_of or conc != s.monitor_set:
        s.over_since = math.nan
    s.monitor_of, s.monitor_set, s.monitor_hold = of, conc, for_so_long


@law
def hold_anew(i: int, line: Tables) -> None:
    """Whatever vessel i waits for has to hold anew, its switch to switch on anew."""
    s = line.vessel[i]
    s.crossed, s.switched, s.above_since, s.summed, s.over_since = 0, 0, math.nan, 0.0, math.nan


@law
def start(i: int, line: Tables) -> None:
    """Begin the simulation with vessel i clean, rinsed, ripened and in service."""
    settle(i, 1.0, 1.0, line.vessel[i].bed_viscosity, line.vessel, line.layer, line.cell, line.control)
    return_to_service(i, line)
    line.vessel[i].dirty = 0
    line.vessel[i].new_viscous, line.vessel[i].new_inertial = (
        line.vessel[i].clean_viscous,
        line.vessel[i].clean_inertial,
    )
