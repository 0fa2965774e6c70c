"""What the beds of the line do with a load: closed forms at the outlets, exact steps in the cells.

The outlet needs only the load since the cells were last brought up to date, so pieces pass without a visit to the
cells; `settle` visits them when the capture factors or the water change, `read_bed` when a pressure is wanted.
`carry`, `baseline` and `read_bed` commit nothing; `leg` is scratch. See `layout` for the rows.
"""

import math

from hydraulics.capture import coefficient_in_water, deposit_gain, outlet_share
from hydraulics.compiled import law, routine
from hydraulics.headloss import inertial_factor, narrowed_porosity, square_law_loss, viscous_factor
from hydraulics.rinse import remaining_both
from sim.plant.layout import SERVICE, Rows, Tables
from sim.plant.solutes import bring_raw, meet, offer_solutes, send_on

QUICK_LOAD = 2.0  # dimensionless load b up to which the short form of the exact step keeps its digits


@law
def bed_outlet(
    k: int, load: float, conc: float, capture: float, ultimate: float, line: Tables
) -> tuple[float, float]:
    """Load per area that has left bed k after `load` per area has entered it, and what `conc` leaves as.

    In the short form of `step_factors` where the last node's room is that of this capture factor.
    """
    for i in range(line.vessel[k].first_layer, line.vessel[k].end_layer):
        coefficient, capacity, scale, filled = step_factors(i, load, capture, ultimate, line.layer)
        if coefficient > 0.0:
            c = line.cell[line.layer[i].end_cell - 1]
            if filled <= 0.0 and capture == line.vessel[k].capture:
                conc *= (1.0 - c.room) / (1.0 + c.room * filled)
                load = max(load + scale * math.log1p(c.room * filled), 0.0)
            else:
                free = max(line.layer[i].depth - c.deposit / capacity, 0.0)
                conc *= outlet_share(coefficient * free, coefficient * load / capacity)
                load = max(load - deposit_gain(free, coefficient, capacity, load=load), 0.0)
    return load, conc


@routine
def carry(tau: float, f: Rows, last: int, leg: Rows, water: Rows, dissolved: Rows, line: Tables) -> None:
    """Loads and concentrations at every inlet and outlet of stages 0..last, `tau` seconds into a piece.

    Two kinds of solids travel: filterable ones, which a coagulant's are, and fine ones that pass a bed. The vessels
    in service of a stage mix what they send on with what goes past them; where there is none all goes round. What is
    dissolved travels with them (`solutes`).
    """
    w, dissolves, dosed = water[0], line.control[0].dissolves == 1, f.dosed * line.stage[0].dose_factor
    w.filterable, w.fine, w.filterable_end, w.fine_end = dosed, f.solids, dosed, f.solids
    if dissolves:
        w.iron_share = w.manganese_share = 0.0
        bring_raw(dissolved, line)
    for k in range(last + 1):
        w, ahead, p = water[k], water[k + 1], line.stage[k]
        w.filterable += (1.0 - p.fine_share) * w.fine
        w.filterable_end += (1.0 - p.fine_share) * w.fine_end
        w.fine *= p.fine_share
        w.fine_end *= p.fine_share
        if dissolves:
            meet(k, f, water, dissolved, line.stage)
        flow, filterable, fine, filterable_end, fine_end = 0.0, 0.0, 0.0, 0.0, 0.0
        for i in range(p.first_vessel, p.end_vessel):
            s, g = line.vessel[i], leg[i]
            if s.flow > 0.0:
                carry_vessel(i, s.flow * tau, w, leg, dissolved, line)
                if s.mode == SERVICE:
                    flow += s.flow
                    filterable += g.out_filterable
                    fine += g.out_fine
                    filterable_end += s.flow * g.end_filterable
                    fine_end += s.flow * g.end_fine
        if flow > 0.0:
            if p.around > 0.0:
                flow += p.around
                filterable += p.around * tau * w.filterable
                fine += p.around * tau * w.fine
                filterable_end += p.around * w.filterable_end
                fine_end += p.around * w.fine_end
            ahead.filterable_end, ahead.fine_end = filterable_end / flow, fine_end / flow
            ahead.filterable, ahead.fine = ahead.filterable_end, ahead.fine_end
            if tau > 0.0:
                ahead.filterable, ahead.fine = filterable / (flow * tau), fine / (flow * tau)
        else:
            ahead.filterable, ahead.fine = w.filterable, w.fine
            ahead.filterable_end, ahead.fine_end = w.filterable_end, w.fine_end
        ahead.out_end = ahead.filterable_end + ahead.fine_end
        if dissolves:
            send_on(k, tau, dissolved, line.stage, line.vessel)
            ahead.iron_share, ahead.manganese_share = w.iron_share, w.manganese_share


