"""A log in pieces: what passes, where washes are, how many."""

import resource
import subprocess
import sys
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest

from sim.log.pieces import Pieces, pieces
from sim.log.reading import read_log
from sim.log.records import Log, Series, Washed, What
from tests.log.made_log import make_log
from tests.log.minute_log import EVERY, LASTS, MINUTES, make_minute_log

HOUR = 3600.0


def log_of(length: float, *series: Series, washes: tuple[Washed, ...] = ()) -> Log:
    return Log(file="log.csv", start=datetime(2027, 1, 4), length=length, series=series, washes=washes)


def one(what: What, *pairs: tuple[float, float], resolution: float = 1e-9) -> Series:
    times, values = zip(*pairs, strict=True)
    return Series(what=what, times=times, values=values, resolution=resolution)


def passed(found: Pieces, start: float, end: float) -> float:
    """What passes between two times [m3]."""
    ends = np.array(found.end)
    starts = np.concatenate([[0.0], ends[:-1]])
    return float(np.sum(np.array(found.flow) * np.clip(np.minimum(ends, end) - np.maximum(starts, start), 0.0, None)))


def test_a_total_alone_gives_mean_flows() -> None:
    found = pieces(log_of(7200.0, one(What.TOTAL, (0.0, 10.0), (3600.0, 13.6), (7200.0, 20.8))))
    assert found.end == (3600.0, 7200.0)
    assert found.flow == pytest.approx((1e-3, 2e-3))
    assert found.turbidity is None


def test_flows_have_their_shape_and_totals_what_passes() -> None:
    """Flows read as 1 and 3 L/s over an hour each; the total says 28.8 m3 in place of 14.4."""
    flow = one(What.FLOW, (0.0, 0.001), (3600.0, 0.001), (7200.0, 0.003))
    found = pieces(log_of(7200.0, flow, one(What.TOTAL, (0.0, 0.0), (7200.0, 28.8))))
    assert found.flow == pytest.approx((2e-3, 6e-3))
    assert pieces(log_of(7200.0, flow)).flow == pytest.approx((1e-3, 3e-3))


def test_nothing_passes_in_a_wash() -> None:
    """1.8 m3 in the hour in which it was washed for half of it: 1 L/s in the other half."""
    washes = (Washed(start=900.0, end=2700.0, drained=None, found="marked"),)
    found = pieces(log_of(7200.0, one(What.TOTAL, (0.0, 0.0), (3600.0, 1.8), (7200.0, 5.4)), washes=washes))
    assert found.end == (900.0, 2700.0, 7200.0)
    assert found.flow == pytest.approx((1e-3, 0.0, 1e-3))
    open_ended = (Washed(start=900.0, end=None, drained=None, found="marked"),)
    log = log_of(7200.0, one(What.TOTAL, (0.0, 0.0), (3600.0, 1.8), (7200.0, 5.4)), washes=open_ended)
    assert pieces(log, wash_length=1800.0) == found
    assert pieces(log).end == (900.0, 3600.0, 7200.0)


def test_water_holds_up_to_its_reading() -> None:
    log = log_of(
        3 * HOUR, one(What.FLOW, (0.0, 1e-3)), one(What.TEMPERATURE, (HOUR, 8.0), (2 * HOUR, 9.0)),
        one(What.TURBIDITY_IN, (0.0, 2.0), (3 * HOUR, 2.0)),
    )  # fmt: skip
    found = pieces(log)
    assert (found.end, found.temperature) == ((HOUR, 3 * HOUR), (8.0, 9.0))
    assert found.turbidity == (2.0, 2.0)


def test_readings_too_close_for_their_resolution_are_taken_together() -> None:
    """A meter in whole m3: 0 and 1 m3 an hour are no flows of 0 and 1 m3/h."""
    total = Series(
        what=What.TOTAL, times=tuple(HOUR * h for h in range(401)), values=tuple(float(h // 2) for h in range(401)),
        resolution=1.0,
    )
    found = pieces(log_of(400 * HOUR, total))
    assert found.flow == pytest.approx([0.5 / HOUR] * len(found.flow))
    assert passed(found, 0.0, 400 * HOUR) == pytest.approx(200.0, rel=1e-9)


def test_few_pieces_pass_the_same(tmp_path: Path) -> None:
    log = read_log(make_log(tmp_path / "log.csv", Path("cases/laundry.toml")), stuck="keep")
    whole, few = pieces(log, wash_length=1320.0), pieces(log, most=200, wash_length=1320.0)
    assert len(few.end) <= 200 < len(whole.end)
    total = log.of(What.TOTAL)
    assert total is not None
    for found in (whole, few):
        assert passed(found, 0.0, log.length) == pytest.approx(total.values[-1] - total.values[0], rel=1e-9)
        for wash in log.washes:
            assert wash.start in found.end
            assert passed(found, wash.start, wash.start + 1320.0) == 0.0
    for start, end in log.runs():
        assert passed(few, start, end) == pytest.approx(passed(whole, start, end), rel=1e-9)


@pytest.mark.long
def test_a_year_by_the_minute_becomes_ten_thousand_pieces_within_a_gigabyte(tmp_path: Path) -> None:
    path = make_minute_log(tmp_path / "minutes.csv")
    reads = f"from pathlib import Path\nfrom tests.log.test_pieces import told\ntold(Path({str(path)!r}))"
    done = subprocess.run([sys.executable, "-c", reads], capture_output=True, text=True, check=True)
    count, volume, most, washes = map(float, done.stdout.split())
    assert count <= 10_000
    assert volume == pytest.approx(1.0, rel=1e-9)
    assert most < 2**20  # KiB
    assert washes == (MINUTES - 1) // EVERY
    assert LASTS == 22


def told(path: Path) -> None:
    """Print what the test wants to know of a log, read in a process of its own."""
    log = read_log(path)
    found, total = pieces(log), log.of(What.TOTAL)
    assert total is not None
    for wash in log.washes:
        assert {wash.start, wash.end} <= set(found.end)
    share = passed(found, 0.0, log.length) / (total.values[-1] - total.values[0])
    print(len(found.end), share, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss, len(log.washes))
