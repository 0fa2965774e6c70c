"""What the filtered water was like across a piece: time over a limit, dirty water that a vessel sent on."""

import math

from hydraulics.compiled import law, routine
from sim.plant.bed import baseline, carry, clean_outlet, loaded_outlet
from sim.plant.bracket import ROOT_SECONDS, ROOT_STEPS, narrowed, next_guess
from sim.plant.layout import FREE, SERVICE, SOLUTE_COUNT, Rows, Tables
from sim.plant.solutes import oxidant_of, sent_on

ROOT_RELATIVE = 1e-9  # of the threshold: a concentration this close to it counts as there
EXCESS_SHARE = 0.01  # of the limit: dirtier than this above the baseline counts as dirty water sent on
# Whose outlet: all that a stage sends on, one vessel's excess over its baseline, of a stage solute n (SOLUTE + n).
STAGE, VESSEL, SOLUTE = 0, 1, 2


@routine
def outlet_gap(tau: float, whose: int, i: int, threshold: float, f: Rows, line: Tables) -> float:
    """Outlet concentration above a threshold [g/m3]: of stage i, of vessel i over its baseline, or of a solute."""
    k = line.vessel[i].stage if whose == VESSEL else i
    carry(tau, f, k, line.probe, line.trial, line.tried, line)
    conc: float = line.trial[k + 1].out_end
    if whose >= SOLUTE:
        conc = sent_on(k, whose - SOLUTE, line.trial, line.tried)
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
    for step in range(ROOT_STEPS):
        if right - left <= ROOT_SECONDS or above <= below:
            break
        tau = next_guess(step, left, right, below, above)
        gap = sign * outlet_gap(tau, whose, i, threshold, f, line)
        if abs(gap) <= ROOT_RELATIVE * threshold:
            return tau
        left, right, below, above, side = narrowed(left, right, below, above, side, tau, gap)
    return right


@routine
def watch_outlet(t: float, end: float, i: int, f: Rows, line: Tables) -> None:
    """From when to when what the stage of vessel i sends on is at the mark of its monitor or above it, into its leg.

    As everywhere here it crosses a mark once in a piece at most.
    """
    s, g = line.vessel[i], line.leg[i]
    k, whose, mark = s.stage, s.monitor_of, s.monitor_set
    conc: float = line.water[k + 1].out_end
    if whose >= SOLUTE:
        conc = sent_on(k, whose - SOLUTE, line.water, line.dissolved)
    first, last = outlet_gap(0.0, whose, k, mark, f, line), conc - mark
    turn = 0.0 if first >= 0.0 else end - t
    if first * last < 0.0:
        turn = outlet_crossing(end - t, first, last, whose, k, mark, f, line)
    g.over_since, g.over_until = math.nan, math.inf
    if first >= 0.0:
        g.over_since = t if math.isnan(s.over_since) else s.over_since
        if last < 0.0:
            g.over_until = t + turn
    elif last >= 0.0:
        g.over_since = t + turn


@law
def count_over_limit(dt: float, k: int, f: Rows, line: Tables) -> None:
    """Add to stage k the seconds of this piece with filtered solids above its limit, and the unavoidable part.

    Where that could have been avoided, note which filter runs have broken through.
    """
    p = line.stage[k]
    last = line.water[k + 1].out_end - p.limit
    if last <= 0.0 and only_rises(p.first_vessel, p.end_vessel, line):
        return
    first = outlet_gap(0.0, STAGE, k, p.limit, f, line)
    over = dt if first > 0.0 and last > 0.0 else 0.0
    if (first > 0.0) != (last > 0.0):
        turn = outlet_crossing(dt, first, last, STAGE, k, p.limit, f, line)
        over = dt - turn if last > 0.0 else turn
    if over <= 0.0:
        return
    p.over_limit_total += over
    flow, best = p.around, p.around * (line.water[k].filterable + line.water[k].fine)
    for i in range(p.first_vessel, p.end_vessel):
        s = line.vessel[i]
        if s.mode == SERVICE:
            s.run_over += over
            flow += s.flow
            best += s.flow * clean_outlet(i, s.flow * dt, line) if s.flow > 0.0 else 0.0
    if best > p.limit * flow:
        p.unavoidable_total += over
    elif last > 0.0:
        note_breakthrough(k, line.leg, line.water, line)
    else:
        outlet_gap(over, STAGE, k, p.limit, f, line)
        note_breakthrough(k, line.probe, line.trial, line)


