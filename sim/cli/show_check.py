"""A checked case on the screen."""

from collections.abc import Sequence
from pathlib import Path

from rich.console import Console

from sim.case.quantities import System
from sim.cli.screen import fitting, list_out, say
from sim.study.check import Checked, Finding
from sim.tell.listing import assumed_listing, sources
from sim.tell.review.finding_words import (
    CAUTIONS,
    LEVELS,
    MORE,
    alike_words,
    conditions,
    finding_sources,
    finding_words,
    fine_listing,
    more_words,
    tally,
    worst_first,
)
from sim.tell.review.told_words import remedy_words, solved_words
from sim.tell.sentences import AT_THE_PLANT, CAUTION, SITE, assumed_count, described


def show(console: Console, checked: Checked, case_path: Path, system: System, *, everything: bool = False) -> None:
    """Print the findings, the worst first, or, if asked for, all that was looked at and all that is assumed."""
    if everything:
        _show_all(console, checked, case_path, system)
        return
    worst = worst_first(checked.findings)

    def draw(most: int) -> None:
        _show_first(console, checked, case_path, system, worst, most)

    draw(fitting(console, draw, len(worst)))


def _show_first(
    console: Console, checked: Checked, case_path: Path, system: System, worst: Sequence[Sequence[Finding]], most: int
) -> None:
    """The first so many groups of findings, how many findings there are beside them, and what is assumed."""
    say(console, f"{checked.case.title} ({case_path})", strong=True)
    _say_findings(console, checked, worst[:most], (), system)
    say(console)
    more = more_words([finding for group in worst[most:] for finding in group])
    for line in (*more, *remedy_words(checked.case.remedies), *solved_words(checked.case, system)):
        say(console, line)
    say(console, assumed_count(checked.case.assumptions))
    say(console, MORE)
    say(console, AT_THE_PLANT)
    say(console, CAUTION)


def _say_findings(
    console: Console, checked: Checked, groups: Sequence[Sequence[Finding]], known: tuple[str, ...], system: System
) -> None:
    """Their count, then the first finding of each group, level by level, and how many are like it."""
    count = f"Design review: {tally(checked.findings)}"
    say(console, f"{count} ({conditions(checked.case, system)})", strong=True)
    for level, meaning in LEVELS.items():
        told = [each for each in groups if each[0].level == level]
        if told:
            say(console)
            say(console, f"{level.upper()}: {meaning}", strong=True)
        for first, *alike in told:
            what, *to_do = finding_words(first, known, system)
            say(console, f"{first.stage or SITE}: {what}{alike_words(alike)}")
            for line in to_do:
                say(console, line, indent=4)


def _show_all(console: Console, checked: Checked, case_path: Path, system: System) -> None:
    """Say that the file is in order, what it describes and leaves out, and what the review of its design found."""
    say(console, f"{case_path} is in order", strong=True)
    for line in described(checked.case):
        say(console, line, indent=2)
    say(console)
    for line in (*remedy_words(checked.case.remedies), *solved_words(checked.case, system)):
        say(console, line)
    say(console, assumed_count(checked.case.assumptions))
    if checked.case.assumptions:
        say(console)
        list_out(console, assumed_listing(checked.case, system))
        for number, source in enumerate(sources(checked.case.assumptions), 1):
            say(console, f"[{number}] {source}")
    say(console)
    _show_review(console, checked, system)


def _show_review(console: Console, checked: Checked, system: System) -> None:
    """The findings, those that stop first, then the cautions; the count at both ends."""
    known = finding_sources(checked.findings)
    _say_findings(console, checked, [[each] for each in checked.findings if each.level != "fine"], known, system)
    say(console)
    say(console, f"FINE: {LEVELS['fine']}", strong=True)
    list_out(console, fine_listing(checked.findings, known, system))
    for number, source in enumerate(known, 1):
        say(console, f"[{number}] {source}")
    say(console)
    for line in CAUTIONS:
        say(console, line)
    say(console)
    say(console, f"Design review: {tally(checked.findings)}", strong=True)
