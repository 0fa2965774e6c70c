"""Washing a bed of the line: pools of attached solids, the vessel's water, and the way back to service."""

from hydraulics.compiled import law
from hydraulics.shear import sublayer_cleaning
from hydraulics.wash import attached_after, vessel_solids_after
from sim.plant.bed import read_bed, settle
from sim.plant.layout import BACKWASH, SERVICE, SETTLE, Rows

EFFECTIVE = -1.0  # in place of a flow: the rates hold whatever it is


@law
def bring_up(k: int, stage: Rows, layer: Rows, cell: Rows, control: Rows) -> None:
    """Bring the cells of bed k up to date; their factors stay as they are."""
    if stage[k].pending > 0.0:
        settle(k, stage[k].capture, stage[k].ultimate, stage, layer, cell, control)


@law
def begin_step(
    k: int, mode: int, flow: float, raw_wash: bool, water_solids: float, loose_rate: float, firm_rate: float,
    sheared: bool, forcing: Rows, control: Rows, stage: Rows, layer: Rows, part: Rows, cell: Rows,
) -> None:  # fmt: skip
    """Take the train off line and begin a step of the wash of stage k.

    `sheared`: the rates are those at the best shear, each part cleans at its own; else they are effective ones.
    """
    c = control[0]
    c.mode, c.stage, c.flow = mode, k, flow
    c.raw_wash, c.water_solids, c.loose_rate, c.firm_rate = raw_wash, water_solids, loose_rate, firm_rate
    if mode == BACKWASH:
        bring_up(k, stage, layer, cell, control)
        split_pools(k, stage, part, cell)
        shear_parts(k, flow if sheared else EFFECTIVE, forcing[c.row], stage, part)


@law
def find_row(t: float, forcing: Rows, control: Rows) -> float:
    """Take up the row of forcing that holds at t [s]; the temperature of its water [degC]."""
    c = control[0]
    while forcing[c.row].end <= t and c.row < forcing.shape[0] - 1:
        c.row += 1
    temperature: float = forcing[c.row].temperature
    return temperature


@law
def shear_parts(k: int, flow: float, f: Rows, stage: Rows, part: Rows) -> None:
    """How well each part of bed k is cleaned by `flow` [m3/s] of the water of forcing row f; fully if EFFECTIVE."""
    s = stage[k]
    if flow == s.factor_flow and f.viscosity == s.factor_viscosity:
        return
    s.factor_flow, s.factor_viscosity = flow, f.viscosity
    for i in range(s.first_part, s.end_part):
        p = part[i]
        p.cleaning = 1.0
        if flow != EFFECTIVE:
            p.cleaning = sublayer_cleaning(
                flow / s.area, f.viscosity, f.density, size=p.grain_size, sphericity=p.sphericity,
                porosity=p.porosity, grain_density=p.grain_density,
                viscous=s.ergun_viscous, inertial=s.ergun_inertial,
            )  # fmt: skip


@law
def split_pools(k: int, stage: Rows, part: Rows, cell: Rows) -> None:
    """Loose and firm solids of bed k as a backwash begins [g/m2].

    Of what came since the last wash each part's firm share holds firmly; what that wash left stays as it was. The
    mat belongs to the top part; sloughed solids still on their way out belong to the vessel's water.
    """
    s = stage[k]
    for i in range(s.first_part, s.end_part):
        p = part[i]
        held = cell[p.end_cell - 1].deposit
        if i > s.first_part and part[i - 1].layer == p.layer:
            held = max(held - cell[p.first_cell - 1].deposit, 0.0)
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


