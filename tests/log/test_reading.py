"""A log read: columns, dates, units, remedies, marks; numbers checked by hand."""

from datetime import datetime
from itertools import pairwise
from pathlib import Path

import openpyxl
import pytest

from sim.case.load import load_case
from sim.case.units import PSI
from sim.errors import CaseError
from sim.log.reading import read_log, read_log_text
from sim.log.records import Log, Washed, What
from tests.case.samples import NAME, changed
from tests.log.demo_log import PATH, make_demo
from tests.log.made_log import make_log

HOUR, DAY = 3600.0, 86_400.0
CASES = Path("cases")


def read(*rows: str, head: str = "time,total [m3],pressure drop [kPa],wash,drained [L]", **how: object) -> Log:
    """The log with these rows."""
    return read_log_text("\n".join([head, *rows]) + "\n", "log.csv", **how)  # type: ignore[arg-type]


def values(log: Log, what: What) -> tuple[float, ...]:
    series = log.of(what)
    assert series is not None
    return series.values


def test_a_header_says_what_a_column_is_and_in_what_unit() -> None:
    head = "time,Flow (m3/h),pressure_drop [psi]"
    log = read("2027-01-04 06:00,7.2,2.0", "2027-01-04 07:00,3.6,2.5", head=head)
    assert values(log, What.FLOW) == pytest.approx([0.002, 0.001])  # 7.2 m3/h is 2 L/s
    assert values(log, What.PRESSURE_DROP) == pytest.approx([2.0 * PSI, 2.5 * PSI])
    assert (log.start, log.length) == (datetime(2027, 1, 4, 6), HOUR)


@pytest.mark.parametrize(
    ("dates", "first", "second"),
    [
        ("year first", "2027-01-04T06:00", "2027-01-04T18:30:00"),
        ("year first", "2027/1/4 6:00", "2027.01.04 18:30"),
        ("day first", "4/1/2027 6:00", "04.01.2027 18:30"),
        ("month first", "1/4/2027 6:00 AM", "1/4/2027 6:30 pm"),
        ("month first", "2027-01-04 06:00", "1-4-2027 18:30:00"),
    ],
)
def test_dates_stand_as_it_is_said(dates: str, first: str, second: str) -> None:
    log = read(f"{first},0,1,,", f"{second},10,1,,", dates=dates)
    assert (log.start, log.length) == (datetime(2027, 1, 4, 6), 12.5 * HOUR)


def test_twelve_am_is_midnight_and_twelve_pm_noon() -> None:
    log = read("1/4/2027 12:00 am,0,1,,", "1/4/2027 12:00 pm,10,1,,", dates="month first")
    assert (log.start.hour, log.length) == (0, 12 * HOUR)


def test_a_date_and_a_time_of_day_stand_in_columns_of_their_own() -> None:
    log = read("4/1/2027,06:00,1", "5/1/2027,07:30,2", head="date,time,total [gal]", dates="day first")
    assert (log.start, log.length) == (datetime(2027, 1, 4, 6), 25.5 * HOUR)


def test_columns_can_be_named() -> None:
    log = read(
        "9,2027-01-04 06:00,50", "11,2027-01-05 06:00,48", head="FI 7,when,warmth", time="when",
        columns={What.TOTAL: ("FI 7", "m3"), What.TEMPERATURE: ("warmth", "degF")},
    )
    assert values(log, What.TOTAL) == (9.0, 11.0)
    assert values(log, What.TEMPERATURE) == pytest.approx([10.0, 80.0 / 9.0])  # 18 and 16 degF above freezing


def test_columns_that_no_log_knows_are_left_alone() -> None:
    log = read("2027-01-04 06:00;;5;rain", "2027-01-05 06:00;12;7;", head="time;total [m3];flow [m3/h];remarks")
    assert values(log, What.TOTAL) == (12.0,)
    assert len(log.series) == 2


def test_a_clock_with_daylight_saving_is_followed() -> None:
    """Rome goes back from 3 to 2 on 31 October 2027, so that the day has 25 hours."""
    from sim.case.series.zones import ZoneName

    rome = ZoneName().parse("Europe/Rome")
    log = read("2027-10-31 00:00,0,1,,", "2027-11-01 00:00,10,1,,", zone=rome, clock="local")
    assert log.length == 25 * HOUR


