"""The tick loop, plainly: cell by cell as the physics is written, compiled whole, triggers as codes.

Everything compiled lies in this one file, so that what is kept on disk is never older than any part of it.
"""

from __future__ import annotations

from collections.abc import Callable
from math import ceil, exp, inf, log
from typing import Any

from .layout import BACKWASH, CALENDAR, PRESSURE, RESERVE, RINSE, VOLUME, Bed, Rule, Series, Wash
from .spec import DAY, EXCESS_SHARE, FULL, Floats

try:
    from numba import njit
except ImportError:  # the same loop then runs plainly, and slowly

    def njit(**_options: Any) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
        return lambda function: function


compiled = njit(cache=True, nogil=True, error_model="numpy", forceinline=True, _nrt=False)
compiled_with_arrays = njit(cache=True, nogil=True, error_model="numpy", forceinline=True, _nrt=True)

# Rows of the cell table: m, 1/m, g/m3, -, g/m3, m, -, -, 1/m2 per g/m3, -, -, 1/m, -. COEFFICIENT is that of the
# water that flows, GIVEN that of the reference water.
DEPTH, COEFFICIENT, ULTIMATE, POROSITY, DENSITY, GRAIN, VISCOUS, INERTIAL, LINEAR, FIRM_SHARE, CLEANING = range(11)
GIVEN, WATER_EXPONENT = 11, 12
# Rows of the bed as it lies, g/m2 in each cell: the deposit, the firm part of it while a backwash lasts, and what the
# last backwash left, in all and firm.
HELD, FIRM, OLD, OLD_FIRM = range(4)
# The state beside that. REMNANT below zero: the water of the last wash has gone. FACTOR, LAST_*: of the last service.
VESSEL, REMNANT, PASSED, DRAG, IMPACT, SINCE_WASH, COUNTED_FROM, BOOKED, HELD_FOR, STEP, LEFT = range(11)
DIRTY, LOADED, RETURNED, BROKEN, FACTOR, LAST_FLOW, LAST_SOLIDS, LAST_ENTRY, BEGAN, LAST_FLOC = range(11, 21)
# Running totals, m3, s, Pa, g, counts, shares.
TREATED, BACKWASHED, RINSED, OFFLINE, UNMET, OVER, PEAK, CAME, SERVED, DRAINED, WASHES, BEGUN = range(12)
UNAVOIDABLE, DIRTY_MASS, DIRTY_TIME, RUN_TIME, RUNS_BROKEN, UNUSED, UNUSED_RUNS, DRAIN_PEAK = range(12, 20)
CUT_BROKEN, DOSED = 20, 21
STATES, TOTALS = 21, 22


@compiled
def remnant_inside(turnovers: float, tanks: int) -> float:
    """Share of the water present at first still inside N stirred tanks in series after so many turnovers."""
    x = tanks * turnovers
    term = exp(-x)
    leaving, inside = 0.0, 0.0
    for k in range(tanks):
        leaving += term  # concentration in tank k + 1
        inside += leaving
        term *= x / (k + 1)
    return inside / tanks


@compiled
def resistances(load: Floats, cells: Floats, floor: float) -> tuple[float, float]:
    """Viscous and inertial resistance of a bed: Pa per (mu v) and Pa per (rho v2)."""
    drag, impact = 0.0, 0.0
    for i in range(load.size):
        depth, grain = cells[DEPTH, i], cells[GRAIN, i]
        sigma = load[i] / depth
        pores = max(cells[POROSITY, i] - sigma / cells[DENSITY, i], floor)
        drag += depth * cells[VISCOUS, i] * (1.0 - pores) ** 2 / (pores**3 * grain**2)
        drag += depth * cells[LINEAR, i] * sigma
        impact += depth * cells[INERTIAL, i] * (1.0 - pores) / (pores**3 * grain)
    return drag, impact


@compiled
def bed_loss(drag: float, impact: float, flow: float, bed: Bed, series: Series, entry: int) -> float:
    """Pressure loss of the bed, Pa, at a flow and in the water of one entry of the series."""
    rate = flow / bed.area
    return rate * (series.viscosity[entry] * drag + series.density[entry] * rate * impact)


@compiled
def capture(load: Floats, cells: Floats, factor: float, offered: float) -> float:
    """Pass `offered` g/m2 down the bed, cells as they were at first; add what stops and return its sum."""
    solids, stopped = offered, 0.0
    for i in range(load.size):
        depth = cells[DEPTH, i]
        room = 1.0 - load[i] / (depth * cells[ULTIMATE, i])
        passing = solids * exp(-factor * cells[COEFFICIENT, i] * room * depth)
        gain = min(solids - passing, depth * cells[ULTIMATE, i] - load[i])
        load[i] += gain
        stopped += gain
        solids = passing
    return stopped


