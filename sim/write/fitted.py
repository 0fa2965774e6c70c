"""A fitted weather as lines of a case file, to be pasted."""

from datetime import date, timedelta

import numpy as np

from sim.case.series.records import Changeable, Demand, Profile, Season, UnsettledSeason, Wander
from sim.case.spelling import hundredths, short
from sim.case.units import DAY, HOUR, TEMPERATURE_SWING
from sim.study.weather import WeatherFit

HOURS_IN_A_LINE = 8


def paste(fit: WeatherFit) -> str:
    """The fitted series as a table of a case file."""
    start = fit.history.start
    end = start + timedelta(hours=len(fit.recorded))
    known = int(np.isfinite(fit.recorded).sum())
    note = f"# fitted to {fit.column} in {fit.source}: {known:,} hours from {start:%Y-%m-%d} to {end:%Y-%m-%d}"
    key = "demand" if isinstance(fit.fitted, Demand) else fit.history.key
    return "\n".join([note, f"[{key}]", *_lines(fit)]) + "\n"


def _lines(fit: WeatherFit) -> list[str]:
    match fit.fitted:
        case Changeable() as series:
            return _solids_lines(series, fit)
        case Demand() as demand:
            return _demand_lines(demand, fit)
        case UnsettledSeason() as unsettled:
            return _temperature_lines(unsettled, fit)


def _solids_lines(series: Changeable, fit: WeatherFit) -> list[str]:
    unit = fit.history.unit
    lines = [f'median = "{short(fit.history.in_file_unit(series.median))} {unit}"', *_wander_lines(series.fast, "")]
    if series.slow is not None:
        lines += _wander_lines(series.slow, "slow_")
    if series.season is not None:
        lines.append(f"season = {_season(series.season, fit)}")
    if series.storms is not None:
        storms = series.storms
        lines.append(
            f"storms = {{ per_year = {short(storms.per_year)}, height = {short(storms.height)}, "
            f'length = "{_time(storms.length)}" }}'
        )
    return lines


def _wander_lines(wander: Wander, prefix: str) -> list[str]:
    return [f"{prefix}spread = {np.exp(wander.spread):.3f}", f'{prefix}memory = "{_time(wander.memory)}"']


def _temperature_lines(series: UnsettledSeason, fit: WeatherFit) -> list[str]:
    unit, usual = fit.history.unit, series.usual
    per_degree = TEMPERATURE_SWING.units[unit].factor
    return [
        f'mean = "{hundredths(fit.history.in_file_unit(usual.mean))} {unit}"',
        f'swing = "{hundredths(usual.swing / per_degree)} {unit}"',
        f"highest_on = {_date(usual.peak_day, fit)}",
        f'variation = {{ spread = "{hundredths(series.wander.spread / per_degree)} {unit}", '
        f'memory = "{_time(series.wander.memory)}" }}',
    ]


def _demand_lines(demand: Demand, fit: WeatherFit) -> list[str]:
    assert isinstance(demand.flow, Profile), "a fit has hours of the day"
    hourly = [f'"{short(fit.history.in_file_unit(flow))} {fit.history.unit}"' for flow in demand.flow.hourly]
    rows = [", ".join(hourly[at : at + HOURS_IN_A_LINE]) for at in range(0, len(hourly), HOURS_IN_A_LINE)]
    lines = ["hourly = [" + ",\n          ".join(rows) + "]"]
    lines.append("weekday = [" + ", ".join(f"{factor:.3f}" for factor in demand.flow.weekday) + "]")
    if demand.season is not None:
        lines.append(f"season = {_season(demand.season, fit)}")
    if demand.wander is not None:
        spread, memory = f"{np.exp(demand.wander.spread):.3f}", _time(demand.wander.memory)
        lines.append(f'variation = {{ spread = {spread}, memory = "{memory}" }}')
    return lines


def _season(season: Season, fit: WeatherFit) -> str:
    return f"{{ swing = {season.swing:.2f}, highest_on = {_date(season.peak_day, fit)} }}"


def _date(day: int, fit: WeatherFit) -> str:
    """A day of the year as a date of the record's first year."""
    return (date(fit.history.start.year, 1, 1) + timedelta(days=day - 1)).isoformat()


def _time(seconds: float) -> str:
    return f"{short(seconds / DAY)} d" if seconds >= 2 * DAY else f"{short(max(seconds, HOUR) / HOUR)} h"
