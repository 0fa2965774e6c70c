"""What the screen does with text: nothing cut, nothing taken for markup, at 80 columns and in a pipe."""

import io
import re
from dataclasses import replace

import pytest
from rich.console import Console

from sim.case.quantities import System
from sim.cli import show_comparison, show_run
from sim.cli.progress import watched
from sim.cli.screen import UNLIMITED
from sim.plant.records import Event, LogEntry, Why
from sim.study.compare import Comparison
from sim.study.single import SingleRun
from sim.tell.present import rows
from tests.study.made import made_case, made_results

AWKWARD = "[red]alarm[/red] :boom: \x1b[31m\nsecond line"


def console(width: int, *, terminal: bool) -> Console:
    return Console(
        file=io.StringIO(), width=width, force_terminal=terminal, markup=False, highlight=False, emoji=False
    )


def printed(screen: Console) -> str:
    assert isinstance(screen.file, io.StringIO)
    return screen.file.getvalue()


def comparison_text(width: int, system: System = "si", stages: tuple[str, ...] = ("filter",)) -> str:
    screen = console(width, terminal=False)
    made = Comparison(case=made_case(stages=stages), seed=1, results=made_results(stages=stages))
    show_comparison.show(screen, made, system, everything=True)
    return printed(screen)


@pytest.mark.parametrize("width", [40, 60, 80, 120])
@pytest.mark.parametrize("system", ["si", "us"])
def test_no_figure_is_cut_and_no_line_is_too_long(width: int, system: System) -> None:
    text = comparison_text(width, system)
    assert max(len(line) for line in text.splitlines()) <= max(width, 60)
    words = text.split()
    for group in rows(made_results(), system):
        for row in group:
            assert all(words.count(shown) >= row.texts.count(shown) for shown in row.texts)


def test_four_policies_stand_side_by_side_at_80_columns() -> None:
    lines = comparison_text(80).splitlines()
    first, line = (line for line in lines if line.startswith("water to drain, m3"))
    assert sorted(first.split()[4:]) == ["52.3", "59.7", "70.9", "89.6"]
    assert line.split()[4:] == ["52.3", "*", "89.6", "70.9", "59.7"]


def test_in_a_pipe_each_sentence_is_one_line_without_colour() -> None:
    text = comparison_text(UNLIMITED)
    assert "\x1b" not in text
    (answer,) = (line for line in text.splitlines() if line.startswith("No way here keeps every limit"))
    assert answer.endswith(".")


def test_the_mark_shows_without_colour_and_is_bold_with_it() -> None:
    screen = console(80, terminal=True)
    show_comparison.show(screen, Comparison(case=made_case(), seed=1, results=made_results()), "si", everything=True)
    assert re.search(r"\x1b\[1m *52\.3\x1b\[0m", printed(screen))
    assert "A * marks the best of a row" in printed(screen)


def test_every_stage_has_its_table_where_there_are_several() -> None:
    text = comparison_text(80, stages=("multimedia", "carbon"))
    assert text.count("what starts a wash") == 3
    assert "Stage multimedia" in text
    assert "  carbon: tanks" in text


def test_text_of_the_case_is_shown_as_it_stands() -> None:
    names = ("[bold]a[/bold]", "b:boom:", "c\x1b[31m", "d")
    case = made_case(title=AWKWARD, names=names)
    results = made_results(names=names)
    screen = console(120, terminal=True)
    show_comparison.show(screen, Comparison(case=case, seed=1, results=results), "si", everything=True)
    show_run.show(screen, SingleRun(case=case, result=results[2]), "si", everything=True)
    text = printed(screen)
    assert "[red]alarm[/red] :boom: \\x1b[31m second line (60 days simulated)" in text
    for name in ("[bold]a[/bold]", "b:boom:", "c\\x1b[31m"):
        assert name in text
    assert "\x1b[31m" not in text


def test_progress_is_silent_where_no_terminal_is(capsys: pytest.CaptureFixture[str]) -> None:
    for quiet in (False, True):
        with watched(quiet) as progress:
            progress("calendar", 0, 4)
    assert capsys.readouterr() == ("", "")


def test_of_many_events_the_first_and_the_last_are_shown_or_those_of_a_week() -> None:
    result = made_results()[0]
    log = tuple(
        LogEntry(time_s=place * 86_400.0, who="filter", event=Event.MISSED, why=Why.TIME, times=place)
        for place in range(60)
    )
    single = SingleRun(case=made_case(), result=replace(result, log=log))
    screen = console(120, terminal=False)
    show_run.show(screen, single, "si", everything=True)
    text = printed(screen)
    shown = [f"passed {number} times" for number in (0, 39, 50, 59)]
    for there in (*shown, "10 more", "its minutes are over", "--out DIR"):
        assert there in text
    assert "passed 40 times" not in text
    assert "time up" not in text
    screen = console(120, terminal=False)
    show_run.show(screen, single, "si", 3)
    told = [word for word in printed(screen).splitlines() if " filter set point " in word]
    assert len(told) == 7
    assert "passed 14 times" in told[0]
