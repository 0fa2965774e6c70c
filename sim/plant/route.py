"""Which way the water goes in a piece: service through every stage, rinses and pulled washes through those before.

Vessels of a stage share its flow so that they lose the same pressure; a pump gives what the train lets through.
"""

import math

from hydraulics.compiled import law, routine
from hydraulics.powers import square
from sim.plant.bed import read_bed
from sim.plant.layout import BACKWASH, REGENERANT, RINSE, SERVICE, STANDBY, Rows, Tables
from sim.plant.leak import taken_in

SHARE_STEPS, SHARE_RELATIVE = 50, 1e-12
SPLIT_AIM, SPLIT_LONGER = 0.5, 2.0  # of the limit, up to where a split stands; most by which that is put farther off
PUMP_HALVINGS = 60


@law
def open_stages(line: Tables) -> int:
    """How many stages from the first on let water through: up to one with no vessel in service and no way round."""
    stages: int = line.stage.shape[0]
    for k in range(stages):
        if line.stage[k].serving == 0 and line.stage[k].passes_raw == 0:
            return k
    return stages


@law
def route(asked: float, anew: bool, f: Rows, line: Tables) -> bool:
    """Set every vessel's flow for a service flow that is asked for; whether any water moves.

    What a rinse or a pulled wash draws passes the stages before its own. Behind a closed stage nothing moves.
    `anew`: to look at, without what is kept from piece to piece.
    """
    c, stages, ahead = line.control[0], line.stage.shape[0], open_stages(line)
    c.asked, c.service = asked, asked if ahead == stages else 0.0
    set_flows(c.service, ahead, line)
    if line.pump.shape[0] > 0 and c.service > 0.0:
        read_beds(f, line)
        c.service = pumped(c.service, ahead, f, line)
        set_flows(c.service, ahead, line)
    moves: bool = c.service > 0.0
    for k in range(stages):
        p = line.stage[k]
        if c.shared == 1 and p.serving > 1 and p.through > p.around:
            divide_flow(k, anew, f, line)
        moves = moves or p.through > 0.0
        for i in range(p.first_vessel, p.end_vessel):
            s = line.vessel[i]
            moves = moves or s.flow > 0.0 or (s.mode == BACKWASH and s.pulls == 1 and s.drawn > 0.0)
    return moves


@routine
def divide_flow(k: int, anew: bool, f: Rows, line: Tables) -> None:
    """Share the flow of stage k between its vessels in service; a split that stands (`share_drift`) is kept."""
    p = line.stage[k]
    through = p.through - p.around
    stands = through == p.split_flow and f.viscosity == p.split_viscosity and p.split_volume < p.split_reach
    if anew or not stands:
        read_stage_beds(k, line)
        share_flow(k, through, f, line.stage, line.vessel, line.probe)
        if not anew:
            p.split_flow, p.split_viscosity, p.split_volume = through, f.viscosity, 0.0
    for i in range(p.first_vessel, p.end_vessel):
        s = line.vessel[i]
        if s.mode == SERVICE:
            s.flow = line.probe[i].share if anew or not stands else s.split
            if not anew:
                s.split = s.flow


@law
def any_washes(line: Tables) -> bool:
    """Whether any vessel is off line for a wash."""
    washes = False
    for i in range(line.vessel.shape[0]):
        washes = washes or (line.vessel[i].mode != SERVICE and line.vessel[i].mode != STANDBY)
    return washes


@routine
def unwashed_service(asked: float, f: Rows, line: Tables) -> float:
    """What the train would deliver of a flow that is asked for [m3/s] were no vessel off line for a wash.

    All of it without a pump; with one, what its curve leaves with every stage in service and the beds as they are at
    this moment. To be called before `route`, which sets the flows again.
    """
    if line.pump.shape[0] == 0 or asked <= 0.0:
        return asked
    for i in range(line.vessel.shape[0]):
        s, p = line.vessel[i], line.stage[line.vessel[i].stage]
        line.probe[i].mode = s.mode
        if s.mode != SERVICE and s.mode != STANDBY:
            s.mode = STANDBY
            if p.serving < p.sharing:
                s.mode = SERVICE
                p.serving += 1
    line.control[0].service = asked
    set_flows(asked, line.stage.shape[0], line)
    read_beds(f, line)
    service = pumped(asked, line.stage.shape[0], f, line)
    for i in range(line.vessel.shape[0]):
        if line.vessel[i].mode == SERVICE and line.probe[i].mode != SERVICE:
            line.stage[line.vessel[i].stage].serving -= 1
        line.vessel[i].mode = line.probe[i].mode
    return service


