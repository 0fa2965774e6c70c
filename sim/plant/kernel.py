"""The line of water across pieces of constant forcing: leaps to whatever comes first, commits only whole pieces.

A piece has one flow, one feed and one capture factor per stage. It ends at the next change of weather or demand, at
a boundary in volume filtered since a wash, when sloughed deposit has left, at the caller's `until`, or at a trip.
A piece that would end after `stop` is not committed: stopping there and going on later gives the same bits.
"""

import math

from hydraulics.capture import coefficient_at_rate, ultimate_deposit_at_rate
from hydraulics.compiled import law
from sim.plant.bed import carry, settle, slough
from sim.plant.layout import (
    BACKWASH,
    PRESSURE_TRIP,
    REACHED,
    RINSE,
    SERVICE,
    STOPPED,
    STUCK,
    VOLUME_TRIP,
    Rows,
)
from sim.plant.outlet import count_dirty_return, count_over_limit
from sim.plant.pressure import note_peak, rising_since, within_bound
from sim.plant.washing import wash_piece

VOLUME_RELATIVE = 1e-12
STALL_LIMIT = 100  # pieces in a row without clock movement


@law
def prepare(
    flow: float, last: int, stage: Rows, layer: Rows, cell: Rows, edge: Rows, leg: Rows, probe: Rows, control: Rows,
) -> None:  # fmt: skip
    """Set the piece's capture factors for stages 0..last; shed deposit where a higher flow lowered the capacity."""
    for k in range(last + 1):
        s = stage[k]
        v = flow / s.area
        ripe = coefficient_at_rate(1.0, v, s.reference_rate, exponent=s.rate_exponent)
        leg[k].ripe_capture = probe[k].ripe_capture = ripe
        capture = ripe * edge[s.edge].ripening if s.edge < s.end_edge else ripe
        ultimate = 1.0
        if s.slough_exponent > 0.0:
            ultimate = ultimate_deposit_at_rate(1.0, v, s.reference_rate, exponent=s.slough_exponent)
        unripe = s.dirty == 1 and capture != ripe  # the baseline then starts from the cells
        if (
            capture != s.capture
            or ultimate != s.ultimate
            or unripe
            or s.pending * s.capture > s.settle_load * s.ultimate
        ):
            falls = ultimate < s.ultimate
            settle(k, capture, ultimate, stage, layer, cell, control)
            if falls:
                shed = slough(k, stage, layer, cell) * s.area
                settle(k, capture, ultimate, stage, layer, cell, control)
                if shed > 0.0:
                    s.slough_solids += shed
                    s.slough_left = s.bed_water
                    s.slough_total += shed


@law
def piece_end(t: float, end: float, flow: float, last: int, stage: Rows, edge: Rows) -> float:
    """The first of `end` and the stages' own boundaries in volume [s]."""
    for k in range(last + 1):
        s = stage[k]
        if s.edge < stage[k].end_edge:
            end = min(end, t + (edge[s.edge].filtered - s.filtered) / flow)
        if s.slough_left > 0.0:
            end = min(end, t + s.slough_left / flow)
    return max(end, t)


@law
def find_trip(
    t: float, end: float, flow: float, f: Rows, stage: Rows, layer: Rows, cell: Rows, leg: Rows, probe: Rows,
    control: Rows,
) -> tuple[float, int, int]:  # fmt: skip
    """The first trip within [t, end]: its time, kind and stage; the time is inf where there is none.

    Leaves in leg.since when each signal last rose to its set point: nan when it is below in the end, -inf when a
    bound has shown that it stays below and sets no new peak.
    """
    best, kind, who = math.inf, REACHED, -1
    for k in range(stage.shape[0]):
        s, g = stage[k], leg[k]
        if s.volume_set < math.inf:
            due = t + max(s.volume_set - s.treated, 0.0) / flow
            if due <= end and due < best:
                best, kind, who = due, VOLUME_TRIP, k
        g.since = -math.inf
        if not within_bound(k, flow, f, stage, layer, cell, leg, probe, control):
            g.since = math.nan
            if s.pressure_set < math.inf:
                g.since = rising_since(t, end, k, flow, f, stage, layer, cell, probe, control)
                if not math.isnan(g.since):
                    due = max(g.since + s.hold, t)
                    if due <= end and due < best:
                        best, kind, who = due, PRESSURE_TRIP, k
    return best, kind, who


@law
def met_already(t: float, stage: Rows) -> tuple[int, int]:
    """The first stage whose trigger is met where the water stands, and the kind of its trip; -1 where there is none.

    Two triggers met at one instant trip one after the other; a volume counts as treated within VOLUME_RELATIVE.
    """
    for k in range(stage.shape[0]):
        s = stage[k]
        if s.treated >= s.volume_set * (1.0 - VOLUME_RELATIVE):
            return k, VOLUME_TRIP
        if s.pressure_set < math.inf and s.above_since + s.hold <= t:
            return k, PRESSURE_TRIP
    return -1, REACHED


