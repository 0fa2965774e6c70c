"""What goes from a bed: media and capacity to take up, for good; part of its area, while mudballs close it.

Each may happen at any moment, in service or in a wash. What is lost is lost evenly: through every layer, and of what
is used and free alike.
"""

import math

from hydraulics.compiled import law
from sim.plant.bed import forget_bed, settle
from sim.plant.layout import BACKWASH, SOLUTE_COUNT, Tables
from sim.plant.washing import EFFECTIVE, bring_up, lay_evenly, shear_parts


@law
def lose_media(i: int, share: float, line: Tables) -> None:
    """Take a share of every layer of vessel i away; what that part holds goes to drain. The vessel's water stays."""
    s, left = line.vessel[i], 1.0 - share
    ready(i, line)
    s.spilt_total += share * (s.area * deposit_of(i, line) + s.locked)
    s.locked *= left
    s.media_left *= left
    s.new_viscous *= left
    s.new_inertial *= left
    for n in range(s.first_layer, s.end_layer):
        line.layer[n].depth *= left
        for j in range(line.layer[n].first_cell, line.layer[n].end_cell):
            c = line.cell[j]
            c.node *= left
            c.filling *= left
            c.viscous *= left
            c.inertial *= left
    for n in range(s.first_part, s.end_part):
        line.part[n].depth *= left
    scale_deposit(i, left, line)
    for u in range(s.first_uptake, s.end_uptake):
        line.uptake[u].depth *= left
        scale_uptake(u, left, line)
        for n in range(SOLUTE_COUNT):
            t = line.taken[u * SOLUTE_COUNT + n]
            line.portion[i * SOLUTE_COUNT + n].drain_total += share * (s.area * t.held + t.locked)
            t.held *= left
            t.lost *= left
            t.locked *= left
            t.elute *= left
    renew(i, line)


@law
def lose_capacity(i: int, share: float, line: Tables) -> None:
    """Take a share of its capacity from everything that takes up solutes in vessel i; what that held stays in the bed
    until a regeneration frees it."""
    for u in range(line.vessel[i].first_uptake, line.vessel[i].end_uptake):
        line.uptake[u].capacity *= 1.0 - share
        line.uptake[u].capacity_left *= 1.0 - share
        scale_uptake(u, 1.0 - share, line)


@law
def mudball(i: int, share: float, line: Tables) -> None:
    """Have a share of the area of vessel i, below 1, carry no water, with all that is in it.

    Where that is less than before the part comes back: its mud goes to drain, the rest holds what it did, over more
    area, and what takes up solutes has used the mean of both parts.
    """
    s = line.vessel[i]
    ready(i, line)
    before, after = s.area, s.whole_area * (1.0 - share)
    closed, back, spread = max(before - after, 0.0), 0.0, 1.0
    if after > before:
        back, spread = (after - before) / (s.whole_area - before), before / after
    s.spilt_total += back * s.locked
    s.locked += closed * (deposit_of(i, line) + s.mat) - back * s.locked
    s.area = after
    s.mat *= spread
    scale_deposit(i, spread, line)
    for u in range(s.first_uptake, s.end_uptake):
        c = line.uptake[u]
        c.used, c.locked = spread * c.used + back * c.locked / after, c.locked * (1.0 - back) + closed * c.used
        for n in range(SOLUTE_COUNT):
            t = line.taken[u * SOLUTE_COUNT + n]
            t.held, t.locked = spread * t.held + back * t.locked / after, t.locked * (1.0 - back) + closed * t.held
    renew(i, line)


@law
def ready(i: int, line: Tables) -> None:
    """Bring the cells of vessel i up to date: in a wash, too, they hold what the bed does."""
    bring_up(i, line)
    if line.vessel[i].mode == BACKWASH:
        lay_evenly(i, line)


@law
def renew(i: int, line: Tables) -> None:
    """Take up what vessel i captures, resists and is cleaned by anew."""
    s = line.vessel[i]
    forget_bed(i, line)
    settle(i, s.capture, s.ultimate, s.bed_viscosity, line.vessel, line.layer, line.cell, line.control)
    if s.factor_flow != EFFECTIVE:
        s.factor_flow = math.nan
        if s.mode == BACKWASH:
            shear_parts(i, s.wash_flow, line.forcing[line.control[0].row], line)


@law
def deposit_of(i: int, line: Tables) -> float:
    """What the cells of bed i hold [g/m2]."""
    found = 0.0
    for n in range(line.vessel[i].first_layer, line.vessel[i].end_layer):
        found += line.cell[line.layer[n].end_cell - 1].deposit
    return found


@law
def scale_deposit(i: int, factor: float, line: Tables) -> None:
    """Multiply what bed i holds per area, in its cells and as its washes count it."""
    s = line.vessel[i]
    for n in range(s.first_layer, s.end_layer):
        for j in range(line.layer[n].first_cell, line.layer[n].end_cell):
            line.cell[j].deposit *= factor
    for n in range(s.first_part, s.end_part):
        p = line.part[n]
        p.base_total *= factor
        p.base_firm *= factor
        p.loose *= factor
        p.firm *= factor


@law
def scale_uptake(u: int, factor: float, line: Tables) -> None:
    """Multiply the equivalents that uptake u has used, and gets back from a regeneration under way."""
    c = line.uptake[u]
    c.used *= factor
    c.fouled *= factor
    c.fresh *= factor
    c.locked *= factor
    c.restore *= factor
