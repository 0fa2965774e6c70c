"""What many runs say about a mean, a difference or a share: 95 % intervals.

scipy's statistics take most of a second to load, so they are loaded where there is something to ask of them.
"""

import statistics
from typing import NamedTuple

import numpy as np

from sim.study.many.arrays import Values

CONFIDENCE = 0.95


class Interval(NamedTuple):
    """A mean or a share with the interval around it; no interval where fewer than two runs have the figure."""

    mean: float
    low: float | None
    high: float | None

    @property
    def known(self) -> bool:
        """Whether there is an interval."""
        return self.low is not None

    @property
    def half(self) -> float | None:
        """Half the width of the interval."""
        return None if self.low is None or self.high is None else (self.high - self.low) / 2.0

    @property
    def sign(self) -> int:
        """-1 or 1 where the whole interval lies on one side of zero, else 0."""
        if self.low is None or self.high is None:
            return 0
        return (self.low > 0.0) - (self.high < 0.0)


class Pair(NamedTuple):
    """One policy's figure less another's on the same water and demand.

    `variance` is of that difference between runs, `unpaired` what it would be had each policy its own weather.
    """

    a: str
    b: str
    kpi: str
    difference: Interval
    variance: float | None
    unpaired: float | None


def of_mean(values: Values, confidence: float = CONFIDENCE) -> Interval | None:
    """The mean of the values that are known, with Student's interval; None where none is.

    Sums are exact, so that equal values have their own value as mean and an interval without width.

    >>> interval = of_mean(np.array([1.0, 2.0, 3.0]))
    >>> interval.mean, round(interval.half, 4)   # t(0.975, 2) = 4.3027 times sqrt(1/3)
    (2.0, 2.4841)
    """
    known = values[~np.isnan(values)].tolist()
    if not known:
        return None
    mean = float(statistics.mean(known))
    if len(known) < 2:
        return Interval(mean, None, None)
    from scipy import stats

    error = statistics.stdev(known) / len(known) ** 0.5
    half = float(stats.t.ppf((1.0 + confidence) / 2.0, len(known) - 1)) * error
    return Interval(mean, mean - half, mean + half)


def of_share(count: int, of: int, confidence: float = CONFIDENCE) -> Interval:
    """A share of independent trials with Wilson's interval.

    >>> share = of_share(8, 10)
    >>> share.mean, round(share.low, 3), round(share.high, 3)
    (0.8, 0.49, 0.943)
    """
    from scipy import stats

    found = stats.binomtest(count, of).proportion_ci(confidence, method="wilson")
    return Interval(count / of, float(found.low), float(found.high))


def of_pair(a: str, b: str, kpi: str, one: Values, other: Values) -> Pair | None:
    """The difference of two policies over the replicates in which both have the figure; None where none is."""
    both = ~(np.isnan(one) | np.isnan(other))
    differences = one[both] - other[both]
    difference = of_mean(differences)
    if difference is None:
        return None
    if len(differences) < 2:
        return Pair(a, b, kpi, difference, None, None)
    apart = statistics.variance(one[both].tolist()) + statistics.variance(other[both].tolist())
    return Pair(a, b, kpi, difference, statistics.variance(differences.tolist()), apart)


def differ(one: Values, other: Values) -> bool:
    """Whether two shares over the same trials differ: the exact test of the trials in which only one of them is true.

    With two-sided p below 0.05 under even odds (McNemar's test in its exact form).
    """
    from scipy import stats

    only_one, only_other = int(np.sum(one > other)), int(np.sum(other > one))
    discordant = only_one + only_other
    return discordant > 0 and bool(stats.binomtest(only_one, discordant).pvalue < 1.0 - CONFIDENCE)
