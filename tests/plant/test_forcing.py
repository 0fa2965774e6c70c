"""Weather and demand as stretches of constant values: hours, weekdays, seasons, odd starts, merging, sums."""

import math
from datetime import datetime, timedelta
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.case.series.records import Demand, Feed, Profile, Run, Season, Seasonal, Series, Steady
from sim.weather import build_forcing
from sim.weather.forcing import Forcing
from tests.plant.builders import DAY, HOUR, MINUTE

MONDAY = datetime(2027, 1, 4)
EVERY_DAY = (1.0,) * 7
HOURS = tuple(float(hour) for hour in range(24))  # the flow of each hour is its number
STEADY = Steady(value=5.0)


def forcing(
    flow: Steady | Profile = STEADY, *, start: datetime = MONDAY, days: float = 7.0, solids: Series = STEADY,
    temperature: Steady | Seasonal = STEADY, season: Season | None = None,
) -> Forcing:  # fmt: skip
    return build_forcing(
        Run(start=start, length=days * DAY, allowed_over_limit=None),
        Feed(temperature=temperature, solids=solids, turbidity_ratio=None),
        Demand(flow=flow, season=season),
    )


def rows(built: Forcing, name: str) -> list[tuple[float, float]]:
    """(end, value) of every stretch."""
    return list(zip(built.end.tolist(), getattr(built, name).tolist(), strict=True))


def total(built: Forcing, name: str = "flow") -> float:
    return math.fsum(getattr(built, name) * np.diff(built.end, prepend=0.0))


