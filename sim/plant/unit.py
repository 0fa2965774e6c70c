"""The unit downstream and its tank: on and off between two levels, held, starved; level and ledger of the product."""

import math

from hydraulics.compiled import law
from sim.plant.layout import Tables


@law
def switch_unit(line: Tables) -> float:
    """Start or stop the unit where the level is at its marks; the flow that it draws if it can [m3/s]."""
    u = line.unit[0]
    if u.running == 1 and u.level >= u.stop_above:
        u.running = 0
    elif u.running == 0 and u.level <= u.start_below:
        u.running = 1
    return float(u.feed_flow) if u.running == 1 and u.held == 0 else 0.0


@law
def asked_flow(line: Tables) -> float:
    """The service flow that the unit, or the demand where there is none, asks of the train at this moment [m3/s]."""
    c = line.control[0]
    asked: float = switch_unit(line) if line.unit[0].exists == 1 else line.forcing[c.row].flow
    return asked if c.power == 1 else 0.0


@law
def unheld_flow(line: Tables) -> float:
    """The flow that the unit would draw if nothing held it [m3/s], its start and stop as they stand."""
    return float(line.unit[0].feed_flow) if line.unit[0].running == 1 else 0.0


@law
def note_start(t: float, asked: float, service: float, line: Tables) -> None:
    """Count a start of the unit, or that it finds no water; a start brings its spike to every gauge."""
    u = line.unit[0]
    draws, starves = service > 0.0, asked > 0.0 and service <= 0.0
    if draws and u.drawing == 0:
        u.starts += 1
        for k in range(line.stage.shape[0]):
            line.stage[k].spike_until = t + line.stage[k].start_length
    if starves and u.starved == 0:
        u.starves += 1
    u.drawing, u.starved = draws, starves


@law
def level_end(t: float, end: float, demand: float, service: float, line: Tables) -> float:
    """The first of `end` and of when the level comes to its next mark [s]."""
    u = line.unit[0]
    net = u.recovery * service - demand
    u.due = math.inf
    if net > 0.0:
        u.aim, u.due = u.stop_above, t + max(u.stop_above - u.level, 0.0) / net
    elif net < 0.0 and u.running == 0 and u.level > u.start_below:
        u.aim, u.due = u.start_below, t + (u.start_below - u.level) / net
    elif net < 0.0 and u.level > 0.0:
        u.aim, u.due = 0.0, t - u.level / net
    due: float = u.due
    return min(end, due)


@law
def run_unit(t: float, end: float, demand: float, service: float, lacking: float, line: Tables) -> None:
    """Make a piece true for the unit and its tank; a demand that an empty tank cannot meet is unmet.

    `lacking`: feed [m3/s] that washes keep from the unit. Its product is missed by the tank until that is full, and
    the demand not met meanwhile, up to as much, is so because of washing.
    """
    u, c, dt = line.unit[0], line.control[0], end - t
    product = u.recovery * service
    delivered = product if u.level <= 0.0 and product < demand else demand
    if end >= u.due:
        u.level = u.aim
    else:
        u.level += (product - delivered) * dt
    u.product_total += product * dt
    u.fed_total += service * dt
    missed, withheld = (demand - delivered) * dt, u.withheld + u.recovery * lacking * dt
    by_washing = min(missed, withheld)
    c.unmet_total += missed
    c.unmet_by_washing_total += by_washing
    u.withheld = max(min(withheld - by_washing, u.stop_above - u.level), 0.0)
    if u.drawing == 1:
        u.run_time += dt
    if u.held > 0:
        u.held_time += dt
    if u.starved == 1:
        u.starved_time += dt
