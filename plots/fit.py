"""A plant's own readings beside the model before and after a fit, and below what is left of them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from plots.gallery import Drawing, drawing_of
from plots.inputs import Measure
from plots.style import GREY, INK, date_axes, house_style, look, new_figure
from plots.words import Label, Name, items, label, say

ROW, AROUND = 2.3, 0.7  # inches: of one kind of reading with what is left of it; legend and dates
FIT, READ = 0, 1  # their looks
MARKS = 3.0
MOST_MARKED = 150  # readings, beyond which marks would run into each other
REACH = 0.98  # of what is left by the case as it was, within the scale


@dataclass(frozen=True, slots=True, kw_only=True)
class FitCourse:
    """One kind of reading. `table`: time, read, before, after, a row of nan where a wash breaks the lines."""

    reading: Measure
    left: str
    table: pd.DataFrame


@dataclass(frozen=True, slots=True, kw_only=True)
class FitPicture:
    """All kinds of readings over the length of a log, with the washes."""

    start: datetime
    end: datetime
    washes: tuple[datetime, ...]
    courses: tuple[FitCourse, ...]


def fit_drawing(picture: FitPicture, *, png: bool = False) -> Drawing:
    """The figure with its caption and its text for who cannot see it; the same input gives the same bytes."""
    readings = items([course.reading.term for course in picture.courses])
    with house_style():
        return drawing_of("fit", fit_figure(picture), say("fit.caption"), say("fit.alt", reading=readings), png=png)


def fit_figure(picture: FitPicture) -> Figure:
    """For each kind of reading a panel with the model's two courses, and one with what is left by each."""
    rows = len(picture.courses)
    figure = new_figure(AROUND + ROW * rows)
    panels: Sequence[Axes] = figure.subplots(2 * rows, 1, sharex=True, height_ratios=[1.6, 1.0] * rows)
    for number, course in enumerate(picture.courses):
        shown, left = panels[2 * number], panels[2 * number + 1]
        _draw_readings(shown, course)
        _draw_left(left, course)
        for axes in (shown, left):
            for place, wash in enumerate(picture.washes):
                axes.axvline(wash, color=GREY, linewidth=0.5, linestyle=":", zorder=0,
                             label=None if place else label("fit.figure_wash"))  # fmt: skip
    date_axes(panels, picture.start, picture.end)
    handles, names = panels[0].get_legend_handles_labels()
    figure.legend(handles, names, loc="outside upper center", ncols=len(names))
    return figure


def _draw_readings(axes: Axes, course: FitCourse) -> None:
    table, fitted, read = course.table, look(FIT), look(READ)
    marked = int(table["read"].notna().sum()) <= MOST_MARKED
    axes.plot(table["time"], table["before"], color=GREY, linestyle="--", linewidth=1.0, label=label("fit.by_case"))
    axes.plot(table["time"], table["after"], color=fitted.colour, linewidth=1.1, label=label("fit.by_fit"))
    axes.plot(table["time"], table["read"], color=read.colour, linestyle="none", marker="o" if marked else ".",
              markersize=MARKS if marked else 1.5, label=label("fit.read"))  # fmt: skip
    axes.set_title(course.reading.label)
    axes.set_ylim(bottom=min(0.0, float(np.nanmin(table["read"]))))
    axes.grid(axis="y")


def _draw_left(axes: Axes, course: FitCourse) -> None:
    table, fitted = course.table, look(FIT)
    before, after = table["read"] - table["before"], table["read"] - table["after"]
    axes.axhline(0.0, color=INK, linewidth=0.8)
    axes.plot(table["time"], before, color=GREY, linestyle="none", marker="x", markersize=MARKS)
    axes.plot(table["time"], after, color=fitted.colour, linestyle="none", marker="o", markersize=MARKS - 0.5)
    reach = 1.15 * max(float(np.nanquantile(np.abs(before), REACH)), float(np.nanmax(np.abs(after))), 1e-9)
    axes.set_ylim(-reach, reach)
    axes.set_title(course.left)
    axes.grid(axis="y")


def left_of(reading: Measure) -> Label:
    """What a panel of what is left is called."""
    return label("fit.left_of", reading=Name(reading.label))
