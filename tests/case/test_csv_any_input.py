"""Property: whatever a CSV file says it is read or refused with whole messages; what is filled is what was said."""

from datetime import datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from sim.case.load import load_case
from sim.case.records import Case
from sim.errors import CaseError
from tests.case.csv_samples import HOUR, hours, load_csv, solids, write_case

QUIET = [HealthCheck.function_scoped_fixture]

KEYS = st.sampled_from(
    [
        "",
        'gaps = "hold"',
        'gaps = "interpolate", longest_gap = "40 d"',
        'negative = "zero", stuck = "keep"',
        'negative = "gap", stuck = "gap", stuck_after = "2 h", gaps = "hold"',
    ]
)
cells = st.sampled_from(
    ["", "4", "4.5", "-1", "0", "1e9", "1e999", "nan", "4,5", '"', "x", " 7 ", "\x00", "\x1b[31m"]
)
stamps = st.one_of(
    st.datetimes(datetime(2027, 1, 3), datetime(2027, 1, 6)).map(lambda time: time.isoformat(timespec="minutes")),
    st.sampled_from(
        ["", "2027-01-04", "04.01.2027 00:00", "2027-01-04T00:00Z", "9999-12-31T23:59", "0001-01-01T00:00"]
    ),
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("any")


@st.composite
def mangled(draw: st.DrawFn) -> str:
    """Hourly rows over three days with some lost, doubled, moved, or with another time or value."""
    lines = hours([4 + hour % 5 for hour in range(72)], datetime(2027, 1, 3)).strip().split("\n")
    for _ in range(draw(st.integers(0, 6))):
        at = draw(st.integers(0, len(lines) - 1))
        match draw(st.sampled_from(["lose", "double", "move", "time", "value"])):
            case "lose":
                del lines[at : at + draw(st.integers(1, 9))]
                lines = lines or [""]
            case "double":
                lines.insert(at, lines[at])
            case "move":
                lines.insert(draw(st.integers(0, len(lines) - 1)), lines.pop(at))
            case "time":
                lines[at] = f"{draw(stamps)},{lines[at].partition(',')[2]}"
            case "value":
                lines[at] = f"{lines[at].partition(',')[0]},{draw(cells)}"
    return "\n".join(lines)


def loads_or_refuses(path: Path) -> None:
    try:
        case = load_case(path)
    except CaseError as error:
        problems = error.problems
    else:
        whole_and_in_order(case)
        return
    assert problems
    for problem in problems:
        assert problem.line is not None
        assert f"{problem.file}{problem.given}{problem.allowed}{problem.try_}".isprintable()
        assert "" not in (problem.given, problem.allowed, problem.try_)


def whole_and_in_order(case: Case) -> None:
    series = solids(case)
    assert len(series.end) == len(series.value)
    assert series.end[-1] == case.run.length
    assert list(series.end) == sorted(set(series.end))
    assert all(0.0 <= value <= 1e4 for value in series.value)
    for remedy in case.remedies:
        assert 0 < remedy.count <= remedy.of


@settings(max_examples=300, suppress_health_check=QUIET)
@given(csv=mangled(), keys=KEYS)
def test_mangled_files(folder: Path, csv: str, keys: str) -> None:
    loads_or_refuses(write_case(folder, csv, keys))


@settings(max_examples=100, suppress_health_check=QUIET)
@given(content=st.binary(max_size=200) | st.text(max_size=200).map(str.encode))
def test_any_bytes(folder: Path, content: bytes) -> None:
    loads_or_refuses(write_case(folder, content))


@settings(suppress_health_check=QUIET)
@given(lost=st.sets(st.integers(1, 46), max_size=15), empty=st.booleans())
def test_interpolation_brings_a_straight_line_back(folder: Path, lost: set[int], empty: bool) -> None:
    """3 + hour / 8 at every hour of two days, whatever hours are lost (few enough)."""
    rows = hours([None if hour in lost else 3 + hour / 8 for hour in range(48)]).strip().split("\n")
    csv = "\n".join(row for row in rows if empty or not row.endswith(","))
    case = load_csv(folder, csv, 'gaps = "interpolate", longest_gap = "2 d"', run='length = "48 h"')
    assert solids(case).value == pytest.approx([3 + hour / 8 for hour in range(48)], rel=1e-14)
    assert sum(remedy.count for remedy in case.remedies) == len(lost)


@settings(suppress_health_check=QUIET)
@given(lost=st.sets(st.integers(1, 46), max_size=15), empty=st.booleans())
def test_holding_repeats_the_value_before(folder: Path, lost: set[int], empty: bool) -> None:
    rows = hours([None if hour in lost else hour for hour in range(48)]).strip().split("\n")
    csv = "\n".join(row for row in rows if empty or not row.endswith(","))
    case = load_csv(folder, csv, 'gaps = "hold", longest_gap = "2 d"', run='length = "48 h"')
    wanted: list[float] = []
    for hour in range(48):
        wanted.append(wanted[-1] if hour in lost else float(hour))
    assert list(solids(case).value) == wanted


@settings(suppress_health_check=QUIET)
@given(start=st.integers(0, 47), length=st.integers(1, 48))
def test_a_part_of_the_file_is_that_part_of_the_whole(folder: Path, start: int, length: int) -> None:
    """A run over any hours of the file has the values of these hours, those that are filled among them."""
    assume(start + length <= 48)
    csv = hours([None if hour % 5 == 3 else hour**2 for hour in range(49)])
    keys = 'gaps = "interpolate"'
    whole = solids(load_csv(folder, csv, keys, run='length = "48 h"'))
    path = write_case(folder, csv, keys, run=f'length = "{length} h"')
    moved = (datetime(2027, 1, 4) + timedelta(hours=start)).isoformat()
    path.write_text(path.read_text(encoding="utf-8").replace("2027-01-04T00:00:00", moved), encoding="utf-8")
    part = solids(load_case(path))
    assert part.value == whole.value[start : start + length]
    assert part.end == tuple(HOUR * hour for hour in range(1, length + 1))
