"""The screen: tables without frames and wrapped lines, with no part of a case's text taken for markup.

Where standard output is no terminal, nothing is wrapped, cut or coloured.
"""

import re
from collections.abc import Callable, Sequence
from textwrap import wrap
from typing import Literal

from rich.align import Align
from rich.box import Box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from sim.case.spelling import NO_BREAK, escaped
from sim.tell.listing import Column, Listing

UNLIMITED = 100_000
NARROWEST = 40
GAP = 1
FIRST_SCREEN = 30  # lines

_GLUE = "\N{NO-BREAK SPACE}"
_AFTER_NUMBER = re.compile(r"(?<=\d) ")

Cell = str | Text

# Nothing but a rule under the heads, in ASCII, so that it looks the same wherever it is pasted.
RULE = Box("    \n    \n -- \n    \n    \n    \n    \n    \n", ascii=True)


def screen() -> Console:
    """A console on standard output."""
    console = Console(markup=False, highlight=False, emoji=False, soft_wrap=False)
    if not console.is_terminal:
        console = Console(markup=False, highlight=False, emoji=False, width=UNLIMITED, no_color=True)
    return console


def one_line(text: str) -> str:
    """Text from a case on one line, every unprintable character escaped.

    >>> one_line("a\\nb\\x1b[31m")
    'a b\\\\x1b[31m'
    """
    return escaped(text.replace("\n", " ").replace("\t", " "), NO_BREAK)


def bold(text: str) -> Text:
    """Text in bold."""
    return Text(text, style="bold")


def write(console: Console, text: str = "", *, indent: int = 0, strong: bool = False) -> None:
    """A line of text, wrapped on a terminal: further lines set in by two, no number torn from its unit."""
    glued = _AFTER_NUMBER.sub(_GLUE, one_line(text))
    width = max(console.width, NARROWEST)
    lines = wrap(glued, width, initial_indent=" " * indent, subsequent_indent=" " * (indent + 2)) or [""]
    for line in lines:
        console.print(Text(line.replace(_GLUE, " "), style="bold" if strong else ""), soft_wrap=True)


def fitting(console: Console, draw: Callable[[int], None], most: int) -> int:
    """How many of so many things `draw` can show on a first screen."""
    for count in range(most, 0, -1):
        with console.capture() as held:
            draw(count)
        if held.get().count("\n") <= FIRST_SCREEN:
            return count
    return 0


def list_out(console: Console, listing: Listing, *, between: int = GAP) -> None:
    """A listing, so many blanks between its columns, and a blank line."""
    table(console, listing.columns, listing.rows, between)
    write(console)


def table(
    console: Console, columns: Sequence[Column], rows: Sequence[Sequence[Cell]], between: int = GAP, *,
    roomy: bool = False,
) -> None:  # fmt: skip
    """Heads, a rule, rows; an empty row is a blank line. Long words wrap where the screen is narrow.

    `roomy`: columns of numbers are as wide as their heads ask for, as far as the screen has room.
    """
    cells = [[cell if isinstance(cell, Text) else Text(one_line(cell)) for cell in row] for row in rows]
    widths = [_width(column, [row[place] for row in cells if row]) for place, column in enumerate(columns)]
    if roomy:
        numbers = [place for place, column in enumerate(columns) if column.holds == "numbers"]
        taken = sum(width + between for place, width in enumerate(widths) if place not in numbers) - between
        room = (console.width - taken) // max(len(numbers), 1) - between
        for place in numbers:
            widths[place] = max(widths[place], min(Text(one_line(columns[place].head)).cell_len, room))
    grid = Table(box=RULE, show_edge=False, pad_edge=False, padding=(0, between - GAP, 0, 0), header_style="bold")
    for width, column in zip(widths, columns, strict=True):
        justify: Literal["left", "right"] = "right" if column.holds == "numbers" else "left"
        grid.add_column(
            Align(Text(one_line(column.head), justify=justify), justify, vertical="bottom"),
            justify=justify,
            width=None if column.holds == "long words" else width,
            overflow="fold",
        )
    for row in cells:
        grid.add_row(*row)
    console.print(grid)


def _width(column: Column, cells: Sequence[Text]) -> int:
    """Enough for every cell and every word of the head on one line."""
    return max([1, *(Text(part).cell_len for part in [*column.head.split(), *(cell.plain for cell in cells)])])
