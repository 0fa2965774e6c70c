"""Figures for a wall about one bed: rinses, a storm, and washes in cold and in warm water."""

import math
from collections.abc import Sequence
from textwrap import wrap

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator, NullLocator

from plots.parts import DASHED, DOTTED, HEADROOM, draw_bar, from_zero, note, plain_numbers
from plots.style import GREY, INK, look
from plots.wall_inputs import Residual, RinseWall, StormCourse, StormWall, WarmWall
from plots.wall_parts import BAR_HIGH, EDGE, LINE, PANEL_TITLE, TEXT, draw_bars, line_at, name_line, shown
from plots.words import label, typeset

TENFOLD = 10.0  # a fall of a curve
NAMED_UNDER, APART = 1.2, 3.0  # minutes at which the first flatter one has its name, and each further one after it
NAME_AWAY = 14.0  # points from a curve to its name
AXIS_CHARACTERS = 12
LEAST_SOLIDS = 0.02  # mg/L: the lowest line of a scale in tens


def draw_rinse(wall: RinseWall, figure: Figure) -> None:
    """A curve for each rinse, and bars beside them."""
    axes = figure.subplot_mosaic([["curves", "first"], ["curves", "second"]], width_ratios=(3, 2))
    draw_after_return(axes["curves"], wall)
    for place, bars in zip(("first", "second"), wall.bars, strict=True):
        draw_bars(axes[place], bars)


def draw_after_return(axes: Axes, wall: RinseWall) -> None:
    """A curve for each rinse on a scale in tens, named where it begins, and the limit."""
    table = wall.after_return.clip(lower=LEAST_SOLIDS)
    for place, name in enumerate(table.columns):
        axes.plot(table.index, table[name], markevery=(6 * place + 3, 24), **look(place).line)
    axes.set_yscale("log")
    axes.set_xlim(0.0, float(table.index[-1]))
    axes.set_ylim(LEAST_SOLIDS, 2.0 * float(table.max().max()))
    plain_numbers(axes.yaxis)
    axes.yaxis.set_minor_locator(NullLocator())
    axes.set_xlabel(label("figure.minutes_after_return"))
    axes.set_title(f"{wall.solids.label}\n{label('wall.by_rinse')}")
    axes.grid(axis="y")
    _name_curves(axes, table)
    if wall.limit is not None:
        line_at(axes, wall.limit)
        name_line(axes, wall.limit, label("figure.limit"))


def _name_curves(axes: Axes, table: pd.DataFrame) -> None:
    """Each name to the right of its curve half way down, or under a curve that falls less than tenfold.

    Flat curves end on one another: their names stand side by side.
    """
    under = NAMED_UNDER
    for name in table.columns:
        curve = table[name]
        begin, end = float(curve.iloc[0]), float(curve.iloc[-1])
        if begin > TENFOLD * end:
            level = math.sqrt(begin * end)
            at, offset, side = table.index.tolist()[int((curve - level).abs().argmin())], (9.0, 0.0), "left"
        else:
            level, at, offset, side = end, under, (0.0, -NAME_AWAY), "center"
            under += APART
        note(axes, str(name), (at, level), offset, across=side, fontweight="bold")


def draw_storm(wall: StormWall, figure: Figure) -> None:
    """Feed, solids sent on and pressure drop of each way to start a wash, side by side."""
    grid = figure.subplots(3, len(wall.courses), sharex=True, sharey="row", squeeze=False)
    for place, course in enumerate(wall.courses):
        feed, outlet, pressure = grid[:, place]
        draw_course(feed, course, "feed", 3)
        draw_course(outlet, course, "outlet", 1)
        draw_course(pressure, course, "pressure", 0)
        feed.set_title(f"{course.policy}\n", fontsize=PANEL_TITLE)
        over = label("wall.over", time=course.over)
        note(feed, over, (0.0, 1.0), (0.0, 7.0), up="bottom", xycoords="axes fraction")
        _mark(outlet, course, wall.limit)
        _mark(pressure, course, None)
        pressure.set_xlabel(label("wall.day"))
        pressure.xaxis.set_major_locator(MaxNLocator(integer=True, nbins=4))
    for axes, measure in zip(grid[:, 0], (wall.feed, wall.solids, wall.pressure), strict=True):
        axes.set_ylabel("\n".join(wrap(measure.label, AXIS_CHARACTERS)))  # the axis is short
        axes.set_ylim(0.0, HEADROOM * axes.get_ylim()[1])
    _say_marks(grid[1, -1], wall)
    figure.align_ylabels(grid[:, 0])


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
        axes.axvline(wash, color=GREY, linestyle=DOTTED, linewidth=1.2)
    if limit is not None:
        line_at(axes, limit)
        outlet = course.table["outlet"]
        above = outlet > limit
        above |= above.shift(fill_value=False)
        axes.fill_between(course.table["day"], limit, outlet.clip(lower=limit), where=above, facecolor="white",
                          edgecolor=look(1).colour, hatch="/////", linewidth=0.0)  # fmt: skip


