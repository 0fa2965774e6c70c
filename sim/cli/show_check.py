"""A checked case on the screen."""

from collections.abc import Sequence
from itertools import chain
from pathlib import Path

from rich.console import Console

from plots.words import Code, Kind, colon, label
from sim.case.quantities import System
from sim.cli.screen import fitting, list_out, write
from sim.study.check import Checked, Finding
from sim.tell.listing import assumed_listing, sources
from sim.tell.review.finding_words import (
    LEVELS,
    alike_words,
    closing_words,
    conditions,
    finding_sources,
    finding_words,
    fine_listing,
    place_words,
    tally,
    worst_first,
)
from sim.tell.review.told_words import remedy_words, solved_words
from sim.tell.sentences import assumed_count, caution, described, fault_words, plant_cautions


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
    write(console, f"{checked.case.title} ({case_path})", strong=True)
    _say_findings(console, checked, worst[:most], (), system)
    write(console)
    left = [finding for group in worst[most:] for finding in group]
    for line in closing_words(checked, left, system):
        write(console, line)


def _say_findings(
    console: Console, checked: Checked, groups: Sequence[Sequence[Finding]], known: Sequence[str], system: System
) -> None:
    """Their count, then the first finding of each group, level by level, and how many are like it."""
    count = f"{label('finding.review')}{colon()}{tally(checked.findings)}"
    write(console, f"{count} ({conditions(checked.case, system)})", strong=True)
    for level in LEVELS:
        shown = [each for each in groups if each[0].level == level]
        if shown:
            write(console)
            write(console, label("finding.head", level=Kind(level)), strong=True)
        for first, *alike in shown:
            found, to_do = finding_words(first, known, checked.case, system)
            write(console, f"{place_words(first)}{colon()}{found}{alike_words(alike)}")
            if to_do:
                write(console, to_do, indent=4)


def _show_all(console: Console, checked: Checked, case_path: Path, system: System) -> None:
    """Say that the file is in order, what it describes and leaves out, and what the review of its design found."""
    write(console, label("finding.in_order", file=Code(str(case_path))), strong=True)
    for about in described(checked.case):
        write(console, about, indent=2)
    write(console)
    told = fault_words(checked.case), remedy_words(checked.case.remedies), solved_words(checked.case, system)
    for line in chain(*told):
        write(console, line)
    write(console, assumed_count(checked.case.assumptions))
    if checked.case.assumptions:
        write(console)
        list_out(console, assumed_listing(checked.case, system))
        for number, source in enumerate(sources(checked.case.assumptions), 1):
            write(console, f"[{number}] {source}")
    write(console)
    _show_review(console, checked, system)


def _show_review(console: Console, checked: Checked, system: System) -> None:
    """The findings, those that stop first, then the cautions; the count at both ends."""
    known = finding_sources(checked.findings)
    _say_findings(console, checked, [[each] for each in checked.findings if each.level != "fine"], known, system)
    write(console)
    write(console, label("finding.head", level=Kind("fine")), strong=True)
    list_out(console, fine_listing(checked.findings, known, checked.case, system))
    for number, source in enumerate(known, 1):
        write(console, f"[{number}] {source}")
    write(console)
    for line in (*plant_cautions(), caution()):
        write(console, line)
    write(console)
    write(console, f"{label('finding.review')}{colon()}{tally(checked.findings)}", strong=True)
