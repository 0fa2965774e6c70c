"""Washes from the pattern of flow and pressure drop, where a log has no marks.

Between washes a bed only clogs: its resistance rises. Where it falls far from one reading to the next, it was washed.
Resistance is the pressure drop over a power of the flow, for which the one between 1 (a bed) and 2 (a valve) is taken
that leaves readings next to each other most alike.
"""

import numpy as np

from sim.case.units import HOUR, MINUTE
from sim.log.pieces import Values
from sim.log.records import Series, Washed

POWERS = np.linspace(1.0, 2.0, 11)
HIGH, LEAST_FLOW = 0.9, 0.6
"""Only readings at high flows are compared: from this part of this quantile of the flows on."""

WINDOW, MOST_WINDOW = 20 * MINUTE, 20
"""Readings before and behind are taken together over this time [s], at most so many."""

LEAST_FALL, SPREADS = 0.15, 6.0
"""The logarithm of the resistance falls at least so far in a wash, and so many times the usual scatter."""

NORMAL = 1.4826
"""Standard deviation over median deviation, of a normal distribution."""

LONGEST_WASH = 2 * HOUR


def washes_seen(flow: Series | None, drop: Series | None, step: float) -> tuple[Washed, ...]:
    """The washes that show, in the order of time; `step` [s] is that of the rows. None without both series."""
    if flow is None or drop is None or len(drop.times) < 3:
        return ()
    at, flow_at, drops = np.array(drop.times), np.interp(drop.times, flow.times, flow.values), np.array(drop.values)
    if not (flow_at > 0.0).any():
        return ()
    least = LEAST_FLOW * np.quantile(flow_at[flow_at > 0.0], HIGH)
    (serves,) = np.nonzero((flow_at > least) & (drops > 2.0 * drop.resolution))
    if len(serves) < 3:
        return ()
    each = int(np.clip(WINDOW // step, 1, MOST_WINDOW))
    tried = (np.log(drops[serves] / flow_at[serves] ** power) for power in POWERS)
    resistance = min(tried, key=lambda one: float(np.mean(np.abs(_falls(one, each)))))
    falls = _falls(resistance, each)
    limit = max(LEAST_FALL, SPREADS * NORMAL * float(np.median(np.abs(falls - np.median(falls)))))
    return tuple(
        _between(at, flow_at, int(serves[place]), int(serves[place + 1]))
        for place in _steepest(resistance, _peaks(falls, limit, each), each)
    )


def _between(at: Values, flow_at: Values, before: int, after: int) -> Washed:
    """The wash between two readings: while nothing flows, if that is short enough, else half way."""
    still = before + 1 + np.flatnonzero(flow_at[before + 1 : after] <= 0.0)
    if still.size:
        last = still[0] + int(np.argmax(np.append(np.diff(still) > 1, True)))
        start, end = float(at[still[0] - 1]), float(at[last + 1])
        if end - start <= LONGEST_WASH:
            return Washed(start=start, end=end, drained=None, found="seen")
    return Washed(start=float(at[before] + at[after]) / 2.0, end=None, drained=None, found="seen")


def _falls(resistance: Values, each: int) -> Values:
    """How far the resistance falls behind each reading but the last: medians of up to `each` readings compared."""
    if each == 1:
        return -np.diff(resistance)
    padded = np.pad(resistance, each, mode="edge")
    medians = np.median(np.lib.stride_tricks.sliding_window_view(padded, each), axis=1)
    return medians[1 : len(resistance)] - medians[1 + each : each + len(resistance)]


def _peaks(falls: Values, limit: float, each: int) -> list[int]:
    """Where falls above the limit are highest, one within `each` readings."""
    found: list[int] = []
    for place in np.flatnonzero(falls > limit).tolist():
        if found and place - found[-1] < each:
            found[-1] = max(found[-1], place, key=lambda here: float(falls[here]))
        else:
            found.append(place)
    return found


def _steepest(resistance: Values, peaks: list[int], each: int) -> list[int]:
    """Behind which reading about each peak the resistance falls farthest to the very next."""
    if each == 1:
        return peaks
    steps = -np.diff(resistance)
    firsts = [max(place - each, 0) for place in peaks]
    return [first + int(np.argmax(steps[first : place + each])) for first, place in zip(firsts, peaks, strict=True)]
