"""Weather fitted to recorded series and made again: quantiles within 15 %, autocorrelations within 0.1.

Compared are the record and the mean over 40 realisations as long as it and with the same gaps, each read off by code
of pandas here, not by the program's own. Autocorrelations are those of logarithms and of values, both.
"""

from datetime import datetime
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from sim.case.series.records import Demand, Profile
from sim.study.weather import Likeness, WeatherFit, fit_weather, table_of
from sim.tell.weather.weather_words import remarks
from tests.data_real.real import DEMAND, WATER, column, needs_data

pytestmark = needs_data


@pytest.fixture(scope="module")
def turbidity() -> WeatherFit:
    return fit_weather(WATER, table_of(WATER, column="turbidity_NTU", unit="NTU", zone="UTC-5"))


def district(name: str) -> WeatherFit:
    return fit_weather(DEMAND, table_of(DEMAND, column=name, unit="L/s", zone="Europe/Rome", clock="local"))


@pytest.fixture(scope="module")
def commercial() -> WeatherFit:
    return district("dma10_commercial_industrial_Lps")


def read_off(series: "pd.Series[float]") -> dict[str, float]:
    """pandas leaves gaps out, and so do its correlations: pairs present only."""
    logs = np.log(series)
    return {
        **{f"q{share:g}": float(series.quantile(share)) for share in (0.5, 0.95, 0.99)},
        **{f"log {lag} h": float(logs.corr(logs.shift(lag))) for lag in (1, 24)},
        **{f"value {lag} h": float(series.corr(series.shift(lag))) for lag in (1, 24)},
    }


def recorded(file: Path, name: str) -> "pd.Series[float]":
    values = pd.Series([value for _, value in column(file, name)], dtype=float)
    return values.where(values > 0.0)


def test_turbidity_is_made_like_the_record(turbidity: WeatherFit) -> None:
    record = read_off(recorded(WATER, "turbidity_NTU"))
    each = pd.DataFrame([read_off(pd.Series(values)) for values in turbidity.made])
    assert len(each) == 40
    for name, told in record.items():
        limit = {"abs": 0.1} if "h" in name else {"rel": 0.15}
        assert each[name].mean() == pytest.approx(told, **limit), name


def test_what_the_program_says_of_it_is_what_pandas_says(turbidity: WeatherFit) -> None:
    record = read_off(recorded(WATER, "turbidity_NTU"))
    told = [each.record for each in turbidity.likeness]
    assert told[:3] == pytest.approx([record["q0.5"], record["q0.95"], record["q0.99"]])
    assert told[3:7] == pytest.approx([record[name] for name in list(record)[3:]])
    assert all(each.near for each in turbidity.likeness if each.kind != "count")
    left_out, storms = remarks(turbidity)
    assert left_out == "144 hours at zero are left out: random solids have none."
    assert storms.startswith("The key per_year counts every storm that is made")


def test_the_gaps_of_the_record_are_those_of_what_is_made(turbidity: WeatherFit) -> None:
    rows = column(WATER, "turbidity_NTU")
    missing = sum(value is None or value == 0.0 for _, value in rows)
    assert turbidity.history.start == datetime(2012, 1, 1)
    for values in (turbidity.recorded, *turbidity.made):
        assert len(values) == len(rows)
        assert np.isnan(values).sum() == missing


def test_the_record_has_as_many_storms_as_the_fit(turbidity: WeatherFit) -> None:
    """Not fitted: storms are counted on neither side until here."""
    storms = turbidity.likeness[-1]
    assert storms.kind == "count"
    assert storms.low <= storms.record <= storms.high


def test_demand_of_the_second_series_is_made_like_the_record(commercial: WeatherFit) -> None:
    assert all(each.near for each in commercial.likeness)
    assert isinstance(commercial.fitted, Demand)
    assert isinstance(commercial.fitted.flow, Profile)
    assert commercial.fitted.flow.weekday[6] == min(commercial.fitted.flow.weekday)
    assert remarks(commercial) == ()


def test_where_the_family_cannot_the_remark_says_by_how_much() -> None:
    """Gardens are watered on summer evenings: hours that no daily factor has."""
    fit = district("dma2_residential_Lps")
    far = [each for each in fit.likeness if each.near is False]
    assert [each.name for each in far] == ["99th percentile"]
    (told,) = remarks(fit)
    assert told == (
        f"Not met: 99th percentile, {far[0].record:.3g} in the record and {far[0].mean:.3g} as fitted "
        f"({100.0 * by(far[0]):+.0f} %). Random demand has "
        "the mean profile of a day and does not vary at random within the day."
    )
    assert -0.25 < by(far[0]) < -0.15


def by(each: Likeness) -> float:
    return each.mean / each.record - 1.0


def test_temperature_is_made_like_the_record() -> None:
    """All but the warmest days, which the sea holds down: its 95th percentile comes out 1.4 degC too high."""
    fit = fit_weather(WATER, table_of(WATER, column="water_temp_C", unit="degC", zone="UTC-5"))
    low, median, high, day, week = fit.likeness
    assert (low.near, median.near, day.near, week.near) == (True, True, True, True)
    assert high.mean - high.record == pytest.approx(1.4, abs=0.3)
    assert high.near is False
