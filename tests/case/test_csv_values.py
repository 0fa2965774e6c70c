"""Exact: what a column of a CSV file becomes, by layouts, units, zones and remedies worked out by hand."""

from datetime import datetime
from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.case.series.records import Demand, Measured, Remedy, Season, Steady
from sim.case.series.series import largest_day
from tests.case.csv_samples import HOUR, hours, load_csv, solids, write_case
from tests.case.samples import changed, problems_of

SIX = (4.0, 5.0, 6.0, 5.5, 4.25, 3.0)
ENDS = tuple(HOUR * (place + 1) for place in range(6))
PLAIN = hours(SIX)


@pytest.mark.parametrize(
    "csv",
    [
        PLAIN,
        PLAIN.replace(",", ";"),
        PLAIN.replace("T", " "),
        PLAIN.replace(":00,", ":00:00,"),
        PLAIN.replace("\n", "\r\n"),
        PLAIN.replace("\n", "\n\n") + ",\n",
        PLAIN.replace(",", " , "),
        PLAIN.replace("time,solids", '"time","solids"'),
        PLAIN.replace("5.5", "+55e-1").replace("4.25", "4.250"),
        b"\xef\xbb\xbf" + PLAIN.encode(),
        PLAIN.removesuffix("\n"),
    ],
    ids=[
        "commas",
        "semicolons",
        "space in time",
        "seconds",
        "line ends",
        "blank rows",
        "padding",
        "quotes",
        "numbers",
        "mark",
        "no end",
    ],
)
def test_every_layout_gives_the_same_values(tmp_path: Path, csv: str | bytes) -> None:
    case = load_csv(tmp_path, csv)
    assert solids(case) == Measured(end=ENDS, value=SIX)
    assert case.remedies == ()


def test_other_columns_may_hold_anything(tmp_path: Path) -> None:
    rows = PLAIN.strip().split("\n")
    csv = "\n".join(["note,time,more,solids", *(f"n/a,{row.replace(',', ',bad,')}" for row in rows[1:])])
    assert solids(load_csv(tmp_path, csv, 'time = "time"')).value == SIX


def test_quotes_may_hold_the_ends_of_lines(tmp_path: Path) -> None:
    """A note of two lines in the head and in every row; what is wrong is told by the line in which its row begins."""
    rows = PLAIN.strip().split("\n")
    lines = ['time,solids,"note\nof two"', *(f'{row},"a ""quoted""\nline"' for row in rows[1:])]
    assert solids(load_csv(tmp_path, "\n".join(lines))).value == SIX
    lines[3] = lines[3].replace(",", ",x", 1)
    (problem,) = problems_of(write_case(tmp_path, "\n".join(lines)))
    assert problem.line == 7


def test_the_file_is_found_from_the_folder_of_the_case(tmp_path: Path) -> None:
    folder = tmp_path / "deep" / "folder"
    folder.mkdir(parents=True)
    path = write_case(folder, PLAIN)
    (tmp_path / "moved.csv").write_bytes((folder / "solids.csv").read_bytes())
    (folder / "solids.csv").unlink()
    path.write_text(path.read_text(encoding="utf-8").replace("solids.csv", "../../moved.csv"), encoding="utf-8")
    assert solids(load_case(path)).value == SIX


def test_values_outside_the_run_are_cut_off(tmp_path: Path) -> None:
    """The file's clock is an hour and a half ahead: the run starts in the middle of its second value."""
    series = solids(load_csv(tmp_path, PLAIN, run='length = "135 min"\nzone = "UTC"', zone="UTC+1:30"))
    assert series == Measured(end=(1800.0, 5400.0, 8100.0), value=(5.0, 6.0, 5.5))


def test_a_run_of_no_length_has_the_value_it_starts_with(tmp_path: Path) -> None:
    assert solids(load_csv(tmp_path, PLAIN, run='length = "0 d"')) == Measured(end=(0.0,), value=(4.0,))


