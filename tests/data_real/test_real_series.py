"""Recorded series with their gaps and clock changes, by the remedies that a case states.

What is expected is counted here from the files themselves, by other code than the program's; counts of gaps and of
doubled and absent hours are those that the files' own description gives.
"""

from datetime import date, datetime, timedelta
from math import fsum
from pathlib import Path

import numpy as np
import pytest

from sim.case.load import load_case
from sim.case.series.records import Measured
from sim.errors import CaseError
from sim.plant.records import RunResult
from sim.plant.simulate import simulate
from sim.weather import Forcing, build_forcing
from tests.data_real.real import (
    DEMAND,
    HOUR,
    RATIO,
    SCALE,
    WATER,
    column,
    demand,
    load,
    needs_data,
    temperature,
    turbidity,
    write,
)

pytestmark = needs_data

POLICIES = ("calendar", "volume", "volume with reserve", "pressure drop")
YEARS = timedelta(days=3288)
"""From 2012-01-01 to 2021-01-01: two years of water brought to the time of the demand."""


def closes(result: RunResult, asked: float) -> None:
    """Solids in are solids out or held; all the water asked for was delivered or is told as unmet [m3]."""
    site = {key: value for key, value in result.site.items() if isinstance(value, (int, float))}
    out = site["solids_to_service_kg"] + site["solids_to_drain_kg"] + site["solids_held_kg"]
    assert site["solids_in_kg"] == pytest.approx(out, rel=1e-9)
    assert site["treated_m3"] + site["unmet_m3"] == pytest.approx(asked, rel=1e-9)
    assert site["washes"] > 0


def volume(forcing: Forcing, start: float = 0.0, end: float | None = None) -> float:
    """Water asked for between two times of the run [m3]."""
    edges = np.concatenate(([0.0], forcing.end))
    cut = np.clip(edges, start, forcing.end[-1] if end is None else end)
    return fsum(np.diff(cut) * forcing.flow)


def day_by_hand(day: date) -> tuple[int, float]:
    """How many rows of a day the file has, and their water [m3]: L/s for an hour each."""
    values = [value for time, value in column(DEMAND, "dma2_residential_Lps") if time.date() == day]
    assert None not in values
    return len(values), fsum(value * SCALE * 1e-3 * HOUR for value in values if value is not None)


def test_turbidity_is_refused_as_it_stands(tmp_path: Path) -> None:
    with pytest.raises(CaseError) as caught:
        load(tmp_path, "2012-01-01T00:00:00", "731 d", feed=turbidity(""))
    (problem,) = caught.value.problems
    missing = [place for place, (_, value) in enumerate(column(WATER, "turbidity_NTU")) if value is None]
    assert problem.line == missing[0] + 2  # line 1 has the names
    assert f"{len(missing):,} in all, the longest for 479 h from 2013-05-15T10:00:00" in problem.given


def test_turbidity_of_two_years_is_filled_as_said(tmp_path: Path) -> None:
    case = load(
        tmp_path, "2012-01-01T00:00:00", "731 d", feed=turbidity('gaps = "interpolate", longest_gap = "20 d"')
    )
    told = column(WATER, "turbidity_NTU")
    assert isinstance(case.feed.solids, Measured)
    assert len(case.feed.solids.value) == len(told) == 17_544
    for read, (_, value) in zip(case.feed.solids.value, told, strict=True):
        assert value is None or read == pytest.approx(RATIO * value, rel=1e-15)
    (remedy,) = case.remedies
    assert remedy.count == sum(value is None for _, value in told)
    assert (remedy.of, remedy.longest) == (17_544, 479 * HOUR)
    asked = volume(build_forcing(case.run, case.feed, case.demand))
    assert asked == pytest.approx(731 * (16 * 5.5 + 8 * 1.8), rel=1e-12)
    for policy in POLICIES:
        closes(simulate(case, policy), asked)


def test_a_run_without_a_gap_needs_no_remedy(tmp_path: Path) -> None:
    """The stretch that the message offers, found again here: the longest with a number in every row."""
    told = column(WATER, "turbidity_NTU")
    best, start = (0, 0), 0
    for place, (_, value) in enumerate([*told, (datetime.max, None)]):
        if value is None:
            best, start = max(best, (place - start, start)), place + 1
    length, first = best
    begin = told[first][0].isoformat()
    with pytest.raises(CaseError, match=f'start = {begin} and length = "{length} h"'):
        load(tmp_path, "2012-01-01T00:00:00", "731 d", feed=turbidity(""))
    case = load(tmp_path, begin, f"{length} h", feed=turbidity(""))
    assert case.remedies == ()
    closes(simulate(case, "volume"), volume(build_forcing(case.run, case.feed, case.demand)))


def test_six_hours_are_not_enough_for_the_longest_gap(tmp_path: Path) -> None:
    with pytest.raises(CaseError, match="a gap too long to fill, the longest for 479 h") as caught:
        load(tmp_path, "2012-01-01T00:00:00", "731 d", feed=turbidity('gaps = "hold"'))
    assert 'longest_gap = "479 h"' in caught.value.problems[0].try_


