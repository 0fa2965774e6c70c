"""Temperature and demand that vary from day to day, fitted to a record; gaps are left out."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any, TypeAlias

import numpy as np
from scipy.optimize import minimize_scalar

from sim.case.series.records import Demand, Profile, Season, Seasonal, UnsettledSeason, Wander
from sim.weather.forcing import DAY, YEAR_DAYS
from sim.weather.measures import Values, autocorrelation

Days: TypeAlias = np.ndarray[Any, np.dtype[np.int64]]

WHOLE_DAY = 20  # hours of a day that must be known for its mean to count
SEASON_LEAST_DAYS = 330
LAGS = tuple(range(1, 11))  # days at which a memory is sought
SHORTEST, LONGEST = 0.05, 120.0  # days of memory


@dataclass(frozen=True, slots=True)
class _Wave:
    """mean (1 + swing cos(year - peak)), or without a swing, by least squares."""

    mean: float
    swing: float
    peak_day: int

    def at(self, day: Values) -> Values:
        wave: Values = self.mean * (1.0 + self.swing * np.cos(2.0 * np.pi * (day - self.peak_day) / YEAR_DAYS))
        return wave


def daily_means(hourly: Values, least: int = WHOLE_DAY) -> Values:
    """The mean of each day with so many hours known; nan for the others."""
    days = np.concatenate((hourly, np.full(-len(hourly) % 24, np.nan))).reshape(-1, 24)
    known = np.isfinite(days).sum(axis=1)
    means: Values = np.nansum(days, axis=1) / np.maximum(known, 1)
    means[known < least] = np.nan
    return means


def fit_temperature(start: datetime, hourly: Values) -> UnsettledSeason:
    """A season by least squares, and the first-order autoregression of what is left from day to day.

    The record lasts 11 months or more.
    """
    means = daily_means(hourly, least=1)
    day = _days_of_year(start, len(means))
    wave = _wave(day, means)
    usual = Seasonal(mean=wave.mean, swing=wave.mean * wave.swing, peak_day=wave.peak_day)
    return UnsettledSeason(usual=usual, wander=_wander(means - wave.at(day)))


def fit_demand(start: datetime, hourly: Values) -> Demand:
    """Hours of the day, days of the week, the season in records of 11 months or more, and the daily factor."""
    means = daily_means(hourly)
    weekday = (start.weekday() + np.arange(len(means))) % 7
    factors = _weekday_factors(weekday, means)
    day = _days_of_year(start, len(means))
    # A day on which nothing is asked for tells nothing of the level about it.
    whole = np.isfinite(means) & (np.nan_to_num(means) > 0.0)
    level = np.full(means.shape, np.nan)
    level[whole] = means[whole] / factors[weekday][whole]
    wave = _wave(day, level) if whole.sum() >= SEASON_LEAST_DAYS else _Wave(float(np.nanmean(level)), 0.0, 1)
    of_day = np.concatenate((hourly, np.full(-len(hourly) % 24, np.nan))).reshape(-1, 24)[whole]
    profile = np.nanmean(of_day / means[whole, None], axis=0)
    profile *= wave.mean / profile.mean()
    return Demand(
        flow=Profile(hourly=tuple(map(float, profile)), weekday=tuple(map(float, factors))),
        season=Season(swing=wave.swing, peak_day=wave.peak_day) if wave.swing else None,
        wander=_wander(np.log(level / wave.at(day))),
    )


def _weekday_factors(weekday: Days, means: Values) -> Values:
    """Mean of each day of the week over that of the week; 1 for one that the record does not have."""
    known = np.isfinite(means)
    usual = float(means[known].mean())
    found = np.array(
        [means[known & (weekday == each)].mean() if (known & (weekday == each)).any() else usual for each in range(7)]
    )
    factors: Values = found / found.mean()
    return factors


def _days_of_year(start: datetime, count: int) -> Values:
    """Days from midnight on `start`, the first of January before it being 1."""
    return start.timetuple().tm_yday + np.arange(count, dtype=np.float64)


def _wave(day: Values, level: Values) -> _Wave:
    known = np.isfinite(level)
    turn = 2.0 * np.pi * day[known] / YEAR_DAYS
    parts = np.column_stack((np.ones(turn.shape), np.cos(turn), np.sin(turn)))
    mean, along, across = np.linalg.lstsq(parts, level[known], rcond=None)[0]
    peak = round(float(np.arctan2(across, along)) / (2.0 * np.pi) * YEAR_DAYS) % 365
    return _Wave(float(mean), float(np.hypot(along, across) / mean), peak or 365)


def _wander(left: Values) -> Wander:
    """The standard deviation, and the memory [s] whose exponential is nearest to the autocorrelation."""
    found = autocorrelation(left, LAGS)
    lags = np.array(LAGS)[np.isfinite(found)]
    found = found[np.isfinite(found)]
    memory = minimize_scalar(
        lambda days: float(((np.exp(-lags / days) - found) ** 2).sum()), bounds=(SHORTEST, LONGEST), method="bounded"
    )
    return Wander(spread=float(np.nanstd(left)), memory=float(memory.x) * DAY)
