"""Many runs on the screen: means with intervals, how far the runs lie apart, what the intervals support."""

from functools import partial

from rich.console import Console

from sim.case.quantities import System
from sim.cli import show_first
from sim.cli.screen import list_out, say
from sim.cli.show_assumed import say_assumed
from sim.cli.show_comparison import show_rows
from sim.study.choice import Choice
from sim.study.many.doubts_of_many import doubts_of
from sim.study.many.repeat import Repeated
from sim.tell.comparison.doubt_words import other_words
from sim.tell.comparison.first_screen import first_screen
from sim.tell.comparison.many_rows import rows, spread_listing
from sim.tell.comparison.many_words import MARK_LEGEND, answer, headline, of_the_runs, title, verdicts
from sim.tell.comparison.spread_words import NO_RANGES


def show(
    console: Console, repeated: Repeated, system: System, *, stages: bool = False, everything: bool = False
) -> None:
    """Print the first screen or, if asked for, means, spread and sentences too."""
    told = first_screen(
        Choice(repeated), doubts_of(repeated), system, stages=stages, remarks=of_the_runs(repeated), ranges=NO_RANGES
    )
    more = partial(_show_all, console, repeated, system) if everything else None
    show_first.show(console, title(repeated), told, more=more)


def _show_all(console: Console, repeated: Repeated, system: System) -> None:
    """Every mean with its interval, how far the runs lie apart, sentences, and what is assumed."""
    names = repeated.figures.policies
    say(console)
    show_rows(console, names, rows(repeated, system))
    if len(repeated.case.stages) > 1:
        for stage in repeated.case.stages:
            say(console, f"Stage {stage.name}", strong=True)
            say(console)
            show_rows(console, names, rows(repeated, system, stage.name))
    if len(names) > 1:
        say(console, MARK_LEGEND)
        say(console)
    say(console, "How far the runs lie apart", strong=True)
    say(console)
    list_out(console, spread_listing(repeated, headline(repeated), system))
    others = other_words(doubts_of(repeated), system)
    for sentence in (*answer(repeated, system), *verdicts(repeated, system), *others):
        say(console, sentence)
    say(console)
    say_assumed(console, repeated.case, system)
