"""The pressure of a vessel across a piece: bounds first, the cells only when a bound is not enough.

At one flow in one water the pressure only rises, so the peak of many such pieces is that of the last of them: it is
owed until flow or water change, then noted with the bed as it is.
"""

import math

from hydraulics.compiled import law, routine
from hydraulics.headloss import square_law_loss
from sim.plant.bed import bed_pressure, carry, is_read, read_bed, signal
from sim.plant.bracket import ROOT_SECONDS, ROOT_STEPS, narrowed, next_guess
from sim.plant.layout import Rows, Tables

ROOT_RELATIVE = 1e-10  # of the set point: a signal this close to it counts as there
NEAREST = 1e-3  # of the settle load, the most that a bound looks past a piece: the least


@law
def bound_bed(i: int, load: float, line: Tables) -> None:
    """Have the resistance of bed i with `load` pending as the bound of all lesser loads."""
    s = line.vessel[i]
    read_bed(i, load, s.mat, line.vessel, line.layer, line.cell, line.probe, line.control)
    s.bound_load, s.bound_viscous, s.bound_inertial = load, line.probe[i].viscous, line.probe[i].inertial
    s.bound_blocked = line.probe[i].blocked


@law
def ceiling(i: int, line: Tables) -> float:
    """What vessel i may not pass without a new peak [Pa]; inf while one is owed anyway."""
    peak: float = line.vessel[i].peak_pressure
    return math.inf if line.vessel[i].owed_flow > 0.0 else peak


@law
def headroom(i: int, target: float, viscous: float, inertial: float, f: Rows, line: Tables) -> float:
    """How far vessel i with this resistance stays below a target of its gauge and below its ceiling [Pa]."""
    s = line.vessel[i]
    bed, valve = bed_pressure(i, viscous, inertial, s.flow, f, line), square_law_loss(s.valve, s.flow)
    return float(min(target - (bed + s.seen * valve), ceiling(i, line) - (bed + valve)))


@law
def holds(i: int, target: float, viscous: float, inertial: float, f: Rows, line: Tables) -> bool:
    """Whether vessel i with this resistance stays below a target [Pa] of its gauge and within its ceiling."""
    s = line.vessel[i]
    bed, valve = bed_pressure(i, viscous, inertial, s.flow, f, line), square_law_loss(s.valve, s.flow)
    return bool(bed + s.seen * valve < target and bed + valve <= ceiling(i, line))


@law
def bound_holds(i: int, target: float, f: Rows, line: Tables) -> bool:
    """Whether `holds` is true of the bound of vessel i."""
    return holds(i, target, line.vessel[i].bound_viscous, line.vessel[i].bound_inertial, f, line)


@law
def bound_signal(i: int, load: float, f: Rows, line: Tables) -> float:
    """What the gauge of vessel i reads at most with `load` pending [Pa], by the bound that covers it."""
    s = line.vessel[i]
    if load <= s.bound_load:
        return signal(i, s.bound_viscous, s.bound_inertial, s.flow, f, line)
    return signal(i, s.far_viscous, s.far_inertial, s.flow, f, line)


@law
def look_ahead(i: int, load: float, target: float, f: Rows, line: Tables) -> float:
    """The load pending at which to read bed i next, so that the reading bounds this `load` and more [g/m2].

    Where the chord from the last bound to a reading that said too much runs out of headroom: resistance mostly grows
    faster and faster, so that there it holds. Without such a reading, a step ahead, but not past where the cells are
    brought up to date: a reading there takes several times as long.
    """
    s = line.vessel[i]
    if s.far_load <= load:
        return max(float(min(load + s.bound_step, s.settle_load * s.ultimate / s.capture)), load)
    if s.bound_load == -math.inf or s.bound_load >= load:
        return load
    near = headroom(i, target, s.bound_viscous, s.bound_inertial, f, line)
    far = headroom(i, target, s.far_viscous, s.far_inertial, f, line)
    if near <= 0.0 or far >= near:
        return load
    return max(float(s.bound_load + (s.far_load - s.bound_load) * near / (near - far)), load)