def test_a_value_holds_for_the_step_of_the_file(tmp_path: Path) -> None:
    """A quarter of an hour, the last one too; a row that is five minutes late leaves nothing out."""
    csv = hours(SIX, minutes=15).replace("00:30", "00:35")
    series = solids(load_csv(tmp_path, csv, run='length = "90 min"'))
    assert series == Measured(end=(900.0, 2100.0, 2700.0, 3600.0, 4500.0, 5400.0), value=SIX)


@pytest.mark.parametrize(
    ("key", "series", "wanted"),
    [
        ("temperature", 'unit = "degF"', ((50.0 - 32.0) / 1.8, (68.0 - 32.0) / 1.8)),
        ("suspended_solids", 'unit = "ug/L"', (0.05, 0.068)),
        ("suspended_solids", 'unit = "mg/L", scale = 0.5', (25.0, 34.0)),
        ("turbidity", 'unit = "NTU"', (60.0, 81.6)),
        ("turbidity", 'unit = "NTU", scale = 2', (120.0, 163.2)),
        ("flow", 'unit = "L/min"', (50e-3 / 60.0, 68e-3 / 60.0)),
        ("flow", 'unit = "m3/h", scale = 0.1', (5.0 / 3600.0, 6.8 / 3600.0)),
    ],
)
def test_units_and_factors(tmp_path: Path, key: str, series: str, wanted: tuple[float, float]) -> None:
    """50 and 68 of each unit; turbidity at 1.2 mg/L per NTU."""
    (tmp_path / "x.csv").write_text(hours((50, 68)), encoding="utf-8")
    told = f'{{ file = "x.csv", column = "solids", zone = "UTC", {series} }}'
    change = {
        "temperature": ('temperature = "15 degC"', f"temperature = {told}"),
        "suspended_solids": ('suspended_solids = "5 mg/L"', f"suspended_solids = {told}"),
        "turbidity": (
            'suspended_solids = "5 mg/L"',
            f'turbidity = {told}\nsolids_per_turbidity = "1.2 mg/L per NTU"',
        ),
        "flow": ('flow = "5.5 m3/h"', f"flow = {told}"),
    }[key]
    path = tmp_path / "case.toml"
    path.write_text(changed(change, ('length = "60 d"', 'length = "2 h"')), encoding="utf-8")
    case = load_case(path)
    read = {"temperature": case.feed.temperature, "flow": case.demand.flow}.get(key, case.feed.solids)
    assert isinstance(read, Measured)
    assert read.value == pytest.approx(wanted, rel=1e-14)


def test_the_most_that_a_series_may_hold_is_taken(tmp_path: Path) -> None:
    """Up to 10000 mg/L: a reading of 100 times 100 is."""
    assert max(solids(load_csv(tmp_path, hours((4, 100, 3, 5, 1, 6)), "scale = 100.0")).value) == 10_000.0


def test_the_largest_day_is_summed_from_midnight_to_midnight() -> None:
    """By hand, m3: 6 h at 2 and 18 h at 1 are 30; 6 h at 1 and 18 h at 3 are 60; 12 h at 3 are 36."""
    ends = (6 * HOUR, 30 * HOUR, 60 * HOUR)
    flow = Measured(end=ends, value=(2 / HOUR, 1 / HOUR, 3 / HOUR))
    assert largest_day(Demand(flow=flow, season=None)) == pytest.approx(60.0, rel=1e-12)
    season = Season(swing=0.25, peak_day=200)
    assert largest_day(Demand(flow=flow, season=season)) == pytest.approx(75.0, rel=1e-12)  # 60 * 1.25 at most


