"""The first screen of a comparison, of one run or of many."""

from collections.abc import Callable

from rich.console import Console

from plots.words import label
from sim.cli.screen import fitting, table, write
from sim.tell.comparison.first_screen import FirstScreen
from sim.tell.sentences import caution

BULLETS = 3


def show(console: Console, told: FirstScreen, *, hint: str, more: Callable[[], None] | None = None) -> None:
    """The answer, its table, the limits that ways break, and what would change the answer, as far as there is room.

    `more` shows all the rest, before the caution; without it `hint` says how to have it.
    """

    def draw(count: int) -> None:
        write(console, told.title, strong=True)
        write(console)
        for sentence in told.answer:
            write(console, sentence, strong=sentence == told.answer[0])
        write(console)
        if told.table.rows:
            table(console, told.table.columns, told.table.rows, 2, roomy=True)
            write(console)
        write(console, told.legend)
        if count:
            write(console, label("compare.change"), strong=True)
        for sentence in told.change[:count]:
            write(console, f"- {sentence}")
        *foot, last = told.foot or ("",)
        for sentence in (*foot, f"{last} {hint}".strip() if more is None else last):
            write(console, sentence)
        if more is not None:
            more()
        write(console, caution())

    draw(fitting(console, draw, min(len(told.change), BULLETS)) if more is None else len(told.change))