@compiled
def share_through(load: Floats, cells: Floats, factor: float, filled: float) -> float:
    """Share of the filterable solids that a bed lets through; `filled` 0 takes it as empty, 1 as it lies."""
    free = 0.0
    for i in range(load.size):
        free += cells[COEFFICIENT, i] * (cells[DEPTH, i] - filled * load[i] / cells[ULTIMATE, i])
    return exp(-factor * free)


@compiled
def bring_to_water(cells: Floats, bed: Bed, mu: float) -> None:
    """What water of a viscosity makes of the filter coefficients."""
    for i in range(cells.shape[1]):
        if cells[WATER_EXPONENT, i] != 0.0:
            thinner = bed.reference_viscosity / mu
            cells[COEFFICIENT, i] = cells[GIVEN, i] * exp(cells[WATER_EXPONENT, i] * log(thinner))


@compiled
def rate_factor(rate: float, bed: Bed) -> float:
    """What the rate makes of the filter coefficients."""
    return (rate / bed.reference_rate) ** -bed.exponent if bed.exponent != 0.0 else 1.0


@compiled
def filter_tick(
    load: Floats, s: Floats, cells: Floats, bed: Bed, volume: float, solids: float, floc: float, tick: float
) -> float:
    """Filter `volume`: remnant of the wash, then feed with its floc, through the bed. Returns grams leaving below."""
    fine = bed.unfilterable * solids * volume
    whole = (solids + floc) * volume
    offered, direct = whole - fine, fine
    if s[REMNANT] >= 0.0:
        start, end = s[PASSED], s[PASSED] + volume
        displaced = bed.vessel * (
            remnant_inside(start / bed.vessel, bed.tanks) - remnant_inside(end / bed.vessel, bed.tanks)
        )
        below = bed.pores * (
            remnant_inside(start / bed.pores, bed.tanks) - remnant_inside(end / bed.pores, bed.tanks)
        )
        arrived = (volume - displaced) / volume
        direct = s[REMNANT] * below + fine * arrived
        offered = s[REMNANT] * (displaced - below) + offered * arrived
        s[VESSEL] += whole - offered - direct
        if end > 20.0 * bed.vessel:
            s[REMNANT] = -1.0
    factor = rate_factor(volume / tick / bed.area, bed)
    if bed.ripening_share > 0.0:
        mid = (s[PASSED] + 0.5 * volume) / bed.area
        factor *= 1.0 - bed.ripening_share * exp(-mid / bed.ripening_volume)
    stopped = bed.area * capture(load, cells, factor, offered / bed.area)
    s[DRAG], s[IMPACT] = resistances(load, cells, bed.floor)
    s[PASSED] += volume
    s[LOADED] += offered
    s[FACTOR] = factor
    return offered - stopped + direct


@compiled
def service_tick(
    load: Floats, s: Floats, total: Floats, cells: Floats, bed: Bed, flow: float, solids: float, floc: float,
    tick: float,
) -> None:  # fmt: skip
    """One tick of service: treat the water and judge what leaves."""
    volume, limit = flow * tick, bed.limit * flow * tick
    factor, fine = rate_factor(flow / bed.area, bed), bed.unfilterable * solids
    arriving = solids - fine + floc
    rinsed = 0.0
    if s[DIRTY] > 0.0:  # what the bed would send on if it were ripe and its water displaced
        through = share_through(load, cells, factor, 1.0)
        rinsed = volume * (arriving * through + fine)
    out = filter_tick(load, s, cells, bed, volume, solids, floc, tick)
    total[TREATED] += volume
    total[CAME] += volume * solids
    total[DOSED] += volume * floc
    total[SERVED] += out
    s[SINCE_WASH] += volume
    if out > limit:
        total[OVER] += tick
        through = share_through(load, cells, factor, 0.0)
        if arriving * through + fine > bed.limit:
            total[UNAVOIDABLE] += tick
        else:  # what it holds alone, ripe and displaced
            through = share_through(load, cells, factor, 1.0)
            if arriving * through + fine > bed.limit:
                s[BROKEN] = 1.0
    if s[DIRTY] > 0.0:
        if out - rinsed >= EXCESS_SHARE * limit:
            total[DIRTY_MASS] += out - rinsed
            total[DIRTY_TIME] += tick
        else:
            s[DIRTY] = 0.0