@law
def set_flows(service: float, ahead: int, line: Tables) -> None:
    """Flows of all vessels, those in service of a stage sharing evenly; `ahead`: stages that are open.

    What a stage leaks is drawn through those before it, in proportion to what it sends on.
    """
    pull, gain = 0.0, 1.0
    for back in range(line.stage.shape[0]):
        k = line.stage.shape[0] - 1 - back
        p = line.stage[k]
        p.through, p.gain = gain * service + pull, gain
        p.around = p.through if p.serving == 0 else p.past * p.through
        gain, pull = taken_in(p, gain), taken_in(p, pull)
        for i in range(p.first_vessel, p.end_vessel):
            s = line.vessel[i]
            s.flow, s.drawn = 0.0, 0.0
            if s.mode == SERVICE:
                s.flow = (p.through - p.around) / p.serving
            elif s.mode == RINSE or s.mode == BACKWASH or s.mode == REGENERANT:
                through_stages = s.mode == RINSE or (s.mode == BACKWASH and s.pulls == 1)
                if k <= ahead or not through_stages:
                    s.drawn = s.wash_flow
                if s.mode == RINSE:
                    s.flow = s.drawn
                if through_stages:
                    pull += s.drawn


@law
def at_service(p: Rows, service: float, line: Tables) -> float:
    """What stage p would send on at another service flow [m3/s]."""
    flow: float = p.through - p.gain * line.control[0].service + p.gain * service
    return flow


@routine
def read_stage_beds(k: int, line: Tables) -> None:
    """The resistance of every bed in service of stage k as it is now, into `probe`."""
    for i in range(line.stage[k].first_vessel, line.stage[k].end_vessel):
        s = line.vessel[i]
        if s.mode == SERVICE:
            read_bed(i, s.pending, s.mat, line.vessel, line.layer, line.cell, line.probe, line.control)


@law
def read_beds(f: Rows, line: Tables) -> None:
    """The resistance of every bed in service, into `probe`."""
    for k in range(line.stage.shape[0]):
        read_stage_beds(k, line)


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
def share_drift(span: float, f: Rows, line: Tables) -> float:
    """By how much the loads in `leg`, of `span` seconds, would change any flow in service, relative to what it is.

    Alone in its stage, a vessel's resistance matters to a pump only. Vessels that share a flow are looked at where
    more would pass them than their split is known to stand for; how far it stands follows from the drift seen then.
    """
    drift = 0.0
    for k in range(line.stage.shape[0]):
        p = line.stage[k]
        for i in range(p.first_vessel, p.end_vessel):
            s = line.vessel[i]
            due = line.pump.shape[0] > 0 or (p.serving > 1 and split_due(p, span))
            if s.mode == SERVICE and s.flow > 0.0 and due:
                mat = s.mat + s.mat_share * line.leg[i].offered / s.area
                read_bed(i, line.leg[i].bed_in, mat, line.vessel, line.layer, line.cell, line.probe, line.control)
    if line.pump.shape[0] > 0 and line.control[0].service > 0.0:
        service = pumped(line.control[0].asked, line.stage.shape[0], f, line)
        drift = abs(service / line.control[0].service - 1.0)
    if line.control[0].shared == 1:
        for k in range(line.stage.shape[0]):
            p = line.stage[k]
            if p.serving > 1 and p.through > p.around and split_due(p, span):
                share_flow(k, p.through - p.around, f, line.stage, line.vessel, line.probe)
                off = 0.0
                for i in range(p.first_vessel, p.end_vessel):
                    if line.vessel[i].mode == SERVICE:
                        off = max(off, abs(line.probe[i].share / line.vessel[i].flow - 1.0))
                aim, passed = SPLIT_AIM * line.control[0].share_limit, p.split_volume + (p.through - p.around) * span
                p.split_reach = passed * (aim / off if off * SPLIT_LONGER > aim else SPLIT_LONGER)
                drift = max(drift, off)
    return drift


@law
def split_due(p: Rows, span: float) -> bool:
    """Whether `span` seconds bring past stage p more than its split is known to stand for."""
    return bool(p.split_volume + (p.through - p.around) * span > p.split_reach)


@law
def pump_pressure(flow: float, line: Tables) -> float:
    """What the pump gives at a flow [Pa], straight between the points of its curve; nothing beyond the last."""
    for n in range(1, line.pump.shape[0]):
        before, after = line.pump[n - 1], line.pump[n]
        if flow <= after.flow:
            part = (flow - before.flow) / (after.flow - before.flow)
            given: float = before.pressure + part * (after.pressure - before.pressure)
            return given
    return -math.inf


@law
def surplus(flow: float, f: Rows, line: Tables) -> float:
    """Pressure that the pump has left over at a service flow, past the train, its pipes and the delivery [Pa]."""
    c = line.control[0]
    first = line.stage[0]
    left: float = pump_pressure(taken_in(first, at_service(first, flow, line)), line)
    left = left - c.delivery - c.other_loss * flow * flow
    for k in range(line.stage.shape[0]):
        p = line.stage[k]
        if p.serving > 0 and p.past < 1.0:
            through = (1.0 - p.past) * at_service(p, flow, line)
            left -= share_flow(k, through, f, line.stage, line.vessel, line.probe)
    return left


@routine
def pumped(asked: float, ahead: int, f: Rows, line: Tables) -> float:
    """The most of a service flow that the pump drives through the train with the beds in `probe`: halved to it."""
    if surplus(asked, f, line) >= 0.0:
        return asked
    low, high = 0.0, asked
    for _ in range(PUMP_HALVINGS):
        middle = 0.5 * (low + high)
        if surplus(middle, f, line) >= 0.0:
            low = middle
        else:
            high = middle
    return low