def test_a_workbook_says_the_same_as_a_csv_file(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["time", "total [m3]", "pressure drop [kPa]", "wash", "drained [L]"])
    sheet.append([datetime(2027, 1, 4), 100, 12.5, None, None])
    sheet.append([datetime(2027, 1, 5, 6), 130.5, 14, datetime(2027, 1, 4, 22, 30).time(), 900])
    sheet.append([datetime(2027, 1, 6, 6), 150, None, None, None])
    book.save(tmp_path / "log.xlsx")
    log = read_log(tmp_path / "log.xlsx")
    same = read("2027-01-04 00:00,100,12.5,,", "2027-01-05 06:00,130.5,14,22:30,900", "2027-01-06 06:00,150,,,")
    assert (log.series, log.washes, log.start, log.length) == (same.series, same.washes, same.start, same.length)
    assert log.washes == (Washed(start=22.5 * HOUR, end=None, drained=pytest.approx(0.9), found="marked"),)


READINGS = """
[[stage.reading]]
time = 2027-01-04T06:00:00
total = "100 m3"
pressure_drop = "12.0 kPa"
wash = true
[[stage.reading]]
time = 2027-01-05T06:00:00
total = "130500 L"
pressure_drop = "14.5 kPa"
drained = "3 m3"
"""


def test_readings_can_stand_in_the_case(tmp_path: Path) -> None:
    layer = "[[stage.layer]]"
    path = tmp_path / "case.toml"
    path.write_text(changed((layer, READINGS + layer)), encoding="utf-8")
    log = read_log(path)
    assert values(log, What.TOTAL) == pytest.approx([100.0, 130.5])
    assert values(log, What.PRESSURE_DROP) == pytest.approx([12e3, 14.5e3])
    assert log.washes == (Washed(start=0.0, end=None, drained=3.0, found="marked"),)
    assert load_case(path).stages[0].name == "filter"
    with pytest.raises(CaseError, match="no readings of the stage"):
        read_log(path, stage="sand")
    path.write_text(changed((NAME, NAME)), encoding="utf-8")
    with pytest.raises(CaseError, match="no readings"):
        read_log(path)


def test_marks_are_times_of_day_or_the_row_itself() -> None:
    log = read(
        "2027-01-04 08:00,0,10,07:00,",  # before the first row: not of this log
        "2027-01-05 08:00,30,12,22:30,",
        "2027-01-06 08:00,60,14,x,800",
        "2027-01-07 08:00,90,14,6:15 am,700",
        "2027-01-08 08:00,99,14,no,100",
        "2027-01-12 08:00,120,14,2027-01-09 07:00 + 2027-01-10 20:00 + 06:00,",
    )
    assert [(wash.start / HOUR, wash.end, wash.drained) for wash in log.washes] == [
        (14.5, None, None),
        (48.0, None, pytest.approx(0.8)),
        (70.25, None, pytest.approx(0.8)),
        (119.0, None, None),
        (156.0, None, None),
        (190.0, None, None),
    ]
    hours = [(start / HOUR, end / HOUR) for start, end in log.runs()]
    assert hours == list(pairwise((0.0, 14.5, 48.0, 70.25, 119.0, 156.0, 190.0, 192.0)))


def test_marks_in_rows_one_after_another_are_one_wash() -> None:
    rows = [f"2027-01-04 06:{m:02},{m},5,{'1' if 10 <= m < 25 or m == 40 else '0'}," for m in range(60)]
    assert [(wash.start / 60, wash.end and wash.end / 60) for wash in read(*rows, stuck="keep").washes] == [
        (9.0, 25.0), (40.0, None)
    ]  # fmt: skip


def test_a_total_is_counted_on_where_its_meter_began_anew() -> None:
    rows = ["2027-01-04 06:00,99900,1,,", "2027-01-05 06:00,99980,1,,", "2027-01-06 06:00,60,1,,",
            "2027-01-07 06:00,90,1,,", "2027-01-08 06:00,10,1,,"]  # fmt: skip
    with pytest.raises(CaseError, match="lines 4 and 6"):
        read(*rows)
    log = read(*rows, resets="count on")
    # Rolled over at 100,000; then from zero, after 90.
    assert values(log, What.TOTAL) == (99_900.0, 99_980.0, 100_060.0, 100_090.0, 100_100.0)
    assert [(each.key, each.what, each.count) for each in log.remedies] == [("total", "began anew, counted on", 2)]


def hourly(drops: list[float]) -> list[str]:
    return [f"2027-01-{4 + h // 24:02} {h % 24:02}:00,{h},{drop}" for h, drop in enumerate(drops)]


def test_a_gauge_that_stands_still_is_stuck_under_the_remedies_of_a_series() -> None:
    head = "time,total [m3],pressure drop [kPa]"
    rows = hourly([1.0 + 0.1 * h for h in range(10)] + [2.0] * 30 + [3.0, 3.1])
    with pytest.raises(CaseError, match="2 kPa for 30 h without a change"):
        read(*rows, head=head)
    assert len(values(read(*rows, head=head, stuck="gap"), What.PRESSURE_DROP)) == 12
    assert len(values(read(*rows, head=head, stuck="keep"), What.PRESSURE_DROP)) == 42
    still = hourly([1.0, 2.0] + [0.0] * 40)  # where nothing flows
    assert len(values(read(*still, head=head), What.PRESSURE_DROP)) == 42