@law
def within_bound(i: int, target: float, f: Rows, line: Tables) -> bool:
    """Whether this piece cannot bring vessel i to a target: resistance only grows with load. If not, its end is read.

    Leaves in leg.peaks whether it may set a new peak. Looks past the piece first, so that one reading serves many;
    where that says too much, or the end has been read anyway, at the end. The step ahead doubles while it serves and
    shrinks when it does not. A reading that said too much is kept as the far one: it may do at a lower flow, or for
    the target alone. A mat grows beside the bed and is not bounded.
    """
    s, g = line.vessel[i], line.leg[i]
    load, g.peaks = g.bed_in, 0
    if s.mat_share > 0.0:
        g.peaks = 1
        return False
    if load <= s.bound_load and bound_holds(i, target, f, line):
        return True
    if load <= s.far_load and holds(i, target, s.far_viscous, s.far_inertial, f, line):
        return True
    if load != s.bound_load:
        ahead = look_ahead(i, load, target, f, line)
        if ahead > load and not is_read(i, load, line):
            bound_bed(i, ahead, line)
            if bound_holds(i, target, f, line):
                s.bound_step = min(2.0 * s.bound_step, s.settle_load)
                return True
            s.bound_step = max(0.25 * s.bound_step, NEAREST * s.settle_load)
            s.far_load, s.far_viscous, s.far_inertial = s.bound_load, s.bound_viscous, s.bound_inertial
    g.peaks = 1
    if load <= max(s.bound_load, s.far_load) and bound_signal(i, load, f, line) < target:
        return True
    if s.bound_load != load:
        bound_bed(i, load, line)
    return bool(bound_signal(i, load, f, line) < target)


@law
def know_bed(i: int, line: Tables) -> None:
    """Have the resistance of bed i as it is now as its bound."""
    if line.vessel[i].mat_share > 0.0 or line.vessel[i].bound_load != line.vessel[i].pending:
        bound_bed(i, line.vessel[i].pending, line)


@routine
def read_ahead(tau: float, i: int, f: Rows, line: Tables) -> float:
    """The gauge of vessel i [Pa] `tau` seconds into the piece, spikes apart."""
    s = line.vessel[i]
    carry(tau, f, s.stage, line.probe, line.trial, line)
    mat = s.mat + s.mat_share * line.probe[i].offered / s.area
    read_bed(i, line.probe[i].bed_in, mat, line.vessel, line.layer, line.cell, line.probe, line.control)
    return signal(i, line.probe[i].viscous, line.probe[i].inertial, s.flow, f, line)


@routine
def rising_since(t: float, end: float, i: int, target: float, f: Rows, line: Tables) -> float:
    """When the gauge of vessel i came to a target [Pa] without falling below since; nan if it ends below it.

    The crossing within the piece by bracketed false position, to ROOT_SECONDS or to ROOT_RELATIVE of the target.
    """
    s = line.vessel[i]
    if s.mat_share > 0.0:
        high = read_ahead(end - t, i, f, line)
    else:  # read when the bound did not hold
        high = signal(i, s.bound_viscous, s.bound_inertial, s.flow, f, line)
    if high < target:
        return math.nan
    know_bed(i, line)
    low = signal(i, s.bound_viscous, s.bound_inertial, s.flow, f, line)
    if low >= target:
        return t if math.isnan(s.above_since) else s.above_since
    left, right, below, above, side = 0.0, end - t, low - target, high - target, 0
    for _ in range(ROOT_STEPS):
        if right - left <= ROOT_SECONDS or above <= ROOT_RELATIVE * target:
            break
        tau = next_guess(left, right, below, above)
        gap = read_ahead(tau, i, f, line) - target
        if abs(gap) <= ROOT_RELATIVE * target:
            return t + tau
        left, right, below, above, side = narrowed(left, right, below, above, side, tau, gap)
    return t + right


@law
def owe_peak(i: int, line: Tables) -> None:
    """Have the peak of vessel i at this flow in this water to be noted before either changes, spikes apart."""
    line.vessel[i].owed_flow, line.vessel[i].owed_row = line.vessel[i].flow, line.control[0].row


@law
def still_owed(i: int, line: Tables) -> bool:
    """Whether the peak of vessel i that is owed can wait: this piece delivers at the same flow of the same water."""
    before, now = line.forcing[line.vessel[i].owed_row], line.forcing[line.control[0].row]
    same_water = before.viscosity == now.viscosity and before.density == now.density
    return bool(line.control[0].service > 0.0 and line.vessel[i].flow == line.vessel[i].owed_flow and same_water)


@law
def note_peak(i: int, line: Tables) -> None:
    """Raise the peak of vessel i to the differential pressure that is owed, with the bed as it is now."""
    s = line.vessel[i]
    if s.owed_flow > 0.0:
        read_bed(i, s.pending, s.mat, line.vessel, line.layer, line.cell, line.probe, line.control)
        viscous, inertial = line.probe[i].viscous, line.probe[i].inertial
        bed = bed_pressure(i, viscous, inertial, s.owed_flow, line.forcing[s.owed_row], line)
        s.peak_pressure = max(s.peak_pressure, bed + square_law_loss(s.valve, s.owed_flow))
        s.owed_flow = 0.0
