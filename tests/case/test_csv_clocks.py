"""Exact: times of a file on its own clock become seconds of the run; clock changes worked out by hand.

Central European clocks go forward from 02:00 to 03:00 on 2027-03-28 and back from 03:00 to 02:00 on 2027-10-31: last
Sundays of March and October, 01:00 universal time (directive 2000/84/EC).
"""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from sim.case.load import load_case
from tests.case.csv_samples import HOUR, solids, stamped, write_case

SPRING = stamped([f"2027-03-28T{hour:02d}:00" for hour in (0, 1, 3, 4, 5, 6)])
AUTUMN = stamped([f"2027-10-31T{hour:02d}:00" for hour in (0, 1, 2, 2, 3, 4)])
LOCAL = 'clock = "local"'


def started(folder: Path, csv: str, keys: str, start: str, run: str, zone: str = "Europe/Rome") -> Path:
    path = write_case(folder, csv, keys, run, zone)
    path.write_text(path.read_text(encoding="utf-8").replace("2027-01-04T00:00:00", start), encoding="utf-8")
    return path


def test_the_hour_that_spring_leaves_out_does_not_exist(tmp_path: Path) -> None:
    """Six rows for six hours from midnight, though the last one says 06:00."""
    series = solids(load_case(started(tmp_path, SPRING, LOCAL, "2027-03-28T00:00:00", 'length = "6 h"')))
    assert series.end == tuple(HOUR * hour for hour in range(1, 7))
    assert series.value == (1.0, 2.0, 3.0, 4.0, 5.0, 6.0)


def test_the_hour_that_autumn_has_twice_counts_twice(tmp_path: Path) -> None:
    """Midnight of summer time is 23:00 of standard time the day before; six rows again make six hours."""
    series = solids(load_case(started(tmp_path, AUTUMN, LOCAL, "2027-10-30T23:00:00", 'length = "6 h"')))
    assert series.end == tuple(HOUR * hour for hour in range(1, 7))
    assert series.value == (1.0, 2.0, 3.0, 4.0, 5.0, 6.0)


def test_quarters_of_the_doubled_hour_keep_their_order(tmp_path: Path) -> None:
    quarters = [f"2027-10-31T{hour:02d}:{minute:02d}" for hour in (1, 2, 2, 3) for minute in (0, 15, 30, 45)]
    path = started(tmp_path, stamped(quarters), LOCAL, "2027-10-31T00:00:00", 'length = "4 h"')
    series = solids(load_case(path))
    assert series.value == tuple(map(float, range(1, 17)))
    assert series.end == tuple(900.0 * quarter for quarter in range(1, 17))


def test_days_of_twenty_three_and_twenty_five_hours_leave_nothing_out(tmp_path: Path) -> None:
    """A daily figure at local midnight: the Sunday of the change is an hour shorter, or longer."""
    for day, length in ((datetime(2027, 3, 26), 23.0), (datetime(2027, 10, 29), 25.0)):
        csv = stamped([(day + timedelta(days=more)).isoformat() for more in range(5)])
        start = (day + timedelta(hours=-1 if length == 25.0 else 0)).isoformat()
        series = solids(load_case(started(tmp_path, csv, LOCAL, start, 'length = "96 h"')))
        assert series.end[:3] == (24 * HOUR, 48 * HOUR, (48 + length) * HOUR)


def test_a_standard_clock_never_changes(tmp_path: Path) -> None:
    """Rome's standard time is an hour ahead all year: midnight on it is 23:00 in London's winter."""
    stamps = [f"2027-07-0{day}T{hour:02d}:00" for day in (1, 2) for hour in range(24)]
    keys, run = 'clock = "standard"', 'length = "47 h"\nzone = "Europe/London"'
    path = started(tmp_path, stamped(stamps), keys, "2027-06-30T23:00:00", run)
    case = load_case(path)
    assert case.run.zone == "UTC"
    assert solids(case).value == tuple(map(float, range(1, 48)))
    assert solids(case).end[0] == HOUR


