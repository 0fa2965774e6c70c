"""The first screen of a fit."""

import shlex
from pathlib import Path

import click
from rich.console import Console

from plots.words import Code, Name, label, say
from sim.cli.screen import fitting, one_line, table, write
from sim.tell.fit.fit_screen import FitScreen
from sim.tell.sentences import caution


def show(console: Console, told: FitScreen, target: Path | None) -> None:
    """The answer, the table of constants, what stays open as far as there is room, and where the new case is."""

    def draw(most: int) -> None:
        write(console, told.title, strong=True)
        write(console)
        for place, sentence in enumerate(told.answer):
            write(console, sentence, strong=not place)
        write(console)
        table(console, told.table.columns, told.table.rows, 2)
        write(console)
        if told.open:
            write(console, label("fit.open"), strong=True)
        for sentence in told.open[:most]:
            write(console, f"- {sentence}")
        for sentence in told.foot:
            write(console, sentence)
        for sentence in (say("fit.more"), caution()) if target is None else (caution(),):
            write(console, sentence)

    draw(max(fitting(console, draw, len(told.open)), min(len(told.open), 1)))
    if target is not None:
        click.echo(label("new.written", file=Name(one_line(str(target)))))
        command = Code(f"filterrun compare {one_line(shlex.quote(str(target)))}")
        click.echo(label("new.next", command=command))  # to be copied, so never wrapped