@compiled_with_arrays
def unused_share(lying: Floats, s: Floats, cells: Floats, bed: Bed, series: Series, rule: Rule, tick: float) -> float:
    """Share unspent of the load at which the limit or the set pressure would be met; below zero if never.

    The filter run is continued in ticks of its own last flow, feed and filter coefficients.
    """
    flow, entry, load, ticks = s[LAST_FLOW], int(s[LAST_ENTRY]), lying.copy(), 0
    arriving = (1.0 - bed.unfilterable) * s[LAST_SOLIDS] + s[LAST_FLOC]
    coming = arriving * flow * tick
    if coming <= 0.0:
        return -1.0
    while True:
        through = share_through(load, cells, s[FACTOR], 1.0)
        if arriving * through + bed.unfilterable * s[LAST_SOLIDS] > bed.limit:
            break
        if rule.kind == PRESSURE:
            drag, impact = resistances(load, cells, bed.floor)
            signal = bed_loss(drag, impact, flow, bed, series, entry) + bed.seen * bed.valve * flow * flow
            if signal >= rule.above:
                break
        if bed.area * capture(load, cells, s[FACTOR], coming / bed.area) < FULL * coming:
            return -1.0
        ticks += 1
    return ticks * coming / (s[LOADED] + ticks * coming) if ticks > 0 else 0.0


@compiled
def split_pools(state: Floats, cells: Floats) -> None:
    """What came since the last wash is firm by its layer's share; what that wash left stays as it was."""
    for i in range(state.shape[1]):
        fresh = state[HELD, i] - state[OLD, i]
        state[FIRM, i] = state[OLD_FIRM, i] + cells[FIRM_SHARE, i] * fresh


@compiled
def backwash_tick(
    state: Floats, s: Floats, cells: Floats, bed: Bed, kept: float, firm_kept: float, volume: float, solids: float
) -> float:
    """Loosen deposit into the vessel's stirred water and flush it. Returns the grams to drain."""
    loosened = 0.0
    for i in range(state.shape[1]):
        firm = firm_kept ** cells[CLEANING, i] * state[FIRM, i]
        left = kept ** cells[CLEANING, i] * (state[HELD, i] - state[FIRM, i]) + firm
        loosened += (state[HELD, i] - left) * bed.area
        state[HELD, i], state[FIRM, i] = left, firm
    turnovers = volume / bed.vessel
    before, arriving = s[VESSEL], loosened + volume * solids
    staying = (1.0 - exp(-turnovers)) / turnovers if turnovers > 0.0 else 1.0  # arrives evenly over the tick
    s[VESSEL] = before * exp(-turnovers) + arriving * staying
    return before + arriving - s[VESSEL]


@compiled
def end_backwash(state: Floats, s: Floats, cells: Floats, bed: Bed) -> None:
    """What is left lies evenly through each layer; the vessel's water is the remnant to displace."""
    for top in range(0, state.shape[1], bed.per_layer):
        held, firm = 0.0, 0.0
        for i in range(top, top + bed.per_layer):
            held += state[HELD, i]
            firm += state[FIRM, i]
        for i in range(top, top + bed.per_layer):
            state[HELD, i] = state[OLD, i] = held / bed.per_layer
            state[FIRM, i] = state[OLD_FIRM, i] = firm / bed.per_layer
    s[REMNANT], s[PASSED] = s[VESSEL] / bed.vessel, 0.0
    s[DRAG], s[IMPACT] = resistances(state[HELD], cells, bed.floor)


@compiled
def next_at(time: float, at: float, start_of_day: float) -> float:
    """First moment on or after `time` when the clock shows `at`; `time` itself where no hour is set."""
    if at < 0.0:
        return time
    return ceil((time + start_of_day - at) / DAY - 1e-12) * DAY + at - start_of_day


@compiled
def end_of_longest(began: float, returned: float, rule: Rule) -> float:
    """When the longest run is over: at its last hour since the return before it has passed, else once it has."""
    ends = began + rule.longest
    if ends == inf or rule.longest_at < 0.0:
        return ends
    hour = next_at(returned, rule.longest_at, rule.start_of_day)
    if hour <= returned:
        hour += DAY
    if hour > ends:
        return ends
    while hour + DAY <= ends:
        hour += DAY
    return hour


