"""Exact: each fault of a CSV file gives one message with line and remedy, the faults of one file all at once."""

from datetime import datetime, timedelta
from pathlib import Path

import pytest

from tests.case.csv_samples import HOUR, hours, in_short, stamped, told, write_case
from tests.case.samples import problems_of

ROME, LOCAL, STANDARD = "Europe/Rome", 'clock = "local"', 'clock = "standard"'
MARCH = 'length = "2 h"'


def only(texts: list[str]) -> str:
    (text,) = texts
    return text


def test_text_where_a_number_should_be(tmp_path: Path) -> None:
    assert only(told(tmp_path, hours((4, "bad", "NaN", 5, "n/a", "-", "1 2", "0x1f")))) == (
        '3 | "bad"; 6 such places, lines 3, 4, 6 and 3 more | a number, or an empty cell | '
        "an empty cell where there is no number"
    )


def test_decimal_comma_between_semicolons(tmp_path: Path) -> None:
    csv = "time;solids\n2027-01-04T00:00;4,5\n2027-01-04T01:00;5\n"
    assert only(told(tmp_path, csv)) == (
        '2 | "4,5" | numbers with a point for decimals | a point in place of each comma'
    )


def test_decimal_comma_between_commas(tmp_path: Path) -> None:
    csv = "time,solids\n2027-01-04T00:00,4,5\n2027-01-04T01:00,5,5\n"
    assert only(told(tmp_path, csv)) == (
        "2 | 3 cells; 2 such places, lines 2 and 3 | 2 cells, as in the first line | one cell for each column; "
        "a comma for decimals, which cuts a number in two, has to be a point"
    )


@pytest.mark.parametrize(
    "stamp",
    [
        "04.01.2027 00:00",
        "1/4/2027 0:00",
        "2027-01-04",
        "2027-02-29T00:00",
        "2027-01-04T24:00",
        "",
        "1899-12-31T23:00",
    ],
)
def test_time_that_cannot_be_read(tmp_path: Path, stamp: str) -> None:
    assert only(told(tmp_path, stamped([stamp, "2027-01-04T01:00"]))) == (
        f'2 | "{stamp}" | date and time to the minute or the second, as in 2027-01-04T06:00 or 2027-01-04 06:00:00, '
        "years 1900 to 2200 | the year first, then month and day, hyphens between; hours from 00 to 23"
    )


@pytest.mark.parametrize("offset", ["Z", "+01:00", ":30Z", ":30.25-0500"])
def test_time_with_its_own_offset(tmp_path: Path, offset: str) -> None:
    assert only(told(tmp_path, stamped([f"2027-01-04T00:00{offset}", "2027-01-04T01:00"]))) == (
        f'2 | "2027-01-04T00:00{offset}" | times without an offset of their own: the case says the zone of the whole '
        'column | leaving the offset out of the file; for times that end in Z the case says zone = "UTC"'
    )


def test_hour_of_autumn_twice_on_a_clock_that_never_changes(tmp_path: Path) -> None:
    csv = stamped([f"2027-10-31T{hour:02d}:00" for hour in (1, 2, 2, 3)])
    assert only(told(tmp_path, csv, STANDARD, zone=ROME)) == (
        '4 | "2027-10-31T02:00:00" | every time once: the row before has the same | clock = "local" if the clock of '
        "the file follows daylight saving and goes back here; otherwise one row for each time"
    )


def test_hour_of_autumn_three_times_on_a_clock_that_changes(tmp_path: Path) -> None:
    csv = stamped([f"2027-10-31T{hour:02d}:00" for hour in (1, 2, 2, 2, 3)])
    assert only(told(tmp_path, csv, LOCAL, zone=ROME)) == (
        '5 | "2027-10-31T02:00:00" | every time once: the row before has the same | one row for each time'
    )


def test_time_twice_in_a_zone_that_is_an_offset(tmp_path: Path) -> None:
    csv = stamped(["2027-01-04T00:00", "2027-01-04T00:00", "2027-01-04T01:00"])
    assert only(told(tmp_path, csv)) == (
        '3 | "2027-01-04T00:00:00" | every time once: the row before has the same | a zone by its place with '
        'clock = "local" if the clock of the file follows daylight saving and goes back here; otherwise one row for '
        "each time"
    )


