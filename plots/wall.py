"""Figures for a wall: a page across, large type, a title that says what is seen."""

import math
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import singledispatch
from textwrap import wrap
from typing import Any

import matplotlib
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator, NullLocator, StrMethodFormatter

from plots.inputs import Measure
from plots.style import GREY, INK, as_png, as_svg, house_style, keep_layout, look
from plots.wall_inputs import Bars, HoldWall, Residual, RinseWall, StaggerWall, StormCourse, StormWall, Wall, WarmWall
from plots.words import Words, typeset, words

SIZE = (11.69, 8.27)  # inches: A4 across
TITLE, PANEL_TITLE, TEXT, FOOT = 21.0, 15.0, 13.5, 11.0  # points
TITLE_CHARACTERS, LONGER = 56, 4  # that fill a line of the title; by how many a line may be longer than the mean
TENFOLD, NAMED_UNDER = 10.0, 1.2  # a fall of a curve; minutes at which a flatter one has its name
NAME_AWAY = 14.0  # points from a curve to its name
FOOT_ROOM = 0.06  # of the page's height
HEADROOM = 1.12
LEAST_SOLIDS = 0.02  # mg/L: the lowest line of a scale in tens

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


def wall_files(name: str, wall: Wall) -> dict[str, str | bytes]:
    """The figure as SVG and PNG by file name; the same input gives the same bytes."""
    with wall_style():
        figure = wall_figure(wall, words())
        return {f"{name}.svg": as_svg(figure), f"{name}.png": as_png(figure)}


def wall_figure(wall: Wall, spoken: Words) -> Figure:
    """The figure with its title, and the caution at its foot."""
    figure = Figure(figsize=SIZE, layout="constrained")
    engine: Any = figure.get_layout_engine()
    engine.set(rect=(0.015, FOOT_ROOM, 0.97, 0.985 - FOOT_ROOM), hspace=0.06, wspace=0.05)
    figure.suptitle(shown(wall.title), x=0.02, ha="left", fontsize=TITLE,
                    fontweight="bold")  # fmt: skip
    draw(wall, figure, spoken)
    foot = " ".join(spoken.text(key) for key in ("wall.foot", "report.caution"))
    figure.text(0.02, 0.015, foot, fontsize=FOOT, color=INK, va="bottom", ha="left")
    keep_layout(figure)
    return figure


@singledispatch
def draw(wall: Wall, figure: Figure, spoken: Words) -> None:
    """Draw the panels of a wall figure."""
    raise NotImplementedError(type(wall).__name__)


@draw.register
def _draw_rinse(wall: RinseWall, figure: Figure, spoken: Words) -> None:
    axes = figure.subplot_mosaic([["curves", "first"], ["curves", "second"]], width_ratios=(3, 2))
    draw_after_return(axes["curves"], wall, spoken)
    for place, bars in zip(("first", "second"), wall.bars, strict=True):
        draw_bars(axes[place], bars)


def draw_after_return(axes: Axes, wall: RinseWall, spoken: Words) -> None:
    """A curve for each rinse on a scale in tens, named where it begins, and the limit."""
    table = wall.after_return.clip(lower=LEAST_SOLIDS)
    for place, name in enumerate(table.columns):
        seen = look(place)
        axes.plot(table.index, table[name], color=seen.colour, linestyle=seen.dash, marker=seen.marker,
                  markevery=(6 * place + 3, 24))  # fmt: skip
    axes.set_yscale("log")
    axes.set_xlim(0.0, float(table.index[-1]))
    axes.set_ylim(LEAST_SOLIDS, 2.0 * float(table.max().max()))
    axes.yaxis.set_major_formatter(StrMethodFormatter("{x:,.10g}"))
    axes.yaxis.set_minor_locator(NullLocator())
    axes.set_xlabel(spoken.text("wall.after_return"))
    by_rinse = spoken.text("wall.by_rinse")
    axes.set_title(f"{wall.solids.label}\n{by_rinse}")
    axes.grid(axis="y")
    _name_curves(axes, table)
    if wall.limit is not None:
        axes.axhline(wall.limit, color=INK, linestyle=(0, (5, 2)), linewidth=1.6)
        axes.annotate(spoken.text("wall.limit"), xy=(1.0, wall.limit), xycoords=("axes fraction", "data"),
                      xytext=(0.0, 3.0), textcoords="offset points", ha="right", va="bottom")  # fmt: skip