def profile(*hourly: float, weekday: tuple[float, ...] = EVERY_DAY) -> Profile:
    return Profile(hourly=hourly * (24 // len(hourly)), weekday=weekday)


# Hours and weekdays


def test_what_is_steady_is_one_stretch() -> None:
    built = forcing(days=365.0)
    assert rows(built, "flow") == rows(built, "solids") == [(365 * DAY, 5.0)]


def test_every_hour_has_its_own_value_from_midnight_on() -> None:
    built = forcing(profile(*HOURS), days=2.0)
    assert rows(built, "flow") == [((i + 1) * HOUR, float(i % 24)) for i in range(48)]


def test_equal_neighbours_are_merged() -> None:
    day_and_night = profile(*[1.0] * 6, *[3.0] * 16, *[1.0] * 2)
    assert rows(forcing(day_and_night, days=2.0), "flow") == [
        (6 * HOUR, 1.0), (22 * HOUR, 3.0), (30 * HOUR, 1.0), (46 * HOUR, 3.0), (48 * HOUR, 1.0)
    ]  # fmt: skip


def test_neighbours_are_merged_only_where_nothing_changes() -> None:
    """Flow changes every 12 h, solids every 8 h: together at 8, 12, 16 and 24."""
    built = forcing(profile(*[1.0] * 12, *[2.0] * 12), solids=profile(*[3.0] * 8, *[4.0] * 8, *[5.0] * 8), days=1.0)
    assert rows(built, "flow") == [(8 * HOUR, 1.0), (12 * HOUR, 1.0), (16 * HOUR, 2.0), (24 * HOUR, 2.0)]
    assert rows(built, "solids") == [(8 * HOUR, 3.0), (12 * HOUR, 4.0), (16 * HOUR, 4.0), (24 * HOUR, 5.0)]


def test_weekdays_multiply_monday_first() -> None:
    """A Wednesday start: its factor first, Monday's five days later."""
    factors = (1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 0.0)
    built = forcing(profile(10.0, weekday=factors), start=datetime(2027, 1, 6))
    assert rows(built, "flow") == [(day * DAY, 10.0 * f) for day, f in enumerate((3, 4, 5, 6, 0, 1, 2), start=1)]


def test_a_weekday_begins_at_midnight() -> None:
    """Sunday 22:00: two hours of it are left."""
    built = forcing(profile(1.0, weekday=(0.0, *(1.0,) * 6)), start=datetime(2027, 1, 10, 22), days=2.0)
    assert rows(built, "flow") == [(2 * HOUR, 1.0), (26 * HOUR, 0.0), (48 * HOUR, 1.0)]


@pytest.mark.parametrize(("hour", "minute", "second"), [(0, 1, 0), (13, 37, 21), (23, 59, 59)])
def test_a_run_that_starts_at_an_odd_time_keeps_the_clocks_hours(hour: int, minute: int, second: int) -> None:
    """The first stretch is what is left of its hour, and the last what the run has of its."""
    built = forcing(profile(*HOURS), start=datetime(2027, 1, 4, hour, minute, second), days=1.0)
    left = HOUR - minute * MINUTE - second
    assert built.end.tolist() == [*(left + i * HOUR for i in range(24)), DAY]
    assert built.flow.tolist() == [float((hour + i) % 24) for i in range(25)]


@pytest.mark.parametrize("length", [1.0, 1799.0, HOUR, 1.5 * HOUR, 0.0])
def test_a_short_run_has_what_its_length_needs(length: float) -> None:
    built = forcing(profile(*HOURS), start=datetime(2027, 1, 4, 7, 30), days=length / DAY)
    assert built.end[-1] == pytest.approx(length)
    assert built.flow.tolist() == [7.0, 8.0][: 1 + (length > 1800.0)]


# Sums


def test_a_day_adds_up_exactly() -> None:
    hourly = tuple(0.1 * hour for hour in range(24))
    assert total(forcing(profile(*hourly), days=1.0)) == math.fsum(0.1 * hour * HOUR for hour in range(24))


@given(
    hourly=st.lists(st.sampled_from((0.0, 1.0, 2.5)), min_size=24, max_size=24),
    start=st.datetimes(datetime(2027, 1, 1), datetime(2028, 12, 31)),
)
def test_a_week_adds_up_whenever_it_starts(hourly: list[float], start: datetime) -> None:
    factors = (1.0, 0.5, 0.0, 2.0, 1.0, 1.0, 1.0)
    built = forcing(profile(*hourly, weekday=factors), start=start)
    assert total(built) == pytest.approx(sum(hourly) * HOUR * sum(factors), rel=1e-12)
    assert np.all(np.diff(built.end, prepend=0.0) > 0.0)


# Seasons


def yearly(**given: Any) -> Seasonal:
    return Seasonal(**{"mean": 15.0, "swing": 10.0, "peak_day": 200, **given})


def on_day(built: Forcing, name: str, start: datetime, day: datetime) -> float:
    """The value at noon of a day."""
    noon = (day.replace(hour=12) - start).total_seconds()
    return float(getattr(built, name)[np.searchsorted(built.end, noon)])


@pytest.mark.parametrize("day", [1, 50, 201, 300])
def test_a_season_is_a_cosine_about_its_mean_day_by_day(day: int) -> None:
    """mean + swing cos(2 pi (day of the year - peak) / 365.25)."""
    start = datetime(2027, 1, 1)
    built = forcing(temperature=yearly(), start=start, days=365.0)
    expected = 15.0 + 10.0 * math.cos(2.0 * math.pi * (day - 200) / 365.25)
    assert on_day(built, "temperature", start, start + timedelta(days=day - 1)) == pytest.approx(expected, rel=1e-9)


def test_the_peak_day_has_the_highest_value() -> None:
    start, peak = datetime(2027, 1, 1), datetime(2027, 7, 19)
    built = forcing(solids=yearly(peak_day=200), start=start, days=365.0)
    before, there, after = (on_day(built, "solids", start, peak + timedelta(days=off)) for off in (-1, 0, 1))
    assert before < there
    assert after < there


def test_a_season_swings_about_its_mean_between_its_peaks() -> None:
    start = datetime(2027, 1, 1)
    built = forcing(temperature=yearly(), start=start, days=730.0)
    assert built.temperature.max() == pytest.approx(25.0, abs=1e-3)
    assert built.temperature.min() == pytest.approx(5.0, abs=1e-3)
    assert total(built, "temperature") / (730 * DAY) == pytest.approx(15.0, abs=0.01)
    peak = datetime(2027, 7, 19)
    quarter, half = (on_day(built, "temperature", start, peak + timedelta(days=later)) for later in (91, 183))
    assert quarter == pytest.approx(15.0, abs=0.21)
    assert half == pytest.approx(5.0, abs=1e-2)


def test_a_season_that_starts_at_an_odd_time_changes_at_midnight() -> None:
    built = forcing(temperature=yearly(), start=datetime(2027, 3, 1, 18), days=3.0)
    assert built.end.tolist() == [6 * HOUR, 30 * HOUR, 54 * HOUR, 3 * DAY]
    from_midnight = forcing(temperature=yearly(), start=datetime(2027, 3, 2), days=2.0)
    assert built.temperature[1:3].tolist() == from_midnight.temperature.tolist()


def test_a_demand_swings_with_its_season_about_its_hours() -> None:
    """A fifth more on the peak day, a fifth less half a year later, each hour by the same factor."""
    built = forcing(profile(1.0, 2.0), season=Season(swing=0.2, peak_day=1), start=datetime(2027, 1, 1), days=365.0)
    assert built.flow[:2] == pytest.approx([1.2, 2.4], rel=1e-4)
    half = 24 * 182
    assert built.flow[half : half + 2] == pytest.approx([0.8, 1.6], rel=1e-3)
    assert total(built) == pytest.approx(365 * DAY * 1.5, rel=1e-3)


def test_nothing_falls_below_zero() -> None:
    built = forcing(solids=yearly(mean=5.0, swing=5.0), season=Season(swing=1.0, peak_day=1), days=365.0)
    assert built.solids.min() >= 0.0
    assert built.flow.min() >= 0.0


# Keeping


def test_the_same_weather_is_built_once_and_cannot_be_changed() -> None:
    first, again = (forcing(profile(*HOURS)) for _ in range(2))
    assert first is again
    for name in ("end", "flow", "solids", "temperature"):
        with pytest.raises(ValueError, match="read-only"):
            getattr(first, name)[0] = 1.0
