"""The first screen of a comparison, of one run or of many."""

from collections.abc import Sequence

from rich.console import Console

from sim.cli.screen import fitting, say, table
from sim.study.choice_words import FirstScreen
from sim.study.wording import CAUTION


def show(console: Console, title: str, told: FirstScreen) -> None:
    """The answer, its table, the limits that ways break, and as much of what would change the answer as there is room.

    The caution comes behind it.
    """

    def draw(change: Sequence[str]) -> None:
        say(console, title, strong=True)
        say(console)
        for sentence in told.answer:
            say(console, sentence, strong=sentence == told.answer[0])
        say(console)
        table(console, told.table.columns, told.table.rows, 2)
        say(console)
        for sentence in told.limits:
            say(console, sentence)
        if change:
            say(console, "What would change the answer", strong=True)
        for sentence in change:
            say(console, f"- {sentence}")
        for sentence in told.foot:
            say(console, sentence)

    draw(told.change[: fitting(console, lambda count: draw(told.change[:count]), len(told.change))])


def end(console: Console) -> None:
    """The caution."""
    say(console, CAUTION)
