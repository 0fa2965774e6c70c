"""Random weather fitted to a record: the parameters, and how like the record its realisations are."""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict
from functools import partial
from pathlib import Path
from typing import Any, Literal, TypeAlias

import numpy as np

from sim.case.record import record
from sim.case.series.history import History, read_history
from sim.case.series.records import Changeable, Demand, Feed, Run, Steady, UnsettledSeason
from sim.case.series.schema import FileTable
from sim.case.series.zones import Zone, ZoneName
from sim.case.units import HOUR
from sim.errors import CaseError, RefusedValue
from sim.study.errors import RequestError
from sim.study.version import PROGRAM, VERSION
from sim.weather import build_forcing
from sim.weather.fit_daily import daily_means, fit_demand, fit_temperature
from sim.weather.fit_solids import fit_changeable
from sim.weather.measures import Values, autocorrelation, spells_a_year

Fitted: TypeAlias = Changeable | UnsettledSeason | Demand
Kind = Literal["level", "correlation", "count"]
Measure: TypeAlias = tuple[str, Kind, Callable[[Values], float]]

DAY_HOURS = 24
REPLICATES = 40
LEAST_DAYS = {"feed.temperature": 330, "demand.flow": 28}
LEAST_DAYS_OF_SOLIDS = 30
NEAR_LEVEL, NEAR_DEGREES, NEAR_CORRELATION = 0.15, 1.0, 0.1
BAND = (0.025, 0.975)


@record
class Likeness:
    """One measure of the record [unit of the file] and of realisations as long and with the same gaps.

    `mean` is over the realisations, `low` and `high` hold 95 % of them. `near` says whether the mean is as close to
    the record as a fit should be, None for a measure that was not fitted.
    """

    name: str
    kind: Kind
    record: float
    mean: float
    low: float
    high: float
    near: bool | None

    @property
    def is_known(self) -> bool:
        """Whether the record has it: with few hours in a row there is no likeness between them."""
        return math.isfinite(self.record) and math.isfinite(self.mean)


@record
class WeatherFit:
    """A record, the random series fitted to it, and realisations beside it, hourly, all in SI.

    `recorded` and `made` have nan in the same hours. `zeros` counts hours at zero, which the family does not have.
    """

    source: str
    column: str
    history: History
    fitted: Fitted
    zeros: int
    recorded: Values
    made: tuple[Values, ...]
    likeness: tuple[Likeness, ...]
    seed: int

    def to_json(self) -> dict[str, Any]:
        """Plain data for a JSON file: the parameters in SI, spreads of logarithms as such, measures as shown."""
        return {
            "program": PROGRAM,
            "version": VERSION,
            "file": self.source,
            "column": self.column,
            "unit": self.history.unit,
            "start": self.history.start.isoformat(),
            "hours": len(self.recorded),
            "hours_known": int(np.isfinite(self.recorded).sum()),
            "hours_at_zero": self.zeros,
            "remedies": [asdict(remedy) for remedy in self.history.remedies],
            "seed": self.seed,
            "realisations": len(self.made),
            "key": self.history.key,
            "fitted": asdict(self.fitted),
            "measures": [asdict(each) for each in self.likeness],
        }


def table_of(
    file: Path,
    *,
    column: str | None,
    unit: str | None,
    time: str | None = None,
    zone: str | None = None,
    clock: str | None = None,
    negative: str | None = None,
    stuck: str | None = None,
) -> FileTable:
    """A column of a file as a case would name it; RequestError for a zone there is none of, or that is missing."""
    given: dict[str, Any] = {"negative": negative, "stuck": stuck, "clock": clock, "time": time}
    return FileTable.model_construct(
        file=file.name, column=column, unit=unit, zone=zone_of_option(zone, clock),
        **{key: value for key, value in given.items() if value is not None},
    )  # fmt: skip


def zone_of_option(zone: str | None, clock: str | None) -> Zone | None:
    """The zone that --zone names; RequestError for one there is none of, or that is missing for a local clock."""
    if clock == "local" and zone is None:
        raise RequestError("--clock local needs --zone with a place, as in Europe/Rome")
    try:
        found: Zone | None = None if zone is None else ZoneName().read(zone)
    except RefusedValue as refused:
        raise RequestError(f"--zone: {refused}") from refused
    if clock == "local" and found is not None and found.offset is not None:
        raise RequestError(f"--clock local: {found.name} has no daylight saving; --zone with a place has")
    return found