def test_the_run_lends_its_zone_to_files_that_have_none(tmp_path: Path) -> None:
    path = started(tmp_path, SPRING, LOCAL, "2027-03-28T00:00:00", 'length = "6 h"\nzone = "Europe/Rome"')
    path.write_text(path.read_text(encoding="utf-8").replace(', zone = "Europe/Rome"', ""), encoding="utf-8")
    case = load_case(path)
    assert case.run.zone == "UTC+1"
    assert solids(case).value == (1.0, 2.0, 3.0, 4.0, 5.0, 6.0)


def test_seconds_are_exact(tmp_path: Path) -> None:
    """One row every 7 s, and a run that starts 3 s after the first."""
    start = datetime(2027, 1, 4)
    csv = stamped([(start + timedelta(seconds=7 * row)).isoformat() for row in range(20)])
    path = started(tmp_path, csv, "", "2027-01-04T00:00:03", 'length = "100 s"', "UTC")
    assert solids(load_case(path)).end[:3] == (4.0, 11.0, 18.0)
    assert solids(load_case(path)).end[-1] == 100.0


ZONES = ["Europe/Rome", "Europe/Dublin", "America/New_York", "Australia/Sydney", "Australia/Lord_Howe"]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("clocks")


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    zone=st.sampled_from(ZONES),
    first=st.datetimes(datetime(2021, 1, 1), datetime(2027, 12, 1)),
    minutes=st.sampled_from([5, 15, 30]),
    rows=st.integers(20, 400),
)
def test_any_stretch_of_any_clock_comes_back_in_even_steps(
    folder: Path, zone: str, first: datetime, minutes: int, rows: int
) -> None:
    """Property: even steps of universal time, put on a clock by the standard library, are read back as even steps.

    Steps up to half an hour, the shortest change of a clock: of a longer one the doubled time may stand only once.
    """
    start = first.replace(minute=0, second=0, microsecond=0)
    clock = ZoneInfo(zone)
    moments = [start.replace(tzinfo=UTC) + timedelta(minutes=minutes * row) for row in range(rows)]
    assume(moments[0].astimezone(clock).fold == 0)
    stamps = [moment.astimezone(clock).replace(tzinfo=None).isoformat(timespec="minutes") for moment in moments]
    run = f'length = "{minutes * rows} min"\nzone = "UTC"'
    path = started(folder, stamped(stamps), LOCAL, start.isoformat(), run, zone)
    text = path.read_text(encoding="utf-8").replace('unit = "mg/L"', 'unit = "ug/L"')
    path.write_text(text, encoding="utf-8")
    series = solids(load_case(path))
    assert series.end == tuple(60.0 * minutes * row for row in range(1, rows + 1))


def test_the_first_of_two_equal_times_at_the_head_of_a_file_is_the_earlier(tmp_path: Path) -> None:
    """02:00 of summer time is 01:00 of standard time."""
    csv = stamped(["2027-10-31T02:00", "2027-10-31T02:00", "2027-10-31T03:00"])
    path = started(tmp_path, csv, LOCAL, "2027-10-31T01:00:00", 'length = "3 h"')
    assert solids(load_case(path)).end == (HOUR, 2 * HOUR, 3 * HOUR)


def test_two_files_of_different_zones_meet_on_the_clock_of_the_run(tmp_path: Path) -> None:
    """07:00 in New York and 13:00 in Rome are one moment in January."""
    (tmp_path / "warm.csv").write_text("time,warm\n2027-01-04T07:00,10\n2027-01-04T08:00,20\n", encoding="utf-8")
    csv = stamped(["2027-01-04T13:00", "2027-01-04T14:00"])
    path = started(tmp_path, csv, 'clock = "local"', "2027-01-04T12:00:00", 'length = "2 h"\nzone = "UTC"')
    warm = '{ file = "warm.csv", column = "warm", unit = "degC", zone = "America/New_York", clock = "local" }'
    text = path.read_text(encoding="utf-8").replace('temperature = "15 degC"', f"temperature = {warm}")
    path.write_text(text, encoding="utf-8")
    case = load_case(path)
    assert case.feed.temperature == type(solids(case))(end=(HOUR, 2 * HOUR), value=(10.0, 20.0))
    assert solids(case).value == (1.0, 2.0)
