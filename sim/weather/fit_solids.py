"""Random solids fitted to a record: the family's own quantiles and autocorrelations brought onto those recorded.

The season comes first, from the logarithms. The rest is least squares (scipy) between what the record shows and what
the family has in closed form or by quadrature; what a record of this length and with these gaps tells differently
is found from realisations, and allowed for once. Parameters can make up for each other, storms for slow changes above
all: what is fitted is the whole, not each of them.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import partial

import numpy as np
from scipy.optimize import least_squares
from scipy.special import ndtr, ndtri
from scipy.stats import gamma

from sim.case.series.records import Changeable, Run, Season, Storms, Wander
from sim.weather.chance import YEAR
from sim.weather.forcing import HOUR, YEAR_DAYS, changeable
from sim.weather.measures import Values, autocorrelation
from sim.weather.streams import stream

SHARES = np.array([0.05, 0.25, 0.5, 0.75, 0.9, 0.95, 0.99, 0.998])
SHARE_WEIGHTS = 1.0 / np.array([0.15, 0.1, 0.03, 0.06, 0.06, 0.03, 0.03, 0.15])
LOG_LAGS = (1, 3, 6, 12, 24, 48, 72, 168, 336)
LAGS = (1, 3, 6, 12, 24, 48)
LAG_WEIGHT = 1.0 / 0.05
SEASON_DAYS = 12  # of the year at which its factor is taken
STORM_NODES = 150  # of what storms add, closer together where it is much
GRID = 60  # of logarithms at which the family's distribution is taken
REPLICATES = 24
SEASON_LEAST_HOURS = 330 * 24
MOST_SWING = 0.95

# Logarithms of: median (a factor on the record's), spread, memory h, slow spread, slow memory h, storms a year,
# height - 1, length h.
LOW = np.log([0.05, 0.01, 1.0, 0.01, 30.0, 0.5, 0.2, 1.0])
HIGH = np.log([20.0, 2.0, 24.0, 2.0, 2000.0, 300.0, 60.0, 240.0])
STARTS = np.log([[1.0, 0.5, 3.0, 0.5, 80.0, 30.0, 3.0, 15.0], [1.0, 0.5, 8.0, 0.5, 200.0, 10.0, 6.0, 36.0]])


@dataclass(frozen=True, slots=True)
class _Told:
    """What is compared: logarithms at SHARES, and autocorrelations of logarithms and of values."""

    logs: Values
    log_lags: Values
    lags: Values

    @property
    def all(self) -> Values:
        return np.concatenate((self.logs, self.log_lags, self.lags))


WEIGHTS = np.concatenate((SHARE_WEIGHTS, np.full(len(LOG_LAGS) + len(LAGS), LAG_WEIGHT)))


def fit_changeable(start: datetime, hourly: Values) -> Changeable:
    """The random series whose long run is most like the hourly values from midnight on `start`; nan marks a gap.

    All values are above 0. A season is sought in records of 11 months or more; storms come all year alike.
    """
    season = _season(start, hourly)
    recorded = _told(hourly).all
    unit = np.eye(8)[0] * recorded[2]  # medians are factors on the record's
    found = min((_fitted(recorded, season, unit + each, unit) for each in STARTS), key=lambda each: each[0])[1]
    gaps = np.where(np.isfinite(hourly), 1.0, np.nan)
    made = _realisations(_series(found, season), start, len(hourly))
    short = np.mean([_told(each * gaps).all for each in made], axis=0)
    allowed_for = recorded - short + _family(found, season).all
    return _series(_fitted(allowed_for, season, found, unit)[1], season)


def _season(start: datetime, hourly: Values) -> Season | None:
    """The yearly factor by least squares on the logarithms."""
    known = np.flatnonzero(np.isfinite(hourly))
    if known[-1] - known[0] < SEASON_LEAST_HOURS:
        return None
    wave = 2.0 * np.pi * (start.timetuple().tm_yday + known // 24) / YEAR_DAYS
    logs = np.log(hourly[known])

    def rest(given: Values) -> Values:
        mean, swing, peak = given
        left: Values = logs - mean - np.log1p(swing * np.cos(wave - peak))
        return left

    along, across = (2.0 * (logs * each).mean() for each in (np.cos(wave), np.sin(wave)))
    guess = [logs.mean(), min(float(np.hypot(along, across)), 0.5), np.arctan2(across, along)]
    _, swing, peak = least_squares(rest, guess, bounds=([-np.inf, 0.0, -np.inf], [np.inf, MOST_SWING, np.inf])).x
    day = round(float(peak) / (2.0 * np.pi) * YEAR_DAYS) % 365
    return Season(swing=float(swing), peak_day=day or 365)


def _told(hourly: Values) -> _Told:
    """Of a series, recorded or made."""
    known = hourly[np.isfinite(hourly)]
    logs = np.log(np.quantile(known, SHARES))
    return _Told(logs, autocorrelation(np.log(hourly), LOG_LAGS), autocorrelation(hourly, LAGS))


def _realisations(series: Changeable, start: datetime, count: int) -> Iterator[Values]:
    """As many hours as the record has, from streams that no study uses."""
    run = Run(start=start, length=count * HOUR, allowed_over_limit=None)
    for replicate in range(REPLICATES):
        yield changeable(series, run, count, partial(_own_stream, replicate=replicate))


def _own_stream(part: str, replicate: int) -> np.random.Generator:
    return stream(f"fitting {part}", seed=0, replicate=replicate)


def _fitted(told: Values, season: Season | None, start: Values, unit: Values) -> tuple[float, Values]:
    """What is left over, and the parameters, of the fit from this start."""
    low, high = LOW + unit, HIGH + unit

    def rest(parameters: Values) -> Values:
        left = (_family(parameters, season).all - told) * WEIGHTS
        return np.where(np.isfinite(told), left, 0.0)  # a lag without pairs tells nothing

    found = least_squares(rest, np.clip(start, low + 1e-6, high - 1e-6), bounds=(low, high), xtol=1e-5, ftol=1e-5)
    return float(found.cost), found.x


def _series(parameters: Values, season: Season | None) -> Changeable:
    median, spread, memory, slow_spread, slow_memory, per_year, added, length = (float(x) for x in np.exp(parameters))
    return Changeable(
        median=median,
        fast=Wander(spread=spread, memory=memory * HOUR),
        slow=Wander(spread=slow_spread, memory=slow_memory * HOUR),
        season=season,
        storms=Storms(per_year=per_year, height=1.0 + added, length=length * HOUR, season=None),
    )


def _family(parameters: Values, season: Season | None) -> _Told:
    """Of a very long run. Storms add a gamma-distributed shot noise; all parts are independent, so logs add.

    Exact but for one thing: what storms lift the logarithm by is taken to fade exponentially, as what they add does.
    """
    median, spread, memory, slow_spread, slow_memory, per_year, added, length = np.exp(parameters)
    swing = 0.0 if season is None else season.swing
    factor = 1.0 + swing * np.cos(2.0 * np.pi * (np.arange(SEASON_DAYS) + 0.5) / SEASON_DAYS)
    at_once = per_year * length * HOUR / YEAR
    place = (np.arange(STORM_NODES) + 0.5) / STORM_NODES
    weight = (1.0 - place) ** 2
    weight /= weight.sum()
    lift = np.log1p(gamma.ppf(1.0 - (1.0 - place) ** 3, at_once, scale=added))
    normal = (spread**2, slow_spread**2)
    logs = _quantiles(np.log(median) + np.log(factor), lift, weight, float(np.sqrt(sum(normal))))

    def strays(lags: Sequence[int]) -> Values:
        """Covariance of what strays in the logarithm, at 0 and these lags [h]."""
        lag = np.array((0, *lags))
        found: Values = normal[0] * np.exp(-lag / memory) + normal[1] * np.exp(-lag / slow_memory)
        return found

    def by_part(lags: Sequence[int], storm: float, yearly: float) -> tuple[Values, Values]:
        lag = np.array((0, *lags))
        return storm * np.exp(-lag / length), yearly * np.cos(2.0 * np.pi * lag / (24.0 * YEAR_DAYS))

    lift_mean = (weight * lift).sum()
    storm, yearly = by_part(LOG_LAGS, float((weight * (lift - lift_mean) ** 2).sum()), float(np.log(factor).var()))
    in_logs = strays(LOG_LAGS) + storm + yearly
    # E[x x'] of lognormal, gamma shot noise about 1, and season, each over the square of its mean.
    storm, yearly = by_part(LAGS, at_once * added**2 / (1.0 + at_once * added) ** 2, 0.5 * swing**2)
    in_values = np.exp(strays(LAGS)) * (1.0 + storm) * (1.0 + yearly) - 1.0
    return _Told(logs, in_logs[1:] / in_logs[0], in_values[1:] / in_values[0])


def _quantiles(centres: Values, lift: Values, weight: Values, spread: float) -> Values:
    """Logarithms at SHARES of a normal about each sum of a centre (equally likely) and a lift (by weight)."""
    low, high = centres.min() - 4.0 * spread, centres.max() + lift[-1] + 4.0 * spread
    grid = np.linspace(low, high, GRID)
    normal = ndtr((grid[:, None, None] - centres[:, None] - lift) / spread)
    below = np.clip((normal * weight).sum(axis=2).mean(axis=1), 1e-9, 1.0 - 1e-9)
    found: Values = np.interp(ndtri(SHARES), ndtri(below), grid)
    return found
