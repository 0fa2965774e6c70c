"""Places that outputs go to: over files that are there, where nobody may write, where no room is left."""

import json
import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from tests.cli.small import call, small_case, small_text
from tests.processes.started import PROGRAM, ROOT

# Commands that write, each to the folder or file `there`.
WRITING = {
    "compare": "compare small.toml --no-ranges --out there",
    "json": "compare small.toml --no-ranges --json there/r.json",
    "run": 'run small.toml --policy "two nights" --out there',
    "sweep": "sweep small.toml --vary stage.sand.limit=0.5mg/L,1mg/L --out there",
    "check": "check small.toml --out there",
    "lesson": "lesson rinse --out there",
    "study": "compare small.toml --replicates 2 --workers 1 --study there/s.study",
    "new": "new there/n.toml --water lake --train media --diameter 0.9m --flow 7m3/h --hours 13 --turbidity 5NTU "
    "--temperature 6..21degC --coagulant yes --limit 0.5mg/L",
}


def words(command: str) -> list[str]:
    return [word.strip('"') for word in re.findall(r'"[^"]*"|\S+', WRITING[command])]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    small_case(tmp_path)
    (tmp_path / "there").mkdir()
    return tmp_path


@pytest.mark.parametrize("command", [
    each if each in ("compare", "check", "study", "new") else pytest.param(each, marks=pytest.mark.long)
    for each in WRITING
])  # fmt: skip
@pytest.mark.skipif(os.name != "posix", reason="permissions of this kind are a Unix matter")
def test_a_folder_that_nobody_may_write_is_refused_before_anything_is_run(folder: Path, command: str) -> None:
    """As an ordinary user: root gives up what lets it write everywhere."""
    (folder / "there").chmod(0o555)
    plain: list[str] = []
    if os.geteuid() == 0:
        if shutil.which("setpriv") is None:
            pytest.skip("root can write everywhere, and there is no setpriv to give that up")
        plain = ["setpriv", "--bounding-set=-all", "--inh-caps=-all"]
    done = subprocess.run(
        [*plain, *PROGRAM, *words(command)], cwd=folder, env=os.environ | {"PYTHONPATH": str(ROOT)},
        capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    (line,) = done.stderr.splitlines()
    assert done.returncode == 2
    assert re.match(r"filterrun: cannot write .*there: .*; name another place", line), line
    assert done.stdout == ""
    assert list((folder / "there").iterdir()) == []


@pytest.mark.parametrize(
    "command", ["check", "json", "study", "new", pytest.param("compare", marks=pytest.mark.long)]
)
def test_no_room_is_told_with_what_to_do(folder: Path, command: str) -> None:
    """As on a full disk: no file may grow beyond some bytes."""
    case = folder / "small.toml"
    case.write_text(small_text().replace('length = "9 d"', 'length = "9 h"'), encoding="utf-8")
    done = subprocess.run(
        [PROGRAM[0], "-P", "-m", "tests.many.limited", "300", *words(command)], cwd=folder, capture_output=True,
        env=os.environ | {"PYTHONPATH": str(ROOT), "FILTERRUN_PLAIN": "1"}, text=True, timeout=120, check=False,
    )  # fmt: skip
    (line,) = done.stderr.splitlines()
    assert done.returncode == 1
    assert re.match(r"filterrun: cannot write .*there.*make room", line), line
    assert list((folder / "there").iterdir()) == []


def test_output_that_nobody_can_keep_is_told(folder: Path) -> None:
    if not Path("/dev/full").exists():
        pytest.skip("this system has no device that is always full")
    with open("/dev/full", "w", encoding="utf-8") as full:
        done = subprocess.run(
            [*PROGRAM, "check", "small.toml"], cwd=folder, env=os.environ | {"PYTHONPATH": str(ROOT)}, stdout=full,
            stderr=subprocess.PIPE, text=True, timeout=60, check=False,
        )  # fmt: skip
    assert done.returncode == 1
    assert re.fullmatch(r"filterrun: cannot write to standard output: .*; make room there.*\n", done.stderr)


def test_files_of_the_same_names_are_replaced_and_others_left(folder: Path) -> None:
    there = folder / "there"
    (there / "assumed.csv").write_text("old", encoding="utf-8")
    (there / "mine.txt").write_text("mine", encoding="utf-8")
    command = ["check", str(folder / "small.toml"), "--quiet", "--out", str(there)]
    assert call(*command).exit_code == 0
    first = {path.name: path.read_bytes() for path in there.iterdir()}
    assert first["assumed.csv"] != b"old"
    assert first["mine.txt"] == b"mine"
    assert call(*command).exit_code == 0
    assert {path.name: path.read_bytes() for path in there.iterdir()} == first


@pytest.mark.parametrize("length", ["1 s", "599 s"])
@pytest.mark.parametrize("words", ["compare --no-ranges", 'run --policy "two nights"', "compare --replicates 2"])
def test_a_run_too_short_to_draw_is_refused(folder: Path, length: str, words: str) -> None:
    case = folder / "small.toml"
    case.write_text(small_text().replace('length = "9 d"', f'length = "{length}"'), encoding="utf-8")
    command, *more = [word.strip('"') for word in re.findall(r'"[^"]*"|\S+', words)]
    done = call(command, str(case), *more, "--out", str(folder / "out"))
    assert done.exit_code == 2
    assert "leaves nothing to draw" in done.stderr
    assert not (folder / "out").exists()
    assert call(command, str(case), *more).exit_code == 0


def test_the_day_that_leap_years_have_counts(folder: Path) -> None:
    """Washes every second night at 02:30 from 27 February 2028: on the 29th, on 2 March and so on, by hand."""
    case = folder / "small.toml"
    case.write_text(small_text().replace("2027-03-01T00:00:00", "2028-02-27T00:00:00"), encoding="utf-8")
    done = call("run", str(case), "--policy", "two nights", "--json", "-")
    assert done.exit_code == 0
    log = json.loads(done.stdout)["log"]
    days = ["2028-02-29", "2028-03-02", "2028-03-04", "2028-03-06"]
    assert [each["time"][:10] for each in log if each["what"] == "wash starts"] == days


def test_the_last_year_that_can_be_told_ends_without_a_fault(folder: Path) -> None:
    case = folder / "small.toml"
    for year, code in ((2200, 0), (9999, 2)):
        case.write_text(small_text().replace("2027-03-01T00:00:00", f"{year}-12-30T00:00:00"), encoding="utf-8")
        done = call("compare", str(case), "--no-ranges", "--out", str(folder / "out"), "--quiet")
        assert done.exit_code == code, done.stderr
    assert "years 1900 to 2200" in done.stderr
