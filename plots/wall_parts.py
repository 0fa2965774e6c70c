"""What figures for a wall have in common: sizes of type, bars with their numbers, the limit, lines of text."""

import re
from textwrap import wrap

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from plots.parts import DASHED, draw_bar, name_rows, note
from plots.style import INK
from plots.wall_inputs import Bars, BarsWall
from plots.words import typeset

TITLE, PANEL_TITLE, TEXT, FOOT = 21.0, 15.0, 13.5, 11.0  # points
TITLE_CHARACTERS, LONGER = 56, 4  # that fill a line of the title; by how many a line may be longer than the mean
BAR_HIGH, EDGE, LINE = 0.66, 1.8, 1.6  # of a row; points

_GLUE = "\N{NO-BREAK SPACE}"
_BEFORE_UNIT = re.compile(r"(?<=\d) (?=\S)")


def draw_bars(axes: Axes, bars: Bars) -> None:
    """A bar for each setting, its number at its end."""
    for place, (value, text) in enumerate(zip(bars.values, bars.texts, strict=True)):
        draw_bar(axes, place, value, height=BAR_HIGH, edge=EDGE)
        note(axes, text, (value, place), (5, 0), fontweight="bold")
    name_rows(axes, bars.names)
    axes.set_xlim(0.0, 1.3 * (bars.most or max(bars.values) or 1.0))
    axes.set_title(bars.measure.label)
    axes.set_xticks([])
    axes.spines["bottom"].set_visible(False)


def draw_each(wall: BarsWall, figure: Figure) -> None:
    """A panel of bars for each figure, one below the other."""
    for axes, bars in zip(figure.subplots(len(wall.bars), 1, squeeze=False)[:, 0], wall.bars, strict=True):
        draw_bars(axes, bars)


def line_at(axes: Axes, level: float) -> None:
    """A dashed line across."""
    axes.axhline(level, color=INK, linestyle=DASHED, linewidth=LINE)


def name_line(axes: Axes, level: float, name: str) -> None:
    """The name of such a line, over it at the right end."""
    note(axes, name, (1.0, level), (0.0, 3.0), across="right", up="bottom", xycoords=("axes fraction", "data"))


def shown(text: str) -> str:
    """Text as a wall shows it: powers raised, degrees with their sign, lines of about the same length.

    >>> shown("8 gpm/ft2 at 41 degF")
    '8 gpm/ft\u00b2 at 41 \u00b0F'
    """
    typed = typeset(text).replace(" deg", " \N{DEGREE SIGN}")
    lines = -(-len(typed) // TITLE_CHARACTERS)
    glued = _BEFORE_UNIT.sub(_GLUE, typed)  # a number stays with its unit
    return "\n".join(wrap(glued, len(typed) // lines + LONGER)).replace(_GLUE, " ")
