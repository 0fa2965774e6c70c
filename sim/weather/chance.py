"""The random parts of a series: what strays from the usual and comes back, and storms.

Both begin in their long-run state, so that the first day is like any other, and a longer run begins with the same
numbers. Steps are equal; a step's value is that at its end.
"""

from collections.abc import Callable
from typing import Any, TypeAlias

import numpy as np
from scipy.linalg import solve_banded

from sim.case.series.records import Storms, Wander

YEAR = 365.25 * 86_400.0

Values: TypeAlias = np.ndarray[Any, np.dtype[np.float64]]
Streams: TypeAlias = Callable[[str], np.random.Generator]
"""Gives the stream of a part by the part's name."""


def wandering(wander: Wander, step: float, count: int, stream: np.random.Generator) -> Values:
    """A first-order autoregression about 0: x[i] = a x[i-1] + spread sqrt(1 - a^2) normal, a = e^(-step / memory).

    Its autocorrelation at a lag of k steps is a^k (G. E. P. Box and G. M. Jenkins, Time Series Analysis).
    """
    kept = float(np.exp(-step / wander.memory))
    shocks = stream.standard_normal(count) * wander.spread
    shocks[1:] *= np.sqrt(1.0 - kept**2)
    return _recursion(kept, shocks)


def storms(given: Storms, rate: Values, step: float, streams: Streams) -> Values:
    """What storms add to 1 at the end of each step; `rate` is their yearly factor in each step.

    Arrivals are Poisson. With exponential heights and decay the sum of all storms is, at a steady rate, distributed
    as gamma with shape per_year * length and scale height - 1, correlated as e^(-lag / length) (shot noise:
    D. R. Cox and V. Isham, Point Processes, 1980).
    """
    expected = given.per_year * rate * step / YEAR
    places, late = _arrivals(expected, streams("storm times"))
    heights = streams("storm heights").exponential(given.height - 1.0, len(places))
    added = np.zeros(len(rate))
    np.add.at(added, places, heights * np.exp(-late * step / given.length))
    before = given.per_year * rate[0] * given.length / YEAR
    kept = float(np.exp(-step / given.length))
    added[0] += kept * streams("storms before").gamma(before, given.height - 1.0)
    return _recursion(kept, added)


def _arrivals(expected: Values, stream: np.random.Generator) -> tuple[np.ndarray[Any, np.dtype[np.int64]], Values]:
    """The step of each storm, and which part of it was left; `expected` storms in each step."""
    until = np.cumsum(expected)
    times = np.zeros(0)
    while not len(times) or times[-1] < until[-1]:
        more = stream.standard_exponential(64)
        times = np.concatenate((times, (times[-1] if len(times) else 0.0) + np.cumsum(more)))
    times = times[times < until[-1]]
    places = np.searchsorted(until, times, side="right")
    return places, (until[places] - times) / expected[places]


def _recursion(kept: float, added: Values) -> Values:
    """x[i] = kept x[i-1] + added[i], from x[-1] = 0."""
    bands = np.ones((2, len(added)))
    bands[1] = -kept
    values: Values = solve_banded((1, 0), bands, added, check_finite=False)
    return values
