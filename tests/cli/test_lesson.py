"""The command lesson: the question before the answer, the files, what it refuses."""

import json
import re
import shlex
from pathlib import Path

import pytest

from sim.lessons.names import NAMES
from sim.tell.sentences import at_the_plant
from tests.cli.small import call

ROOT = Path(__file__).parents[2]


def test_without_a_name_it_lists_the_lessons() -> None:
    done = call("lesson")
    assert done.exit_code == 0
    assert [line.split()[0] for line in done.stdout.splitlines()[: len(NAMES)]] == list(NAMES)
    assert "filterrun lesson rinse" in done.stdout


@pytest.mark.parametrize("name", NAMES)
def test_situation_question_answer_and_cautions_in_this_order(name: str) -> None:
    done = call("lesson", name)
    assert done.exit_code == 0, done.stderr
    lines = done.stdout.splitlines()
    assert lines[0].startswith(f"Lesson {name}: ")
    assert all(lines[1:3])
    assert lines[3] == ""
    assert lines[4].startswith("Watch for: ")
    assert "?" in lines[4]
    rule = next(place for place, line in enumerate(lines) if line.startswith("-----"))
    caution = lines.index("A model with an invented plant; do not try it at a working plant.")
    assert 4 < rule < caution
    told = " ".join(lines[caution + 1 :])
    assert told.startswith(f"{at_the_plant()} A planning aid")
    assert lines[-1] == f"  filterrun lesson {name} --out DIR"


@pytest.mark.parametrize(
    "name", [name if name == "rinse" else pytest.param(name, marks=pytest.mark.long) for name in NAMES]
)
def test_files_are_the_same_each_time_and_the_case_runs_as_told(name: str, tmp_path: Path) -> None:
    out = tmp_path / "out"
    done = call("lesson", name, "--out", out, "--json", out / "a.json")
    assert done.exit_code == 0, done.stderr
    stem = name.replace("-", "_")
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    drawn = {f"lesson_{stem}{end}" for end in (".svg", ".html", "_questions.html", "_answers.html")}
    assert set(before) - {"storm.csv"} == {f"{stem}.toml", "a.json", *drawn}
    assert ("storm.csv" in before) == (name == "storm")
    assert "Written: 1 figure." in done.stderr
    assert json.loads(before["a.json"])["lesson"] == name
    assert call("lesson", name, "--out", out, "--json", out / "a.json", "--quiet").output == ""
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before
    program, *words = shlex.split(done.stdout.splitlines()[-1])
    assert program == "filterrun"
    assert call(*words).exit_code == 0


def test_json_alone_and_units() -> None:
    plain = call("lesson", "rinse", "--json", "-").stdout
    assert json.loads(plain)["rows"][0]["rinse_min"] == 0
    assert call("lesson", "rinse", "--json", "-", "--units", "us").stdout == plain
    # 9 min of 25 m3/h in gallons of 231 cubic inches, and no other change.
    assert re.search(r"^ +0 .* 991$", call("lesson", "rinse", "--units", "us").stdout, re.MULTILINE)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["lesson", "storms"], 'did you mean "storm"?'),
        (["lesson", "zzz"], "There are: rinse, storm, warm-water, stagger, hold"),
        (["lesson", "--json", "-"], "need the NAME of a lesson"),
        (["lesson", "rinse", "--out", "/dev/null/x"], "cannot write to folder"),
        (["lesson", "hold", str(ROOT / "cases" / "reference.toml")], "This lesson needs a pressure switch"),
    ],
)
def test_what_cannot_be_is_wrong_input(words: list[str], said: str) -> None:
    done = call(*words)
    assert (done.exit_code, done.stdout) == (2, "")
    assert said in done.stderr
