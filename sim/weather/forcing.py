"""Feed and demand of a case as stretches of constant values, equal neighbours merged."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from functools import lru_cache
from types import MappingProxyType
from typing import Any, TypeAlias

import numpy as np

from hydraulics.oxidation import HIGHEST_PH
from hydraulics.water import COLDEST, HOTTEST
from sim.case.chemistry.records import Solute
from sim.case.series.records import (
    Changeable,
    Demand,
    Feed,
    Measured,
    Profile,
    Run,
    Season,
    Seasonal,
    Series,
    Steady,
    UnsettledSeason,
    Wander,
)
from sim.weather.chance import Streams, storms, wandering
from sim.weather.streams import stream

HOUR, DAY, YEAR_DAYS = 3600.0, 86_400.0, 365.25

Values: TypeAlias = np.ndarray[Any, np.dtype[np.float64]]
Places: TypeAlias = np.ndarray[Any, np.dtype[np.int64]]


@dataclass(frozen=True, slots=True)
class Forcing:
    """Row i holds from the end of row i - 1 (or the start of the run) up to `end[i]` [s].

    flow [m3/s] asked of the train, solids [g/m3] and temperature [degC] of the feed, what is dissolved in it as far
    as the case tells: `solutes` [g/m3] and `acidity` [pH]; all arrays have one length, at least 1.
    """

    end: Values
    flow: Values
    solids: Values
    temperature: Values
    solutes: Mapping[Solute, Values]
    acidity: Values | None


@dataclass(frozen=True, slots=True)
class _Steps:
    """One series as steps: value[i] holds up to end[i] [s]."""

    end: Values
    value: Values

    def at(self, end: Values) -> Values:
        """The values that hold up to finer ends, which have every end of the steps among them."""
        return self.value[np.searchsorted(self.end, end)]


def build_forcing(run: Run, feed: Feed, demand: Demand, *, seed: int = 1, replicate: int = 0) -> Forcing:
    """Weather and demand over the whole length of a run: hourly for profiles and random solids, daily for seasons.

    A series from a file keeps its own steps. The last few are kept for the next caller, since every policy of a case
    runs under the same; arrays are read-only. Where nothing is random, seed and replicate make no difference.
    """
    if not (feed.is_random or demand.is_random):
        seed = replicate = 0
    return made_forcing(run, feed, demand, seed, replicate)


# A series of two years of hours takes 0.3 ms to hash, so the records themselves are good keys.
@lru_cache(maxsize=8)
def made_forcing(run: Run, feed: Feed, demand: Demand, seed: int, replicate: int) -> Forcing:
    """As `build_forcing`, which callers use."""
    solutes = dict(feed.solutes)
    parts = (
        demand.flow, demand.season, demand.wander, feed.solids, feed.temperature, *solutes.values(), feed.acidity
    )  # fmt: skip
    clock = _clock(run, parts, by_day=bool(demand.closed))

    def streams(source: str) -> Streams:
        return lambda part: stream(f"{source} {part}", seed=seed, replicate=replicate)

    factor = _yearly(demand.season, clock) * _daily_factor(demand.wander, clock, streams("demand"))
    factor *= _open(demand, clock)
    steps: dict[str, _Steps] = {
        "factor": _Steps(clock.end, factor),
        "flow": _steps(demand.flow, clock, streams("demand flow")),
        "solids": _steps(feed.solids, clock, streams("feed solids")),
        "temperature": _steps(feed.temperature, clock, streams("feed temperature")),
    }
    steps |= {solute: _steps(series, clock, streams(f"feed {solute}")) for solute, series in solutes.items()}
    if feed.acidity is not None:
        steps["acidity"] = _steps(feed.acidity, clock, streams("feed acidity"))
    end = np.unique(np.concatenate([part.end for part in steps.values()]))
    values = {name: part.at(end) for name, part in steps.items()}
    values["flow"] = np.maximum(values["flow"] * values.pop("factor"), 0.0)
    for name in ("solids", *solutes):
        values[name] = np.maximum(values[name], 0.0)
    if "acidity" in values:
        values["acidity"] = np.clip(values["acidity"], 0.0, HIGHEST_PH)
    values = _merged({"end": end, **values})
    return Forcing(
        end=values["end"],
        flow=values["flow"],
        solids=values["solids"],
        temperature=values["temperature"],
        solutes=MappingProxyType({solute: values[solute] for solute in solutes}),
        acidity=values.get("acidity"),
    )


@dataclass(frozen=True, slots=True)
class _Clock:
    """The stretches of a run's clock: their ends [s], and the hour each lies in, from the midnight before the run."""

    run: Run
    end: Values
    hour: Places

    @property
    def day_of_year(self) -> Values:
        """The day that each stretch lies in, counted on from 1 on the first of January before the run."""
        return _day_of_year(self.run, self.hour)