@law
def carry_vessel(i: int, volume: float, w: Rows, leg: Rows, dissolved: Rows, line: Tables) -> None:
    """What `volume` [m3] of the water ahead of vessel i brings and what leaves the vessel, into its leg.

    After a wash the vessel's water is displaced as tanks in series; sloughed deposit leaves evenly over one pore
    volume.
    """
    s, g = line.vessel[i], leg[i]
    filterable_load, fine_load = w.filterable * volume, w.fine * volume
    filterable, fine = w.filterable_end, w.fine_end
    g.in_filterable, g.in_fine = filterable_load, fine_load
    g.remnant_out, g.slough_out, g.formed, g.formed_end = 0.0, 0.0, 0.0, 0.0
    g.old, g.old_out, g.new, g.kept, g.left = 0.0, 0.0, 1.0, 0.0, 0.0
    extra = 0.0
    if s.filtered < s.displaced:
        kept, g.gone_vessel = remaining_both((s.filtered + volume) / s.vessel_water, s.tanks)
        old = s.vessel_water * (g.gone_vessel - s.gone_vessel)
        if s.bed_water > 0.0:
            g.left, g.gone_pores = remaining_both((s.filtered + volume) / s.bed_water, s.tanks)
            g.old_out = s.bed_water * (g.gone_pores - s.gone_pores)
            g.remnant_out = s.remnant * g.old_out
            extra = s.remnant * g.left
        new = max(1.0 - old / volume, 0.0) if volume > 0.0 else 1.0 - kept
        filterable_load = max(s.remnant * old - g.remnant_out, 0.0) + new * filterable_load
        filterable = max(s.remnant * kept - extra, 0.0) + (1.0 - kept) * filterable
        fine_load *= new
        fine *= 1.0 - kept
        g.old, g.new, g.kept = old, new, kept
    if line.control[0].dissolves == 1:
        offer_solutes(i, volume, leg, dissolved, line.stage, line.vessel, line.uptake, line.taken, line.portion)
    own_load, own_end = filterable_load, filterable
    filterable_load += g.formed
    filterable += g.formed_end
    if s.slough_left > 0.0:
        g.slough_out = s.slough_solids * volume / s.slough_left
        extra += s.slough_solids / s.slough_left
    g.offered, g.fine_out = filterable_load, fine_load
    g.bed_in = s.pending + (1.0 - s.mat_share) * filterable_load / s.area
    g.bed_out, filterable = bed_outlet(i, g.bed_in, (1.0 - s.mat_share) * filterable, s.capture, s.ultimate, line)
    passes = max(g.bed_out - s.passed, 0.0) * s.area
    own = passes * own_share(own_load, g.formed)
    filterable *= own_share(own_end, g.formed_end)
    g.grown = passes - own
    g.out_filterable = own + g.remnant_out + g.slough_out
    g.out_fine, g.end_filterable, g.end_fine = fine_load, filterable + extra, fine


@law
def own_share(came: float, formed: float) -> float:
    """Of the solids offered to a bed the share that came to it; what forms on its grains stays there."""
    return came / (came + formed) if formed > 0.0 else 1.0


@law
def baseline(i: int, leg: Rows, water: Rows, line: Tables) -> None:
    """What vessel i would send on if it were rinsed and ripened, for its inlet: into base_out and base_end."""
    s, g, w = line.vessel[i], leg[i], water[line.vessel[i].stage]
    kept = 1.0 - s.mat_share
    load, conc = s.pending + kept * (g.in_filterable + g.formed) / s.area, kept * (w.filterable_end + g.formed_end)
    load, conc = bed_outlet(i, load, conc, g.ripe_capture, s.ultimate, line)
    g.base_out = (load - s.passed) * s.area * own_share(g.in_filterable, g.formed) + g.in_fine
    g.base_end = conc * own_share(w.filterable_end, g.formed_end) + w.fine_end


