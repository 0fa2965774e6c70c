"""The line of water across pieces of constant forcing: leaps to whatever comes first, commits only whole pieces.

A piece has one flow, one feed and one capture factor per vessel. It ends at the next change of weather or demand, at
a boundary in volume filtered since a wash, when sloughed deposit has left, when a tank comes to a mark, when a spike
begins or ends, where shared flows have drifted too far, at the caller's `until`, or at a trip.
A piece that would end after `stop` is not committed: stopping there and going on later gives the same bits.
"""

import math

from hydraulics.capture import coefficient_at_rate, ultimate_deposit_at_rate
from hydraulics.compiled import law, routine
from sim.plant.bed import carry, settle, slough
from sim.plant.layout import (
    BACKWASH,
    MONITOR_TRIP,
    PRESSURE_TRIP,
    REACHED,
    REGENERANT,
    SERVICE,
    STOPPED,
    STUCK,
    VOLUME_TRIP,
    Rows,
    Tables,
)
from sim.plant.leak import commit_leak, leaking
from sim.plant.outlet import count_dirty_water, count_feed_over, count_over_limit, count_solutes, watch_outlet
from sim.plant.pressure import bound_signal, note_peak, read_ahead, rising_since, within_bound
from sim.plant.route import any_washes, open_stages, route, share_drift, unwashed_service
from sim.plant.solutes import commit_meetings, commit_solutes, fade, wash_solutes
from sim.plant.spikes import set_spikes, spike_end
from sim.plant.switch import run_switch, surely_off
from sim.plant.unit import asked_flow, level_end, note_start, run_unit, unheld_flow
from sim.plant.washing import flush_piece, hold_anew, wash_piece

VOLUME_RELATIVE = 1e-12
NEAR_PIECE = 900.0  # s: longest piece of a signal near the set point of a built switch
STALL_LIMIT = 100  # pieces in a row without clock movement
SHORTEST, LONGEST_CUT, CUT_SHORT = 0.02, 0.5, 0.8  # of a piece whose shared flows drift too far; aim below the limit
BRIEF = 1.0  # s


@law
def prepare(line: Tables) -> None:
    """Set the piece's capture factors and bring coefficients to its water; shed deposit where a higher flow lowered
    the capacity."""
    now = line.forcing[line.control[0].row].viscosity
    for i in range(line.vessel.shape[0]):
        s = line.vessel[i]
        if s.flow <= 0.0:
            continue
        v = s.flow / s.area
        ripe = coefficient_at_rate(1.0, v, s.reference_rate, exponent=s.rate_exponent)
        line.leg[i].ripe_capture = line.probe[i].ripe_capture = ripe
        capture = ripe * line.edge[s.edge].ripening if s.edge < s.end_edge else ripe
        ultimate = 1.0
        if s.slough_exponent > 0.0:
            ultimate = ultimate_deposit_at_rate(1.0, v, s.reference_rate, exponent=s.slough_exponent)
        viscosity = now if s.follows_water == 1 else s.bed_viscosity
        unripe = s.dirty == 1 and capture != ripe  # the baseline then starts from the cells
        if (
            capture != s.capture
            or ultimate != s.ultimate
            or viscosity != s.bed_viscosity
            or unripe
            or s.pending * s.capture > s.settle_load * s.ultimate
        ):
            falls = ultimate < s.ultimate
            settle(i, capture, ultimate, viscosity, line.vessel, line.layer, line.cell, line.control)
            if falls:
                shed = slough(i, line) * s.area
                settle(i, capture, ultimate, viscosity, line.vessel, line.layer, line.cell, line.control)
                if shed > 0.0:
                    s.slough_solids += shed
                    s.slough_left = s.bed_water
                    s.slough_total += shed


@law
def piece_end(t: float, end: float, line: Tables) -> float:
    """The first of `end` and the vessels' own boundaries in volume [s]."""
    for i in range(line.vessel.shape[0]):
        s = line.vessel[i]
        if s.flow > 0.0:
            if s.edge < s.end_edge:
                end = min(end, t + (line.edge[s.edge].filtered - s.filtered) / s.flow)
            if s.slough_left > 0.0:
                end = min(end, t + s.slough_left / s.flow)
    return max(end, t)


@law
def carry_within_drift(t: float, end: float, f: Rows, line: Tables) -> float:
    """Carry the water to `end`, or to an earlier end at which no shared flow has drifted past its limit [s].

    A piece of BRIEF is never cut: where deposit has just sloughed the flows are off from its very beginning.
    """
    c = line.control[0]
    last = line.stage.shape[0] - 1
    carry(end - t, f, last, line.leg, line.water, line.dissolved, line)
    span = end - t
    while (c.shared == 1 or line.pump.shape[0] > 0) and span > BRIEF:
        drift = share_drift(span, f, line)
        if not drift > c.share_limit:
            break
        span = max(span * min(max(CUT_SHORT * c.share_limit / drift, SHORTEST), LONGEST_CUT), BRIEF)
        end = t + span
        carry(end - t, f, last, line.leg, line.water, line.dissolved, line)
    return end