def test_values_below_zero_are_refused_or_mended() -> None:
    rows, head = hourly([1.0, -0.5, 2.0]), "time,total [m3],pressure drop [kPa]"
    with pytest.raises(CaseError, match=r"pressure drop: given -0\.5 kPa"):
        read(*rows, head=head)
    assert values(read(*rows, head=head, negative="gap"), What.PRESSURE_DROP) == (1e3, 2e3)
    zero = read(*rows, head=head, negative="zero")
    assert values(zero, What.PRESSURE_DROP) == (1e3, 0.0, 2e3)
    assert zero.remedies[0].what == "below zero, taken as zero"


def test_a_column_of_which_nothing_is_left_is_no_column() -> None:
    log = read(*hourly([-1.0, -0.5, -2.0]), head="time,total [m3],pressure drop [kPa]", negative="gap")
    assert [each.what for each in log.series] == [What.TOTAL]
    assert log.remedies[0].count == 3


def test_a_gap_in_the_flow_is_filled_only_where_no_total_tells_it() -> None:
    rows = [f"2027-01-04 {h:02}:00,{h},3.6" for h in range(24) if not 2 < h < 6]
    with pytest.raises(CaseError, match='gaps = "interpolate" or "hold"'):
        read(*rows, head="time,remarks,flow [m3/h]")
    held = read(*rows, head="time,remarks,flow [m3/h]", gaps="hold")
    assert values(held, What.FLOW) == pytest.approx([0.001] * 24)
    assert len(values(read(*rows, head="time,total [m3],flow [m3/h]"), What.FLOW)) == 21


def test_what_readings_are_multiples_of_is_their_resolution() -> None:
    drops = [3.0, 3.5, 4.0, 5.5, 9.0, 7.0]
    series = read(*hourly(drops), head="time,total [m3],pressure drop [psi]").of(What.PRESSURE_DROP)
    assert series is not None
    assert series.resolution == pytest.approx(0.5 * PSI)


def test_a_total_of_one_steady_flow_is_known_to_its_last_digit() -> None:
    """6.22 m3 in every hour are no step of a meter."""
    rows = [f"2027-01-04 {hour:02}:00,{6.22 * hour:.2f}" for hour in range(9)]
    series = read(*rows, head="time,total [m3]").of(What.TOTAL)
    assert series is not None
    assert series.resolution == pytest.approx(0.02)


def test_a_made_log_with_every_wart_is_read_under_remedies(tmp_path: Path) -> None:
    path = make_log(
        tmp_path / "log.csv", CASES / "laundry.toml", warts=["gap", "empty cells", "negative", "stuck", "reset"],
        dates="day first", semicolons=True, units="us",
    )  # fmt: skip
    log = read_log(path, dates="day first", negative="gap", stuck="gap", resets="count on")
    assert {each.what for each in log.remedies} == {
        "below zero, taken as missing", "stuck, taken as missing", "began anew, counted on"
    }  # fmt: skip
    total = values(log, What.TOTAL)
    assert list(total) == sorted(total)
    # 22:30 every second day, those of the gap of two days in the row behind it.
    assert {round(wash.start / HOUR % 24, 6) for wash in log.washes} == {22.5}
    assert len(log.washes) == 15
    assert all(wash.drained is None or 4.0 < wash.drained < 6.0 for wash in log.washes)  # 24 m3/h * 10 min + rinse


def test_the_log_that_comes_along_is_made_again_byte_for_byte(tmp_path: Path) -> None:
    assert make_demo(tmp_path / "log.csv").read_bytes() == PATH.read_bytes()


def test_the_log_that_comes_along_needs_every_remedy() -> None:
    """14 washes at 22:30; the total began anew, a gauge below zero, then stuck over five days."""
    how: dict[str, str] = {}
    for key, value, refused in (
        ("dates", "day first", "the year first"), ("resets", "count on", "never falls"),
        ("negative", "gap", "from 0 kPa"), ("stuck", "gap", "without a change"),
    ):  # fmt: skip
        with pytest.raises(CaseError, match=refused):
            read_log(PATH, **how)  # type: ignore[arg-type]
        how[key] = value
    log = read_log(PATH, **how)  # type: ignore[arg-type]
    assert [(wash.start - 15 * HOUR) % DAY for wash in log.washes] == [0.0] * 14  # from 07:30 on
    assert len(values(log, What.PRESSURE_DROP)) == 45
    assert [each.count for each in log.remedies] == [1, 1, 10]