@law
def clean_outlet(i: int, volume: float, line: Tables) -> float:
    """Concentration that a just-washed, ripened vessel i would send on for the mean inlet in its leg [g/m3]."""
    s, g = line.vessel[i], line.leg[i]
    depth = 0.0
    for row in range(s.first_layer, s.end_layer):
        depth += line.layer[row].coefficient * g.ripe_capture * line.layer[row].depth
    passing: float = (1.0 - s.mat_share) * g.in_filterable * math.exp(-depth) + g.in_fine
    return passing / volume


@law
def loaded_outlet(i: int, load: float, conc: float, leg: Rows, line: Tables) -> float:
    """What `conc` leaves bed i as with the deposit it holds after `load` per area, were it ripened [g/m3].

    The load is captured as the bed is; what it holds then lets through as its `ripe_capture` has it.
    """
    s = line.vessel[i]
    for row in range(s.first_layer, s.end_layer):
        coefficient, capacity = line.layer[row].coefficient * s.capture, line.layer[row].ultimate * s.ultimate
        if coefficient > 0.0:
            free = max(line.layer[row].depth - line.cell[line.layer[row].end_cell - 1].deposit / capacity, 0.0)
            gain = deposit_gain(free, coefficient, capacity, load=load)
            ripe = line.layer[row].coefficient * leg[i].ripe_capture
            conc *= math.exp(-ripe * max(free - gain / capacity, 0.0))
            load = max(load - gain, 0.0)
    return conc


@law
def step_factors(
    i: int, load: float, capture: float, ultimate: float, layer: Rows
) -> tuple[float, float, float, float]:
    """What the exact step of layer i needs for every node: coefficient [1/m], capacity [g/m3], scale and filled.

    With a node's room 1 - e^-a at hand its gain is -scale ln(1 + room filled), filled = e^-b - 1, which is
    `hydraulics.capture.exchange`. Past a b of QUICK_LOAD that would lose digits: `filled` is then above zero.
    """
    coefficient, capacity = layer[i].coefficient * capture, layer[i].ultimate * ultimate
    if coefficient <= 0.0:
        return coefficient, capacity, 0.0, 0.0
    b = coefficient * load / capacity
    return coefficient, capacity, capacity / coefficient, (math.expm1(-b) if b <= QUICK_LOAD else 1.0)


@law
def node_gain(c: Rows, load: float, coefficient: float, capacity: float, scale: float, filled: float) -> float:
    """Deposit gained above a node while `load` enters its layer [g/m2], from its layer's `step_factors`."""
    if filled <= 0.0:
        return -scale * math.log1p(c.room * filled)
    return deposit_gain(max(c.node - c.deposit / capacity, 0.0), coefficient, capacity, load=load)


@law
def forget_bed(k: int, line: Tables) -> None:
    """Drop all that is known of the resistance of bed k, whose deposit changes otherwise than by capture."""
    line.vessel[k].bound_load = line.vessel[k].read_load = -math.inf
    line.stage[line.vessel[k].stage].split_reach = 0.0


@routine
def settle(
    k: int, capture: float, ultimate: float, viscosity: float, vessel: Rows, layer: Rows, cell: Rows, control: Rows
) -> None:
    """Bring the cells of bed k up to date by one exact step, and ready them for new factors and water [Pa s].

    `room` is 1 - e^-a of each node: its share of capture that is still to be had. What is known of the resistance
    stays true where the factors stay, counted from the new start of the pending load; of the bed as it is, always.
    """
    s = vessel[k]
    control[0].settlings += 1
    load = s.pending
    for i in range(s.first_layer, s.end_layer):
        old_coefficient, old_capacity, scale, filled = step_factors(i, load, s.capture, s.ultimate, layer)
        if viscosity != s.bed_viscosity:
            layer[i].coefficient = coefficient_in_water(
                layer[i].reference, viscosity, s.reference_viscosity, exponent=layer[i].viscosity_exponent
            )
        coefficient, per_capacity = layer[i].coefficient * capture, 1.0 / (layer[i].ultimate * ultimate)
        gain = 0.0
        for j in range(layer[i].first_cell, layer[i].end_cell):
            c = cell[j]
            gain = node_gain(c, load, old_coefficient, old_capacity, scale, filled)
            c.deposit += gain
            c.room = 1.0 - math.exp(-coefficient * max(c.node - c.deposit * per_capacity, 0.0))
        load = max(load - gain, 0.0)
    same = capture == s.capture and ultimate == s.ultimate and viscosity == s.bed_viscosity
    s.bound_load = s.bound_load - s.pending if same or s.bound_load == s.pending else -math.inf
    s.read_load = 0.0 if s.read_load == s.pending else -math.inf
    s.pending, s.passed, s.capture, s.ultimate, s.bed_viscosity = 0.0, 0.0, capture, ultimate, viscosity


