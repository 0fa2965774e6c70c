"""A plant's own readings beside the model before and after a fit, and below what is left of them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from plots.gallery import Drawing, drawing_of
from plots.inputs import Measure
from plots.style import GREY, INK, date_axes, house_style, look, new_figure
from plots.words import Label, Name, items, label, say

ROW, AROUND = 2.3, 0.7  # inches: of one kind of reading with what is left of it; legend and dates
MANY = 200  # readings, whose marks would run into each other
REACH = 0.985  # of what is left, within the scale
BEFORE: Mapping[str, Any] = {"color": GREY, "marker": "x", "markersize": 3.5}
AFTER: Mapping[str, Any] = {"color": look(0).colour, "marker": "o", "markersize": 4.6, "fillstyle": "none"}
READ: Mapping[str, Any] = {"color": look(1).colour, "marker": "o", "markersize": 2.4}


@dataclass(frozen=True, slots=True, kw_only=True)
class FitCourse:
    """One kind of reading. `table`: time, read, before, after, one row a reading."""

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
                axes.axvline(wash, color=GREY,  # type: ignore[arg-type]
                             linewidth=0.5, linestyle=":", zorder=0,
                             label=None if place else label("fit.figure_wash"))  # fmt: skip
    date_axes(panels, picture.start, picture.end)
    handles, names = panels[0].get_legend_handles_labels()
    figure.legend(handles, names, loc="outside upper center", ncols=len(names))
    return figure


def _draw_readings(axes: Axes, course: FitCourse) -> None:
    table = course.table
    shown = ("before", label("fit.by_case"), BEFORE), ("after", label("fit.by_fit"), AFTER)
    for name, words, style in (*shown, ("read", label("fit.read"), READ)):
        axes.plot(table["time"], table[name], label=words, **_face(style, len(table)))
    axes.set_title(course.reading.label)
    top = 1.05 * float(np.nanmax(table[["read", "before", "after"]]))
    axes.set_ylim(-0.04 * top, top)
    axes.grid(axis="y")


def _draw_left(axes: Axes, course: FitCourse) -> None:
    table = course.table
    axes.axhline(0.0, color=INK, linewidth=0.8)
    left = [table["read"] - table[name] for name in ("before", "after")]
    for values, style in zip(left, (BEFORE, AFTER), strict=True):
        axes.plot(table["time"], values, **_face(style, len(table)))
    low, high = np.nanquantile(np.concatenate(left), [1.0 - REACH, REACH])
    room = max(0.15 * (high - low), 1e-9)
    axes.set_ylim(min(low, 0.0) - room, max(high, 0.0) + room)
    axes.set_title(course.left)
    axes.grid(axis="y")


def _face(style: Mapping[str, Any], count: int) -> dict[str, Any]:
    """Marks, smaller where there are many."""
    size = style["markersize"] * (1.0 if count <= MANY else 0.55)
    return {**style, "markersize": size, "linestyle": "none", "markeredgewidth": 0.8}


def left_of(reading: Measure) -> Label:
    """What a panel of what is left is called."""
    return label("fit.left_of", reading=Name(reading.label))
