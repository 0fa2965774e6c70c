"""A record of weather beside what was fitted to it: through time, how often how much, and how alike over time."""

from collections.abc import Sequence

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

from plots.inputs import WeatherPicture
from plots.style import GREY, date_axis, figure_files, house_style, look, new_figure
from plots.words import label, say

HEIGHT = 6.2  # inches
RECORD, MADE = 0, 1  # their looks
NARROW = 1000.0  # times the least value: a scale of tens up to there has ticks at 2 and 5 too
SHARES = (0.9999, 0.999, 0.99, 0.9, 0.5, 0.1, 0.01, 0.001, 0.0001)


def weather_files(picture: WeatherPicture, *, png: bool = False) -> dict[str, str | bytes]:
    """The figure by file name; the same input gives the same bytes."""
    with house_style():
        figure = weather_figure(picture)
        return figure_files("weather", figure, say("weather.caption", count=picture.realisations), png=png)


def weather_figure(picture: WeatherPicture) -> Figure:
    """Two series on the same axes' range, and below the share of time above a value and the autocorrelation."""
    figure = new_figure(HEIGHT)
    parts = figure.subplot_mosaic([["record", "record"], ["made", "made"], ["above", "alike"]],
                                  height_ratios=[1.0, 1.0, 1.7])  # fmt: skip
    for name, title, place in (("record", label("weather.record"), RECORD), ("made", label("weather.made"), MADE)):
        axes = parts[name]
        axes.plot(picture.course["time"], picture.course[name], color=look(place).colour, linewidth=0.6)
        axes.set_title(title)
        axes.set_ylabel(picture.measure.unit)
        _value_axis(axes, picture)
        date_axis(axes, picture.course["time"].iloc[0], picture.course["time"].iloc[-1])
    parts["record"].tick_params(labelbottom=False)
    _shared_range([parts["record"], parts["made"]])
    _draw_above(parts["above"], picture)
    _draw_alike(parts["alike"], picture)
    parts["above"].legend(loc="upper right")  # the curve falls, so this corner is free
    return figure


def _draw_above(axes: Axes, picture: WeatherPicture) -> None:
    table = picture.above
    _band(axes, "value", table)
    axes.set_xlabel(picture.measure.label)
    axes.set_ylabel(label("weather.above"))
    axes.set_yscale("logit", one_half="0.5")
    low, high = table["record"].iloc[-1], table["record"].iloc[0]
    axes.set_ylim(max(min(low, 0.001), 0.0002), min(max(high, 0.99), 0.9998))
    axes.set_yticks(SHARES, [f"{100.0 * share:g} %" for share in SHARES])
    axes.minorticks_off()
    _value_axis(axes, picture, along="x")


def _draw_alike(axes: Axes, picture: WeatherPicture) -> None:
    table = picture.alike
    _band(axes, "lag", table)
    axes.axhline(0.0, color=GREY, linewidth=0.6)
    axes.set_xscale("log")
    ticks = [lag for lag in picture.lag_ticks if table["lag"].iloc[0] <= lag <= table["lag"].iloc[-1]]
    axes.set_xticks(ticks, [f"{lag:g}" for lag in ticks])
    axes.minorticks_off()
    axes.set_xlabel(picture.lag.label)
    axes.set_ylabel(picture.alike_words)
    axes.set_ylim(min(-0.1, float(table[["record", "low"]].min().min())), 1.0)
    axes.grid(True)


def _band(axes: Axes, along: str, table: pd.DataFrame) -> None:
    """The record as points, the realisations as a band about their mean."""
    made, across = look(MADE), table[along]
    axes.fill_between(across, table["low"], table["high"], color=made.colour, alpha=0.25, linewidth=0.0,
                      label=label("weather.band"))  # fmt: skip
    axes.plot(across, table["mean"], color=made.colour, linestyle=made.dash, label=label("weather.mean"))
    axes.plot(across, table["record"], color=look(RECORD).colour, linestyle="none", marker=look(RECORD).marker,
              markersize=3.0, label=label("weather.points"))  # fmt: skip


def _value_axis(axes: Axes, picture: WeatherPicture, along: str = "y") -> None:
    axis = axes.xaxis if along == "x" else axes.yaxis
    if picture.logarithmic:
        (axes.set_xscale if along == "x" else axes.set_yscale)("log")
        values = picture.above["value"]
        narrow = float(values.max()) < NARROW * float(values.min())
        axis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0) if narrow else (1.0,), numticks=8))
        axis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
        axis.set_minor_formatter(NullFormatter())
    axes.grid(True)


def _shared_range(panels: Sequence[Axes]) -> None:
    limits = np.array([axes.get_ylim() for axes in panels])
    for axes in panels:
        axes.set_ylim(float(limits[:, 0].min()), float(limits[:, 1].max()))
