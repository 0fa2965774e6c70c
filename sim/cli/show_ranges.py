"""How an answer stands up to the ranges of what is assumed, on the screen."""

from rich.console import Console

from sim.cli.screen import list_out, write
from sim.tell.comparison.spread_words import RangesTold


def say_ranges(console: Console, ranges: RangesTold) -> None:
    """Whether the answer holds, and how far the figures spread."""
    for sentence in ranges.order:
        write(console, sentence)
    if ranges.spread is not None:
        write(console)
        write(console, ranges.caption, strong=True)
        list_out(console, ranges.spread, between=2)
