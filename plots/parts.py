"""What figures have in common: rows with their names, bars that differ without colour, lines across, notes."""

from collections.abc import Sequence
from typing import Any

from matplotlib.axes import Axes
from matplotlib.axis import Axis
from matplotlib.ticker import StrMethodFormatter

from plots.style import INK, look
from plots.words import localised

HEADROOM = 1.12  # of the highest value or line
DASHED: Any = (0, (5, 2))
DOTTED: Any = (0, (1, 2))
SHORT_DASHES: Any = (0, (4, 2))

Place = tuple[float, float]


def note(
    axes: Axes, text: str, at: Place, away: Place = (0.0, 0.0), *, across: str = "left", up: str = "center",
    **looks: Any,
) -> None:  # fmt: skip
    """Text so many points away from a place; `across` and `up` say which of its sides stand there."""
    axes.annotate(text, xy=at, xytext=away, textcoords="offset points", ha=across, va=up, **looks)


def name_rows(axes: Axes, names: Sequence[str]) -> None:
    """A row for each name, the first on top, without ticks."""
    axes.set_yticks(range(len(names)), names)
    axes.set_ylim(len(names) - 0.5, -0.5)
    axes.tick_params(axis="y", length=0)


def draw_bar(axes: Axes, place: int, value: float, *, height: float, edge: float, row: int | None = None) -> None:
    """A bar from zero with the look of a place, its edge so many points wide."""
    seen = look(place)
    axes.barh(place if row is None else row, value, height=height, facecolor="white", edgecolor=seen.colour,
              hatch=seen.hatch, linewidth=edge)  # fmt: skip


def line_across(axes: Axes, level: float, name: str, width: float = 1.0) -> None:
    """A dashed line at a level, its name and number outside the axes at the right."""
    axes.axhline(level, color=INK, linestyle=DASHED, linewidth=width)
    named = f"{name}\n{localised(f'{level:.3g}')}"
    axes.annotate(named, xy=(1.005, level), xycoords=("axes fraction", "data"), va="center", ha="left", fontsize=8.0,
                  annotation_clip=False)  # fmt: skip


def from_zero(axes: Axes, top: float, room: float = HEADROOM) -> None:
    """A scale from zero to a little over the top, or to one where there is nothing."""
    axes.set_ylim(0.0, room * top if top > 0.0 else 1.0)


def plain_numbers(axis: Axis) -> None:
    """Numbers in full, thousands apart."""
    axis.set_major_formatter(StrMethodFormatter("{x:,.10g}"))


def no_scales(axes: Axes) -> None:
    """Neither ticks nor lines to the left and below."""
    axes.set_xticks([])
    axes.set_yticks([])
    axes.spines[["left", "bottom"]].set_visible(False)