def test_the_design_takes_the_mean_temperature_and_the_largest_demand(tmp_path: Path) -> None:
    """An hour at 10 and two at 16 degC are 14 in the mean; valve loss is taken at 7.5 m3/h, not at 7."""
    (tmp_path / "warm.csv").write_text(hours((10, 16, 16)), encoding="utf-8")
    (tmp_path / "flow.csv").write_text(hours((7, 7.5, 3)), encoding="utf-8")
    rest = 'column = "solids", zone = "UTC"'
    path = tmp_path / "case.toml"
    layer = 'depth = "0.7 m"\nfilter_coefficient = { particle_size = "5 um", particle_density = "1050 kg/m3" }'
    changes = [
        ('temperature = "15 degC"', f'temperature = {{ file = "warm.csv", unit = "degC", {rest} }}'),
        ('flow = "5.5 m3/h"', f'flow = {{ file = "flow.csv", unit = "m3/h", {rest} }}'),
        ('length = "60 d"', 'length = "3 h"'),
        ('depth = "0.7 m"', layer),
    ]
    path.write_text(changed(*changes), encoding="utf-8")
    measured = load_case(path)
    steady = [('temperature = "15 degC"', 'temperature = "14 degC"'), ('flow = "5.5 m3/h"', 'flow = "7.5 m3/h"')]
    path.write_text(changed(*steady, *changes[2:]), encoding="utf-8")
    plain = load_case(path)
    assert plain.feed.temperature == Steady(value=14.0)
    assert measured.stages == plain.stages
    assert measured.assumptions == plain.assumptions


@pytest.mark.parametrize(
    ("gaps", "filled", "what"),
    [
        ("hold", (4.0, 4.0, 4.0), "filled by holding the value before"),
        ("interpolate", (5.0, 6.0, 7.0), "filled by interpolation"),
    ],
)
@pytest.mark.parametrize("absent", [False, True], ids=["empty cells", "absent rows"])
def test_a_gap_is_filled_as_said(
    tmp_path: Path, gaps: str, filled: tuple[float, ...], what: str, absent: bool
) -> None:
    csv = hours((3.0, 4.0, None, None, None, 8.0, 7.0))
    if absent:
        csv = "\n".join(row for row in csv.split("\n") if not row.endswith(","))
    case = load_csv(tmp_path, csv, f'gaps = "{gaps}", longest_gap = "3 h"', run='length = "7 h"')
    assert solids(case).value == (3.0, 4.0, *filled, 8.0, 7.0)
    assert solids(case).end == tuple(HOUR * hour for hour in range(1, 8))
    key = "feed.suspended_solids"
    assert case.remedies == (Remedy(key=key, what=what, count=3, of=7, longest=3 * HOUR),)


def test_gaps_up_to_six_hours_are_filled_unless_the_case_says_more_or_less(tmp_path: Path) -> None:
    six = hours((1.0, *[None] * 6, 8.0))
    case = load_csv(tmp_path, six, 'gaps = "interpolate"', run='length = "8 h"')
    assert solids(case).value == pytest.approx(tuple(range(1, 9)), rel=1e-15)


def test_a_gap_over_the_start_or_the_end_is_filled_from_values_outside(tmp_path: Path) -> None:
    """Only the part within the run is counted; the run is four of the seven hours."""
    csv = hours((2.0, None, None, 5.0, 5.5, None, 4.5))
    path = write_case(tmp_path, csv, 'gaps = "interpolate"', run='length = "4 h"')
    text = path.read_text(encoding="utf-8").replace("2027-01-04T00:00:00", "2027-01-04T02:00:00")
    path.write_text(text, encoding="utf-8")
    case = load_case(path)
    assert solids(case).value == (4.0, 5.0, 5.5, 5.0)
    (remedy,) = case.remedies
    assert (remedy.count, remedy.of, remedy.longest) == (2, 4, 2 * HOUR)


@pytest.mark.parametrize(
    ("negative", "values", "what"),
    [
        ("zero", (4.0, 0.0, 0.0, 7.0, 0.0, 3.0), "below zero, taken as zero"),
        ("gap", (4.0, 5.0, 6.0, 7.0, 5.0, 3.0), "below zero, taken as missing"),
    ],
)
def test_values_below_zero(tmp_path: Path, negative: str, values: tuple[float, ...], what: str) -> None:
    csv = hours((4.0, -0.2, -0.1, 7.0, -9999, 3.0))
    case = load_csv(tmp_path, csv, f'negative = "{negative}", gaps = "interpolate"')
    assert solids(case).value == values
    told = case.remedies[0]
    assert (told.what, told.count, told.of, told.longest) == (what, 3, 6, 2 * HOUR)
    assert len(case.remedies) == (1 if negative == "zero" else 2)