def test_rows_out_of_order(tmp_path: Path) -> None:
    csv = stamped(
        [f"2027-10-31T{hour:02d}:{minute:02d}" for hour, minute in ((1, 30), (2, 0), (2, 30), (2, 0), (2, 30))]
    )
    assert only(told(tmp_path, csv, STANDARD, zone=ROME)) == (
        '5 | "2027-10-31T02:00:00" | rows from the oldest to the newest: the row before is newer | clock = "local" '
        "if the clock of the file follows daylight saving and goes back here; otherwise sorting the rows by time"
    )
    csv = stamped([f"2027-01-04T{hour:02d}:00" for hour in range(5, -1, -1)])
    assert only(told(tmp_path, csv, LOCAL, zone=ROME)) == (
        '3 | "2027-01-04T04:00:00"; 5 such places, lines 3, 4, 5 and 2 more | rows from the oldest to the newest: '
        "the row before is newer | sorting the rows by time"
    )


def test_hour_of_spring_absent_on_a_clock_that_never_changes(tmp_path: Path) -> None:
    """Not even where gaps are filled: the hours after it would all be an hour late."""
    csv = stamped([f"2027-03-28T{hour:02d}:00" for hour in (0, 1, 3, 4, 5, 6)])
    path = write_case(tmp_path, csv, f'{STANDARD}, gaps = "hold"', 'length = "6 h"', ROME)
    path.write_text(path.read_text(encoding="utf-8").replace("01-04T00:00:00", "03-28T00:00:00"), encoding="utf-8")
    assert [in_short(problem, tmp_path) for problem in problems_of(path)] == [
        '4 | "2027-03-28T01:00:00, then 2027-03-28T03:00:00" | a row every 1 h in between, on a clock that never '
        'changes | clock = "local" if the clock of the file follows daylight saving and goes forward here; otherwise '
        "a row for each time, with an empty cell if need be"
    ]


def test_hour_of_spring_present_on_a_clock_that_changes(tmp_path: Path) -> None:
    csv = stamped([f"2027-03-28T{hour:02d}:{half}" for hour in (1, 2, 3) for half in ("00", "30")])
    assert only(told(tmp_path, csv, LOCAL, zone=ROME)) == (
        '4 | "2027-03-28T02:00:00"; 2 such places, lines 4 and 5 | times that the clock of Europe/Rome shows; it '
        'goes forward past this one | clock = "standard" if the clock of the file never changes; otherwise '
        "leaving these rows out"
    )


def test_gaps(tmp_path: Path) -> None:
    csv = hours((4, None, None, 5, None, 6, 7))
    assert only(told(tmp_path, csv)) == (
        "3 | missing values, 3 in all, the longest for 2 h from 2027-01-04T01:00:00; 2 such places, lines 3 and 6 | "
        'a value every 1 h | gaps = "interpolate" or "hold"; or a run without them, such as '
        'start = 2027-01-04T00:00:00 and length = "1 h"'
    )


def test_absent_rows_are_a_gap_too(tmp_path: Path) -> None:
    csv = stamped([f"2027-01-04T{hour:02d}:00" for hour in (0, 8, 9, 10)])
    assert only(told(tmp_path, csv, run='length = "11 h"')) == (
        "3 | missing values, 7 in all, the longest for 7 h from 2027-01-04T01:00:00 | a value every 1 h | "
        'gaps = "interpolate" or "hold", with longest_gap = "7 h"; or a run without them, such as '
        'start = 2027-01-04T08:00:00 and length = "3 h"'
    )


@pytest.mark.parametrize("gaps", ["hold", "interpolate"])
def test_gaps_beyond_the_longest_that_may_be_filled(tmp_path: Path, gaps: str) -> None:
    csv = hours((4, None, None, 5, None, 6, 7))
    assert only(told(tmp_path, csv, f'gaps = "{gaps}", longest_gap = "1 h"')) == (
        "3 | a gap too long to fill, the longest for 2 h from 2027-01-04T01:00:00 | gaps of up to 1 h | "
        'longest_gap = "2 h"; or a run without them, such as start = 2027-01-04T03:00:00 and length = "3 h"'
    )