def _name_curves(axes: Axes, table: pd.DataFrame) -> None:
    """Each name to the right of its curve half way down, or under a curve that falls less than tenfold."""
    for name in table.columns:
        curve = table[name]
        begin, end = float(curve.iloc[0]), float(curve.iloc[-1])
        if begin > TENFOLD * end:
            level = math.sqrt(begin * end)
            at, offset, side = table.index.tolist()[int((curve - level).abs().argmin())], (9.0, 0.0), "left"
        else:
            level, at, offset, side = end, NAMED_UNDER, (0.0, -NAME_AWAY), "center"
        axes.annotate(str(name), xy=(at, level), xytext=offset, textcoords="offset points", va="center", ha=side,
                      fontweight="bold")  # fmt: skip


def draw_bars(axes: Axes, bars: Bars) -> None:
    """A bar for each setting, its number at its end."""
    longest = max(bars.values) or 1.0
    for place, (value, text) in enumerate(zip(bars.values, bars.texts, strict=True)):
        seen = look(place)
        axes.barh(place, value, height=0.66, facecolor="white", edgecolor=seen.colour, hatch=seen.hatch,
                  linewidth=1.8)  # fmt: skip
        axes.annotate(text, xy=(value, place), xytext=(5, 0), textcoords="offset points", va="center", ha="left",
                      fontweight="bold")  # fmt: skip
    axes.set_yticks(range(len(bars.names)), bars.names)
    axes.set_ylim(len(bars.names) - 0.5, -0.5)
    axes.set_xlim(0.0, 1.3 * longest)
    axes.set_title(bars.measure.label)
    axes.tick_params(axis="y", length=0)
    axes.set_xticks([])
    axes.spines["bottom"].set_visible(False)


@draw.register
def _draw_storm(wall: StormWall, figure: Figure, spoken: Words) -> None:
    grid = figure.subplots(3, len(wall.courses), sharex=True, sharey="row", squeeze=False)
    for place, course in enumerate(wall.courses):
        feed, outlet, pressure = grid[:, place]
        draw_course(feed, course, "feed", 3)
        draw_course(outlet, course, "outlet", 1)
        draw_course(pressure, course, "pressure", 0)
        feed.set_title(f"{course.policy}\n", fontsize=PANEL_TITLE)
        feed.annotate(spoken.text("wall.over", told=course.told), xy=(0.0, 1.0), xytext=(0.0, 7.0),
                      xycoords="axes fraction", textcoords="offset points", ha="left", va="bottom")  # fmt: skip
        _mark(outlet, course, wall.limit)
        _mark(pressure, course, None)
        pressure.set_xlabel(spoken.text("wall.day"))
        pressure.xaxis.set_major_locator(MaxNLocator(integer=True, nbins=4))
    for axes, measure in zip(grid[:, 0], (wall.feed, wall.solids, wall.pressure), strict=True):
        axes.set_ylabel(_two_lines(measure))
        axes.set_ylim(0.0, HEADROOM * axes.get_ylim()[1])
    _say_marks(grid[1, -1], wall, spoken)
    figure.align_ylabels(grid[:, 0])


def _two_lines(measure: Measure) -> str:
    """A label for an axis that is short."""
    return measure.label.replace(", ", ",\n")


def draw_course(axes: Axes, course: StormCourse, column: str, place: int) -> None:
    """One column against the day."""
    axes.plot(course.table["day"], course.table[column], color=look(place).colour, linestyle="-")
    axes.set_xlim(course.table["day"].iloc[0], course.table["day"].iloc[-1])
    axes.set_ylim(bottom=0.0)
    axes.grid(axis="y")


def _mark(axes: Axes, course: StormCourse, limit: float | None) -> None:
    """Triangles where washes start; the limit, and what is over it on hatching."""
    axes.plot(course.washes, [1.0] * len(course.washes), linestyle="none", marker="v", color=INK,
              transform=axes.get_xaxis_transform(), clip_on=False)  # fmt: skip
    for wash in course.washes:
        axes.axvline(wash, color=GREY, linestyle=(0, (1, 2)), linewidth=1.2)
    if limit is not None:
        axes.axhline(limit, color=INK, linestyle=(0, (5, 2)), linewidth=1.6)
        outlet = course.table["outlet"]
        above = outlet > limit
        above |= above.shift(fill_value=False)
        axes.fill_between(course.table["day"], limit, outlet.clip(lower=limit), where=above, facecolor="white",
                          edgecolor=look(1).colour, hatch="/////", linewidth=0.0)  # fmt: skip


def _say_marks(axes: Axes, wall: StormWall, spoken: Words) -> None:
    """What the dashed line and the triangles are, once."""
    if wall.limit is not None:
        axes.annotate(spoken.text("wall.limit"), xy=(1.0, wall.limit), xycoords=("axes fraction", "data"),
                      xytext=(0.0, 3.0), textcoords="offset points", ha="right", va="bottom")  # fmt: skip
    axes.annotate(spoken.text("wall.wash"), xy=(1.0, 1.0), xytext=(0.0, 6.0), xycoords="axes fraction",
                  textcoords="offset points", ha="right", va="bottom")  # fmt: skip


