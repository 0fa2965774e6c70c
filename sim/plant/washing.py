"""Washing a bed of the line: pools of attached solids, the vessel's water, and the way back to service."""

from hydraulics.compiled import law
from hydraulics.wash import attached_after, vessel_solids_after
from sim.plant.bed import read_bed, settle
from sim.plant.layout import BACKWASH, SERVICE, SETTLE, Rows


@law
def bring_up(k: int, stage: Rows, layer: Rows, cell: Rows, control: Rows) -> None:
    """Bring the cells of bed k up to date; their factors stay as they are."""
    if stage[k].pending > 0.0:
        settle(k, stage[k].capture, stage[k].ultimate, stage, layer, cell, control)


@law
def begin_step(
    k: int, mode: int, flow: float, raw_wash: bool, water_solids: float, loose_rate: float, firm_rate: float,
    control: Rows, stage: Rows, layer: Rows, cell: Rows,
) -> None:  # fmt: skip
    """Take the train off line and begin a step of the wash of stage k."""
    c = control[0]
    c.mode, c.stage, c.flow = mode, k, flow
    c.raw_wash, c.water_solids, c.loose_rate, c.firm_rate = raw_wash, water_solids, loose_rate, firm_rate
    if mode == BACKWASH:
        bring_up(k, stage, layer, cell, control)
        split_pools(k, stage, layer, cell)


@law
def split_pools(k: int, stage: Rows, layer: Rows, cell: Rows) -> None:
    """Loose and firm solids of bed k as a backwash begins [g/m2].

    Of what came since the last wash each layer's firm share holds firmly; what that wash left stays as it was. The
    mat belongs to the top layer; sloughed solids still on their way out belong to the vessel's water.
    """
    s = stage[k]
    for i in range(s.first_layer, s.end_layer):
        pools = layer[i]
        held = cell[layer[i].end_cell - 1].deposit
        if i == s.first_layer:
            held += s.mat
        fresh = held - pools.base_total
        if fresh >= 0.0:
            pools.firm = pools.base_firm + layer[i].firm_share * fresh
        else:  # sloughing took old deposit too
            pools.firm = pools.base_firm * held / pools.base_total
        pools.loose = held - pools.firm
    s.mat = 0.0
    s.vessel_solids += s.slough_solids
    s.slough_solids, s.slough_left = 0.0, 0.0


@law
def wash_piece(dt: float, solids: float, control: Rows, stage: Rows, layer: Rows, cell: Rows) -> None:
    """Wash the stage in `control` for dt seconds; what is left lies evenly through each layer."""
    c = control[0]
    s = stage[c.stage]
    brought = solids if c.raw_wash == 1 else c.water_solids
    before = s.vessel_solids + c.flow * brought * dt
    after = vessel_solids_after(
        s.vessel_solids, 0.0, 0.0,
        seconds=dt, flow=c.flow, water_volume=s.vessel_water, water_solids=brought,
    )  # fmt: skip
    for i in range(s.first_layer, s.end_layer):
        pools = layer[i]
        before += s.area * (pools.loose + pools.firm)
        after += vessel_solids_after(
            0.0, s.area * pools.loose, c.loose_rate,
            seconds=dt, flow=c.flow, water_volume=s.vessel_water, water_solids=0.0,
        )  # fmt: skip
        after += vessel_solids_after(
            0.0, s.area * pools.firm, c.firm_rate,
            seconds=dt, flow=c.flow, water_volume=s.vessel_water, water_solids=0.0,
        )  # fmt: skip
        pools.loose = attached_after(pools.loose, c.loose_rate, dt)
        pools.firm = attached_after(pools.firm, c.firm_rate, dt)
        left = pools.loose + pools.firm
        before -= s.area * left
        for j in range(layer[i].first_cell, layer[i].end_cell):
            cell[j].deposit = left * (cell[j].node / layer[i].depth)
    s.vessel_solids = after
    s.drain_total += before - after
    s.wash_in_total += c.flow * brought * dt
    s.backwash_total += c.flow * dt


@law
def even_out(k: int, stage: Rows, layer: Rows, cell: Rows) -> None:
    """Spread what a wash left evenly through each medium, whatever coefficients its sublayers have of their own."""
    for i in range(stage[k].first_layer, stage[k].end_layer):
        if i == layer[i].first_part:
            loose, firm, depth = 0.0, 0.0, 0.0
            for part in range(i, layer[i].end_part):
                loose += layer[part].loose
                firm += layer[part].firm
                depth += layer[part].depth
            for part in range(i, layer[i].end_part):
                layer[part].loose = loose * (layer[part].depth / depth)
                layer[part].firm = firm * (layer[part].depth / depth)
                left = layer[part].loose + layer[part].firm
                for j in range(layer[part].first_cell, layer[part].end_cell):
                    cell[j].deposit = left * (cell[j].node / layer[part].depth)


@law
def end_step(k: int, control: Rows, stage: Rows, layer: Rows, cell: Rows) -> tuple[float, float]:
    """End a step of the wash of stage k; returns all water [m3] and solids [g] it has ever sent to drain.

    What a backwash left is the start of the next split, and the vessel's water the remnant to displace.
    """
    c, s = control[0], stage[k]
    if c.mode == BACKWASH:
        even_out(k, stage, layer, cell)
        for i in range(s.first_layer, s.end_layer):
            layer[i].base_firm = layer[i].firm
            layer[i].base_total = layer[i].firm + layer[i].loose
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
