"""A moment of a run on the screen, in plain words."""

from rich.console import Console

from sim.case.quantities import System
from sim.cli.screen import say
from sim.study.explain import Explained
from sim.tell.run.moment_words import paragraphs, title
from sim.tell.sentences import AT_THE_PLANT, CAUTION


def show(console: Console, told: Explained, system: System) -> None:
    """Print what every vessel, the unit and the tank are doing, and why."""
    say(console, f"{told.case.title}")
    say(console, title(told), strong=True)
    say(console)
    for each in paragraphs(told, system):
        say(console, each.name, strong=True)
        for sentence in each.sentences:
            say(console, sentence, indent=2)
        say(console)
    say(console, AT_THE_PLANT)
    say(console, CAUTION)
