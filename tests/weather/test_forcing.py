"""Exact and property: series of every kind joined to stretches of constant values."""

from datetime import datetime, timedelta
from math import cos, fsum, pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.case.series.records import Demand, Feed, Measured, Profile, Run, Season, Seasonal, Series, Steady
from sim.weather.forcing import build_forcing

HOUR, DAY = 3600.0, 86_400.0
MONDAY = datetime(2027, 1, 4)
HOURS = Profile(hourly=tuple(float(hour) for hour in range(24)), weekday=(1.0, 1.0, 1.0, 1.0, 1.0, 0.5, 0.0))
WARM = Steady(value=15.0)


def run(days: float, start: datetime = MONDAY) -> Run:
    return Run(start=start, length=days * DAY, allowed_over_limit=None)


def feed(solids: Series, temperature: Steady | Seasonal | Measured = WARM) -> Feed:
    return Feed(temperature=temperature, solids=solids, turbidity_ratio=None)


def measured(*pairs: tuple[float, float]) -> Measured:
    return Measured(end=tuple(end for end, _ in pairs), value=tuple(value for _, value in pairs))


def test_measured_series_are_cut_at_all_their_ends() -> None:
    flow, solids = measured((900.0, 1.0), (HOUR, 2.0)), measured((600.0, 5.0), (900.0, 6.0), (HOUR, 7.0))
    forcing = build_forcing(run(1 / 24), feed(solids), Demand(flow=flow, season=None))
    assert forcing.end.tolist() == [600.0, 900.0, HOUR]
    assert forcing.flow.tolist() == [1.0, 1.0, 2.0]
    assert forcing.solids.tolist() == [5.0, 6.0, 7.0]
    assert forcing.temperature.tolist() == [15.0] * 3


def test_equal_neighbours_are_one_stretch() -> None:
    flow = measured((HOUR, 1.0), (2 * HOUR, 1.0), (3 * HOUR, 2.0))
    solids = measured((HOUR, 5.0), (2 * HOUR, 5.0), (3 * HOUR, 5.0))
    forcing = build_forcing(run(3 / 24), feed(solids), Demand(flow=flow, season=None))
    assert forcing.end.tolist() == [2 * HOUR, 3 * HOUR]


def test_a_measured_series_meets_the_hours_of_a_profile() -> None:
    """A run from 00:30 on Saturday: demand by the hour at half, solids told at a quarter past."""
    start = datetime(2027, 1, 9, 0, 30)
    solids = measured((2700.0, 5.0), (6300.0, 6.0), (2 * HOUR, 7.0))
    forcing = build_forcing(run(2 / 24, start), feed(solids), Demand(flow=HOURS, season=None))
    assert forcing.end.tolist() == [1800.0, 2700.0, 5400.0, 6300.0, 7200.0]
    assert forcing.flow.tolist() == [0.0, 0.5, 0.5, 1.0, 1.0]
    assert forcing.solids.tolist() == [5.0, 5.0, 6.0, 6.0, 7.0]


def test_a_season_stays_daily_beside_a_measured_series() -> None:
    """Minutes of the one do not cut the other: three days, three temperatures, falling until mid January."""
    season = Seasonal(mean=12.0, swing=6.0, peak_day=200)
    minutes = measured(*((60.0 * minute, float(minute % 7)) for minute in range(1, 3 * 1440 + 1)))
    forcing = build_forcing(run(3), feed(minutes, season), Demand(flow=Steady(value=1.0), season=None))
    wanted = [12.0 + 6.0 * cos(2.0 * pi * (4.0 + day - 200) / 365.25) for day in (2, 1, 0)]
    assert np.unique(forcing.temperature) == pytest.approx(wanted, rel=1e-14)
    assert len(forcing.end) == 3 * 1440


def test_a_yearly_factor_falls_on_the_hours_of_the_demand() -> None:
    """Day 1 of the year has the highest demand: 1.2 times at its noon, to a few parts in a million."""
    demand = Demand(flow=Steady(value=2.0), season=Season(swing=0.2, peak_day=1))
    forcing = build_forcing(run(1, datetime(2027, 1, 1)), feed(WARM), demand)
    assert forcing.flow == pytest.approx([2.4], rel=1e-4)