@law
def carry_to_switch(t: float, end: float, f: Rows, line: Tables) -> float:
    """The piece's end [s], drawn in where a built switch comes near its set point: its signal is then a parabola."""
    for i in range(line.vessel.shape[0]):
        s, p = line.vessel[i], line.stage[line.vessel[i].stage]
        if p.sample > 0.0 and s.mode == SERVICE and s.flow > 0.0:
            least = surely_off(switch_target(i, line), p) - p.spike
            span = end - t
            while span > NEAR_PIECE and not within_bound(i, least, f, line):
                span = max(0.5 * span, NEAR_PIECE)
                end = t + span
                carry(end - t, f, line.stage.shape[0] - 1, line.leg, line.water, line.dissolved, line)
    return end


@law
def find_trip(t: float, end: float, f: Rows, line: Tables) -> tuple[float, int, int]:
    """The first trip within [t, end]: its time, kind and vessel; the time is inf where there is none.

    Leaves in leg.since when each signal last rose to its set point: nan when it is below in the end, -inf when a
    bound has shown that it stays below.
    """
    best, kind, who = math.inf, REACHED, -1
    for i in range(line.vessel.shape[0]):
        s, g, p = line.vessel[i], line.leg[i], line.stage[line.vessel[i].stage]
        if s.mode != SERVICE:
            continue
        if s.monitor_set < math.inf:
            watch_outlet(t, end, i, f, line)
            due = max(t, g.over_since + s.monitor_hold) if g.over_since <= end else math.inf
            if due <= end and due < g.over_until and due < best:
                best, kind, who = due, MONITOR_TRIP, i
        if s.flow <= 0.0:
            continue
        if s.volume_set < math.inf:
            due = t + max(s.volume_set - s.treated, 0.0) / s.flow
            if due <= end and due < best:
                best, kind, who = due, VOLUME_TRIP, i
        target = switch_target(i, line)
        if p.sample > 0.0:
            due = switch_due(t, end, i, target, f, line)
            if due < best:
                best, kind, who = due, PRESSURE_TRIP, i
            continue
        target -= p.spike
        g.since = -math.inf
        if not within_bound(i, target, f, line):
            g.since = math.nan
            if target < math.inf:
                g.since = rising_since(t, end, i, target, f, line)
                if not math.isnan(g.since):
                    due = max(g.since + s.hold, t)
                    if due <= end and due < best:
                        best, kind, who = due, PRESSURE_TRIP, i
    return best, kind, who


@law
def switch_target(i: int, line: Tables) -> float:
    """The set point of vessel i [Pa]; inf while a sister washes and that inhibits the switch."""
    p = line.stage[line.vessel[i].stage]
    target: float = line.vessel[i].pressure_set
    return math.inf if p.inhibit == 1 and p.serving < p.sharing else target


@routine
def switch_due(t: float, end: float, i: int, target: float, f: Rows, line: Tables) -> float:
    """When the built switch of vessel i trips within the piece, inf if it does not; the signals into its leg."""
    s, g, p = line.vessel[i], line.leg[i], line.stage[line.vessel[i].stage]
    least = surely_off(target, p) - p.spike
    g.span = end - t
    if within_bound(i, least, f, line) and s.switched == 0:
        g.since = -math.inf
        g.first = g.middle = g.last = bound_signal(i, f, line)
    else:
        g.since = math.nan
        g.first = read_ahead(0.0, i, f, line)
        g.middle = read_ahead(0.5 * (end - t), i, f, line)
        g.last = read_ahead(end - t, i, f, line)
    return run_switch(t, end, i, g, p.spike, target, False, line.stage, line.vessel, line.noise)


@law
def met_already(t: float, line: Tables) -> tuple[int, int]:
    """The first vessel whose trigger is met where the water stands, and the kind of its trip; -1 where there is none.

    Two triggers met at one instant trip one after the other; a volume counts as treated within VOLUME_RELATIVE.
    """
    for i in range(line.vessel.shape[0]):
        s = line.vessel[i]
        if s.monitor_set < math.inf and s.over_since + s.monitor_hold <= t:
            return i, MONITOR_TRIP
        if s.treated >= s.volume_set * (1.0 - VOLUME_RELATIVE):
            return i, VOLUME_TRIP
        if s.pressure_set < math.inf and s.above_since + s.hold <= t:
            return i, PRESSURE_TRIP
    return -1, REACHED