@draw.register
def _draw_warm(wall: WarmWall, figure: Figure, spoken: Words) -> None:
    panels, heights = figure.subplots(2, len(wall.panels), sharey="row", squeeze=False, height_ratios=(3, 1))
    for axes, residuals in zip(heights, wall.panels.values(), strict=True):
        draw_heights(axes, residuals, wall, spoken)
    highest = max(float(each.table["residual"].max()) for residuals in wall.panels.values() for each in residuals)
    for axes, (name, residuals) in zip(panels, wall.panels.items(), strict=True):
        for place, each in enumerate(residuals):
            seen = look(place)
            axes.plot(each.table["week"], each.table["residual"], color=seen.colour, linestyle=seen.dash,
                      marker=seen.marker, markersize=5.0)  # fmt: skip
        axes.set_ylim(0.0, HEADROOM * highest if highest > 0.0 else 1.0)
        axes.set_xlim(left=0.0)
        axes.set_title(shown(name))
        axes.set_xlabel(spoken.text("wall.week"))
        axes.grid(axis="y")
        ends = [float(each.table["residual"].iloc[-1]) for each in residuals]
        _name_ends(axes, [shown(each.name) for each in residuals], ends)
    panels[0].set_ylabel(wall.residual.label)


def draw_heights(axes: Axes, residuals: Sequence[Residual], wall: WarmWall, spoken: Words) -> None:
    """How high each wash lifts the bed, against the outlet at the top of the vessel; black is what leaves over it."""
    for place, each in enumerate(residuals):
        seen = look(place)
        axes.barh(place, min(each.height, wall.top), height=0.66, facecolor="white", edgecolor=seen.colour,
                  hatch=seen.hatch, linewidth=1.8)  # fmt: skip
        over = each.height > wall.top
        if over:
            axes.barh(place, each.height - wall.top, left=wall.top, height=0.66, color=INK)
        text = f"{typeset(each.height_text)}{spoken.text('wall.over_outlet') if over else ''}"
        axes.annotate(text, xy=(0.0, place), xytext=(6, 0), textcoords="offset points", va="center", ha="left",
                      fontweight="bold",
                      bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.5})  # fmt: skip
    axes.axvline(wall.top, color=INK, linestyle=(0, (5, 2)), linewidth=1.6)
    axes.set_xlim(0.0, HEADROOM * max(wall.top, *(each.height for panel in wall.panels.values() for each in panel)))
    axes.set_ylim(len(residuals) - 0.5, -0.5)
    axes.set_yticks([])
    axes.set_xlabel(wall.height.label)
    axes.set_title(spoken.text("wall.outlet"), fontsize=TEXT, fontweight="normal")


@draw.register
def _draw_stagger(wall: StaggerWall, figure: Figure, spoken: Words) -> None:
    from plots.wall_train import draw_stagger

    draw_stagger(wall, figure, spoken)


@draw.register
def _draw_hold(wall: HoldWall, figure: Figure, spoken: Words) -> None:
    from plots.wall_train import draw_hold

    draw_hold(wall, figure, spoken)


def _name_ends(axes: Axes, names: Sequence[str], ends: Sequence[float]) -> None:
    """The name of the highest curve over its end, those of the others under theirs, inside the panel."""
    top = max(range(len(ends)), key=lambda place: ends[place])
    for place, name in enumerate(names):
        above = place == top
        axes.annotate(name, xy=(1.0, ends[place]), xycoords=("axes fraction", "data"),
                      xytext=(0.0, NAME_AWAY if above else -NAME_AWAY), textcoords="offset points", ha="right",
                      va="bottom" if above else "top", fontweight="bold", color=look(place).colour)  # fmt: skip


def shown(text: str) -> str:
    """Text as a wall shows it: powers raised, degrees with their sign, lines of about the same length.

    >>> shown("8 gpm/ft2 at 41 degF")
    '8 gpm/ft\u00b2 at 41 \u00b0F'
    """
    typed = typeset(text).replace(" deg", " \N{DEGREE SIGN}")
    lines = -(-len(typed) // TITLE_CHARACTERS)
    glued = _BEFORE_UNIT.sub(_GLUE, typed)  # a number stays with its unit
    return "\n".join(wrap(glued, len(typed) // lines + LONGER)).replace(_GLUE, " ")


_GLUE = "\N{NO-BREAK SPACE}"
_BEFORE_UNIT = re.compile(r"(?<=\d) (?=\S)")
