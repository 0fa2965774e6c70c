"""compare with many runs: the options, what is shown and written, an interrupt."""

import contextlib
import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pandas as pd
import pytest

from tests.cli.small import call, small_case
from tests.cli.test_words import CLAIMS, JARGON, found

ROOT = Path(__file__).parents[2]
WEATHER = '{ median = "7 mg/L", spread = 1.8, memory = "20 h" }'


@pytest.fixture
def case(tmp_path: Path) -> Path:
    """The short case under random weather."""
    path = Path(small_case(tmp_path))
    path.write_text(path.read_text().replace('"7 mg/L"', WEATHER))
    return path


def test_means_intervals_and_spread_are_shown(case: Path) -> None:
    done = call("compare", case, "--replicates", 6, "--workers", 1, "--all")
    assert done.exit_code == 0, done.output
    assert "6 runs of 9 days, the same water for every way" in done.stdout
    assert re.search(r"over the limit, h +[\d.]+ ±[\d.]+ ", done.stdout)
    assert "How far the runs lie apart" in done.stdout
    assert "years over the limit are not counted: that takes runs of a year or more" in done.stdout.lower()
    assert found(CLAIMS, done.stdout) == found(JARGON, done.stdout) == []


def test_json_has_the_keys_that_are_promised(case: Path) -> None:
    done = call("compare", case, "--replicates", 6, "--workers", 1, "--json", "-")
    data = json.loads(done.stdout)
    assert (data["replicates"], data["seed"]) == (6, 1)
    for policy in data["policies"]:
        low, high = policy["interval"]["solids_in_kg"]
        assert low < policy["site"]["solids_in_kg"] < high
    (drain,) = [each for each in data["paired"] if each["kpi"] == "drain_m3"]
    assert (drain["a"], drain["b"]) == ("two nights", "by volume")
    sites = [policy["site"]["drain_m3"] for policy in data["policies"]]
    assert drain["mean"] == pytest.approx(sites[0] - sites[1])
    assert drain["low"] <= drain["mean"] <= drain["high"]
    assert call("compare", case, "--replicates", 6, "--workers", 1, "--json", "-").stdout == done.stdout
    other = call("compare", case, "--replicates", 6, "--workers", 1, "--json", "-", "--seed", 2)
    assert json.loads(other.stdout)["policies"] != data["policies"]


def test_steady_weather_is_told_and_has_no_width(tmp_path: Path) -> None:
    done = call("compare", small_case(tmp_path), "--replicates", 3, "--workers", 1, "--all")
    assert "Nothing in this case is random: every run of a way is the same." in done.stdout
    assert "±" not in done.stdout.replace("± is half", "")