def test_a_run_that_lies_in_a_gap(tmp_path: Path) -> None:
    csv = stamped(["2027-01-03T00:00", "2027-01-03T01:00", "2027-01-06T00:00"])
    assert only(told(tmp_path, csv)) == (
        "4 | missing values, 70 in all, the longest for 70 h from 2027-01-03T02:00:00 | a value every 1 h | "
        'gaps = "interpolate" or "hold", with longest_gap = "70 h"; or another file: the whole run lies in a gap'
    )


def test_values_below_zero(tmp_path: Path) -> None:
    """And nothing else: what is refused is not missing as well."""
    assert only(told(tmp_path, hours((4, -1, -0.5, 5, 1, 6, 7)))) == (
        '3 | -1 mg/L; 2 such places, lines 3 and 4 | values from 0 mg/L on | negative = "zero" or negative = "gap"'
    )


def test_values_beyond_all_measure(tmp_path: Path) -> None:
    assert only(told(tmp_path, hours((4, 200, "1e999", 5, 1, 6)), "scale = 100.0")) == (
        "3 | 200 mg/L times 100; 2 such places, lines 3 and 4 | values up to 10000 mg/L | an empty cell where a "
        "number stands for no reading; is the unit the one that was meant?"
    )


def test_values_that_stand_still(tmp_path: Path) -> None:
    """For 25 h at the start, and for 30 h later on."""
    csv = hours((4,) * 25 + (5,) + (0,) * 30 + (6,))
    assert only(told(tmp_path, csv, run='length = "57 h"')) == (
        "2 | 4 mg/L for 25 h without a change; 2 such places, lines 2 and 28 | a value that changes within 1 d | "
        'stuck = "gap"; stuck = "keep" where it may well stand still; or a longer stuck_after'
    )


def test_what_lies_outside_the_run_is_not_judged(tmp_path: Path) -> None:
    """Six hours in the middle are in order; around them are gaps, values below zero and one that stands still."""
    middle = (4, 5, 6, 5, 4, 3)
    csv = hours((-1, None, 2, *(7,) * 45, *middle, -1, None, 3), start=datetime(2027, 1, 2))
    assert told(tmp_path, csv, run='length = "6 h"') == []


@pytest.mark.parametrize(
    ("start", "count", "line", "given", "start_try", "length"),
    [
        (datetime(2027, 1, 4), 3, 4, ("04T00", "04T03"), "04T00", "3 h"),
        (datetime(2027, 1, 4, 2), 9, 2, ("04T02", "04T11"), "04T02", "9 h"),
        (datetime(2027, 1, 3), 24, 25, ("03T00", "04T00"), "03T00", "1 d"),
        (datetime(2027, 1, 2, 1), 48, 49, ("02T01", "04T01"), "04T00", "1 h"),
        (datetime(2027, 1, 5), 6, 2, ("05T00", "05T06"), "05T00", "6 h"),
    ],
    ids=["ends early", "begins late", "all before", "ends soon", "all after"],
)
def test_series_that_does_not_cover_the_run(
    tmp_path: Path, start: datetime, count: int, line: int, given: tuple[str, str], start_try: str, length: str
) -> None:
    first, last = (f"2027-01-{each}:00:00" for each in given)
    assert only(told(tmp_path, hours((4 + hour % 3 for hour in range(count)), start))) == (
        f"{line} | values from {first} to {last} on the run's clock | "
        "values for the whole run, 2027-01-04T00:00:00 to 2027-01-04T06:00:00 | "
        f'start = 2027-01-{start_try}:00:00 and length = "{length}" at the most, under [run]; '
        "or a file that covers the run"
    )