@routine
def read_bed(
    k: int, load: float, mat: float, vessel: Rows, layer: Rows, cell: Rows, probe: Rows, control: Rows
) -> None:
    """Resistance of bed k once `load` per area is pending, into `probe`: dp = mu v viscous + rho v^2 inertial.

    viscous in 1/m, inertial without unit. The exact step, with the room of each node at hand. The last reading is
    kept, and the bound's: what ends one piece begins the next, and is asked for more than once in each.
    """
    s, g = vessel[k], probe[k]
    if load == s.bound_load and s.mat_share <= 0.0:
        g.viscous, g.inertial, g.blocked = s.bound_viscous, s.bound_inertial, s.bound_blocked
        return
    if load == s.read_load and mat == s.read_mat:
        g.viscous, g.inertial, g.blocked = s.read_viscous, s.read_inertial, s.read_blocked
        return
    control[0].readings += 1
    s.read_load, s.read_mat = load, mat
    viscous, inertial, blocked, floor = s.mat_resistance * mat * 1e-3, 0.0, 0, s.porosity_floor
    for i in range(s.first_layer, s.end_layer):
        coefficient, capacity, scale, filled = step_factors(i, load, s.capture, s.ultimate, layer)
        gain, above = 0.0, 0.0
        for j in range(layer[i].first_cell, layer[i].end_cell):
            c = cell[j]
            gain = node_gain(c, load, coefficient, capacity, scale, filled)
            below = c.deposit + gain
            here = max(below - above, 0.0)
            above = below
            porosity = narrowed_porosity(c.porosity, here, c.filling, floor=floor)
            if porosity <= floor:
                blocked = 1
            viscous += c.viscous * viscous_factor(porosity) + c.gain * here
            inertial += c.inertial * inertial_factor(porosity)
        load = max(load - gain, 0.0)
    g.viscous, g.inertial, g.blocked = viscous, inertial, blocked
    s.read_viscous, s.read_inertial, s.read_blocked = viscous, inertial, blocked


@law
def bed_pressure(k: int, viscous: float, inertial: float, flow: float, f: Rows, line: Tables) -> float:
    """Differential pressure of bed k [Pa] at `flow`, from its resistance, in the water of forcing row f."""
    v = flow / line.vessel[k].area
    pressure: float = f.viscosity * v * viscous + f.density * v * v * inertial
    return pressure


@law
def signal(k: int, viscous: float, inertial: float, flow: float, f: Rows, line: Tables) -> float:
    """What the gauge of vessel k reads [Pa]: the bed, and the valve where the tap sees it."""
    seen: float = line.vessel[k].seen * square_law_loss(line.vessel[k].valve, flow)
    return bed_pressure(k, viscous, inertial, flow, f, line) + seen


@routine
def slough(k: int, line: Tables) -> float:
    """Shed the deposit of bed k above its capacity, cell by cell downwards; returns what leaves the bed [g/m2].

    What a cell sheds is offered to the cells and layers below it, which take it up as they would from the feed. The
    cells must be up to date.
    """
    forget_bed(k, line)
    shed = 0.0
    for i in range(line.vessel[k].first_layer, line.vessel[k].end_layer):
        capacity = line.layer[i].ultimate * line.vessel[k].ultimate
        coefficient = line.layer[i].coefficient * line.vessel[k].capture
        before, above, top = 0.0, 0.0, 0.0
        for j in range(line.layer[i].first_cell, line.layer[i].end_cell):
            here = line.cell[j].deposit - before
            room = capacity * (line.cell[j].node - top) - here
            before, top = line.cell[j].deposit, line.cell[j].node
            if room < 0.0:
                shed -= room
                here += room
            else:
                gain = deposit_gain(room / capacity, coefficient, capacity, load=shed)
                here += gain
                shed = max(shed - gain, 0.0)
            above += here
            line.cell[j].deposit = above
    return shed
