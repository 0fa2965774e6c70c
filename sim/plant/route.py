"""Which way the water goes in a piece: service through every stage, rinses and pulled washes through those before.

Vessels of a stage share its flow so that they lose the same pressure; a pump gives what the train lets through.
"""

import math

from hydraulics.compiled import law, routine
from hydraulics.powers import square
from sim.plant.bed import read_bed
from sim.plant.layout import BACKWASH, RINSE, SERVICE, STANDBY, Rows

SHARE_STEPS, SHARE_RELATIVE = 50, 1e-12
PUMP_HALVINGS = 60


@law
def open_stages(stage: Rows) -> int:
    """How many stages from the first on let water through: up to one with no vessel in service and no way round."""
    stages: int = stage.shape[0]
    for k in range(stages):
        if stage[k].serving == 0 and stage[k].passes_raw == 0:
            return k
    return stages


@law
def route(
    asked: float, f: Rows, control: Rows, stage: Rows, vessel: Rows, layer: Rows, cell: Rows, probe: Rows, pump: Rows,
) -> bool:  # fmt: skip
    """Set every vessel's flow for a service flow that is asked for; whether any water moves.

    What a rinse or a pulled wash draws passes the stages before its own. Behind a closed stage nothing moves.
    """
    c, stages, ahead = control[0], stage.shape[0], open_stages(stage)
    c.asked, c.service = asked, asked if ahead == stages else 0.0
    set_flows(c.service, ahead, stage, vessel)
    if pump.shape[0] > 0 and c.service > 0.0:
        read_beds(f, stage, vessel, layer, cell, probe, control)
        c.service = pumped(c.service, ahead, f, control, stage, vessel, probe, pump)
        set_flows(c.service, ahead, stage, vessel)
    moves: bool = c.service > 0.0
    for k in range(stages):
        p = stage[k]
        if c.shared == 1 and p.serving > 1 and p.through > 0.0:
            read_stage_beds(k, stage, vessel, layer, cell, probe, control)
            share_flow(k, p.through, f, stage, vessel, probe)
            for i in range(p.first_vessel, p.end_vessel):
                if vessel[i].mode == SERVICE:
                    vessel[i].flow = probe[i].share
        moves = moves or p.through > 0.0
        for i in range(p.first_vessel, p.end_vessel):
            moves = moves or vessel[i].flow > 0.0
    return moves


@law
def any_washes(vessel: Rows) -> bool:
    """Whether any vessel is off line for a wash."""
    washes = False
    for i in range(vessel.shape[0]):
        washes = washes or (vessel[i].mode != SERVICE and vessel[i].mode != STANDBY)
    return washes


@routine
def unwashed_service(
    asked: float, f: Rows, control: Rows, stage: Rows, vessel: Rows, layer: Rows, cell: Rows, probe: Rows, pump: Rows,
) -> float:  # fmt: skip
    """What the train would deliver of a flow that is asked for [m3/s] were no vessel off line for a wash.

    All of it without a pump; with one, what its curve leaves with every stage in service and the beds as they are at
    this moment. To be called before `route`, which sets the flows again.
    """
    if pump.shape[0] == 0 or asked <= 0.0:
        return asked
    for i in range(vessel.shape[0]):
        s, p = vessel[i], stage[vessel[i].stage]
        probe[i].mode = s.mode
        if s.mode != SERVICE and s.mode != STANDBY:
            s.mode = STANDBY
            if p.serving < p.sharing:
                s.mode = SERVICE
                p.serving += 1
    control[0].service = asked
    set_flows(asked, stage.shape[0], stage, vessel)
    read_beds(f, stage, vessel, layer, cell, probe, control)
    service = pumped(asked, stage.shape[0], f, control, stage, vessel, probe, pump)
    for i in range(vessel.shape[0]):
        if vessel[i].mode == SERVICE and probe[i].mode != SERVICE:
            stage[vessel[i].stage].serving -= 1
        vessel[i].mode = probe[i].mode
    return service


@law
def set_flows(service: float, ahead: int, stage: Rows, vessel: Rows) -> None:
    """Flows of all vessels, those in service of a stage sharing evenly; `ahead`: stages that are open."""
    pull = 0.0
    for back in range(stage.shape[0]):
        k = stage.shape[0] - 1 - back
        p = stage[k]
        p.through = service + pull
        for i in range(p.first_vessel, p.end_vessel):
            s = vessel[i]
            s.flow, s.drawn = 0.0, 0.0
            if s.mode == SERVICE:
                s.flow = p.through / p.serving
            elif s.mode == RINSE or s.mode == BACKWASH:
                through_stages = s.mode == RINSE or s.pulls == 1
                if k <= ahead or not through_stages:
                    s.drawn = s.wash_flow
                if s.mode == RINSE:
                    s.flow = s.drawn
                if through_stages:
                    pull += s.drawn


@routine
def read_stage_beds(
    k: int, stage: Rows, vessel: Rows, layer: Rows, cell: Rows, probe: Rows, control: Rows
) -> None:
    """The resistance of every bed in service of stage k as it is now, into `probe`."""
    for i in range(stage[k].first_vessel, stage[k].end_vessel):
        s = vessel[i]
        if s.mode == SERVICE:
            read_bed(i, s.pending, s.mat, vessel, layer, cell, probe, control)