def test_a_run_of_no_length_has_one_stretch() -> None:
    forcing = build_forcing(run(0), feed(measured((0.0, 5.0))), Demand(flow=HOURS, season=None))
    assert (forcing.end.tolist(), forcing.solids.tolist()) == ([0.0], [5.0])


def test_it_is_made_once_and_cannot_be_changed() -> None:
    one = build_forcing(run(1), feed(measured((DAY, 5.0))), Demand(flow=HOURS, season=None))
    again = build_forcing(run(1), feed(measured((DAY, 5.0))), Demand(flow=HOURS, season=None))
    assert again is one
    with pytest.raises(ValueError, match="read-only"):
        one.flow[0] = 1.0


@st.composite
def steps(draw: st.DrawFn, length: int) -> Measured:
    """Whole seconds, so that every cut can be hit."""
    ends = [*sorted(draw(st.sets(st.integers(1, length - 1), max_size=30))), length]
    values = draw(st.lists(st.sampled_from([0.0, 0.5, 2.0, 7.25]), min_size=len(ends), max_size=len(ends)))
    return measured(*((float(end), value) for end, value in zip(ends, values, strict=True)))


def at(series: Series, start: datetime, time: float) -> float:
    """A series read the plain way: the first end that lies beyond the time, the hour on the clock."""
    if isinstance(series, Measured):
        return next(value for end, value in zip(series.end, series.value, strict=True) if time < end)
    if isinstance(series, Profile):
        clock = start + timedelta(seconds=time)
        return series.hourly[clock.hour] * series.weekday[clock.weekday()]
    assert isinstance(series, Steady)
    return series.value


LENGTH = 200_000


@given(
    flow=steps(LENGTH) | st.just(HOURS),
    solids=steps(LENGTH) | st.just(HOURS) | st.just(WARM),
    temperature=steps(LENGTH) | st.just(WARM),
    offset=st.integers(0, 7 * 86_400),
    times=st.lists(st.integers(0, LENGTH - 1), min_size=20, max_size=20),
)
def test_every_moment_has_the_value_of_every_series(
    flow: Measured | Profile, solids: Series, temperature: Steady | Measured, offset: int, times: list[int]
) -> None:
    start = MONDAY + timedelta(seconds=offset)
    given_run = Run(start=start, length=float(LENGTH), allowed_over_limit=None)
    forcing = build_forcing(given_run, feed(solids, temperature), Demand(flow=flow, season=None))
    assert forcing.end[-1] == LENGTH
    assert np.all(np.diff(forcing.end) > 0.0)
    rows = np.stack([forcing.flow, forcing.solids, forcing.temperature])
    assert np.all(np.any(np.diff(rows, axis=1) != 0.0, axis=0)), "equal neighbours are merged"
    for time in times:
        row = int(np.searchsorted(forcing.end, time, side="right"))
        for series, array in ((flow, forcing.flow), (solids, forcing.solids), (temperature, forcing.temperature)):
            assert array[row] == at(series, start, float(time))


@given(flow=steps(LENGTH), solids=steps(LENGTH))
def test_no_water_is_lost_in_the_joining(flow: Measured, solids: Measured) -> None:
    given_run = Run(start=MONDAY, length=float(LENGTH), allowed_over_limit=None)
    forcing = build_forcing(given_run, feed(solids), Demand(flow=flow, season=None))
    widths = np.diff(forcing.end, prepend=0.0)
    alone = fsum(
        (end - before) * value for before, end, value in zip((0.0, *flow.end[:-1]), flow.end, flow.value, strict=True)
    )
    assert fsum(widths * forcing.flow) == pytest.approx(alone, rel=1e-14, abs=1e-9)


def test_two_years_of_hours_of_three_series_make_no_more_stretches_than_hours() -> None:
    """Counts, not seconds: three series on one grid of 17,520 hours, one of them half an hour off it."""
    count = 17_520
    ends = tuple(HOUR * hour for hour in range(1, count + 1))
    late = (*(end - 1800.0 for end in ends), ends[-1])
    draws = np.random.default_rng(4)
    series = [Measured(end=ends, value=tuple(draws.random(count))) for _ in range(2)]
    shifted = Measured(end=late, value=tuple(draws.random(count + 1)))
    forcing = build_forcing(run(730), feed(series[0], shifted), Demand(flow=series[1], season=None))
    assert len(forcing.end) == 2 * count
