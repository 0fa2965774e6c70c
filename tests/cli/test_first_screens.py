"""The first screens fit in 30 lines at 100 columns for every case that comes along, and at 80 no table is cut."""

import io
from pathlib import Path

import pytest
from rich.console import Console

from sim.case.load import load_case
from sim.case.records import Case
from sim.cli import show_check, show_comparison, show_repeated, show_run
from sim.cli.screen import FIRST_SCREEN
from sim.study.check import check
from sim.study.compare import compare
from sim.study.many.repeat import repeat
from sim.study.many.workers import local
from sim.study.ranking import range_test
from sim.study.single import SingleRun
from sim.study.wording import CAUTION
from tests.cli.small import call, small_case

CASES = sorted((Path(__file__).parents[2] / "cases").glob("*.toml"))
every_case = pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)


def console(width: int) -> Console:
    return Console(file=io.StringIO(), width=width, force_terminal=False, markup=False, highlight=False, emoji=False)


def lines(screen: Console) -> list[str]:
    assert isinstance(screen.file, io.StringIO)
    return screen.file.getvalue().splitlines()


def require_first_screen(shown: list[str]) -> None:
    assert len(shown) <= FIRST_SCREEN == 30
    assert max(map(len, shown)) <= 100
    assert shown[-1] == CAUTION


def table_of(shown: list[str]) -> list[str]:
    (rule,) = [place for place, line in enumerate(shown) if set(line) == {"-"}]
    return shown[rule + 1 : shown.index("", rule)]


@every_case
def test_a_comparison_and_a_run_and_many_runs(path: Path) -> None:
    case = load_case(path)
    comparison = compare(case)
    with local(1) as crew:
        repeated = repeat(case, crew, replicates=3 if case.is_random else 2)
    for width in (100, 80):
        once, many, run = console(width), console(width), console(width)
        show_comparison.show(once, comparison, "si")
        show_repeated.show(many, repeated, "si")
        show_run.show(run, SingleRun(case=case, result=comparison.results[0]), "si")
        for shown in (lines(once), lines(many)):
            assert max(map(len, shown)) <= width
            labels = ["water to drain", "downtime", "filter runs broken"]
            assert [line for label in labels for line in table_of(shown) if line.startswith(label)]
            assert any("(today)" in line for line in shown)
        if width == 100:
            for screen in (once, many, run):
                require_first_screen(lines(screen))


@every_case
def test_findings(path: Path) -> None:
    screen = console(100)
    show_check.show(screen, check(path), Path(f"cases/{path.name}"), "si")
    require_first_screen(lines(screen))
    assert not any(line.startswith("FINE") for line in lines(screen))


@pytest.mark.parametrize("name", ["laundry", "rope_walk", "dye_works"])
def test_a_comparison_with_its_ranges(name: str) -> None:
    path = next(each for each in CASES if each.stem == name)
    case = load_case(path)
    comparison = compare(case)
    with local(1) as crew:
        test = range_test(path, case, comparison.results, crew)
    screen = console(100)
    show_comparison.show(screen, comparison, "si", test=test)
    require_first_screen(lines(screen))
    sure = f"How sure: {test.assumed} of {test.constants} constants assumed"
    assert any(line.startswith(sure) for line in lines(screen))


def test_all_and_stages_have_more(tmp_path: Path) -> None:
    case = small_case(tmp_path)
    for words in (["compare", case, "--no-ranges"], ["run", case, "--policy", "by volume"], ["check", case],
                  ["sweep", case, "--vary", "stage.sand.step.rinse.minutes=0,8"]):  # fmt: skip
        first, everything = call(*words), call(*words, "--all")
        assert (first.exit_code, everything.exit_code) == (0, 0), first.output
        assert len(everything.stdout.splitlines()) > len(first.stdout.splitlines())
        assert "--all" in first.stdout
    train = str(next(each for each in CASES if each.stem == "parts_hall"))
    told = call("compare", train, "--no-ranges", "--stages").stdout
    assert all(f"{stage.name}: water to drain" in told for stage in case_of(train).stages)


def case_of(path: str) -> Case:
    return load_case(Path(path))
