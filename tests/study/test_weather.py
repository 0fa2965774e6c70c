"""Exact: how like a record its realisations are called, by hand, and records that tell nothing."""

from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from sim.case.series.history import History
from sim.case.series.records import Demand, Steady, Wander
from sim.study.errors import RequestError
from sim.study.weather import Kind, Likeness, _likeness, _realisation, fit_weather, table_of


def likeness(key: str, unit: str, kind: Kind, record: float, *made: float) -> Likeness:
    """Of a measure that is the first value of a series."""
    history = History(key=key, unit=unit, start=datetime(2027, 1, 4), step=3600.0, hourly=(record,), remedies=())
    series = tuple(np.array([each]) for each in made)
    return _likeness(("first", kind, lambda values: float(values[0])), np.array([record]), series, history)


@pytest.mark.parametrize(
    ("key", "unit", "kind", "record", "made", "near"),
    [
        ("feed.suspended_solids", "mg/L", "level", 8.0, (9.0, 9.25), True),  # 1.125 off, 0.15 of 8 are 1.2
        ("feed.suspended_solids", "mg/L", "level", 8.0, (9.0, 9.5), False),  # 1.25 off
        ("feed.suspended_solids", "mg/L", "level", 8.0, (6.5, 6.75), False),  # 1.375 less
        ("feed.temperature", "degC", "level", 3.0, (3.5, 4.5), True),  # 1 degC off, a third of the record
        ("feed.temperature", "degC", "level", 20.0, (21.0, 21.5), False),  # 1.25 degC off, 6 % of the record
        ("demand.flow", "m3/h", "correlation", 0.5, (0.55, 0.63), True),  # 0.09 off
        ("demand.flow", "m3/h", "correlation", 0.5, (0.6, 0.64), False),  # 0.12 off
        ("feed.turbidity", "NTU", "count", 3.0, (3.0, 9.0), None),
    ],
)
def test_near_is_15_percent_of_a_level_one_degree_or_a_tenth_of_correlation(
    key: str, unit: str, kind: Kind, record: float, made: tuple[float, float], near: bool | None
) -> None:
    found = likeness(key, unit, kind, record, *made)
    assert found.near is near
    assert (found.record, found.mean) == pytest.approx((record, sum(made) / 2.0))


def test_a_level_is_told_in_the_unit_of_the_file() -> None:
    """0.002 and 0.003 m3/s are 7.2 and 10.8 m3/h; 95 % of two values reach from 2.5 % to 97.5 % of the way."""
    found = likeness("demand.flow", "m3/h", "level", 0.0025, 0.002, 0.003)
    assert (found.record, found.mean, found.low, found.high) == pytest.approx((9.0, 9.0, 7.29, 10.71))


def test_the_days_of_a_realisation_begin_at_midnight_as_those_of_the_record() -> None:
    fitted = Demand(flow=Steady(value=1e-3), season=None, wander=Wander(spread=0.3, memory=86_400.0))
    hourly = (1e-3,) * 24 * 5
    start = datetime(2027, 1, 4)
    history = History(key="demand.flow", unit="m3/h", start=start, step=3600.0, hourly=hourly, remedies=())
    days = _realisation(history, fitted, seed=1, replicate=0).reshape(5, 24)
    assert (days == days[:, :1]).all()
    assert len(set(days[:, 0])) == 5


def written(path: Path, values: list[float]) -> Path:
    start = datetime(2027, 1, 4)
    rows = [f"{start + timedelta(hours=hour):%Y-%m-%d %H:%M},{value}" for hour, value in enumerate(values)]
    path.write_text("\n".join(["time,solids", *rows]) + "\n", encoding="utf-8")
    return path


def test_a_record_that_never_changes_or_is_too_short_tells_nothing(tmp_path: Path) -> None:
    """Solids need 30 days; a day with values is one with an hour that has one."""
    table = table_of(tmp_path, column="solids", unit="mg/L", stuck="keep")
    steady = written(tmp_path / "steady.csv", [4.0] * 24 * 31)
    with pytest.raises(RequestError, match="the values never change"):
        fit_weather(steady, table)
    short = written(tmp_path / "short.csv", [4.0, 6.0, 5.0] * 8 * 29)
    with pytest.raises(RequestError, match="29 days with values; 30 or more are needed"):
        fit_weather(short, table)
    enough = written(tmp_path / "enough.csv", [4.0, 6.0, 5.0] * 8 * 30)
    assert fit_weather(enough, table, replicates=2).zeros == 0
