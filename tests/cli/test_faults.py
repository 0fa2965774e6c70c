"""`filterrun faults`: its first screen fits, its files are there, and what it cannot do it refuses."""

import csv
import io
import json
from pathlib import Path

import pytest
from rich.console import Console

from sim.case.load import load_case
from sim.cli.show_faults import show
from sim.study.faults import FaultStudy, first_day, study_faults
from sim.study.many.workers import local
from sim.tell.sentences import caution
from tests.cli.small import call, small_case
from tests.cli.test_first_screens import CASES, lines, require_first_screen

DAYS = 4


def console(width: int) -> Console:
    return Console(file=io.StringIO(), width=width, force_terminal=False, markup=False, highlight=False, emoji=False)


def studied(path: Path, days: int, start: str | None = None) -> FaultStudy:
    case = load_case(path)
    with local(1) as crew:
        return study_faults(case, crew, start=first_day(start, case, days), days=days)


def test_the_first_screen_answers_first_and_fits(tmp_path: Path) -> None:
    study = studied(Path(small_case(tmp_path)), DAYS, "day 4")
    screen = console(100)
    show(screen, study, "si")
    shown = lines(screen)
    require_first_screen(shown)
    text = " ".join(line.strip() for line in shown)
    assert "in 4 days from 4 Mar 2027 07:00" in shown[0]
    assert "the most forgiving" in shown[1]
    for said in ("Somebody must read daily.", "How OFTEN things fail is not known.", "come from the model"):
        assert said in text
    narrow, whole = console(80), console(100)
    show(narrow, study, "us")
    assert max(map(len, lines(narrow))) <= 80
    show(whole, study, "si", everything=True)
    assert sum(line.startswith("- ") for line in lines(whole)) >= len(study.rows) - len(study.policies)
    assert lines(whole)[-1] == caution()


@pytest.mark.long
@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_every_case_has_its_first_screen(path: Path) -> None:
    screen = console(100)
    show(screen, studied(path, 10), "si")
    require_first_screen(lines(screen))


def test_its_files_say_the_same(tmp_path: Path) -> None:
    out = tmp_path / "out"
    words = ("faults", small_case(tmp_path), "--from", "2027-03-04", "--days", str(DAYS), "--workers", "1")
    done = call(*words, "--policy", "by volume", "--out", out, "--json", tmp_path / "faults.json")
    assert done.exit_code == 0, done.stderr
    rows = json.loads((tmp_path / "faults.json").read_text(encoding="utf-8"))["rows"]
    with (out / "faults.csv").open(encoding="utf-8") as file:
        table = list(csv.DictReader(file))
    assert [(row["policy"], row["fault"] or None) for row in table] == [(row["policy"], row["fault"]) for row in rows]
    assert [float(row["more drain_m3"]) for row in table] == [row["more"]["drain_m3"] for row in rows]
    assert {path.name for path in out.iterdir()} == {"faults.csv", "faults.svg"}
    assert "“by volume”" in done.stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--from", "2028-01-01", "--days", "4"), "--from: given"),
        (("--from", "noon", "--days", "4"), 'given "noon"'),
        ((), "--days 30: the run is too short"),
        (("--days", "0"), "0"),
        (("--days", "4", "--policy", "by volum"), "by volume"),
    ],
)
def test_what_it_refuses(tmp_path: Path, words: tuple[str, ...], said: str) -> None:
    done = call("faults", small_case(tmp_path), *words, "--out", tmp_path / "out")
    assert done.exit_code == 2
    assert said in done.stderr
    assert not (tmp_path / "out").exists()
