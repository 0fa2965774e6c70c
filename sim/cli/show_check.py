"""A checked case on the screen."""

from pathlib import Path

from rich.console import Console

from sim.cli.screen import list_out, say
from sim.study.check import Checked
from sim.study.kpis import System
from sim.study.listing import assumed_listing, sources
from sim.study.told_words import remedy_words, solved_words
from sim.study.wording import assumed_count, described


def show(console: Console, checked: Checked, case_path: Path, system: System) -> None:
    """Say that the file is in order, what it describes, and every constant it leaves out."""
    say(console, f"{case_path} is in order", strong=True)
    for line in described(checked.case):
        say(console, line, indent=2)
    say(console)
    for line in (*remedy_words(checked.case.remedies), *solved_words(checked.case, system)):
        say(console, line)
    say(console, assumed_count(checked.case.assumptions))
    if checked.case.assumptions:
        say(console)
        list_out(console, assumed_listing(checked.case.assumptions, system))
        for number, source in enumerate(sources(checked.case.assumptions), 1):
            say(console, f"[{number}] {source}")