@pytest.mark.parametrize(
    ("csv", "wanted"),
    [
        ("", "1 | no header | the names of the columns in the first line | a first line with them"),
        ("\n\n", "1 | no header | the names of the columns in the first line | a first line with them"),
        ("time,solids\n", "1 | no row below the names of the columns | two rows or more | a longer file"),
        (hours((4,)), "1 | one row below the names of the columns | two rows or more | a longer file"),
        (hours((None,) * 6), "2 | no number that can be used | a column of numbers | another column"),
        (
            'time,solids\n"2027-01-04T00:00,4\n',
            "2 | a line that is no CSV: unexpected end of data | CSV | quotes in pairs, or none",
        ),
        (
            "time\tsolids\n2027-01-04T00:00\t4\n",
            '1 | one column, "time\\tsolids" | a column of times and one of numbers '
            "| commas or semicolons between the columns",
        ),
        (b"time,solids\n2027-01-04T00:00,4\xe9\n", "2 | the byte 0xe9 | text in UTF-8 | saving the file as UTF-8"),
        ("time,solids\n" + "x" * 20_001, "2 | a line of 20001 characters | up to 20000 | leaving out other columns"),
    ],
    ids=["empty", "blank", "no row", "one row", "no number", "open quote", "tabs", "encoding", "long line"],
)
def test_file_that_is_no_series(tmp_path: Path, csv: str | bytes, wanted: str) -> None:
    assert only(told(tmp_path, csv)) == wanted


def test_column_twice(tmp_path: Path) -> None:
    path = write_case(tmp_path, "time,solids,solids\n2027-01-04T00:00,4,5\n2027-01-04T01:00,4,5\n")
    (problem,) = problems_of(path)
    assert (problem.file, problem.line, problem.key) == (str(path), 7, "feed.suspended_solids.column")
    assert problem.given == 'the column "solids", 2 times in the file'


def test_size_is_capped(tmp_path: Path) -> None:
    path = write_case(tmp_path, b"time,solids\n" + b"\n" * (32 << 20))
    (problem,) = problems_of(path)
    assert (problem.line, problem.key) == (7, "feed.suspended_solids.file")
    assert problem.given == '"solids.csv", more than 32 MiB'
    assert problem.try_ == "leaving out rows before and after the run, and other columns"


def test_everything_wrong_in_a_file_is_told_at_once(tmp_path: Path) -> None:
    """And with what is wrong in the case itself, which comes first."""
    csv = hours((-4, -1, None, 5, 20000, *(6,) * 30, 7))
    path = write_case(tmp_path, csv, run='length = "37 h"')
    path.write_text(path.read_text(encoding="utf-8").replace('depth = "0.7 m"', 'depth = "70 m"'), encoding="utf-8")
    first, *others = problems_of(path)
    assert (first.file, first.key) == (str(path), "stage.filter.layer.0.depth")
    starts = [" | ".join(in_short(problem, tmp_path).split(" | ")[:2]) for problem in others]
    assert starts == [
        "2 | -4 mg/L; 2 such places, lines 2 and 3",
        "7 | 6 mg/L for 30 h without a change",
        "6 | 20000 mg/L",
        "37 | values from 2027-01-04T00:00:00 to 2027-01-05T12:00:00 on the run's clock",
        "4 | missing values, 1 in all, the longest for 1 h from 2027-01-04T02:00:00",
    ]


def test_thousands_of_faults_are_counted_in_one_line(tmp_path: Path) -> None:
    start = datetime(2020, 1, 1)
    rows = [f"{(start + timedelta(hours=hour)).isoformat()},x" for hour in range(20_000)]
    text = only(told(tmp_path, "\n".join(["time,solids", *rows])))
    assert text.startswith('2 | "x"; 20,000 such places, lines 2, 3, 4 and 19,997 more | ')


@pytest.mark.parametrize(
    "zone", ["../Europe/Rome", "/etc/localtime", "Etc/GMT+5", "EST", "localtime", "Europe", "UTC-99"]
)
def test_zones_that_are_no_names_of_places(tmp_path: Path, zone: str) -> None:
    (problem,) = problems_of(write_case(tmp_path, hours((4, 5, 6, 5, 4, 3)), zone=zone))
    assert (problem.key, problem.given) == ("feed.suspended_solids.zone", f'"{zone}"')


def test_without_zone_data_of_the_system_the_package_has_them(monkeypatch: pytest.MonkeyPatch) -> None:
    """As on a platform without a zone folder: nothing is looked up but the package `tzdata`."""
    import zoneinfo

    before = zoneinfo.TZPATH
    zoneinfo.reset_tzpath(to=())
    try:
        zoneinfo.ZoneInfo.clear_cache()
        assert zoneinfo.ZoneInfo("Europe/Rome").utcoffset(datetime(2027, 7, 1)) == timedelta(seconds=2 * HOUR)
    finally:
        zoneinfo.reset_tzpath(to=before)
        zoneinfo.ZoneInfo.clear_cache()