@pytest.mark.long
def test_the_files_say_which_run_is_the_example(case: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    words = ["compare", case, "--replicates", 5, "--workers", 1, "--quiet", "--out", out]
    assert call(*words).exit_code == 0
    runs = pd.read_csv(out / "replicates.csv")
    assert runs.groupby("policy").size().to_dict() == {"two nights": 5, "by volume": 5}
    means = pd.read_csv(out / "kpis.csv")
    site = means[means["stage"].isna() & (means["policy"] == "by volume")].set_index("kpi")
    drains = runs.loc[runs["policy"] == "by volume", "solids_in_kg"]
    assert site.loc["solids_in_kg", "value"] == pytest.approx(drains.mean())
    assert site.loc["solids_in_kg", "low"] < drains.mean() < site.loc["solids_in_kg", "high"]
    assert len(pd.read_csv(out / "paired.csv")) >= 5
    report = (out / "report.html").read_text()
    assert report.count("One run as an example, the first of 5.") > 4
    assert "each in" not in report or "5 runs of 9 days" in report
    assert (out / "spread.svg").exists()
    assert not (out / "comparison.svg").exists()
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    assert call(*words, "--study", tmp_path / "s.study").exit_code == 0
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before


def test_precision_and_its_cap_are_told(case: Path) -> None:
    words = ["compare", case, "--workers", 1, "--precision"]
    short = call(*words, "solids_to_service_kg=0.0001", "--replicates", 4, "--at-most", 6)
    assert "After 6 runs the interval is not as narrow as asked for: solids_to_service_kg=0.0001." in short.stdout
    enough = call(*words, "drain_m3=0.9", "--json", "-")
    assert json.loads(enough.stdout)["replicates"] == 20
    assert json.loads(enough.stdout)["precision_missed"] == []


REFUSED = {
    "--precision drian_m3=0.1": 'there is no figure "drian_m3"; did you mean "drain_m3"?',
    "--precision drain_m3": "between 0 and 1; try drain_m3=0.05",
    "--precision risk=2": "half the interval's width, between 0 and 1",
    "--precision drain_m3=nan": "between 0 and 1",
    "--workers 2 --cluster tcp://127.0.0.1:1 --replicates 3": "Give one of them",
    "--workers 2 --no-ranges": "too few runs to share out",
    "--cluster tcp://127.0.0.1:1": "is for many runs",
    "--replicates 3 --cluster localhost": "the address of a scheduler, such as tcp://127.0.0.1:8786",
    "--at-most 30 --replicates 3": "--at-most says when --precision gives up",
    "--at-most 30 --replicates 40 --precision risk=0.1": "less than the 40 replicates to begin with",
    "--ranges --replicates 3": "for many runs there is --uncertain",
    "--replicates 3 --study small.toml": "is the case or another file",
    "--replicates 3 --study none/s.study": "there is no folder none",
}


@pytest.mark.parametrize("words", REFUSED)
def test_what_does_not_go_together_is_refused(case: Path, monkeypatch: pytest.MonkeyPatch, words: str) -> None:
    monkeypatch.chdir(case.parent)
    before = case.read_bytes()
    done = call("compare", "small.toml", *words.split())
    assert done.exit_code == 2
    assert REFUSED[words] in done.stderr
    assert [path.name for path in case.parent.iterdir()] == ["small.toml"]
    assert case.read_bytes() == before


@pytest.mark.skipif(sys.platform == "win32", reason="signals to a group are a Unix matter")
def test_an_interrupt_at_the_terminal_keeps_what_is_done(case: Path) -> None:
    """The signal goes to the whole group, workers included, as Ctrl-C sends it."""
    study = case.parent / "s.study"
    words = ["compare", str(case), "--replicates", "5000", "--workers", "2", "--study", str(study)]
    # Tests that run in the background of a shell are born deaf to interrupts, and so would be what they start.
    program = (
        "import signal; signal.signal(signal.SIGINT, signal.default_int_handler); from sim.cli import main; main()"
    )
    running = subprocess.Popen(
        [sys.executable, "-c", program, *words], cwd=ROOT, start_new_session=True,
        env=os.environ | {"FILTERRUN_PLAIN": "1"}, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    log = study.with_name("s.study-wal")
    while running.poll() is None and not (log.exists() and log.stat().st_size > 50_000):
        time.sleep(0.05)
    os.killpg(running.pid, signal.SIGINT)
    try:
        shown, told = running.communicate(timeout=60)
    finally:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(running.pid, signal.SIGKILL)
    assert running.returncode == 130
    assert re.fullmatch(r"interrupted: [1-9]\d* of 10000 runs were done and are kept in .*goes on from there\n", told)
    assert shown == ""


@pytest.mark.long
@pytest.mark.skipif(sys.platform == "win32", reason="terminals of this kind are a Unix matter")
def test_progress_is_shown_with_the_time_left_on_standard_error(case: Path) -> None:
    ours, theirs = os.openpty()
    words = ["compare", str(case), "--replicates", "60", "--workers", "1", "--json", "-"]
    running = subprocess.Popen(
        [sys.executable, "-c", "from sim.cli import main; main()", *words], cwd=ROOT,
        env=os.environ | {"COLUMNS": "100", "TERM": "xterm"}, stdout=subprocess.PIPE, stderr=theirs, text=True,
    )  # fmt: skip
    os.close(theirs)
    told = b""
    with contextlib.suppress(OSError):  # how the end of such a terminal shows
        while part := os.read(ours, 4096):
            told += part
    os.close(ours)
    shown, _ = running.communicate(timeout=60)
    assert running.returncode == 0
    assert json.loads(shown)["replicates"] == 60
    line = re.compile(r"runs +\d+/120 .* left .*\d:\d\d:\d\d")
    assert line.search(re.sub(r"\x1b\[[0-9;?]*[a-zA-Z]", "", told.decode()))
