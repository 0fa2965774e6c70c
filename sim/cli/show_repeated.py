"""Many runs on the screen: means with intervals, how far the runs lie apart, what the intervals support."""

from rich.console import Console

from sim.cli.screen import list_out, say
from sim.cli.show_assumed import say_assumed
from sim.cli.show_comparison import show_rows
from sim.study.kpis import System
from sim.study.many.repeat import Repeated
from sim.study.many.shown import rows, spread_listing
from sim.study.many.words import MARK_LEGEND, answer, foremost, headline, remarks, simulated, verdicts
from sim.study.wording import CAUTION


def show(console: Console, repeated: Repeated, system: System) -> None:
    """Print means, spread and sentences."""
    names = repeated.figures.policies
    say(console, f"{repeated.case.title}: {simulated(repeated)}", strong=True)
    for sentence in foremost(repeated):
        say(console, sentence, strong=True)
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
    for sentence in (*answer(repeated, system), *verdicts(repeated, system), *remarks(repeated, system)):
        say(console, sentence)
    say(console)
    say_assumed(console, repeated.case, system)
    say(console, CAUTION)