def fit_weather(path: Path, table: FileTable, *, seed: int = 1, replicates: int = REPLICATES) -> WeatherFit:
    """Fit the family that suits the unit of a column: solids or turbidity, temperature, or demand.

    Raises RequestError with every problem of the file, or where it is too short to tell.
    """
    try:
        history = read_history(path, table)
    except (CaseError, RefusedValue) as error:
        raise RequestError(f"nothing fitted or written\n{error}") from error
    hourly = np.array(history.hourly)
    zeros = 0
    if history.key not in LEAST_DAYS:  # solids: the family has no zeros
        zeros = int((hourly <= 0.0).sum())
        hourly[hourly <= 0.0] = np.nan
    _refuse_if_it_tells_nothing(history, hourly)
    fitted = _fit(history, hourly)
    gaps = np.where(np.isfinite(hourly), 1.0, np.nan)
    made = tuple(
        _realisation(history, fitted, seed=seed, replicate=replicate) * gaps for replicate in range(replicates)
    )
    likeness = (_likeness(each, hourly, made, history) for each in _measures(fitted))
    return WeatherFit(
        source=path.name, column=table.column, history=history, fitted=fitted, zeros=zeros, recorded=hourly,
        made=made, likeness=tuple(each for each in likeness if each.is_known), seed=seed,
    )  # fmt: skip


def _refuse_if_it_tells_nothing(history: History, hourly: Values) -> None:
    least, known = LEAST_DAYS.get(history.key, LEAST_DAYS_OF_SOLIDS), int(np.isfinite(daily_means(hourly, 1)).sum())
    if known < least:
        raise RequestError(f"nothing fitted or written: {known} days with values; {least} or more are needed")
    if float(np.nanmax(hourly)) == float(np.nanmin(hourly)):
        raise RequestError("nothing fitted or written: the values never change")


def _fit(history: History, hourly: Values) -> Fitted:
    match history.key:
        case "feed.temperature":
            return fit_temperature(history.start, hourly)
        case "demand.flow":
            return fit_demand(history.start, hourly)
        case _:
            return fit_changeable(history.start, hourly)


def _realisation(history: History, fitted: Fitted, *, seed: int, replicate: int) -> Values:
    """The fitted series in each hour of the record [SI], made as for a run."""
    count = len(history.hourly)
    run = Run(start=history.start, length=count * HOUR, allowed_over_limit=None)
    still = Steady(value=0.0)
    solids = fitted if isinstance(fitted, Changeable) else still
    warmth = fitted if isinstance(fitted, UnsettledSeason) else still
    demand = fitted if isinstance(fitted, Demand) else Demand(flow=still, season=None)
    feed = Feed(temperature=warmth, solids=solids, turbidity_ratio=None)
    forcing = build_forcing(run, feed, demand, seed=seed, replicate=replicate)
    of = {"feed.temperature": forcing.temperature, "demand.flow": forcing.flow}.get(history.key, forcing.solids)
    values: Values = of[np.searchsorted(forcing.end, (np.arange(count) + 0.5) * HOUR)]
    return values


def _measures(fitted: Fitted) -> tuple[Measure, ...]:
    """What a record is compared by; all but storms are what the fit is for."""
    median: Measure = ("median", "level", _quantile(0.5))
    high: Measure = ("95th percentile", "level", _quantile(0.95))
    highest: Measure = ("99th percentile", "level", _quantile(0.99))
    match fitted:
        case Changeable():
            return (
                median, high, highest,
                *_alike_after("logarithms", "h", (1, DAY_HOURS), np.log),
                *_alike_after("values", "h", (1, DAY_HOURS), np.asarray),
                ("storms a year", "count", spells_a_year),
            )  # fmt: skip
        case Demand():
            return (
                median, high, highest,
                ("99th percentile of daily means", "level", lambda x: _quantile(0.99)(daily_means(x))),
                *_alike_after("values", "h", (1, DAY_HOURS), np.asarray),
                *_alike_after("daily means", "d", (1, 7), daily_means),
            )  # fmt: skip
        case _:
            return (
                ("5th percentile", "level", _quantile(0.05)), median, high,
                *_alike_after("daily means", "d", (1, 7), lambda x: daily_means(x, 1)),
            )  # fmt: skip


def _alike_after(what: str, unit: str, lags: Sequence[int], of: Callable[[Values], Values]) -> Iterator[Measure]:
    """How alike the values made of a series are after each lag."""
    for lag in lags:
        yield f"autocorrelation of {what}, {lag} {unit}", "correlation", partial(_alike, of, lag)


def _quantile(share: float) -> Callable[[Values], float]:
    return lambda values: float(np.nanquantile(values, share))


def _alike(of: Callable[[Values], Values], lag: int, values: Values) -> float:
    return float(autocorrelation(of(values), (lag,))[0])


def _likeness(measure: Measure, recorded: Values, made: tuple[Values, ...], history: History) -> Likeness:
    name, kind, of = measure
    record, each = of(recorded), np.array([of(values) for values in made])
    mean, low, high = float(each.mean()), *(float(x) for x in np.quantile(each, BAND))
    if kind == "level":
        record, mean, low, high = (history.in_file_unit(x) for x in (record, mean, low, high))
    apart = abs(mean - record)
    near = {
        "level": apart <= (NEAR_DEGREES if history.key == "feed.temperature" else NEAR_LEVEL * abs(record)),
        "correlation": apart <= NEAR_CORRELATION,
        "count": None,
    }[kind]
    return Likeness(name=name, kind=kind, record=record, mean=mean, low=low, high=high, near=near)