@compiled
def starts_now(s: Floats, now: float, tick: float, signal: float, rule: Rule) -> bool:
    """Whether a wash starts at `now`, the end of a tick in service; keeps the booking and the hold."""
    start = False
    if rule.kind == CALENDAR:
        if s[BOOKED] == inf:
            s[BOOKED] = next_at(s[COUNTED_FROM] + rule.every, rule.at, rule.start_of_day)
    elif rule.kind == VOLUME or rule.kind == RESERVE:
        spent = rule.volume - (rule.reserve if rule.kind == RESERVE else 0.0)
        if s[BOOKED] == inf and s[SINCE_WASH] >= spent:
            s[BOOKED] = next_at(now, rule.at, rule.start_of_day)
        start = rule.kind == RESERVE and s[SINCE_WASH] >= rule.volume
    elif rule.kind == PRESSURE:
        s[HELD_FOR] = s[HELD_FOR] + tick if signal >= rule.above else 0.0
        start = signal >= rule.above and s[HELD_FOR] >= rule.hold
    booked = now >= s[BOOKED]
    if not (start or booked or now >= end_of_longest(s[BEGAN], s[RETURNED], rule)):
        return False
    s[COUNTED_FROM] = s[BOOKED] if rule.kind == CALENDAR and booked else now
    s[BEGAN], s[BOOKED], s[HELD_FOR], s[SINCE_WASH] = now, inf, 0.0, 0.0
    return True


@compiled
def end_run(
    state: Floats, s: Floats, total: Floats, cells: Floats, bed: Bed, series: Series, rule: Rule,
    now: float, tick: float,
) -> None:  # fmt: skip
    """Close the books of a filter run as its wash starts."""
    total[BEGUN] += 1.0
    total[RUN_TIME] += now - s[RETURNED]
    total[RUNS_BROKEN] += s[BROKEN]
    unused = unused_share(state[HELD], s, cells, bed, series, rule, tick)
    if unused >= 0.0:
        total[UNUSED] += unused
        total[UNUSED_RUNS] += 1.0


@compiled
def wash_tick(
    state: Floats, s: Floats, total: Floats, cells: Floats, bed: Bed, wash: Wash, feed: float, floc: float,
    now: float, tick: float,
) -> None:  # fmt: skip
    """One tick, ending `now`, of the step under way; moves on to the next step, or back to service, at its end."""
    step = int(s[STEP])
    volume = wash.flow[step] * tick
    if wash.do[step] == BACKWASH:
        if s[LEFT] == wash.ticks[step]:
            split_pools(state, cells)
        solids = feed if wash.solids[step] < 0.0 else wash.solids[step]
        total[DRAINED] += backwash_tick(state, s, cells, bed, wash.kept[step], wash.firm_kept[step], volume, solids)
        total[BACKWASHED] += volume
        total[CAME] += volume * solids
    elif wash.do[step] == RINSE and volume > 0.0:
        total[DRAINED] += filter_tick(state[HELD], s, cells, bed, volume, feed, floc, tick)
        total[RINSED] += volume
        total[CAME] += volume * feed
        total[DOSED] += volume * floc
    total[OFFLINE] += tick
    total[DRAIN_PEAK] = max(total[DRAIN_PEAK], wash.flow[step])
    s[LEFT] -= 1.0
    if s[LEFT] > 0.0:
        return
    if wash.do[step] == BACKWASH:
        end_backwash(state, s, cells, bed)
    if step + 1 < wash.do.size:
        s[STEP], s[LEFT] = step + 1.0, wash.ticks[step + 1]
    else:
        s[STEP], s[DIRTY], s[LOADED], s[RETURNED], s[BROKEN] = -1.0, 1.0, 0.0, now, 0.0
        total[WASHES] += 1.0


@compiled
def march(
    ticks: int, tick: float, repeat: int, cells: Floats, series: Series, bed: Bed, wash: Wash, rule: Rule,
    state: Floats, s: Floats, total: Floats, starts: Floats,
) -> None:  # fmt: skip
    """The loop: each tick moves the water, then reads the signal and decides."""
    for i in range(ticks):
        entry, now = i // repeat, (i + 1) * tick
        demand, feed, floc = series.flow[entry], series.solids[entry], series.dosed[entry]
        if s[STEP] >= 0.0:
            total[UNMET] += demand * tick
            bring_to_water(cells, bed, series.viscosity[entry])
            wash_tick(state, s, total, cells, bed, wash, feed, floc, now, tick)
            continue
        if demand > 0.0:
            bring_to_water(cells, bed, series.viscosity[entry])
            service_tick(state[HELD], s, total, cells, bed, demand, feed, floc, tick)
            s[LAST_FLOW], s[LAST_SOLIDS], s[LAST_FLOC], s[LAST_ENTRY] = demand, feed, floc, entry
        lost, valve = bed_loss(s[DRAG], s[IMPACT], demand, bed, series, entry), bed.valve * demand * demand
        total[PEAK] = max(total[PEAK], lost + valve)
        if i + 1 < ticks and starts_now(s, now, tick, lost + bed.seen * valve, rule):
            starts[int(total[BEGUN])] = now
            end_run(state, s, total, cells, bed, series, rule, now, tick)
            s[STEP], s[LEFT] = 0.0, wash.ticks[0]
    if s[STEP] < 0.0:
        total[CUT_BROKEN] = s[BROKEN]
