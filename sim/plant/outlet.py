"""What the filtered water was like across a piece: time over a limit, dirty water that a vessel sent on."""

from hydraulics.compiled import law, routine
from sim.plant.bed import baseline, carry, clean_outlet, loaded_outlet
from sim.plant.bracket import ROOT_SECONDS, ROOT_STEPS, narrowed, next_guess
from sim.plant.layout import SERVICE, Rows, Tables

ROOT_RELATIVE = 1e-9  # of the threshold: a concentration this close to it counts as there
EXCESS_SHARE = 0.01  # of the limit: dirtier than this above the baseline counts as dirty water sent on
STAGE, VESSEL = 0, 1  # whose outlet: all that a stage sends on, or one vessel's excess over its baseline


@routine
def outlet_gap(tau: float, whose: int, i: int, threshold: float, f: Rows, line: Tables) -> float:
    """Outlet concentration of stage i, or of vessel i above its baseline, above a threshold [g/m3]."""
    k = i if whose == STAGE else line.vessel[i].stage
    carry(tau, f, k, line.probe, line.trial, line)
    conc: float = line.trial[k + 1].out_end
    if whose == VESSEL:
        baseline(i, line.probe, line.trial, line)
        conc = line.probe[i].end_filterable + line.probe[i].end_fine - line.probe[i].base_end
    return conc - threshold


@routine
def outlet_crossing(
    dt: float, first: float, last: float, whose: int, i: int, threshold: float, f: Rows, line: Tables
) -> float:
    """Seconds into the piece at which `outlet_gap`, `first` at its start and `last` at its end, changes sign."""
    sign = 1.0 if last > 0.0 else -1.0
    left, right, below, above, side = 0.0, dt, sign * first, sign * last, 0
    for _ in range(ROOT_STEPS):
        if right - left <= ROOT_SECONDS or above <= below:
            break
        tau = next_guess(left, right, below, above)
        gap = sign * outlet_gap(tau, whose, i, threshold, f, line)
        if abs(gap) <= ROOT_RELATIVE * threshold:
            return tau
        left, right, below, above, side = narrowed(left, right, below, above, side, tau, gap)
    return right


@law
def count_over_limit(dt: float, k: int, f: Rows, line: Tables) -> None:
    """Add to stage k the seconds of this piece with filtered solids above its limit, and the unavoidable part.

    Where that could have been avoided, note which filter runs have broken through.
    """
    p = line.stage[k]
    last = line.water[k + 1].out_end - p.limit
    rising = last <= 0.0  # the outlet only rises within a piece, but for what a wash or a fall in capacity left
    for i in range(p.first_vessel, p.end_vessel):
        s = line.vessel[i]
        if s.mode == SERVICE and (s.filtered < s.displaced or s.slough_left > 0.0):
            rising = False
    if rising:
        return
    first = outlet_gap(0.0, STAGE, k, p.limit, f, line)
    over = dt if first > 0.0 and last > 0.0 else 0.0
    if (first > 0.0) != (last > 0.0):
        turn = outlet_crossing(dt, first, last, STAGE, k, p.limit, f, line)
        over = dt - turn if last > 0.0 else turn
    if over <= 0.0:
        return
    p.breach_total += over
    flow, best = 0.0, 0.0
    for i in range(p.first_vessel, p.end_vessel):
        s = line.vessel[i]
        if s.mode == SERVICE:
            s.run_over += over
            flow += s.flow
            best += s.flow * clean_outlet(i, s.flow * dt, line)
    if best > p.limit * flow:
        p.unavoidable_total += over
    elif last > 0.0:
        note_breakthrough(k, line.leg, line.water, line)
    else:
        outlet_gap(over, STAGE, k, p.limit, f, line)
        note_breakthrough(k, line.probe, line.trial, line)


@law
def note_breakthrough(k: int, leg: Rows, water: Rows, line: Tables) -> None:
    """Note the vessels in service of stage k that are over its limit by what they hold, at the loads of `leg`.

    That is: rinsed and ripened, but with the deposit that it holds, the bed would still send on more than the limit;
    deposit that sloughs counts to that. Deposit only grows, so the last moment over the limit is the one to judge.
    """
    w = water[k]
    for i in range(line.stage[k].first_vessel, line.stage[k].end_vessel):
        s = line.vessel[i]
        if s.mode == SERVICE and s.broken == 0:
            conc = (1.0 - s.mat_share) * w.filterable_end
            conc = loaded_outlet(i, leg[i].bed_in, conc, leg, line) + w.fine_end
            if s.slough_left > 0.0:
                conc += s.slough_solids / s.slough_left
            if conc > line.stage[k].limit:
                s.broken = 1


@law
def count_dirty_return(dt: float, i: int, f: Rows, line: Tables) -> None:
    """Add what vessel i sends on above a rinsed, ripened bed, until that excess falls below a share of its limit.

    Its peak is the dirtiest water at the return and at the ends of the pieces that follow.
    """
    s, g = line.vessel[i], line.leg[i]
    least = EXCESS_SHARE * line.stage[s.stage].limit
    if s.treated <= 0.0 and outlet_gap(0.0, VESSEL, i, least, f, line) > 0.0:
        s.dirty_peak = max(s.dirty_peak, line.probe[i].end_filterable + line.probe[i].end_fine)
    baseline(i, line.leg, line.water, line)
    last = g.end_filterable + g.end_fine - g.base_end - least
    if last >= 0.0:
        s.dirty_peak = max(s.dirty_peak, g.end_filterable + g.end_fine)
        s.dirty_total += g.out_filterable + g.out_fine - g.base_out
        s.dirty_time_total += dt
        return
    s.dirty = 0
    first = outlet_gap(0.0, VESSEL, i, least, f, line)
    if first > 0.0:
        turn = outlet_crossing(dt, first, last, VESSEL, i, least, f, line)
        outlet_gap(turn, VESSEL, i, least, f, line)
        s.dirty_total += line.probe[i].out_filterable + line.probe[i].out_fine - line.probe[i].base_out
        s.dirty_time_total += turn


@routine
def count_feed_over(dt: float, f: Rows, line: Tables) -> None:
    """Add the seconds of this piece in which the unit's feed carries more solids than its own limit."""
    u, k = line.unit[0], line.stage.shape[0] - 1
    last = line.water[k + 1].out_end - u.feed_limit
    first = outlet_gap(0.0, STAGE, k, u.feed_limit, f, line)
    if first > 0.0 and last > 0.0:
        u.over_time += dt
    elif first > 0.0 or last > 0.0:
        turn = outlet_crossing(dt, first, last, STAGE, k, u.feed_limit, f, line)
        u.over_time += dt - turn if last > 0.0 else turn