def _day_of_year(run: Run, hour: Places) -> Values:
    new_year = run.start.replace(month=1, day=1, hour=0, minute=0, second=0, microsecond=0)
    return (hour // 24 + (run.start - new_year).days + 1).astype(np.float64)


def _since_midnight(run: Run) -> float:
    midnight = run.start.replace(hour=0, minute=0, second=0, microsecond=0)
    return (run.start - midnight) / timedelta(seconds=1)


def _clock(
    run: Run, parts: tuple[Series | UnsettledSeason | Season | Wander | None, ...], *, by_day: bool
) -> _Clock:
    """Its hours or its days, as profiles, seasons and weather need; days at least if `by_day`."""
    length = run.length
    if any(isinstance(part, Profile | Changeable) for part in parts):
        step = HOUR
    elif by_day or any(isinstance(part, Seasonal | Season | UnsettledSeason | Wander) for part in parts):
        step = DAY
    else:
        return _Clock(run, np.array([length]), np.zeros(1, dtype=np.int64))
    past = _since_midnight(run) % step
    cuts = np.arange(1, int((length + past) // step) + 1) * step - past
    cuts = cuts[(cuts > 0.0) & (cuts < length)]
    start, end = np.concatenate(([0.0], cuts)), np.concatenate((cuts, [length]))
    hour = ((0.5 * (start + end) + _since_midnight(run)) // HOUR).astype(np.int64)
    return _Clock(run, end, hour)


def _steps(series: Series | UnsettledSeason, clock: _Clock, streams: Streams) -> _Steps:
    """A measured series by its own steps, any other by the stretches of the clock."""
    match series:
        case Measured():
            return _Steps(np.array(series.end), np.array(series.value))
        case Steady():
            values = np.full(clock.end.shape, series.value)
        case Seasonal():
            values = _seasonal(series, clock)
        case Profile():
            weekday = (clock.run.start.weekday() + clock.hour // 24) % 7
            values = np.array(series.hourly)[clock.hour % 24] * np.array(series.weekday)[weekday]
        case UnsettledSeason():
            strayed = _seasonal(series.usual, clock) + _daily(series.wander, clock, streams("days"))
            values = np.clip(strayed, COLDEST, HOTTEST)  # water this cold turns to ice instead
        case Changeable():
            values = changeable(series, clock.run, int(clock.hour[-1]) + 1, streams)[clock.hour]
    return _Steps(clock.end, values)


def changeable(series: Changeable, run: Run, count: int, streams: Streams) -> Values:
    """A random series in each of `count` hours from the midnight before a run."""
    day = _day_of_year(run, np.arange(count))
    log = wandering(series.fast, HOUR, count, streams("fast"))
    if series.slow is not None:
        log += wandering(series.slow, HOUR, count, streams("slow"))
    values: Values = series.median * np.exp(log)
    if series.season is not None:
        values *= 1.0 + series.season.swing * _cosine(series.season.peak_day, day)
    if series.storms is not None:
        season = series.storms.season
        rate = np.ones(count) if season is None else 1.0 + season.swing * _cosine(season.peak_day, day)
        values *= 1.0 + storms(series.storms, rate, HOUR, streams)
    return values


def _seasonal(series: Seasonal, clock: _Clock) -> Values:
    return series.mean + series.swing * _cosine(series.peak_day, clock.day_of_year)


def _yearly(season: Season | None, clock: _Clock) -> Values:
    if season is None:
        return np.ones(clock.end.shape)
    return 1.0 + season.swing * _cosine(season.peak_day, clock.day_of_year)


def _open(demand: Demand, clock: _Clock) -> Values:
    """0 on the days on which nothing is asked for, else 1."""
    if not demand.closed:
        return np.ones(clock.end.shape)
    closed = [(day - clock.run.start.date()).days for day in demand.closed]
    shut: Values = np.where(np.isin(clock.hour // 24, closed), 0.0, 1.0)
    return shut


def _daily_factor(wander: Wander | None, clock: _Clock, streams: Streams) -> Values:
    """A lognormal factor about a mean of 1, one value a day."""
    if wander is None:
        return np.ones(clock.end.shape)
    factor: Values = np.exp(_daily(wander, clock, streams("days")) - 0.5 * wander.spread**2)
    return factor


def _daily(wander: Wander, clock: _Clock, numbers: np.random.Generator) -> Values:
    day = clock.hour // 24
    values: Values = wandering(wander, DAY, int(day[-1]) + 1, numbers)[day]
    return values


def _cosine(peak_day: int, day: Values) -> Values:
    """The yearly wave on days of the year: one value a day, however fine the stretches."""
    wave: Values = np.cos(2.0 * np.pi * (day - peak_day) / YEAR_DAYS)
    return wave


def _merged(values: Mapping[str, Values]) -> dict[str, Values]:
    """The rows without those that are like the next in all but their `end`; read-only."""
    last = np.ones(values["end"].shape, dtype=bool)
    last[:-1] = np.any([np.diff(each) != 0.0 for name, each in values.items() if name != "end"], axis=0)
    kept = {name: each[last] for name, each in values.items()}
    for each in kept.values():
        each.flags.writeable = False
    return kept
