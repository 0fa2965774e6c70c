"""A fitted weather as text: the lines to paste into a case, the table against the record, what is to be known."""

from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np

from sim.case.series.records import Changeable, Demand, Profile, Season, UnsettledSeason, Wander
from sim.case.units import DAY, HOUR, TEMPERATURE_SWING
from sim.study.weather import Likeness, WeatherFit
from sim.tell.listing import Column, Listing

WHY = {
    "feed.temperature": "the family is one wave a year and normal days about it",
    "demand.flow": "the family has the mean hours of a day, and no chance within the day",
    "feed": "the family has changes within hours, slow ones, one wave a year and storms of one kind, and no others",
}
STORMS = (
    "storms: per_year counts every storm that is made, also the small ones that add little; the table counts only "
    "those that rise as far above the median as it says"
)
HOURS_IN_A_LINE = 8
LEAST_DEGREE = 0.01


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


def short(value: float) -> str:
    """Three significant figures, without an exponent.

    >>> short(0.0123456), short(6.0), short(15710.0)
    ('0.0123', '6', '15700')
    """
    return f"{float(f'{value:.3g}'):.10g}"


def hundredths(value: float) -> str:
    """A temperature to three significant figures and no further than hundredths, unless it is less.

    >>> hundredths(0.0745), hundredths(12.345), hundredths(0.001)
    ('0.07', '12.3', '0.001')
    """
    return short(round(value, 2) if abs(value) >= LEAST_DEGREE else value)


def likeness_listing(fit: WeatherFit) -> Listing:
    """Every measure: the record, the mean over the realisations, and where 95 % of them lie."""
    return Listing(
        columns=(
            Column("", "words"),
            Column("unit", "words"),
            Column("record", "numbers"),
            Column("fitted, mean", "numbers"),
            Column("95 % from", "numbers"),
            Column("to", "numbers"),
        ),
        rows=tuple(
            (each.name, fit.history.unit if each.kind == "level" else "", *_numbers(each, fit))
            for each in fit.likeness
        ),
    )


def _numbers(each: Likeness, fit: WeatherFit) -> Sequence[str]:
    values = (each.record, each.mean, each.low, each.high)
    if each.kind == "level" and isinstance(fit.fitted, UnsettledSeason):
        return [hundredths(value) for value in values]
    return [f"{value:.2f}" if each.kind == "correlation" else short(value) for value in values]


def _apart(each: Likeness, fit: WeatherFit) -> str:
    record, mean, *_ = _numbers(each, fit)
    apart = each.mean - each.record
    far = f"{apart / each.record:+.0%}" if each.kind == "level" else f"{apart:+.2f}"
    return f"{record} in the record and {mean} as fitted ({far})"


def remarks(fit: WeatherFit) -> tuple[str, ...]:
    """What was left out, every measure of the record outside of what the fitted weather gives, what storms count."""
    found = []
    why = WHY.get(fit.history.key, WHY["feed"])
    if fit.zeros:
        found.append(f"{fit.zeros:,} hours at zero are left out: the family has none")
    for each in fit.likeness:
        if each.near is False and not each.low <= each.record <= each.high:
            found.append(f"not met: {each.name} is {_apart(each, fit)}: {why}")
    if isinstance(fit.fitted, Changeable) and fit.fitted.storms is not None:
        found.append(STORMS)
    return tuple(found)
