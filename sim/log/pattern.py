"""Washes from the pattern of flow and pressure drop, where a log has no marks.

Between washes a bed only clogs: its resistance rises. Where it falls far from one reading to the next, it was washed.
Resistance is the pressure drop over a power of the flow, for which the one between 1 (a bed) and 2 (a valve) is taken
that leaves readings next to each other most alike.
"""

from typing import Any, TypeAlias

import numpy as np

from sim.case.units import HOUR, MINUTE
from sim.log.records import Series, Washed

Values: TypeAlias = np.ndarray[Any, np.dtype[np.float64]]

POWERS = np.linspace(1.0, 2.0, 11)
LEAST_FLOW = 0.3
"""Of the median of the flows: at less a gauge tells nothing."""

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
    all_times, flows = np.array(drop.times), np.interp(drop.times, flow.times, flow.values)
    if not (flows > 0.0).any():
        return ()
    drops = np.array(drop.values)
    serves = (flows > LEAST_FLOW * np.median(flows[flows > 0.0])) & (drops > 2.0 * drop.resolution)
    times, flows, drops = all_times[serves], flows[serves], drops[serves]
    if len(times) < 3:
        return ()
    each = int(np.clip(WINDOW // step, 1, MOST_WINDOW))
    falls = min((_falls(np.log(drops / flows**power), each) for power in POWERS), key=_scatter)
    limit = max(LEAST_FALL, SPREADS * _scatter(falls))
    washes = []
    for place in _peaks(falls, limit, each):
        start, end = float(times[place]), float(times[place + 1])
        still = all_times[(all_times > start) & (all_times < end)]
        if len(still) and end - start <= LONGEST_WASH:
            washes.append(Washed(start=start, end=end, drained=None, found="seen"))
        else:
            washes.append(Washed(start=(start + end) / 2.0, end=None, drained=None, found="seen"))
    return tuple(washes)


def _falls(resistance: Values, each: int) -> Values:
    """How far the resistance falls behind each reading but the last: medians of up to `each` readings compared."""
    if each == 1:
        return -np.diff(resistance)
    padded = np.pad(resistance, each, mode="edge")
    medians = np.median(np.lib.stride_tricks.sliding_window_view(padded, each), axis=1)
    return medians[1 : len(resistance)] - medians[1 + each : each + len(resistance)]


def _scatter(falls: Values) -> float:
    return NORMAL * float(np.median(np.abs(falls - np.median(falls))))


def _peaks(falls: Values, limit: float, each: int) -> list[int]:
    """Where falls above the limit are highest, one within `each` readings."""
    found: list[int] = []
    for place in np.flatnonzero(falls > limit).tolist():
        if found and place - found[-1] < each:
            found[-1] = max(found[-1], place, key=lambda here: float(falls[here]))
        else:
            found.append(place)
    return found
