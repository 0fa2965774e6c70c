"""What the filtered water of a stage was like across a piece: time over the limit, dirty water sent on."""

from hydraulics.compiled import law
from sim.plant.bed import baseline, carry, clean_outlet
from sim.plant.bracket import ROOT_SECONDS, ROOT_STEPS, narrowed, next_guess
from sim.plant.layout import Rows

ROOT_RELATIVE = 1e-9  # of the threshold: a concentration this close to it counts as there
EXCESS_SHARE = 0.01  # of the limit: dirtier than this above the baseline counts as dirty water sent on


@law
def outlet_gap(
    tau: float, over_baseline: bool, threshold: float, k: int, flow: float, f: Rows, stage: Rows, layer: Rows,
    cell: Rows, probe: Rows,
) -> float:  # fmt: skip
    """Outlet concentration of stage k above a threshold, or its excess over the baseline above it [g/m3]."""
    carry(tau, flow, f.solids, k, stage, layer, cell, probe)
    conc: float = probe[k].end_filterable + probe[k].end_fine
    if over_baseline:
        baseline(k, stage, layer, cell, probe)
        conc -= probe[k].base_end
    return conc - threshold


@law
def outlet_crossing(
    dt: float, first: float, last: float, over_baseline: bool, threshold: float, k: int, flow: float, f: Rows,
    stage: Rows, layer: Rows, cell: Rows, probe: Rows,
) -> float:  # fmt: skip
    """Seconds into the piece at which `outlet_gap`, `first` at its start and `last` at its end, changes sign."""
    sign = 1.0 if last > 0.0 else -1.0
    left, right, below, above, side = 0.0, dt, sign * first, sign * last, 0
    for _ in range(ROOT_STEPS):
        if right - left <= ROOT_SECONDS or above <= below:
            break
        tau = next_guess(left, right, below, above)
        gap = sign * outlet_gap(tau, over_baseline, threshold, k, flow, f, stage, layer, cell, probe)
        if abs(gap) <= ROOT_RELATIVE * threshold:
            return tau
        left, right, below, above, side = narrowed(left, right, below, above, side, tau, gap)
    return right


@law
def count_over_limit(
    dt: float, k: int, flow: float, f: Rows, stage: Rows, layer: Rows, cell: Rows, leg: Rows, probe: Rows,
) -> None:  # fmt: skip
    """Add to stage k the seconds of this piece with filtered solids above its limit, and the unavoidable part."""
    s, g = stage[k], leg[k]
    last = g.end_filterable + g.end_fine - s.limit
    if last <= 0.0 and s.filtered >= s.displaced and s.slough_left <= 0.0:
        return  # the outlet only rises within such a piece
    first = outlet_gap(0.0, False, s.limit, k, flow, f, stage, layer, cell, probe)
    over = dt if first > 0.0 and last > 0.0 else 0.0
    if (first > 0.0) != (last > 0.0):
        turn = outlet_crossing(dt, first, last, False, s.limit, k, flow, f, stage, layer, cell, probe)
        over = dt - turn if last > 0.0 else turn
    s.breach_total += over
    s.run_over += over
    if over > 0.0 and clean_outlet(k, stage, layer, leg, flow * dt) > s.limit:
        s.unavoidable_total += over


@law
def count_dirty_return(
    dt: float, k: int, flow: float, f: Rows, stage: Rows, layer: Rows, cell: Rows, leg: Rows, probe: Rows,
) -> None:  # fmt: skip
    """Add what stage k sends on above a rinsed, ripened bed, until that excess falls below a share of its limit.

    Its peak is the dirtiest water at the return and at the ends of the pieces that follow.
    """
    s, g = stage[k], leg[k]
    least = EXCESS_SHARE * s.limit
    if s.treated <= 0.0 and outlet_gap(0.0, True, least, k, flow, f, stage, layer, cell, probe) > 0.0:
        s.dirty_peak = max(s.dirty_peak, probe[k].end_filterable + probe[k].end_fine)
    baseline(k, stage, layer, cell, leg)
    last = g.end_filterable + g.end_fine - g.base_end - least
    if last >= 0.0:
        s.dirty_peak = max(s.dirty_peak, g.end_filterable + g.end_fine)
        s.dirty_total += g.out_filterable + g.out_fine - g.base_out
        s.dirty_time_total += dt
        return
    s.dirty = 0
    first = outlet_gap(0.0, True, least, k, flow, f, stage, layer, cell, probe)
    if first > 0.0:
        turn = outlet_crossing(dt, first, last, True, least, k, flow, f, stage, layer, cell, probe)
        outlet_gap(turn, True, least, k, flow, f, stage, layer, cell, probe)
        s.dirty_total += probe[k].out_filterable + probe[k].out_fine - probe[k].base_out
        s.dirty_time_total += turn