@law
def judge(dt: float, f: Rows, line: Tables) -> None:
    """Count limits and dirty water of a piece that delivers, before it is committed."""
    for k in range(line.stage.shape[0]):
        p = line.stage[k]
        if p.serving > 0 and not math.isnan(p.limit):
            count_over_limit(dt, k, f, line)
            for i in range(p.first_vessel, p.end_vessel):
                if line.vessel[i].dirty == 1 and line.vessel[i].mode == SERVICE and line.vessel[i].flow > 0.0:
                    count_dirty_water(dt, i, f, line)
        if p.serving > 0 and line.control[0].dissolves == 1:
            count_solutes(dt, k, f, line)
    if not math.isnan(line.unit[0].feed_limit):
        count_feed_over(dt, f, line)


@law
def commit(t: float, end: float, f: Rows, line: Tables) -> None:
    """Make the piece true: beds, vessel water and ledger of whatever had flow."""
    service, dt = line.control[0].service, end - t
    drawn = line.stage[0].around
    for i in range(line.vessel.shape[0]):
        if line.vessel[i].flow > 0.0:
            commit_vessel(i, t, end, line)
            drawn += line.vessel[i].flow + leaking(i, line) if line.vessel[i].stage == 0 else 0.0
    line.control[0].fed_total += drawn * dt * f.solids
    line.control[0].dosed_total += drawn * dt * f.dosed * line.stage[0].dose_factor
    for k in range(line.stage.shape[0]):
        p, ahead = line.stage[k], line.water[k]
        p.split_volume += (p.through - p.around) * dt
        if p.around > 0.0:
            p.round_volume += p.around * dt
            p.round_solids += p.around * dt * (ahead.filterable + ahead.fine)
            p.bypass_total += service * (p.around / p.through) * dt * (ahead.filterable + ahead.fine)
            p.bypass_time += dt if service > 0.0 else 0.0
    if line.control[0].dissolves == 1:
        commit_meetings(dt, line)
    out = line.water[line.stage.shape[0]]
    line.unit[0].fed_solids += service * dt * (out.filterable + out.fine)
    line.control[0].delivered_total += service * dt


@law
def commit_vessel(i: int, t: float, end: float, line: Tables) -> None:
    """Make the piece true for a vessel with flow."""
    s, g = line.vessel[i], line.leg[i]
    volume = s.flow * (end - t)
    if line.control[0].dissolves == 1:
        commit_solutes(
            i, g, line.stage, line.vessel, line.uptake, line.taken, line.portion, line.dissolved, line.probe
        )
    s.in_total += g.in_filterable + g.in_fine
    s.load += g.offered
    s.mat += (s.mat_share * g.offered + g.grown) / s.area
    s.pending, s.passed = g.bed_in, g.bed_out
    if s.filtered < s.displaced:
        s.vessel_solids += g.in_filterable + g.in_fine + g.formed - g.offered - g.fine_out - g.remnant_out
        s.gone_vessel, s.gone_pores = g.gone_vessel, g.gone_pores
    if s.mode == SERVICE:
        s.out_total += g.out_filterable + g.out_fine
        s.served_total += volume
        s.treated += volume
        leak = leaking(i, line) * (end - t)
        if leak > 0.0:
            commit_leak(i, leak, line)
    else:
        s.drain_total += g.out_filterable + g.out_fine
        s.rinse_total += volume
        s.slow_total += volume if s.slow == 1 else 0.0
    if s.edge < s.end_edge and t + (line.edge[s.edge].filtered - s.filtered) / s.flow <= end:
        s.filtered = line.edge[s.edge].filtered
        s.edge += 1
    else:
        s.filtered += volume
    if s.slough_left > 0.0:
        s.slough_solids -= g.slough_out
        if t + s.slough_left / s.flow <= end:  # what rounding leaves stays in the vessel's water
            s.vessel_solids += s.slough_solids
            s.slough_solids, s.slough_left = 0.0, 0.0
        else:
            s.slough_left -= volume


@law
def remember(t: float, end: float, f: Rows, line: Tables) -> None:
    """Note the signal, its peak and the water of every vessel after a committed piece."""
    delivers = line.control[0].service > 0.0
    for i in range(line.vessel.shape[0]):
        s, g = line.vessel[i], line.leg[i]
        p = line.stage[s.stage]
        serves = delivers and s.mode == SERVICE
        over = serves and s.monitor_set < math.inf and g.over_since <= end and end < g.over_until
        s.over_since = g.over_since if over else math.nan
        if not serves or s.flow <= 0.0:
            if p.sample > 0.0:
                g.first, g.middle, g.last, g.span = 0.0, 0.0, 0.0, end - t
                run_switch(t, end, i, g, 0.0, switch_target(i, line), True, line.stage, line.vessel, line.noise)
                s.switched = 0  # without flow nothing starts a wash, an error of reading neither
            break_hold(i, line)
            continue
        if p.sample > 0.0:
            run_switch(t, end, i, g, p.spike, switch_target(i, line), True, line.stage, line.vessel, line.noise)
        elif -math.inf < g.since <= end:
            s.above_since = g.since
            if p.spike <= 0.0:
                s.crossed = 1
        else:
            break_hold(i, line)
        if g.peaks == 1:
            note_peak(i, f, line)
        if end > t:
            volume = s.flow * (end - t)
            s.last_flow, s.last_row = s.flow, line.control[0].row
            s.last_filterable, s.last_fine = g.in_filterable / volume, g.in_fine / volume