@pytest.mark.parametrize("keys", ['clock = "standard"', ""])
def test_doubled_hours_are_refused_on_a_clock_that_never_changes(tmp_path: Path, keys: str) -> None:
    """Said to be standard time, or an offset all year."""
    path = write(tmp_path, "2021-01-02T00:00:00", "700 d", flow=demand(keys))
    if not keys:
        path.write_text(path.read_text(encoding="utf-8").replace("Europe/Rome", "UTC+1"), encoding="utf-8")
    with pytest.raises(CaseError) as caught:
        load_case(path)
    (problem,) = caught.value.problems
    times = [time for time, _ in column(DEMAND, "dma2_residential_Lps")]
    doubled = [place + 2 for place in range(1, len(times)) if times[place] == times[place - 1]]
    assert len(doubled) == 2
    assert problem.line == doubled[0]
    assert problem.given == f'"2021-10-31T02:00:00"; 2 such places, lines {doubled[0]} and {doubled[1]}'
    assert 'clock = "local"' in problem.try_


def test_absent_hour_is_refused_on_a_clock_that_never_changes(tmp_path: Path) -> None:
    """A file that ends before autumn has no hour twice: the spring alone gives its clock away."""
    lines = DEMAND.read_text(encoding="utf-8").split("\n")[:3000]
    part = tmp_path / "part.csv"
    part.write_text("\n".join(lines), encoding="utf-8")
    told = demand('clock = "standard", gaps = "hold", longest_gap = "71 h"').replace(str(DEMAND), str(part))
    with pytest.raises(CaseError) as caught:
        load(tmp_path, "2021-01-02T00:00:00", "100 d", flow=told)
    (problem,) = caught.value.problems
    assert problem.given == '"2021-03-28T01:00:00, then 2021-03-28T03:00:00"'
    assert 'clock = "local"' in problem.try_


@pytest.mark.parametrize(
    ("day", "midnight", "rows"),
    [
        ("2021-10-31", "2021-10-30T23:00:00", 25),
        ("2022-10-30", "2022-10-29T23:00:00", 25),
        ("2021-03-28", "2021-03-28T00:00:00", 23),
        ("2022-03-27", "2022-03-27T00:00:00", 23),
    ],
)
def test_the_doubled_hour_counts_twice_and_the_absent_one_not_at_all(
    tmp_path: Path, day: str, midnight: str, rows: int
) -> None:
    """One day of the district's clock from midnight to midnight, the run on standard time: 25 hours, or 23."""
    count, by_hand = day_by_hand(date.fromisoformat(day))
    assert count == rows
    case = load(tmp_path, midnight, f"{rows} h", flow=demand('clock = "local"'))
    assert isinstance(case.demand.flow, Measured)
    assert case.demand.flow.end == tuple(HOUR * hour for hour in range(1, rows + 1))
    result = simulate(case, "volume")
    assert (result.site["treated_m3"] or 0.0) + (result.site["unmet_m3"] or 0.0) == pytest.approx(by_hand, rel=1e-12)


def water_of_the_time(folder: Path) -> Path:
    """The recorded water, its times moved to the years of the demand."""
    path = folder / "water.csv"
    head, *rows = WATER.read_text(encoding="utf-8").strip().split("\n")
    moved = [f"{(datetime.fromisoformat(row[:16]) + YEARS).isoformat(timespec='minutes')}{row[16:]}" for row in rows]
    path.write_text("\n".join([head, *moved]), encoding="utf-8")
    return path


def test_two_years_of_water_and_demand_through_every_policy(tmp_path: Path) -> None:
    """Turbidity, temperature and demand at once, on three clocks: run and demand in Rome, water at UTC-5."""
    water = water_of_the_time(tmp_path)
    path = write(
        tmp_path,
        "2021-01-02T00:00:00",
        "730 d",
        feed=turbidity('gaps = "interpolate", longest_gap = "20 d"', water),
        warmth=temperature('gaps = "interpolate", longest_gap = "20 d"', water),
        flow=demand('clock = "local", gaps = "hold", longest_gap = "71 h"'),
    )
    path.write_text(
        path.read_text(encoding="utf-8").replace("[run]", '[run]\nzone = "Europe/Rome"'), encoding="utf-8"
    )
    case = load_case(path)
    assert [each.key for each in case.remedies] == ["feed.temperature", "feed.turbidity", "demand.flow"]
    forcing = build_forcing(case.run, case.feed, case.demand)
    assert len(forcing.end) <= 730 * 24
    for day, midnight in (("2021-10-31", datetime(2021, 10, 30, 23)), ("2022-03-27", datetime(2022, 3, 27))):
        count, by_hand = day_by_hand(date.fromisoformat(day))
        start = (midnight - case.run.start) / timedelta(seconds=1)
        assert volume(forcing, start, start + count * HOUR) == pytest.approx(by_hand, rel=1e-12)
    for policy in POLICIES:
        closes(simulate(case, policy), volume(forcing))


def test_what_holding_fills_is_what_the_file_leaves_empty(tmp_path: Path) -> None:
    """Every hour of two years from the file, by hand: the last number before it where its own cell is empty."""
    flow = demand('clock = "local", gaps = "hold", longest_gap = "71 h"')
    case = load(tmp_path, "2021-01-02T00:00:00", "731 d", flow=flow)
    held, wanted, empty = 0.0, [], 0
    for time, value in column(DEMAND, "dma2_residential_Lps"):
        held = held if value is None else value
        if time >= datetime(2021, 1, 2):
            wanted.append(held * SCALE * 1e-3)
            empty += value is None and len(wanted) <= 731 * 24
    assert isinstance(case.demand.flow, Measured)
    assert case.demand.flow.value == pytest.approx(wanted[: 731 * 24], rel=1e-14)
    assert [(each.count, each.of) for each in case.remedies] == [(empty, 731 * 24)]
