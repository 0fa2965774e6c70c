"""The command sweep: what it prints, what it writes, what it refuses."""

import json
import re
from pathlib import Path

import pytest

from tests.cli.small import call, small_case

RINSE = "stage.sand.step.rinse.minutes"


@pytest.fixture
def case(tmp_path: Path) -> str:
    return small_case(tmp_path)


def test_one_key_prints_every_figure_a_few_in_a_table(case: str) -> None:
    done = call("sweep", case, "--all", "--vary", f"{RINSE}=0,8")
    assert done.exit_code == 0, done.stderr
    lines = done.stdout.splitlines()
    assert lines[:2] == ["A short one (settings: 2, runs: 4)", f"varied: {RINSE}"]
    for words in ("washes  mean run, h  downtime, h", "time over the limit, h", "breakthrough risk, %",
                  "solids in dirty water sent on after washes, g"):
        assert words in done.stdout
    # 4 washes of 9 min at 24 m3/h, then with 8 min at 6 m3/h; by volume 360 m3 last 60 h, 3 washes in 9 d.
    assert re.search(r"^two nights +0 +14\.4 .*\n +8 +17\.6 ", done.stdout, re.MULTILINE)
    assert re.search(r"^by volume +0 +10\.8 .*\n +8 +13\.2 ", done.stdout, re.MULTILINE)
    assert "*" not in done.stdout
    assert "A planning aid" in lines[-1]


def test_two_keys_units_and_chosen_figures(case: str) -> None:
    done = call(
        "sweep", case, "--vary", f"{RINSE}=0,8", "--vary", "stage.sand.limit=0.6 mg/L,0.9 mg/L", "--units", "us",
        "--show", "drain_m3", "--policy", "by volume", "--all",
    )  # fmt: skip
    assert done.exit_code == 0, done.stderr
    assert "water to drain, gal" in done.stdout
    assert "downtime" not in done.stdout
    assert "two nights" not in done.stdout
    # 10.8 and 13.2 m3 in gallons of 3.785 L.
    assert re.search(r"^by volume +0 +0\.6 +2,853\s+0 +0\.9 +2,853", done.stdout, re.MULTILINE)
    assert re.search(r"^ +8 +0\.6 +3,487\s+8 +0\.9 +3,487", done.stdout, re.MULTILINE)


def test_a_key_that_changes_nothing_is_said(case: str) -> None:
    done = call("sweep", case, "--vary", "title=one,two")
    assert done.exit_code == 0
    assert "title changes no figure with these ways to start a wash." in done.stdout


def test_a_key_of_dots_alone_is_no_key(case: str) -> None:
    done = call("sweep", case, "--vary", "..=1")
    assert (done.exit_code, done.stdout) == (2, "")
    assert "KEY=VALUE,VALUE,..." in done.stderr


def test_files_and_json_are_the_same_each_time(case: str, tmp_path: Path) -> None:
    out = tmp_path / "out"
    words = ["sweep", case, "--vary", f"{RINSE}=0,8", "--out", out, "--json", out / "a.json"]
    done = call(*words)
    assert done.exit_code == 0, done.stderr
    drawn = ("over_limit_h", "drain_m3", "downtime_h", "mean_run_h", "dirty_water_kg")
    names = {f"sweep_{key}.svg" for key in drawn}
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    assert set(before) == {"a.json", "sweep.csv", *names}
    assert "Written: 5 figures." in done.stderr
    assert call(*words, "--quiet").output == ""
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before
    assert json.loads(before["a.json"])["keys"] == [RINSE]
    assert json.loads(call("sweep", case, "--vary", f"{RINSE}=0,8", "--json", "-").stdout)["rows"][0]["settings"] == {
        RINSE: 0
    }


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--vary", "stage.sand.step.rinse.minuts=1"], '"minutes", the nearest by name'),
        (["--vary", f"{RINSE}=5 min"], "without quotes and unit"),
        (["--vary", f"{RINSE}=1", "--vary", f"{RINSE}=2"], "twice"),
        (["--vary", "title=a", "--vary", "run.length=9 d", "--vary", f"{RINSE}=2"], "3 keys to vary"),
        (["--vary", "title=a", "--show", "drain"], 'did you mean "drain_m3"?'),
        (["--vary", "title=a", "--policy", "by vol"], 'did you mean "by volume"?'),
        (["--vary", "title"], "KEY=VALUE,VALUE"),
        ([], "Missing option '--vary'"),
    ],
)
def test_wrong_input_is_told_and_nothing_written(case: str, tmp_path: Path, words: list[str], said: str) -> None:
    done = call("sweep", case, *words, "--out", tmp_path / "out")
    assert (done.exit_code, done.stdout) == (2, "")
    assert said in done.stderr
    assert not (tmp_path / "out").exists()


def test_a_wrong_case_is_told_as_elsewhere(tmp_path: Path) -> None:
    done = call("sweep", small_case(tmp_path, depth="1.7 m"), "--vary", "title=a")
    assert (done.exit_code, done.stdout) == (2, "")
    assert "1 problem in the case" in done.stderr
