"""Series made from known parameters are fitted again: what can be told apart comes back, and the fit is like them."""

import math
from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest

from sim.case.series.records import Changeable, Profile, Season, Storms, Wander
from sim.weather.fit_daily import daily_means, fit_demand, fit_temperature
from sim.weather.fit_solids import LAGS, LOG_LAGS, SHARES, _family, _told, fit_changeable
from sim.weather.forcing import changeable
from sim.weather.measures import Values
from sim.weather.streams import stream
from tests.weather.weathers import DAILY, DAY, HOUR, UNSETTLED, case_of, forcing_of

START = datetime(2027, 1, 1)
RIVER = Changeable(
    median=5.0,
    fast=Wander(spread=0.4, memory=4 * HOUR),
    slow=Wander(spread=0.45, memory=10 * DAY),
    season=Season(swing=0.5, peak_day=80),
    storms=Storms(per_year=25.0, height=6.0, length=24 * HOUR, season=None),
)


def made(series: Changeable, years: int, replicate: int = 0) -> Values:
    count = years * 8766
    return changeable(
        series, case_of().run, count, lambda part: stream(f"fit test {part}", seed=5, replicate=replicate)
    )


def parameters(series: Changeable) -> Values:
    assert series.slow is not None
    assert series.storms is not None
    fast, slow, storms = series.fast, series.slow, series.storms
    return np.log(
        [
            series.median, fast.spread, fast.memory / HOUR, slow.spread, slow.memory / HOUR,
            storms.per_year, storms.height - 1.0, storms.length / HOUR,
        ]
    )  # fmt: skip


def test_the_family_in_closed_form_is_what_long_series_show() -> None:
    """The formulas that the fit rests on, against 12 realisations of 20 years.

    That of logarithms takes storms to fade exponentially there too: some hundredths, which the fit allows for.
    """
    told = np.array([_told(made(RIVER, 20, replicate)).all for replicate in range(12)])
    formula = _family(parameters(RIVER), RIVER.season).all
    error = told.std(axis=0) / math.sqrt(len(told))
    shares, logs = len(SHARES), len(SHARES) + len(LOG_LAGS)
    assert formula[:shares] == pytest.approx(told.mean(axis=0)[:shares], abs=0.03)
    assert formula[shares:logs] == pytest.approx(told.mean(axis=0)[shares:logs], abs=0.05)
    assert formula[logs:] == pytest.approx(told.mean(axis=0)[logs:], abs=0.05)
    assert error.max() < 0.02
    assert len(formula) - logs == len(LAGS)


def test_a_river_without_storms_is_alike_as_its_season_and_what_strays_say() -> None:
    """By hand, 48 h apart: (exp(0.04 e^-4.8) (1 + 0.045 cos(2 pi 48 / 8766)) - 1) / (1.045 exp(0.04) - 1)."""
    calm = replace(
        RIVER,
        fast=Wander(spread=0.2, memory=10 * HOUR),
        slow=Wander(spread=1e-6, memory=10 * DAY),
        season=(season := Season(swing=0.3, peak_day=80)),
        storms=Storms(per_year=1e-6, height=1.0 + 1e-6, length=HOUR, season=None),
    )
    assert _family(parameters(calm), season).all[-1] == pytest.approx(0.51704, abs=1e-5)


@pytest.mark.parametrize("years", [2, pytest.param(6, marks=pytest.mark.long)])
def test_a_made_river_is_fitted_by_one_like_it(years: int) -> None:
    hourly = made(RIVER, years)
    hourly[500:1200] = np.nan
    fitted = fit_changeable(START, hourly)
    before, after = (_family(parameters(each), each.season) for each in (RIVER, fitted))
    assert after.logs[2:7] == pytest.approx(before.logs[2:7], abs=0.6 / math.sqrt(years))
    assert after.log_lags[[0, 4]] == pytest.approx(before.log_lags[[0, 4]], abs=0.1)
    assert fitted.season is not None
    assert fitted.season.swing == pytest.approx(0.5, abs=0.5 / math.sqrt(years))
    assert fitted.season.peak_day == pytest.approx(80, abs=60 / math.sqrt(years))
    assert fitted.fast.memory < fitted.slow.memory if fitted.slow else False


def test_a_season_needs_its_year() -> None:
    assert fit_changeable(START, made(RIVER, 1)[: 200 * 24]).season is None


