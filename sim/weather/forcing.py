"""Feed and demand of a case as stretches of constant values, equal neighbours merged."""

from dataclasses import dataclass
from datetime import timedelta
from functools import lru_cache
from typing import Any, TypeAlias

import numpy as np

from sim.case.records import Demand, Feed, Measured, Profile, Run, Season, Seasonal, Series, Steady

HOUR, DAY, YEAR_DAYS = 3600.0, 86_400.0, 365.25

Values: TypeAlias = np.ndarray[Any, np.dtype[np.float64]]


@dataclass(frozen=True, slots=True)
class Forcing:
    """Row i holds from the end of row i - 1 (or the start of the run) up to `end[i]` [s].

    flow [m3/s] asked of the train, solids [g/m3] and temperature [degC] of the feed; all arrays have one length, at
    least 1.
    """

    end: Values
    flow: Values
    solids: Values
    temperature: Values


@dataclass(frozen=True, slots=True)
class _Steps:
    """One series as steps: value[i] holds up to end[i] [s]."""

    end: Values
    value: Values

    def at(self, end: Values) -> Values:
        """The values that hold up to finer ends, which have every end of the steps among them."""
        return self.value[np.searchsorted(self.end, end)]


# A series of two years of hours takes 0.3 ms to hash, so the records themselves are good keys.
@lru_cache(maxsize=8)
def build_forcing(run: Run, feed: Feed, demand: Demand) -> Forcing:
    """Weather and demand over the whole length of a run: hourly for profiles, daily for seasons, else as measured.

    Kept for the next caller, since every policy of a case runs under the same; its arrays are read-only.
    """
    clock = _stretches(run, (demand.flow, demand.season, feed.solids, feed.temperature))
    series = (demand.flow, feed.solids, feed.temperature)
    season = _Steps(clock[1], _yearly(demand.season, run, 0.5 * (clock[0] + clock[1])))
    parts = (season, *(_steps(each, run, clock) for each in series))
    end = np.unique(np.concatenate([part.end for part in parts]))
    factor, flow, solids, temperature = (part.at(end) for part in parts)
    return _merged(end, np.maximum(flow * factor, 0.0), np.maximum(solids, 0.0), temperature)


def _stretches(run: Run, parts: tuple[Series | Season | None, ...]) -> tuple[Values, Values]:
    """Start and end of every stretch of the clock: its hours or its days, as profiles and seasons need."""
    length = run.length
    if any(isinstance(part, Profile) for part in parts):
        step = HOUR
    elif any(isinstance(part, (Seasonal, Season)) for part in parts):
        step = DAY
    else:
        return np.zeros(1), np.array([length])
    midnight = run.start.replace(hour=0, minute=0, second=0, microsecond=0)
    past = (run.start - midnight).total_seconds() % step
    cuts = np.arange(1, int((length + past) // step) + 1) * step - past
    cuts = cuts[(cuts > 0.0) & (cuts < length)]
    return np.concatenate(([0.0], cuts)), np.concatenate((cuts, [length]))


def _steps(series: Series, run: Run, clock: tuple[Values, Values]) -> _Steps:
    """A measured series by its own steps, any other by the stretches of the clock."""
    if isinstance(series, Measured):
        return _Steps(np.array(series.end), np.array(series.value))
    start, end = clock
    return _Steps(end, _values(series, run, 0.5 * (start + end)))


def _values(series: Steady | Profile | Seasonal, run: Run, middle: Values) -> Values:
    if isinstance(series, Steady):
        return np.full(middle.shape, series.value)
    if isinstance(series, Seasonal):
        return series.mean + series.swing * _cosine(series.peak_day, run, middle)
    midnight = run.start.replace(hour=0, minute=0, second=0, microsecond=0)
    hours = ((middle + (run.start - midnight).total_seconds()) // HOUR).astype(np.int64)
    weekday = (run.start.weekday() + hours // 24) % 7
    values: Values = np.array(series.hourly)[hours % 24] * np.array(series.weekday)[weekday]
    return values


def _yearly(season: Season | None, run: Run, middle: Values) -> Values:
    if season is None:
        return np.ones(middle.shape)
    return 1.0 + season.swing * _cosine(season.peak_day, run, middle)


def _cosine(peak_day: int, run: Run, middle: Values) -> Values:
    """The yearly wave of the day in which each moment lies: one value a day, however fine the stretches."""
    new_year = run.start.replace(month=1, day=1, hour=0, minute=0, second=0, microsecond=0)
    day = np.floor((middle + (run.start - new_year) / timedelta(seconds=1)) / DAY) + 1.0
    wave: Values = np.cos(2.0 * np.pi * (day - peak_day) / YEAR_DAYS)
    return wave


def _merged(end: Values, flow: Values, solids: Values, temperature: Values) -> Forcing:
    last = np.ones(end.shape, dtype=bool)
    last[:-1] = (np.diff(flow) != 0.0) | (np.diff(solids) != 0.0) | (np.diff(temperature) != 0.0)
    arrays = (end[last], flow[last], solids[last], temperature[last])
    for array in arrays:
        array.flags.writeable = False
    return Forcing(*arrays)
