"""What a case leaves to be assumed, on the screen."""

from rich.console import Console

from sim.case.records import Case
from sim.cli.screen import say
from sim.study.wording import assumed_count, assumed_names


def say_assumed(console: Console, case: Case) -> None:
    """How many constants are assumed, and which."""
    say(console, assumed_count(case.assumptions))
    for group, names in assumed_names(case):
        say(console, f"{group}: {', '.join(names)}", indent=2)
    if case.assumptions:
        say(console, "values, usual ranges and sources: filterrun check", indent=2)
