"""A stage through time: its pressure drop above, the solids in its filtered water below, washes marked in both."""

import textwrap
from collections.abc import Sequence
from datetime import datetime

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.dates import date2num
from matplotlib.figure import Figure

from plots.inputs import Course, Measure
from plots.parts import DOTTED, from_zero, line_across, note
from plots.style import FAINT, GREY, INK, NARROW, date_axis, day, look, new_figure
from plots.words import Label, label, localised

HEIGHT = 3.5  # inches
NARROW_HIGH, NARROW_TITLE = 4.4, 36  # the same on a small screen, and the characters of a line of its title
ABOVE = 7.0  # points over the axes: room for the triangles
SEEN_WIDE, SEEN_HIGH = 0.004, 0.03  # of all the time, of the limit: less of a hatched patch is not seen


def course_figure(
    course: Course, week: tuple[datetime, datetime], *, narrow: bool = False
) -> Figure:
    """Pressure drop and filtered solids of one stage under one policy; the week told in detail stands on grey."""
    figure = new_figure(NARROW_HIGH, NARROW) if narrow else new_figure(HEIGHT)
    upper, lower = figure.subplots(2, 1, sharex=True)
    draw_level(upper, course.table, "pressure", course.pressure, level=course.set_point,
               name=label("figure.set_point"), colour=look(course.place).colour)  # fmt: skip
    draw_level(lower, course.table, "solids", course.solids, level=course.limit,
               name=label("figure.limit"), colour=look(course.place).colour)  # fmt: skip
    if course.limit is not None:
        hatch_above(lower, course.table, "solids", course.limit)
    for axes in (upper, lower):
        axes.axvspan(*map(date2num, week), facecolor=FAINT, linewidth=0.0, zorder=0.0)
        mark_washes(axes, course.washes)
    name = f"{course.stage}: {course.policy}"
    if not course.whole:  # on a line of its own: at the right end stands what a triangle means
        part = extract(course)
        name += "\n" + (textwrap.fill(part, NARROW_TITLE) if narrow else part)
    if narrow:  # room above the axes for what stands beside the title on a wide page
        name += "\n"
    upper.set_title(name, pad=ABOVE)
    if course.washes:
        point_at(upper, course.washes, label("figure.wash_starts"))
    date_axis(lower, course.table["time"].iloc[0], course.table["time"].iloc[-1])
    if narrow:
        lower.set_xticks(lower.get_xticks()[::2], lower.get_xticklabels()[::2])
    figure.align_ylabels([upper, lower])
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
    axes: Axes, table: pd.DataFrame, column: str, measure: Measure, *, level: float | None, name: str, colour: str
) -> None:
    """One column against time, with a line across at `level` if there is one; both start at zero."""
    axes.plot(table["time"], table[column], color=colour, linestyle="-", linewidth=1.1)
    axes.set_ylabel(measure.label)
    top = float(table[column].max()) if table[column].notna().any() else 0.0
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
    for wash in washes:
        axes.axvline(float(date2num(wash)), color=GREY, linestyle=DOTTED, linewidth=0.8)


def point_at(axes: Axes, washes: Sequence[datetime], name: str) -> None:
    """A small triangle over each wash, and at the right what it means."""
    axes.plot(date2num(list(washes)), [1.0] * len(washes), linestyle="none", marker="v", markersize=4.5, color=INK,
              transform=axes.get_xaxis_transform(), clip_on=False)  # fmt: skip
    note(axes, name, (1.0, 1.0), (0.0, ABOVE), across="right", up="bottom", xycoords="axes fraction", fontsize=8.0)
