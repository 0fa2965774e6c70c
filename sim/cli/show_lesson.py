"""A lesson on the screen: the situation and the question first, the answer when the runs are done."""

import shlex
from pathlib import Path

import click
from rich.console import Console

from sim.case.quantities import System
from sim.cli.screen import list_out, one_line, say
from sim.lessons.lesson import Lesson, Told
from sim.lessons.names import TITLES
from sim.tell.sentences import AT_THE_PLANT, CAUTION, NOT_FOR_A_PLANT


def show_question(console: Console, lesson: Lesson, system: System) -> None:
    """What is run, and what to watch for."""
    say(console, f"Lesson {lesson.name}: {TITLES[lesson.name]}", strong=True)
    for line in lesson.situation(system):
        say(console, line)
    say(console)
    say(console, f"Watch for: {lesson.watch}")
    say(console)


def show_answer(console: Console, told: Told) -> None:
    """The table, the sentences and the cautions."""
    list_out(console, told.table, between=3)
    for sentence in told.sentences:
        say(console, sentence)
    say(console)
    say(console, NOT_FOR_A_PLANT)
    say(console, AT_THE_PLANT)
    say(console, CAUTION)
    say(console)


def show_where(console: Console, lesson: Lesson, out: Path | None) -> None:
    """Where the figure and the case file are, or how to get them."""
    if out is None:
        say(console, "The figure and the case file, to look at and to change:")
        click.echo(f"  filterrun lesson {lesson.name} --out DIR")
        return
    figure, case = out / f"lesson_{lesson.path.stem}.svg", out / lesson.path.name
    say(console, f"The figure is {figure}, and as PNG beside it. The case is {case}, to look at and to change:")
    click.echo(f"  filterrun {lesson.again.format(case=one_line(shlex.quote(str(case))))}")
