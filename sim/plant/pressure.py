"""The pressure of a vessel across a piece: bounds first, the cells only when a bound is not enough."""

import math

from hydraulics.compiled import law, routine
from hydraulics.headloss import square_law_loss
from sim.plant.bed import bed_pressure, carry, read_bed, signal
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
def bound_holds(i: int, target: float, f: Rows, line: Tables) -> bool:
    """Whether vessel i with the resistance of its bound stays below a target [Pa] of its gauge, with no new peak."""
    s = line.vessel[i]
    bed, valve = bed_pressure(i, s.bound_viscous, s.bound_inertial, s.flow, f, line), square_law_loss(s.valve, s.flow)
    return bool(bed + s.seen * valve < target and bed + valve <= s.peak_pressure)


@law
def bound_signal(i: int, f: Rows, line: Tables) -> float:
    """What the gauge of vessel i reads at most [Pa] with any load pending that its bound covers."""
    s = line.vessel[i]
    return signal(i, s.bound_viscous, s.bound_inertial, s.flow, f, line)


@law
def within_bound(i: int, target: float, f: Rows, line: Tables) -> bool:
    """Whether this piece cannot bring vessel i to a target: resistance only grows with load. If not, its end is read.

    Leaves in leg.peaks whether it may set a new peak. Looks past the piece first, so that one reading serves many;
    not past where the cells are brought up to date, for a reading there takes several times as long. Looks at the end
    of the piece where that says too much, or did the last time, or the end has been read anyway. The step ahead
    doubles while it serves and shrinks when it does not. A mat grows beside the bed and is not bounded.
    """
    s, g = line.vessel[i], line.leg[i]
    load, g.peaks = g.bed_in, 0
    if s.mat_share > 0.0:
        g.peaks = 1
        return False
    if load <= s.bound_load and bound_holds(i, target, f, line):
        return True
    ahead = min(load + s.bound_step, s.settle_load * s.ultimate / s.capture)
    if s.close == 0 and load != s.bound_load and ahead > load and load != s.read_load:
        bound_bed(i, ahead, line)
        if bound_holds(i, target, f, line):
            s.bound_step = min(2.0 * s.bound_step, s.settle_load)
            return True
        s.bound_step = max(0.25 * s.bound_step, NEAREST * s.settle_load)
    g.peaks = 1
    if load <= s.bound_load and bound_signal(i, f, line) < target:
        return True
    if s.bound_load != load:
        bound_bed(i, load, line)
    s.close = 0 if bound_holds(i, target, f, line) else 1
    return bound_signal(i, f, line) < target


@law
def know_bed(i: int, line: Tables) -> None:
    """Have the resistance of bed i as it is now as its bound."""
    if line.vessel[i].mat_share > 0.0 or line.vessel[i].bound_load != line.vessel[i].pending:
        bound_bed(i, line.vessel[i].pending, line)


@routine
def read_ahead(tau: float, i: int, f: Rows, line: Tables) -> float:
    """The gauge of vessel i [Pa] `tau` seconds into the piece, spikes apart."""
    s = line.vessel[i]
    carry(tau, f, s.stage, line.probe, line.trial, line.tried, line)
    mat = s.mat + s.mat_share * line.probe[i].offered / s.area
    read_bed(i, line.probe[i].bed_in, mat, line.vessel, line.layer, line.cell, line.probe, line.control)
    return signal(i, line.probe[i].viscous, line.probe[i].inertial, s.flow, f, line)


@routine
def rising_since(t: float, end: float, i: int, target: float, f: Rows, line: Tables) -> float:
    """When the gauge of vessel i came to a target [Pa] without falling below since; nan if it ends below it.

    The crossing within the piece by bracketed false position, to ROOT_SECONDS or to ROOT_RELATIVE of the target.
    """
    s = line.vessel[i]
    # Without a mat the end was read when the bound did not hold.
    high = read_ahead(end - t, i, f, line) if s.mat_share > 0.0 else bound_signal(i, f, line)
    if high < target:
        return math.nan
    know_bed(i, line)
    low = bound_signal(i, f, line)
    if low >= target:
        return t if math.isnan(s.above_since) else s.above_since
    left, right, below, above, side = 0.0, end - t, low - target, high - target, 0
    for step in range(ROOT_STEPS):
        if right - left <= ROOT_SECONDS or above <= ROOT_RELATIVE * target:
            break
        tau = next_guess(step, left, right, below, above)
        gap = read_ahead(tau, i, f, line) - target
        if abs(gap) <= ROOT_RELATIVE * target:
            return t + tau
        left, right, below, above, side = narrowed(left, right, below, above, side, tau, gap)
    return t + right


@law
def note_peak(i: int, f: Rows, line: Tables) -> None:
    """Raise the peak of vessel i to its differential pressure at the end of a piece that has been committed."""
    s = line.vessel[i]
    read_bed(i, s.pending, s.mat, line.vessel, line.layer, line.cell, line.probe, line.control)
    bed = bed_pressure(i, line.probe[i].viscous, line.probe[i].inertial, s.flow, f, line)
    pressure = bed + square_law_loss(s.valve, s.flow)
    if pressure > s.peak_pressure:
        s.peak_pressure, s.close = pressure, 1
