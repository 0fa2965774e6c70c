"""What is read off an hourly or daily series, recorded or made, in the same way: gaps are left out, never filled."""

from collections.abc import Sequence
from typing import Any, TypeAlias

import numpy as np

Values: TypeAlias = np.ndarray[Any, np.dtype[np.float64]]

SPELL = 5.0  # times the median: what counts as a storm when storms are counted
APART = 24  # steps below that between two storms


def autocorrelation(values: Values, lags: Sequence[int]) -> Values:
    """Pearson's correlation of the pairs present at each lag (nan marks a gap); nan where nothing varies."""
    return np.array([_correlation(values[:-lag], values[lag:]) for lag in lags])


def _correlation(early: Values, late: Values) -> float:
    pairs = np.isfinite(early) & np.isfinite(late)
    if not pairs.any():
        return np.nan
    x, y = early[pairs] - early[pairs].mean(), late[pairs] - late[pairs].mean()
    scale = float(np.sqrt((x * x).sum() * (y * y).sum()))
    return float((x * y).sum()) / scale if scale > 0.0 else np.nan


def spells_a_year(hourly: Values) -> float:
    """How often a year the hourly values rise above SPELL times their median, a day or more below it in between."""
    known = np.flatnonzero(np.isfinite(hourly))
    above = known[hourly[known] > SPELL * np.median(hourly[known])]
    count = 0 if not len(above) else 1 + int((np.diff(above) > APART).sum())
    return count / (len(known) / (24.0 * 365.25))


def share_above(values: Values, levels: Values) -> Values:
    """The share of the known values above each level."""
    known = np.sort(values[np.isfinite(values)])
    return 1.0 - np.searchsorted(known, levels, side="right") / len(known)
