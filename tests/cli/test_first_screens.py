"""The first screens fit in 30 lines at 100 columns for every case that comes along, and at 80 no table is cut."""

import io
import re
from collections.abc import Iterable
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from rich.console import Console

from sim.case.load import load_case
from sim.case.records import Case
from sim.cli import show_check, show_comparison, show_decision, show_run, show_sweep
from sim.cli.screen import FIRST_SCREEN
from sim.study.check import check
from sim.study.choice import Choice, once
from sim.study.compare import Comparison, compare
from sim.study.decide.advice import Wishes, advising
from sim.study.decide.ends import TODAY, ends_of
from sim.study.decide.payback import payback
from sim.study.decide.trials import Bench
from sim.study.many.repeat import repeat
from sim.study.many.workers import local
from sim.study.ranking import range_test
from sim.study.single import SingleRun
from sim.study.sweep import sweep
from sim.tell.comparison.swept import figure_listing, first_figures
from sim.tell.sentences import caution
from tests.cli.small import call, small_case, small_text

CASES = sorted((Path(__file__).parents[2] / "cases").glob("*.toml"))
WITH_RANGES = ("laundry", "dye_works")
every_case = pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)


def quick(*names: str, of: Iterable[Path] = CASES) -> pytest.MarkDecorator:
    """These cases by default, the others of `of` in the long tests."""
    return pytest.mark.parametrize("path", [
        pytest.param(path, id=path.stem, marks=[] if path.stem in names else pytest.mark.long) for path in of
    ])  # fmt: skip


def named(*names: str) -> list[Path]:
    return [path for path in CASES if path.stem in names]


@cache
def compared(path: Path) -> Comparison:
    return compare(load_case(path))


def console(width: int) -> Console:
    return Console(file=io.StringIO(), width=width, force_terminal=False, markup=False, highlight=False, emoji=False)


def lines(screen: Console) -> list[str]:
    assert isinstance(screen.file, io.StringIO)
    return screen.file.getvalue().splitlines()


def require_first_screen(shown: list[str]) -> None:
    assert len(shown) <= FIRST_SCREEN == 30
    assert max(map(len, shown)) <= 100
    assert shown[-1] == caution()


def table_of(shown: list[str]) -> list[str]:
    (rule,) = [place for place, line in enumerate(shown) if set(line) == {"-"}]
    return shown[rule + 1 : shown.index("", rule)]


@quick("dye_works", "laundry", "lens_works", "parts_hall", "reference", "rope_walk")
def test_a_comparison_and_a_run_and_many_runs(path: Path) -> None:
    comparison = compared(path)
    case = comparison.case
    with local(1) as crew:
        repeated = repeat(case, crew, replicates=3 if case.is_random else 2)
    for width in (100, 80):
        once, many = console(width), console(width)
        show_comparison.show(once, comparison, "si")
        show_comparison.show_many(many, repeated, "si")
        runs = [console(width) for _ in comparison.results]
        for run, result in zip(runs, comparison.results, strict=True):
            show_run.show(run, SingleRun(case=case, result=result), "si")
        for shown in (lines(once), lines(many)):
            assert max(map(len, shown)) <= width
            labels = ["water to drain", "downtime", "breakthrough risk"]
            assert [line for label in labels for line in table_of(shown) if line.startswith(label)]
            assert any("(today)" in line for line in shown)
        if width == 100:
            for screen in (once, many, *runs):
                require_first_screen(lines(screen))


@every_case
def test_the_first_sentence_names_the_way_or_says_why_none_and_the_order_follows(path: Path) -> None:
    comparison = compared(path)
    case = comparison.case
    choice = Choice(once(case, 1, comparison.results))
    shown = console(400)
    show_comparison.show(shown, comparison, "si")
    title, _, first, *rest = lines(shown)
    taken = re.match("Take “([^”]+)”[^“]*“([^”]+)”", first)
    if taken:
        assert taken.groups() == (choice.way, choice.today)
        assert choice.broken[choice.way] == ()
    else:
        cannot = f"Stage {case.judged.name} cannot keep its limit: "
        assert first.startswith(("No way ", "No other way ", "Stay with ", cannot))
        assert not any("Take “" in line for line in rest)
    assert title.startswith(case.title)

    heads = next(line for line in rest if line.startswith("in "))
    assert [head.removesuffix(" (today)") for head in re.split("  +", heads)[1:]] == list(choice.order)
    clean = [not choice.broken[way] for way in choice.order]
    assert clean == sorted(clean, reverse=True)
    drains = [choice.drain(way) for way in choice.order[1:] if not choice.broken[way]]
    assert drains == sorted(drains)
    marked = [way for place, way in enumerate(choice.order) if _is_marked(rest, place, len(choice.order))]
    assert marked == [way for way in choice.order if choice.unkept or choice.broken[way]]


def _is_marked(shown: list[str], place: int, ways: int) -> bool:
    """Whether a figure of this way carries the mark of a broken limit."""
    cells = [re.split(r"  +", line.strip())[-ways:] for line in table_of(shown)]
    return any(row[place].startswith("! ") for row in cells)