@law
def wash_piece(dt: float, solids: float, control: Rows, stage: Rows, part: Rows, cell: Rows) -> None:
    """Wash the stage in `control` for dt seconds; what is left lies evenly through each medium."""
    c = control[0]
    s = stage[c.stage]
    brought = solids if c.raw_wash == 1 else c.water_solids
    before = s.vessel_solids + c.flow * brought * dt
    after = vessel_solids_after(
        s.vessel_solids, 0.0, 0.0,
        seconds=dt, flow=c.flow, water_volume=s.vessel_water, water_solids=brought,
    )  # fmt: skip
    for i in range(s.first_part, s.end_part):
        p = part[i]
        loose_rate, firm_rate = c.loose_rate * p.cleaning, c.firm_rate * p.cleaning
        before += s.area * (p.loose + p.firm)
        after += vessel_solids_after(
            0.0, s.area * p.loose, loose_rate,
            seconds=dt, flow=c.flow, water_volume=s.vessel_water, water_solids=0.0,
        )  # fmt: skip
        after += vessel_solids_after(
            0.0, s.area * p.firm, firm_rate,
            seconds=dt, flow=c.flow, water_volume=s.vessel_water, water_solids=0.0,
        )  # fmt: skip
        p.loose = attached_after(p.loose, loose_rate, dt)
        p.firm = attached_after(p.firm, firm_rate, dt)
        before -= s.area * (p.loose + p.firm)
    lay_evenly(c.stage, stage, part, cell)
    s.vessel_solids = after
    s.drain_total += before - after
    s.wash_in_total += c.flow * brought * dt
    s.backwash_total += c.flow * dt


@law
def lay_evenly(k: int, stage: Rows, part: Rows, cell: Rows) -> None:
    """Put what a wash has left so far into the cells of bed k, evenly through each medium."""
    s = stage[k]
    for i in range(s.first_part, s.end_part):
        if i == part[i].first_mate:
            left, depth = 0.0, 0.0
            for mate in range(i, part[i].end_mate):
                left += part[mate].loose + part[mate].firm
                depth += part[mate].depth
            for j in range(part[i].first_cell, part[part[i].end_mate - 1].end_cell):
                cell[j].deposit = left * (cell[j].node / depth)


@law
def leave_residual(k: int, stage: Rows, part: Rows) -> None:
    """What a backwash of bed k left is where the next one starts: mixed through each medium, loose and firm."""
    for i in range(stage[k].first_part, stage[k].end_part):
        if i == part[i].first_mate:
            loose, firm, depth = 0.0, 0.0, 0.0
            for mate in range(i, part[i].end_mate):
                loose += part[mate].loose
                firm += part[mate].firm
                depth += part[mate].depth
            for mate in range(i, part[i].end_mate):
                part[mate].base_firm = firm * (part[mate].depth / depth)
                part[mate].base_total = (loose + firm) * (part[mate].depth / depth)


@law
def end_step(
    k: int, control: Rows, stage: Rows, layer: Rows, part: Rows, cell: Rows
) -> tuple[float, float]:
    """End a step of the wash of stage k; returns all water [m3] and solids [g] it has ever sent to drain.

    The vessel's water after a backwash is the remnant to displace.
    """
    c, s = control[0], stage[k]
    if c.mode == BACKWASH:
        leave_residual(k, stage, part)
        s.remnant = s.vessel_solids / s.vessel_water
        s.filtered = 0.0
        s.edge = s.first_edge
        settle(k, s.capture, s.ultimate, stage, layer, cell, control)
    c.mode = SETTLE
    return s.backwash_total + s.rinse_total, s.drain_total


@law
def return_to_service(k: int, control: Rows, stage: Rows, layer: Rows, cell: Rows, leg: Rows) -> None:
    """Put the train in service and begin a filter run of stage k: counts from zero, the clean resistance kept."""
    s = stage[k]
    control[0].mode = SERVICE
    read_bed(k, s.pending, 0.0, stage, layer, cell, leg, control)
    s.clean_viscous, s.clean_inertial = leg[k].viscous, leg[k].inertial
    s.treated, s.load, s.run_over = 0.0, 0.0, 0.0
    s.dirty = 1


@law
def set_watch(k: int, volume: float, pressure: float, hold: float, stage: Rows) -> None:
    """What trips stage k: treated volume [m3], signal [Pa] held for a time [s]; inf is never."""
    s = stage[k]
    s.volume_set, s.pressure_set, s.hold = volume, pressure, hold


@law
def start(k: int, control: Rows, stage: Rows, layer: Rows, cell: Rows, leg: Rows) -> None:
    """Begin the simulation with stage k clean, rinsed, ripened and in service."""
    settle(k, 1.0, 1.0, stage, layer, cell, control)
    return_to_service(k, control, stage, layer, cell, leg)
    stage[k].dirty = 0
