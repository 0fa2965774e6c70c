"""A sweep on the screen: a table for each figure, settings down, what starts a wash across."""

from collections.abc import Sequence

from rich.console import Console

from sim.cli.screen import GAP, Cell, fitting, say, table
from sim.cli.show_assumed import say_assumed
from sim.study.kpis import Kpi, System
from sim.study.listing import Column
from sim.study.present import Row
from sim.study.sweep import Sweep
from sim.study.swept import MORE, answer_words, figure_row, figure_words, first_listing, idle_words, value_columns
from sim.study.wording import CAUTION, assumed_few


def show(
    console: Console, sweep: Sweep, kpis: Sequence[Kpi], first: Sequence[Kpi], system: System, *,
    everything: bool = False,
) -> None:  # fmt: skip
    """Print from where to where things go and the `first` figures or, if asked for, a table of each of `kpis`."""
    listing = first_listing(sweep, first, system)

    def draw(count: int) -> None:
        _say_answer(console, sweep, system)
        if everything:
            for kpi in kpis:
                _show_figure(console, sweep, figure_row(sweep, kpi, system))
            say_assumed(console, sweep.case, system)
        else:
            table(console, listing.columns, listing.rows[:count], 2, roomy=True)
            say(console)
            if more := len(listing.rows) - count:
                say(console, f"Runs not shown here: {more:,}.")
            say(console, assumed_few(sweep.case.assumptions))
            say(console, MORE)
        say(console, CAUTION)

    draw(0 if everything else fitting(console, draw, len(listing.rows)))


def _say_answer(console: Console, sweep: Sweep, system: System) -> None:
    points, runs = len(sweep.points), len(sweep.points) * len(sweep.policies)
    settings, run_words = ("setting" if points == 1 else "settings"), ("run" if runs == 1 else "runs")
    say(console, f"{sweep.case.title} ({points} {settings}, {runs} {run_words})", strong=True)
    say(console, f"varied: {', '.join(sweep.keys)}")
    say(console)
    for sentence in (*answer_words(sweep, system), *idle_words(sweep)):
        say(console, sentence)
    say(console)


def _show_figure(console: Console, sweep: Sweep, fact: Row) -> None:
    """One figure, in as many tables one below the other as the screen's width asks for."""
    say(console, figure_words(sweep, fact), strong=True)
    columns = value_columns(sweep)
    labels = sum(max(len(name), *map(len, texts)) + GAP for name, texts in columns)
    words = [word for name in sweep.policies for word in name.split()]
    wide = max(len(text) for text in [*words, *fact.texts]) + GAP
    together = max((console.width - labels) // wide, 1)
    for first in range(0, len(sweep.policies), together):
        places = range(first, min(first + together, len(sweep.policies)))
        heads = [Column(name, "words") for name, _ in columns]
        heads += [Column(sweep.policies[place], "numbers") for place in places]
        table(console, heads, _lines(sweep, fact, places))
        say(console)


def _lines(sweep: Sweep, fact: Row, places: range) -> list[list[Cell]]:
    """A line for each point; where two keys are varied the first one's value stands once for its group."""
    columns = value_columns(sweep)
    lines: list[list[Cell]] = []
    for point in range(len(sweep.points)):
        words: list[Cell] = [texts[point] for _, texts in columns]
        if len(columns) > 1 and point and columns[0][1][point] == columns[0][1][point - 1]:
            words[0] = ""
        elif len(columns) > 1 and point:
            lines.append([])
        first = point * len(sweep.policies)
        lines.append([*words, *(fact.texts[first + place] for place in places)])
    return lines