@quick("dye_works", "flax_mill", "laundry", "parts_hall", "reference")
def test_sweeps(path: Path) -> None:
    """Ten values and every way are more rows than the screen holds, which says how many it leaves out."""
    case = load_case(path)
    key = f"stage.{case.stages[0].name}.longest_run"
    values = {key: tuple(f"{days} d" for days in range(5, 15))}
    swept = sweep(path, values, (case.policies[0].name,), 1)
    for width in (100, 80):
        for policies in (1, 4):
            screen = console(width)
            many = replace(swept, policies=swept.policies * policies, points=tuple(
                replace(point, results=point.results * policies) for point in swept.points))  # fmt: skip
            show_sweep.show(screen, many, (), "si")
            shown = lines(screen)
            assert max(map(len, shown)) <= width
            if width == 100:
                require_first_screen(shown)
            rows = len(table_of(shown))
            left = next((int(line.split(": ")[1][:-1]) for line in shown if line.startswith("Runs not shown")), 0)
            assert rows + left == len(figure_listing(many, first_figures(many, ()), "si").rows)
            assert rows + left in (policies, 10 * policies)


def test_json_is_the_same_whatever_is_shown(tmp_path: Path) -> None:
    case, path = small_case(tmp_path), tmp_path / "figures.json"
    for words, options in (
        (["compare", case, "--no-ranges"], ([], ["--all"], ["--stages"])),
        (["compare", case, "--replicates", "3", "--workers", "1"], ([], ["--all"], ["--stages"])),
        (["run", case, "--policy", "by volume"], ([], ["--all"])),
        (["check", case], ([], ["--all"])),
        (["sweep", case, "--vary", "stage.sand.step.rinse.minutes=0,8"], ([], ["--all"])),
    ):  # fmt: skip
        written = set()
        for more in options:
            done = call(*words, *more, "--json", path)
            assert done.exit_code == 0, done.output
            written.add(path.read_bytes())
            path.unlink()
        assert len(written) == 1, words


@quick("flax_mill", "laundry", "reference", "rope_walk")
def test_a_decision(path: Path) -> None:
    """As short as a study can be: two of the ways, settings tried coarsely, one run of each."""
    case = load_case(path)
    with local(1) as crew:
        bench = Bench(path=path, case=case, crew=crew, seed=1, replicates=1)
        advice = advising(bench, Wishes(coarse=True), case.policies[:1]).advice()
        once = {each.policy: each.present.candidate for each in advice.policies}
        ends = ends_of(bench, once | {TODAY: advice.today.candidate}) if path.stem in WITH_RANGES else None
    for width in (100, 80):
        first, whole = console(width), console(width)
        show_decision.show_advice(first, advice, None, "si", ends)
        show_decision.show_advice(whole, advice, None, "si", ends, everything=True)
        shown = lines(first)
        assert max(map(len, shown)) <= width
        labels = ["water to drain", "downtime", "breakthrough risk"]
        assert [line for label in labels for line in table_of(shown) if line.startswith(label)]
        assert any("(today)" in line for line in shown)
        assert len(lines(whole)) > 2 * len(shown)
        if width == 100:
            require_first_screen(shown)


@quick("reference", of=named("laundry", "rope_walk", "reference"))
def test_what_a_device_is_worth(path: Path) -> None:
    case = load_case(path)
    with local(1) as crew:
        bench = Bench(path=path, case=case, crew=crew, seed=1, replicates=1)
        found = payback(bench, Wishes(coarse=True))
        ends = ends_of(bench, {each.name: each.tried.candidate for each in found.bars[1:]}
                       | {TODAY: found.advice.today.candidate})  # fmt: skip
    for width in (100, 80):
        screen = console(width)
        show_decision.show_payback(screen, found, "si", ends)
        shown = lines(screen)
        assert max(map(len, shown)) <= width
        free = ("Change the calendar first, which costs nothing: ", "The best calendar that keeps",
                "No calendar that was tried ")  # fmt: skip
        assert any(line.startswith(free) for line in shown)
        if width == 100:
            require_first_screen(shown)


@every_case
def test_findings(path: Path) -> None:
    screen = console(100)
    show_check.show(screen, check(path), Path(f"cases/{path.name}"), "si")
    require_first_screen(lines(screen))
    assert not any(line.startswith("FINE") for line in lines(screen))


@quick("dye_works", of=named("laundry", "rope_walk", "dye_works"))
def test_a_comparison_with_its_ranges(path: Path) -> None:
    comparison = compared(path)
    with local(1) as crew:
        test = range_test(path, comparison.case, comparison.results, crew)
    screen = console(100)
    show_comparison.show(screen, comparison, "si", test=test)
    require_first_screen(lines(screen))
    sure = f"How sure: {test.assumed} of {test.constants} constants are assumed"
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


@pytest.mark.parametrize(
    ("today", "left_out", "marked"),
    [
        ("", "", "two nights (today)"),
        ('today = "by volume"\n', "", "by volume (today)"),
        ("", "two nights", None),
        ('today = "by volume"\n', "two nights", "by volume (today)"),
        ("", "by volume", None),
    ],
)
def test_only_what_can_be_todays_way_is_called_so(
    today: str, left_out: str, marked: str | None, tmp_path: Path
) -> None:
    """Named so, or a calendar beside other ways: no volume and no only way is guessed to be today's."""
    more = '[policy."by more".sand]\nstart_on = "volume"\nvolume = "400 m3"\n' if left_out != "by volume" else ""
    text = today + small_text() + more
    if left_out:
        text = re.sub(rf'^\[policy."{left_out}"(.|\n)*?(?=^\[)', "", text, flags=re.MULTILINE)
    (tmp_path / "case.toml").write_text(text, encoding="utf-8")
    shown = call("compare", tmp_path / "case.toml", "--no-ranges").stdout
    assert re.findall(r"(\S+ \S+ \(today\))", shown) == ([marked] if marked else [])
    assert ("does not name today's way" in shown) == (not today and left_out != "by volume")
