"""A sweep on the screen: what starts a wash and its settings down, figures across."""

from collections.abc import Sequence

from rich.console import Console

from sim.case.quantities import System
from sim.cli.screen import fitting, table, write
from sim.cli.show_assumed import say_assumed
from sim.study.sweep import Sweep
from sim.tell.comparison.swept import (
    answer_words,
    every_figure,
    figure_listing,
    first_figures,
    idle_words,
    more_words,
    size_words,
    varied_words,
)
from sim.tell.sentences import assumed_count, caution

ACROSS = 3  # figures in one table of all there are


def show(
    console: Console, sweep: Sweep, asked: Sequence[str], system: System, *, everything: bool = False
) -> None:
    """Print the answer and the first figures or, if wanted, all of them, a few in a table; else those `asked` for."""
    shown = every_figure(sweep, asked) if everything else first_figures(sweep, asked)
    together = ACROSS if everything else len(shown)
    tables = [figure_listing(sweep, shown[place : place + together], system)
              for place in range(0, len(shown), together)]  # fmt: skip
    rows = len(tables[0].rows)

    def draw(count: int) -> None:
        _say_answer(console, sweep, system)
        for listing in tables:
            table(console, listing.columns, listing.rows[:count], 2, roomy=True)
            write(console)
        if everything:
            say_assumed(console, sweep.case, system)
        else:
            write(console, assumed_count(sweep.case.assumptions))
            write(console, more_words(rows - count))
        write(console, caution())

    draw(rows if everything else fitting(console, draw, rows))


def _say_answer(console: Console, sweep: Sweep, system: System) -> None:
    write(console, f"{sweep.case.title} ({size_words(sweep)})", strong=True)
    write(console, varied_words(sweep))
    write(console)
    for sentence in (*answer_words(sweep, system), *idle_words(sweep)):
        write(console, sentence)
    write(console)
