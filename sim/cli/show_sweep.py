"""A sweep on the screen: what starts a wash and its settings down, figures across."""

from collections.abc import Sequence

from rich.console import Console

from sim.case.quantities import System
from sim.cli.screen import fitting, say, table
from sim.cli.show_assumed import say_assumed
from sim.study.sweep import Sweep
from sim.tell.comparison.swept import MORE, answer_words, every_figure, figure_listing, first_figures, idle_words
from sim.tell.sentences import CAUTION, assumed_count

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
            say(console)
        if everything:
            say_assumed(console, sweep.case, system)
        else:
            if count < rows:
                say(console, f"Runs not shown here: {rows - count:,}.")
            say(console, assumed_count(sweep.case.assumptions))
            say(console, MORE)
        say(console, CAUTION)

    draw(rows if everything else fitting(console, draw, rows))


def _say_answer(console: Console, sweep: Sweep, system: System) -> None:
    points, runs = len(sweep.points), len(sweep.points) * len(sweep.policies)
    settings, run_words = ("setting" if points == 1 else "settings"), ("run" if runs == 1 else "runs")
    say(console, f"{sweep.case.title} ({points} {settings}, {runs} {run_words})", strong=True)
    say(console, f"varied: {', '.join(sweep.keys)}")
    say(console)
    for sentence in (*answer_words(sweep, system), *idle_words(sweep)):
        say(console, sentence)
    say(console)