def test_gaps_do_not_bend_a_fit() -> None:
    """A tenth of the hours is taken out at random: the fit hardly moves."""
    hourly = made(RIVER, 3)
    holes = np.where(np.random.default_rng(6).random(len(hourly)) < 0.1, np.nan, hourly)
    fits = [fit_changeable(START, each) for each in (hourly, holes)]
    whole, torn = (_family(parameters(each), each.season) for each in fits)
    assert torn.logs == pytest.approx(whole.logs, abs=0.08)
    assert torn.log_lags == pytest.approx(whole.log_lags, abs=0.03)


def test_the_same_record_is_fitted_the_same() -> None:
    hourly = made(RIVER, 1)
    assert fit_changeable(START, hourly) == fit_changeable(START, hourly.copy())


def test_a_temperature_comes_back() -> None:
    """40 years; standard errors: mean s sqrt(2 m / n), spread s sqrt(m / n), memory about m sqrt(2 m / n)."""
    forcing = forcing_of(case_of(solids=None, wander=None, days=40 * 365.25))
    fitted = fit_temperature(START, np.repeat(forcing.temperature, 24))
    assert fitted.usual.mean == pytest.approx(14.0, abs=0.1)
    assert fitted.usual.swing == pytest.approx(UNSETTLED.usual.swing, abs=0.15)
    assert fitted.usual.peak_day == pytest.approx(UNSETTLED.usual.peak_day, abs=2)
    assert fitted.wander.spread == pytest.approx(1.0, rel=0.08)
    assert fitted.wander.memory == pytest.approx(UNSETTLED.wander.memory, rel=0.15)


def test_a_demand_comes_back() -> None:
    hours, week = tuple(1e-3 * (1.0 + (hour % 12) / 6.0) for hour in range(24)), (1.1, 1.1, 1.1, 1.1, 1.1, 0.9, 0.6)
    case = case_of(solids=None, temperature=None, days=20 * 365.25)
    season = Season(swing=0.3, peak_day=190)
    case = replace(case, demand=replace(case.demand, flow=Profile(hourly=hours, weekday=week), season=season))
    hourly = forcing_of(case).flow
    fitted = fit_demand(START, hourly)
    assert isinstance(fitted.flow, Profile)
    assert fitted.flow.hourly == pytest.approx(hours, rel=0.02)
    assert fitted.flow.weekday == pytest.approx(week, rel=0.02)
    assert fitted.season is not None
    assert fitted.season.swing == pytest.approx(0.3, abs=0.02)
    assert fitted.season.peak_day == pytest.approx(190, abs=4)
    assert fitted.wander is not None
    assert fitted.wander.spread == pytest.approx(DAILY.spread, rel=0.08)
    assert fitted.wander.memory == pytest.approx(DAILY.memory, rel=0.15)


def test_a_demand_keeps_its_mean_beside_the_factors_of_its_weekdays() -> None:
    """4 m3/s on six days and none on the seventh: hours of 24/7 times factors whose mean is 1."""
    fitted = fit_demand(datetime(2027, 1, 4), np.tile(np.repeat([4.0] * 6 + [0.0], 24), 10))
    assert isinstance(fitted.flow, Profile)
    assert fitted.flow.hourly == pytest.approx([24.0 / 7.0] * 24)


def test_days_without_demand_have_no_daily_factor() -> None:
    """Closed on Sundays: the weekday factor is 0, and the logarithm of nothing is not taken."""
    hourly = np.tile(np.repeat([1.0, 1.2, 0.9, 1.1, 1.0, 0.8, 0.0], 24), 10)
    fitted = fit_demand(datetime(2027, 1, 4), hourly)
    assert isinstance(fitted.flow, Profile)
    assert fitted.flow.weekday == pytest.approx(np.array([1.0, 1.2, 0.9, 1.1, 1.0, 0.8, 0.0]) / (6.0 / 7.0))
    assert fitted.wander is not None
    assert fitted.wander.spread == pytest.approx(0.0, abs=1e-12)


def test_a_day_with_too_few_hours_has_no_mean() -> None:
    hourly = np.arange(48.0)
    hourly[24:28] = np.nan
    assert daily_means(hourly[:40], least=12) == pytest.approx([11.5, 33.5])
    assert np.isnan(daily_means(hourly[:40])[1])
