"""A page for a wall: its title says what is seen, its panels show it, the caution stands at its foot."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, assert_never

import matplotlib
from matplotlib.figure import Figure

from plots.one import Shown
from plots.style import INK, as_svg, figure_files, house_style, keep_layout
from plots.wall_bed import draw_rinse, draw_storm, draw_warm
from plots.wall_inputs import BarsWall, HoldWall, RinseWall, StaggerWall, StormWall, Wall, WarmWall
from plots.wall_parts import FOOT, PANEL_TITLE, TEXT, TITLE, draw_each, shown
from plots.wall_train import draw_hold, draw_stagger
from plots.words import Sentence, paragraph, say

SIZE = (11.69, 8.27)  # inches: A4 across
BARE_SIZE = (11.69, 5.3)  # all of 1920 x 1080, its title and the caution in type of 28 px apart
FOOT_ROOM = 0.06  # of the page's height

_RC: Any = {
    "font.size": TEXT, "axes.labelsize": TEXT, "axes.titlesize": PANEL_TITLE, "xtick.labelsize": TEXT,
    "ytick.labelsize": TEXT, "lines.linewidth": 2.6, "axes.linewidth": 1.2, "grid.linewidth": 0.9,
    "hatch.linewidth": 1.2, "lines.markersize": 7.0,
}  # fmt: skip


@contextmanager
def wall_style() -> Iterator[None]:
    """The house's settings in large type."""
    with house_style(), matplotlib.rc_context(_RC):
        yield


def wall_files(name: str, wall: Wall, foot: Sentence, *, png: bool = False) -> dict[str, str | bytes]:
    """The figure by file name; the same input gives the same bytes."""
    with wall_style():
        return figure_files(name, wall_figure(wall, foot), png=png)


def show_wall(wall: Wall, foot: Sentence) -> Shown:
    """The same for a page, which says itself what its title and its foot say."""
    with wall_style():
        figure = bare_figure(wall)
        keep_layout(figure)
        return Shown(svg=as_svg(figure), caption=foot, alt=wall.title)


def bare_figure(wall: Wall) -> Figure:
    """The panels alone."""
    figure = Figure(figsize=BARE_SIZE, layout="constrained")
    engine: Any = figure.get_layout_engine()
    engine.set(hspace=0.06, wspace=0.05)
    _draw(wall, figure)
    return figure


def wall_figure(wall: Wall, foot: Sentence) -> Figure:
    """The figure with its title; at its foot whose plant it is, and the caution."""
    figure = Figure(figsize=SIZE, layout="constrained")
    engine: Any = figure.get_layout_engine()
    engine.set(rect=(0.015, FOOT_ROOM, 0.97, 0.985 - FOOT_ROOM), hspace=0.06, wspace=0.05)
    figure.suptitle(shown(wall.title), x=0.02, ha="left", fontsize=TITLE,
                    fontweight="bold")  # fmt: skip
    _draw(wall, figure)
    figure.text(0.02, 0.015, paragraph(foot, say("report.caution")), fontsize=FOOT, color=INK, va="bottom", ha="left")
    return figure


def _draw(wall: Wall, figure: Figure) -> None:
    match wall:
        case RinseWall():
            draw_rinse(wall, figure)
        case StormWall():
            draw_storm(wall, figure)
        case WarmWall():
            draw_warm(wall, figure)
        case StaggerWall():
            draw_stagger(wall, figure)
        case HoldWall():
            draw_hold(wall, figure)
        case BarsWall():
            draw_each(wall, figure)
        case _:
            assert_never(wall)