def _say_marks(axes: Axes, wall: StormWall) -> None:
    """What the dashed line and the triangles are, once."""
    if wall.limit is not None:
        name_line(axes, wall.limit, label("figure.limit"))
    note(axes, label("figure.wash_starts"), (1.0, 1.0), (0.0, 6.0), across="right", up="bottom",
         xycoords="axes fraction")  # fmt: skip


def draw_warm(wall: WarmWall, figure: Figure) -> None:
    """What each wash left in the bed above, how high it lifted the bed below."""
    panels, heights = figure.subplots(2, len(wall.panels), sharey="row", squeeze=False, height_ratios=(3, 1))
    for axes, residuals in zip(heights, wall.panels.values(), strict=True):
        draw_heights(axes, residuals, wall)
    highest = max(float(each.table["residual"].max()) for residuals in wall.panels.values() for each in residuals)
    for axes, (name, residuals) in zip(panels, wall.panels.items(), strict=True):
        for place, each in enumerate(residuals):
            axes.plot(each.table["week"], each.table["residual"], markersize=5.0, **look(place).line)
        from_zero(axes, highest)
        axes.set_xlim(left=0.0)
        axes.set_title(shown(name))
        axes.set_xlabel(label("wall.week"))
        axes.grid(axis="y")
        ends = [float(each.table["residual"].iloc[-1]) for each in residuals]
        _name_ends(axes, [shown(each.name) for each in residuals], ends)
    panels[0].set_ylabel(wall.residual.label.replace(", ", ",\n"))


def draw_heights(axes: Axes, residuals: Sequence[Residual], wall: WarmWall) -> None:
    """How high each wash lifts the bed, against the outlet at the top of the vessel; black is what leaves over it."""
    for place, each in enumerate(residuals):
        draw_bar(axes, place, min(each.height, wall.top), height=BAR_HIGH, edge=EDGE)
        over = each.height > wall.top
        if over:
            axes.barh(place, each.height - wall.top, left=wall.top, height=BAR_HIGH, color=INK)
        height = typeset(each.height_text)
        text = f"{height},\n{label('wall.over_outlet')}" if over else height
        note(axes, text, (0.0, place), (6, 0), fontweight="bold",
             bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.5})  # fmt: skip
    axes.axvline(wall.top, color=INK, linestyle=DASHED, linewidth=LINE)
    axes.set_xlim(0.0, HEADROOM * max(wall.top, *(each.height for panel in wall.panels.values() for each in panel)))
    axes.set_ylim(len(residuals) - 0.5, -0.5)
    axes.set_yticks([])
    axes.set_xlabel(wall.height.label)
    axes.set_title(label("wall.outlet"), fontsize=TEXT, fontweight="normal")


def _name_ends(axes: Axes, names: Sequence[str], ends: Sequence[float]) -> None:
    """The name of the highest curve over its end, those of the others under theirs, inside the panel."""
    top = max(range(len(ends)), key=lambda place: ends[place])
    for place, name in enumerate(names):
        away, up = (NAME_AWAY, "bottom") if place == top else (-NAME_AWAY, "top")
        note(axes, name, (1.0, ends[place]), (0.0, away), across="right", up=up, xycoords=("axes fraction", "data"),
             fontweight="bold", color=look(place).colour)  # fmt: skip
