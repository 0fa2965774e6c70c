"""A stage through time: its pressure drop above, the solids in its filtered water below, washes marked in both."""

from collections.abc import Sequence
from datetime import datetime
from itertools import groupby
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.dates import date2num
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from plots.inputs import Course
from plots.parts import DOTTED, from_zero, line_across, note
from plots.style import FAINT, GREY, INK, date_axes, day, look, new_figure
from plots.words import Label, colon, label, localised

ALONE, TOGETHER, HEAD = 1.4, 0.88, 0.75  # inches: a panel of one vessel alone, of several; what stands around them
VESSELS = 4  # in one figure, which then fills a page
PANEL_TITLE: dict[str, Any] = {"fontsize": 8.0, "fontweight": "normal", "y": 1.0}  # y: to search for it takes long
ABOVE = 7.0  # points over the axes: room for the triangles
SEEN_WIDE, SEEN_HIGH = 0.004, 0.03  # of all the time, of the limit: less of a hatched patch is not seen


def by_figure(courses: Sequence[Course]) -> list[tuple[Course, ...]]:
    """The vessels of each policy together, as many as a figure has room for."""
    policies = [list(found) for _, found in groupby(courses, lambda each: each.policy)]
    return [tuple(each[first : first + VESSELS]) for each in policies for first in range(0, len(each), VESSELS)]


def course_figure(courses: Sequence[Course], week: tuple[datetime, datetime]) -> Figure:
    """Pressure drop and filtered solids of vessels under one policy; the week told in detail stands on grey."""
    first = courses[0]
    height = HEAD + (TOGETHER if len(courses) > 1 else ALONE) * 2 * len(courses)
    figure = new_figure(height)
    panels = figure.subplots(2 * len(courses), 1)
    for course, upper, lower in zip(courses, panels[::2], panels[1::2], strict=True):
        colour = look(course.place).colour
        draw_level(upper, course.table["time"], course.table["pressure"], level=course.set_point,
                   name=label("figure.set_point"), colour=colour)  # fmt: skip
        draw_level(lower, course.table["time"], course.table["solids"], level=course.limit,
                   name=label("figure.limit"), colour=colour)  # fmt: skip
        upper.set_title(f"{course.stage}{colon()}{course.pressure.label}", pad=ABOVE, **PANEL_TITLE)
        lower.set_title(f"{course.stage}{colon()}{course.solids.label}", pad=3.0, **PANEL_TITLE)
        if course.limit is not None:
            hatch_above(lower, course.table, "solids", course.limit)
        for axes in (upper, lower):
            axes.axvspan(*map(date2num, week), facecolor=FAINT, linewidth=0.0, zorder=0.0)
            mark_washes(axes, course.washes)
        draw_triangles(upper, course.washes)
    lines = [first.policy, *([] if first.whole else [extract(first)]), label("figure.wash_starts")]
    figure.suptitle("\n".join(lines), x=0.01, ha="left", fontsize=9.0, fontweight="bold")
    date_axes(panels, first.table["time"].iloc[0], first.table["time"].iloc[-1])
    return figure


def extract(course: Course) -> Label:
    """What part of the run is shown."""
    times, (shown, whole) = course.table["time"], course.days
    return label("course.extract", start=day(times.iloc[0]), end=day(times.iloc[-1]),
                 shown=localised(f"{shown:.3g}"), whole=localised(f"{whole:.4g}"))  # fmt: skip


def hatch_is_seen(course: Course) -> bool:
    """Whether what is over the limit is wide and high enough to be seen as hatched."""
    if course.limit is None:
        return False
    time, solids = course.table["time"], course.table["solids"]
    above = solids > course.limit
    if not above.any():
        return False
    spans = time.groupby((above != above.shift()).cumsum()[above]).agg(lambda each: each.iloc[-1] - each.iloc[0])
    wide = (spans > SEEN_WIDE * (time.iloc[-1] - time.iloc[0])).any()
    return bool(wide and solids.max() > (1.0 + SEEN_HIGH) * course.limit)


def draw_level(
    axes: Axes, times: pd.Series, values: pd.Series, *, level: float | None, name: str, colour: str
) -> None:
    """Values against time, with a line across at `level` if there is one; both start at zero."""
    axes.plot(times, values, color=colour, linestyle="-", linewidth=1.1)
    axes.yaxis.set_major_locator(MaxNLocator(nbins=4, steps=[1, 2, 5, 10]))
    top = float(values.max()) if values.notna().any() else 0.0
    if level is not None:
        line_across(axes, level, name)
        top = max(top, level)
    from_zero(axes, top)
    axes.grid(axis="y")


def hatch_above(axes: Axes, table: pd.DataFrame, column: str, limit: float) -> None:
    """Fill what is over the limit, hatched, so that it is seen without colour."""
    above = table[column] > limit
    beside = above.shift(1, fill_value=False) | above.shift(-1, fill_value=False)
    axes.fill_between(table["time"], limit, table[column].clip(lower=limit), where=above | beside,
                      facecolor="white", edgecolor=INK, hatch="//////", linewidth=0.0)  # fmt: skip


def mark_washes(axes: Axes, washes: Sequence[datetime]) -> None:
    """A thin line down where each wash starts."""
    across = np.repeat(date2num(list(washes)), 3)
    axes.plot(across, np.tile([0.0, 1.0, np.nan], len(washes)), color=GREY, linestyle=DOTTED, linewidth=0.8,
              transform=axes.get_xaxis_transform())  # fmt: skip


def draw_triangles(axes: Axes, washes: Sequence[datetime]) -> None:
    """A small triangle over each wash; none without, since an empty line would take all the room of the figure."""
    if not washes:
        return
    axes.plot(date2num(list(washes)), [1.0] * len(washes), linestyle="none", marker="v", markersize=4.5, color=INK,
              transform=axes.get_xaxis_transform(), clip_on=False)  # fmt: skip


def point_at(axes: Axes, washes: Sequence[datetime], name: str) -> None:
    """A small triangle over each wash, and at the right what it means."""
    draw_triangles(axes, washes)
    note(axes, name, (1.0, 1.0), (0.0, ABOVE), across="right", up="bottom", xycoords="axes fraction", fontsize=8.0)