@law
def break_hold(i: int, line: Tables) -> None:
    """The signal of vessel i is not above its set point; a crossing was missed if anybody still waited for it."""
    s = line.vessel[i]
    s.above_since = math.nan
    if s.pressure_set < math.inf:
        s.missed += s.crossed
    s.crossed = 0


@law
def trip(i: int, kind: int, line: Tables) -> None:
    """Take back what vessel i waited for, and note what kind of trip it was."""
    s, p = line.vessel[i], line.stage[line.vessel[i].stage]
    s.volume_set, s.pressure_set, s.monitor_set = math.inf, math.inf, math.inf
    if kind == PRESSURE_TRIP:
        s.early += 1 - s.crossed
        if p.serving < p.sharing:
            p.cascades += 1
    hold_anew(i, line)


@law
def advance(t: float, until: float, stop: float, line: Tables) -> tuple[float, int, int]:
    """Carry the line from t to `until`, or to the first trip on the way [s].

    Returns the time of the last commit, how it ended (a code of `layout`) and the vessel that tripped (-1: none).
    """
    c, u = line.control[0], line.unit[0]
    c.calls += 1
    while True:
        if open_stages(line) == line.stage.shape[0]:  # after every piece, so that stopping in between trips nothing
            who, kind = met_already(t, line)
            if who >= 0:
                trip(who, kind, line)
                return t, kind, who
        if t >= until:
            return t, REACHED, -1
        if c.pieces >= c.most_pieces:
            return t, STOPPED, -1
        while line.forcing[c.row].end <= t and c.row < line.forcing.shape[0] - 1:
            c.row += 1
        f = line.forcing[c.row]
        end = min(f.end, until) if f.end > t else until  # the last row also holds after its end
        if end == math.inf:
            return t, STOPPED, -1
        asked = asked_flow(line)
        whole = 0.0
        if c.power == 1 and any_washes(line):
            wanted = unheld_flow(line) if u.exists == 1 else f.flow
            whole = unwashed_service(wanted, f, line)
        moves = route(asked, False, f, line)
        lacking = max(whole - c.service, 0.0)
        delivers = c.service > 0.0
        if u.exists == 1:
            note_start(t, asked, c.service, line)
            end = level_end(t, end, f.flow, c.service, line)
        set_spikes(t, line)
        end = spike_end(t, end, line)
        kind, who = REACHED, -1
        if c.dissolves == 1:
            fade(t, line)
        if moves:
            prepare(line)
            end = piece_end(t, end, line)
            end = carry_within_drift(t, end, f, line)
            if delivers:
                end = carry_to_switch(t, end, f, line)
                due, kind, who = find_trip(t, end, f, line)
                if who >= 0 and due < end:
                    end = due
                    carry(end - t, f, line.stage.shape[0] - 1, line.leg, line.water, line.dissolved, line)
        if end > stop:
            return t, STOPPED, -1
        if moves:
            if delivers and end > t:
                judge(end - t, f, line)
            commit(t, end, f, line)
        for i in range(line.vessel.shape[0]):
            mode = line.vessel[i].mode
            if c.dissolves == 1 and mode in (BACKWASH, REGENERANT):
                wash_solutes(
                    i, end - t, c.row, line.stage, line.vessel, line.uptake, line.taken, line.portion, line.dissolved,
                    line.brought, line.probe,
                )  # fmt: skip
            if mode == BACKWASH:
                wash_piece(i, end - t, f.solids, line)
            elif mode == REGENERANT:
                flush_piece(i, end - t, line)
        remember(t, end, f, line)
        c.demand_total += f.flow * (end - t)
        if u.exists == 1:
            run_unit(t, end, f.flow, c.service, lacking, line)
        else:
            c.unmet_total += (f.flow - c.service) * (end - t)
            c.unmet_by_washing_total += lacking * (end - t)
        c.pieces += 1
        c.stalled = c.stalled + 1 if end <= t else 0
        t = end
        if who >= 0:
            trip(who, kind, line)
            return t, kind, who
        if c.stalled >= STALL_LIMIT:
            return t, STUCK, -1