@law
def read_beds(
    f: Rows, stage: Rows, vessel: Rows, layer: Rows, cell: Rows, probe: Rows, control: Rows
) -> None:
    """The resistance of every bed in service, into `probe`."""
    for k in range(stage.shape[0]):
        read_stage_beds(k, stage, vessel, layer, cell, probe, control)


@law
def loss_terms(i: int, f: Rows, vessel: Rows, probe: Rows) -> tuple[float, float]:
    """Pressure of vessel i as a q + b q^2 [Pa] from its resistance in `probe`; valve and piping included."""
    area = vessel[i].area
    return f.viscosity * probe[i].viscous / area, f.density * probe[i].inertial / square(area) + vessel[i].valve


@law
def flow_at_loss(pressure: float, linear: float, square: float) -> float:
    """The q of a q + b q^2 = P, written so that neither term need be there [m3/s]."""
    return 2.0 * pressure / (linear + math.sqrt(linear * linear + 4.0 * square * pressure))


@routine
def share_flow(k: int, through: float, f: Rows, stage: Rows, vessel: Rows, probe: Rows) -> float:
    """Share a flow between the vessels in service of stage k at one common pressure, which it returns [Pa].

    Newton's steps on the pressure, whose flow is concave, from below the root; into `share` of `probe`.
    """
    p = stage[k]
    pressure, found, slope = 0.0, 0.0, 0.0
    for i in range(p.first_vessel, p.end_vessel):
        if vessel[i].mode == SERVICE:
            a, b = loss_terms(i, f, vessel, probe)
            q = through / p.serving
            mean = a * q + b * q * q
            pressure = mean if pressure <= 0.0 else min(pressure, mean)
    for _ in range(SHARE_STEPS):
        found, slope = 0.0, 0.0
        for i in range(p.first_vessel, p.end_vessel):
            if vessel[i].mode == SERVICE:
                a, b = loss_terms(i, f, vessel, probe)
                q = flow_at_loss(pressure, a, b)
                probe[i].share = q
                found += q
                slope += 1.0 / (a + 2.0 * b * q)
        if abs(found - through) <= SHARE_RELATIVE * through:
            break
        pressure += (through - found) / slope
    for i in range(p.first_vessel, p.end_vessel):
        if vessel[i].mode == SERVICE:
            probe[i].share *= through / found
    return pressure


@routine
def share_drift(
    f: Rows, control: Rows, stage: Rows, vessel: Rows, layer: Rows, cell: Rows, leg: Rows, probe: Rows, pump: Rows,
) -> float:  # fmt: skip
    """By how much the loads in `leg` would change the flow of any vessel in service, relative to what it is.

    Alone in its stage, a vessel's resistance matters to a pump only.
    """
    drift = 0.0
    for k in range(stage.shape[0]):
        p = stage[k]
        for i in range(p.first_vessel, p.end_vessel):
            s = vessel[i]
            if s.mode == SERVICE and s.flow > 0.0 and (p.serving > 1 or pump.shape[0] > 0):
                mat = s.mat + s.mat_share * leg[i].offered / s.area
                read_bed(i, leg[i].bed_in, mat, vessel, layer, cell, probe, control)
    if pump.shape[0] > 0 and control[0].service > 0.0:
        service = pumped(control[0].asked, stage.shape[0], f, control, stage, vessel, probe, pump)
        drift = abs(service / control[0].service - 1.0)
    if control[0].shared == 1:
        for k in range(stage.shape[0]):
            p = stage[k]
            if p.serving > 1 and p.through > 0.0:
                share_flow(k, p.through, f, stage, vessel, probe)
                for i in range(p.first_vessel, p.end_vessel):
                    if vessel[i].mode == SERVICE:
                        drift = max(drift, abs(probe[i].share / vessel[i].flow - 1.0))
    return drift


@law
def pump_pressure(flow: float, pump: Rows) -> float:
    """What the pump gives at a flow [Pa], straight between the points of its curve; nothing beyond the last."""
    for n in range(1, pump.shape[0]):
        before, after = pump[n - 1], pump[n]
        if flow <= after.flow:
            part = (flow - before.flow) / (after.flow - before.flow)
            given: float = before.pressure + part * (after.pressure - before.pressure)
            return given
    return -math.inf


@routine
def surplus(
    flow: float, f: Rows, control: Rows, stage: Rows, vessel: Rows, probe: Rows, pump: Rows, pulled: float,
) -> float:  # fmt: skip
    """Pressure that the pump has left over at a service flow, past the train, its pipes and the delivery [Pa]."""
    c = control[0]
    left: float = pump_pressure(flow + pulled, pump) - c.delivery - c.other_loss * flow * flow
    for k in range(stage.shape[0]):
        p = stage[k]
        if p.serving > 0:
            left -= share_flow(k, p.through - c.service + flow, f, stage, vessel, probe)
    return left


@routine
def pumped(
    asked: float, ahead: int, f: Rows, control: Rows, stage: Rows, vessel: Rows, probe: Rows, pump: Rows,
) -> float:  # fmt: skip
    """The most of a service flow that the pump drives through the train with the beds in `probe`: halved to it."""
    pulled = stage[0].through - control[0].service
    if surplus(asked, f, control, stage, vessel, probe, pump, pulled) >= 0.0:
        return asked
    low, high = 0.0, asked
    for _ in range(PUMP_HALVINGS):
        middle = 0.5 * (low + high)
        if surplus(middle, f, control, stage, vessel, probe, pump, pulled) >= 0.0:
            low = middle
        else:
            high = middle
    return low