@law
def judge(dt: float, flow: float, f: Rows, stage: Rows, layer: Rows, cell: Rows, leg: Rows, probe: Rows) -> None:
    """Count limit and dirty water of a piece in service, before it is committed."""
    for k in range(stage.shape[0]):
        if not math.isnan(stage[k].limit):
            count_over_limit(dt, k, flow, f, stage, layer, cell, leg, probe)
            if stage[k].dirty == 1:
                count_dirty_return(dt, k, flow, f, stage, layer, cell, leg, probe)


@law
def commit(t: float, end: float, flow: float, last: int, serving: bool, stage: Rows, edge: Rows, leg: Rows) -> None:
    """Make the piece true: bed, vessel water and ledger of stages 0..last."""
    volume = flow * (end - t)
    for k in range(last + 1):
        s, g = stage[k], leg[k]
        s.in_total += g.in_filterable + g.in_fine
        s.load += g.offered
        s.mat += s.mat_share * g.offered / s.area
        s.pending, s.passed = g.bed_in, g.bed_out
        if s.filtered < s.displaced:
            s.vessel_solids += g.in_filterable + g.in_fine - g.offered - g.fine_out - g.remnant_out
        if serving or k < last:
            s.out_total += g.out_filterable + g.out_fine
            s.served_total += volume
            s.treated += volume
        else:
            s.drain_total += g.out_filterable + g.out_fine
            s.rinse_total += volume
        if s.edge < s.end_edge and t + (edge[s.edge].filtered - s.filtered) / flow <= end:
            s.filtered = edge[s.edge].filtered
            s.edge += 1
        else:
            s.filtered += volume
        if s.slough_left > 0.0:
            s.slough_solids -= g.slough_out
            if t + s.slough_left / flow <= end:  # what rounding leaves stays in the vessel's water
                s.vessel_solids += s.slough_solids
                s.slough_solids, s.slough_left = 0.0, 0.0
            else:
                s.slough_left -= volume


@law
def remember(
    t: float, end: float, flow: float, f: Rows, stage: Rows, layer: Rows, cell: Rows, leg: Rows, probe: Rows,
    control: Rows,
) -> None:  # fmt: skip
    """Note the signal, the peak pressure and the water of a committed piece in service."""
    for k in range(stage.shape[0]):
        s, g = stage[k], leg[k]
        s.above_since = g.since if -math.inf < g.since <= end else math.nan
        if g.since != -math.inf:
            note_peak(k, flow, f, stage, layer, cell, probe, control)
        if end > t:
            volume = flow * (end - t)
            s.last_flow, s.last_row = flow, control[0].row
            s.last_filterable, s.last_fine = g.in_filterable / volume, g.in_fine / volume


@law
def advance(
    t: float, until: float, stop: float, forcing: Rows, control: Rows, stage: Rows, layer: Rows, part: Rows,
    cell: Rows, edge: Rows, leg: Rows, probe: Rows,
) -> tuple[float, int, int]:  # fmt: skip
    """Carry the line from t to `until`, or to the first trip on the way [s].

    Returns the time of the last commit, how it ended (a code of `layout`) and the stage that tripped (-1: none).
    """
    c = control[0]
    c.calls += 1
    serving = c.mode == SERVICE
    last = stage.shape[0] - 1 if serving else c.stage
    if serving:
        who, kind = met_already(t, stage)
        if who >= 0:
            stage[who].volume_set, stage[who].pressure_set = math.inf, math.inf
            return t, kind, who
    while t < until:
        while forcing[c.row].end <= t and c.row < forcing.shape[0] - 1:
            c.row += 1
        f = forcing[c.row]
        flow = f.flow if serving else (c.flow if c.mode == RINSE else 0.0)
        end = min(f.end, until) if f.end > t else until  # the last row also holds after its end
        if end == math.inf:
            return t, STOPPED, -1
        kind, who = REACHED, -1
        if flow > 0.0:
            prepare(flow, last, stage, layer, cell, edge, leg, probe, control)
            end = piece_end(t, end, flow, last, stage, edge)
            carry(end - t, flow, f.solids, last, stage, layer, cell, leg)
            if serving:
                due, kind, who = find_trip(t, end, flow, f, stage, layer, cell, leg, probe, control)
                if who >= 0 and due < end:
                    end = due
                    carry(end - t, flow, f.solids, last, stage, layer, cell, leg)
        if end > stop:
            return t, STOPPED, -1
        if flow > 0.0:
            if serving and end > t:
                judge(end - t, flow, f, stage, layer, cell, leg, probe)
            commit(t, end, flow, last, serving, stage, edge, leg)
            if serving:
                remember(t, end, flow, f, stage, layer, cell, leg, probe, control)
        elif c.mode == BACKWASH:
            wash_piece(end - t, f.solids, control, stage, part, cell)
        if flow <= 0.0 or not serving:
            for k in range(stage.shape[0]):
                stage[k].above_since = math.nan
        c.demand_total += f.flow * (end - t)
        if not serving:
            c.unmet_total += f.flow * (end - t)
        c.pieces += 1
        c.stalled = c.stalled + 1 if end <= t else 0
        t = end
        if who >= 0:
            stage[who].volume_set, stage[who].pressure_set = math.inf, math.inf
            return t, kind, who
        if c.stalled >= STALL_LIMIT:
            return t, STUCK, -1
    return t, REACHED, -1