def test_below_zero_means_below_freezing_for_degrees_fahrenheit(tmp_path: Path) -> None:
    (tmp_path / "warm.csv").write_text(hours((33, 31, 32)), encoding="utf-8")
    told = '{ file = "warm.csv", column = "solids", unit = "degF", zone = "UTC", negative = "zero" }'
    path = tmp_path / "case.toml"
    path.write_text(
        changed(('temperature = "15 degC"', f"temperature = {told}"), ('length = "60 d"', 'length = "3 h"')),
        encoding="utf-8",
    )
    case = load_case(path)
    assert isinstance(case.feed.temperature, Measured)
    assert case.feed.temperature.value == pytest.approx((1.0 / 1.8, 0.0, 0.0), abs=1e-15)
    assert [(each.key, each.count) for each in case.remedies] == [("feed.temperature", 1)]


def test_a_value_that_stands_still_is_missing_or_kept_as_said(tmp_path: Path) -> None:
    """Five hours of 6 are longer than four; three hours of 3 are not."""
    csv = hours((4.0, 6.0, 6.0, 6.0, 6.0, 6.0, 10.0, 3.0, 3.0, 3.0))
    run = 'length = "10 h"'
    gap = load_csv(tmp_path, csv, 'stuck = "gap", stuck_after = "4 h", gaps = "interpolate"', run)
    assert solids(gap).value == (4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 3.0, 3.0, 3.0)
    assert [(each.what, each.count, each.longest) for each in gap.remedies] == [
        ("stuck, taken as missing", 5, 5 * HOUR),
        ("filled by interpolation", 5, 5 * HOUR),
    ]
    kept = load_csv(tmp_path, csv, 'stuck = "keep"', run)
    assert solids(kept).value[1:6] == (6.0,) * 5
    assert kept.remedies == ()


def test_a_steady_daily_figure_is_not_stuck_before_twelve_of_them(tmp_path: Path) -> None:
    csv = hours((4.0,) * 12, minutes=24 * 60)
    assert solids(load_csv(tmp_path, csv, run='length = "12 d"')).value == (4.0,) * 12


def test_a_value_that_stands_still_across_a_gap_is_not_stuck(tmp_path: Path) -> None:
    csv = hours((6.0, 6.0, None, 6.0, 6.0, 5.0))
    case = load_csv(tmp_path, csv, 'stuck_after = "3 h", gaps = "hold"')
    assert solids(case).value == (6.0,) * 5 + (5.0,)


def test_the_hash_covers_the_values_that_the_run_uses_and_no_others(tmp_path: Path) -> None:
    """Eight hours in the file, six in the run; other columns and layout do not count."""
    csv = hours((*SIX, 2.0, 1.0))
    first = load_csv(tmp_path, csv).source_hash
    assert load_csv(tmp_path, csv).source_hash == first
    assert load_csv(tmp_path, csv.replace(",1.0", ",9.0")).source_hash == first
    assert load_csv(tmp_path, csv.replace(",", ";")).source_hash == first
    assert load_csv(tmp_path, csv.replace(",3.0", ",3.1")).source_hash != first
    assert load_csv(tmp_path, hours(SIX, datetime(2027, 1, 3, 23)) + "2027-01-04T05:00,9\n").source_hash != first


def test_the_run_tells_the_clock_it_is_on(tmp_path: Path) -> None:
    assert load_csv(tmp_path, PLAIN, zone="UTC+05:30").run.zone == "UTC+5:30"
    assert load_csv(tmp_path, PLAIN, run='length = "2 h"\nzone = "America/Bogota"', zone="UTC-5").run.zone == "UTC-5"
    plain = tmp_path / "plain.toml"
    plain.write_text(changed(), encoding="utf-8")
    assert load_case(plain).run.zone is None
