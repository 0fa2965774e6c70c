"""The pressure of a stage across a piece: bounds first, the cells only when a bound is not enough."""

import math

from hydraulics.compiled import law
from hydraulics.headloss import square_law_loss
from sim.plant.bed import bed_pressure, carry, read_bed, signal
from sim.plant.bracket import ROOT_SECONDS, ROOT_STEPS, narrowed, next_guess
from sim.plant.layout import Rows

ROOT_RELATIVE = 1e-10  # of the set point: a signal this close to it counts as there
FARTHEST, NEAREST = 1.0, 1e-3  # of the settle load: how far past a piece a bound looks at most and at least


@law
def bound_bed(k: int, load: float, stage: Rows, layer: Rows, cell: Rows, probe: Rows, control: Rows) -> None:
    """Have the resistance of bed k with `load` pending as the bound of all lesser loads."""
    s = stage[k]
    read_bed(k, load, s.mat, stage, layer, cell, probe, control)
    s.bound_load, s.bound_viscous, s.bound_inertial = load, probe[k].viscous, probe[k].inertial
    s.bound_blocked = probe[k].blocked


@law
def bound_holds(k: int, flow: float, f: Rows, stage: Rows) -> bool:
    """Whether the bound of stage k stays below its set point and sets no new peak at this flow."""
    s = stage[k]
    bed = bed_pressure(k, s.bound_viscous, s.bound_inertial, flow, f, stage)
    valve = square_law_loss(stage[k].valve, flow)
    return bool(bed + stage[k].seen * valve < s.pressure_set and bed + valve <= s.peak_pressure)


@law
def within_bound(
    k: int, flow: float, f: Rows, stage: Rows, layer: Rows, cell: Rows, leg: Rows, probe: Rows, control: Rows,
) -> bool:  # fmt: skip
    """Whether this piece can neither trip stage k nor set a new peak: the resistance only grows with the load.

    Looks past the piece first, so that one reading serves many; where that says too much, at its end. The distance
    doubles while it serves and shrinks when it does not. A mat grows beside the bed and is not bounded.
    """
    s, g = stage[k], leg[k]
    if stage[k].mat_share > 0.0:
        return False
    if g.bed_in > s.bound_load:
        bound_bed(k, g.bed_in + s.bound_step, stage, layer, cell, probe, control)
        s.bound_step = min(2.0 * s.bound_step, FARTHEST * s.settle_load)
    if bound_holds(k, flow, f, stage):
        return True
    if s.bound_load == g.bed_in:
        return False
    s.bound_step = max(0.25 * s.bound_step, NEAREST * s.settle_load)
    bound_bed(k, g.bed_in, stage, layer, cell, probe, control)
    return bound_holds(k, flow, f, stage)


@law
def know_bed(k: int, stage: Rows, layer: Rows, cell: Rows, probe: Rows, control: Rows) -> None:
    """Have the resistance of bed k as it is now as its bound."""
    if stage[k].mat_share > 0.0 or stage[k].bound_load != stage[k].pending:
        bound_bed(k, stage[k].pending, stage, layer, cell, probe, control)


@law
def read_ahead(
    tau: float, k: int, flow: float, f: Rows, stage: Rows, layer: Rows, cell: Rows, probe: Rows, control: Rows,
) -> float:  # fmt: skip
    """The gauge of stage k [Pa] `tau` seconds into the piece."""
    carry(tau, flow, f.solids, k, stage, layer, cell, probe)
    mat = stage[k].mat + stage[k].mat_share * probe[k].offered / stage[k].area
    read_bed(k, probe[k].bed_in, mat, stage, layer, cell, probe, control)
    return signal(k, probe[k].viscous, probe[k].inertial, flow, f, stage)


@law
def rising_since(
    t: float, end: float, k: int, flow: float, f: Rows, stage: Rows, layer: Rows, cell: Rows, probe: Rows,
    control: Rows,
) -> float:  # fmt: skip
    """When the signal of stage k came to its set point without falling below since; nan if it ends below it.

    The crossing within the piece by bracketed false position, to ROOT_SECONDS or to ROOT_RELATIVE of the set point.
    """
    s = stage[k]
    target = s.pressure_set
    if stage[k].mat_share > 0.0:
        high = read_ahead(end - t, k, flow, f, stage, layer, cell, probe, control)
    else:  # read when the bound did not hold
        high = signal(k, s.bound_viscous, s.bound_inertial, flow, f, stage)
    if high < target:
        return math.nan
    know_bed(k, stage, layer, cell, probe, control)
    low = signal(k, s.bound_viscous, s.bound_inertial, flow, f, stage)
    if low >= target:
        return t if math.isnan(s.above_since) else s.above_since
    left, right, below, above, side = 0.0, end - t, low - target, high - target, 0
    for _ in range(ROOT_STEPS):
        if right - left <= ROOT_SECONDS or above <= ROOT_RELATIVE * target:
            break
        tau = next_guess(left, right, below, above)
        gap = read_ahead(tau, k, flow, f, stage, layer, cell, probe, control) - target
        if abs(gap) <= ROOT_RELATIVE * target:
            return t + tau
        left, right, below, above, side = narrowed(left, right, below, above, side, tau, gap)
    return t + right


@law
def note_peak(k: int, flow: float, f: Rows, stage: Rows, layer: Rows, cell: Rows, probe: Rows, control: Rows) -> None:
    """Raise the peak of stage k to its whole differential pressure as it is now."""
    s = stage[k]
    know_bed(k, stage, layer, cell, probe, control)
    bed = bed_pressure(k, s.bound_viscous, s.bound_inertial, flow, f, stage)
    s.peak_pressure = max(s.peak_pressure, bed + square_law_loss(stage[k].valve, flow))
