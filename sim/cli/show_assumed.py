"""What a case leaves to be assumed, on the screen."""

from rich.console import Console

from plots.words import colon, label
from sim.case.quantities import System
from sim.case.records import Case
from sim.cli.screen import write
from sim.tell.review.constant_names import assumed_names
from sim.tell.review.told_words import remedy_words, solved_words
from sim.tell.sentences import assumed_count


def say_assumed(console: Console, case: Case, system: System) -> None:
    """What known runs gave; how many constants are assumed, and which."""
    for line in (*remedy_words(case.remedies), *solved_words(case, system)):
        write(console, line)
    write(console, assumed_count(case.assumptions))
    for group, names in assumed_names(case):
        write(console, f"{group}{colon()}{', '.join(names)}", indent=2)
    if case.assumptions:
        write(console, label("constant.see_check"), indent=2)