@law
def only_rises(first: int, end: int, line: Tables) -> bool:
    """Whether what vessels `first` to `end` - 1 send on does not fall within a piece.

    It does not unless a wash or a fall in capacity left something that is on its way out.
    """
    rises = True
    for i in range(first, end):
        s = line.vessel[i]
        rises = rises and not (s.mode == SERVICE and (s.filtered < s.displaced or s.slough_left > 0.0))
    return rises


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
def count_dirty_water(dt: float, i: int, f: Rows, line: Tables) -> None:
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
    if last <= 0.0 and only_rises(0, line.vessel.shape[0], line):
        return
    first = outlet_gap(0.0, STAGE, k, u.feed_limit, f, line)
    if first > 0.0 and last > 0.0:
        u.over_time += dt
    elif first > 0.0 or last > 0.0:
        turn = outlet_crossing(dt, first, last, STAGE, k, u.feed_limit, f, line)
        u.over_time += dt - turn if last > 0.0 else turn


@routine
def count_solutes(dt: float, k: int, f: Rows, line: Tables) -> None:
    """Add to stage k the seconds of this piece in which what it sends on is over the limit of each solute."""
    settled = line.control[0].falls == 0  # then no outlet falls within a piece
    for i in range(line.stage[k].end_vessel):
        settled = settled and line.vessel[i].filtered >= line.vessel[i].displaced
    for n in range(SOLUTE_COUNT):
        m = line.met[k * SOLUTE_COUNT + n]
        if math.isnan(m.limit):
            continue
        conc = sent_on(k, n, line.water, line.dissolved)
        if conc > m.peak:
            m.peak = conc
            if n == FREE:
                m.peak_in = oxidant_of(k, True, line.dissolved)
        last = conc - m.limit
        if last <= 0.0 and settled:
            continue
        first = outlet_gap(0.0, SOLUTE + n, k, m.limit, f, line)
        over = dt if first > 0.0 and last > 0.0 else 0.0
        if (first > 0.0) != (last > 0.0):
            turn = outlet_crossing(dt, first, last, SOLUTE + n, k, m.limit, f, line)
            over = dt - turn if last > 0.0 else turn
        m.over_total += over
        if over > 0.0:
            note_spent(k, n, m.limit, f, line)


@routine
def note_spent(k: int, n: int, limit: float, f: Rows, line: Tables) -> None:
    """Note which filter runs of stage k have broken through: its beds as these runs began would keep the limit.

    That is of vessels from which the last wash is displaced.
    """
    p, whole = line.stage[k], True
    for i in range(p.first_vessel, p.end_vessel):
        s = line.vessel[i]
        whole = whole and (s.mode != SERVICE or s.broken == 1 or s.filtered < s.displaced)
    if whole:
        return
    swap_fresh(k, line)
    if outlet_gap(0.0, SOLUTE + n, k, limit, f, line) <= 0.0:
        for i in range(p.first_vessel, p.end_vessel):
            s = line.vessel[i]
            if s.mode == SERVICE and s.filtered >= s.displaced:
                s.broken = 1
    swap_fresh(k, line)


@law
def swap_fresh(k: int, line: Tables) -> None:
    """Exchange what the beds of stage k have taken up for what they had as their runs began; twice: nothing."""
    for i in range(line.stage[k].first_vessel, line.stage[k].end_vessel):
        for u in range(line.vessel[i].first_uptake, line.vessel[i].end_uptake):
            c = line.uptake[u]
            c.used, c.fresh = c.fresh, c.used
