"""Exact: each deliberately broken file gives the whole message that its first lines expect, and no other."""

from pathlib import Path

import pytest

from sim.errors import Problem
from tests.case.samples import problems_of

FOLDER = Path(__file__).parent / "broken"
FILES = sorted(FOLDER.glob("*.toml"))
MARK = "# expect: "


def expected(path: Path) -> list[Problem]:
    """`# expect: line | key | given | allowed | try`, one line for each problem, at the top of the file."""
    problems = []
    for line in path.read_text(encoding="utf-8").split("\n"):
        if line.startswith(MARK):
            number, key, given, allowed, try_ = line.removeprefix(MARK).split(" | ")
            problems.append(Problem(str(path), int(number), key, given, allowed, try_))
    return problems


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_broken_file_gives_its_message(path: Path) -> None:
    assert expected(path), "a broken file says what it expects"
    assert list(problems_of(path)) == expected(path)


def test_a_problem_reads_as_one_line() -> None:
    path = FOLDER / "unit_of_another_kind.toml"
    (problem,) = problems_of(path)
    assert str(problem) == (
        f'{path}, line 10: demand.flow: given "5.5 psi"; '
        "allowed: a flow in m3/s, m3/h, m3/d, L/s, L/min, L/h, L/d, gpm, gal/min, gal/h or gal/d, "
        'from 0 m3/h to 100000 m3/h; try: another unit: "psi" measures a pressure'
    )
