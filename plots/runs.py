"""Filter runs as bars: one bar a run, or where they are too many, the washes of each month by what started them."""

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.dates import date2num
from matplotlib.figure import Figure
from matplotlib.patches import Patch
from matplotlib.ticker import MaxNLocator

from plots.inputs import RunBars
from plots.style import GREY, INK, PALE, date_axis, look, new_figure
from plots.words import Words

PANEL, LEAST, AROUND = 0.85, 1.6, 0.9  # inches: one policy's panel, all panels at least, what stands around them
SINGLE_BARS = 75  # more bars than this in one panel are too thin for a hatch
NARROWER, NARROWER_AT_MOST = 0.12, 0.004  # of a bar, of all the time: so that neighbouring bars do not touch
HEADROOM = 1.06  # of the highest bar
OVER: dict[str, Any] = {"facecolor": INK, "edgecolor": INK, "linewidth": 0.8}


def crowded(bars: RunBars) -> bool:
    """Whether a policy has more runs than can be told apart as single bars."""
    return bool((bars.table.groupby("policy").size() > SINGLE_BARS).any())


def runs_figure(bars: RunBars, words: Words) -> Figure:
    """A panel for each policy, all on the same time and the same scale."""
    figure = new_figure(AROUND + max(PANEL * len(bars.policies), LEAST))
    panels = figure.subplots(len(bars.policies), 1, sharex=True, sharey=True, squeeze=False)[:, 0]
    months = crowded(bars)
    start, end = bars.table["start"].min(), bars.table["end"].max()
    span = float(date2num(end) - date2num(start))
    for axes, policy in zip(panels, bars.policies, strict=True):
        table = bars.table[bars.table["policy"] == policy]
        if months:
            draw_months(axes, table[table["cause"] != bars.causes[-1]], bars.causes)
        else:
            draw_runs(axes, table, bars.causes, span)
        axes.set_title(policy, fontsize=8.5)
        axes.grid(axis="y")
        axes.yaxis.set_major_locator(MaxNLocator(nbins=3, steps=[1, 2, 5, 10]))
    panels[-1].set_ylim(0.0, HEADROOM * panels[-1].get_ylim()[1])
    date_axis(panels[-1], start, end, words)
    figure.supylabel(words.text("runs.washes_a_month") if months else bars.length.label, fontsize=8.5)
    figure.legend(handles=_legend(bars, words, months=months), loc="outside upper left", ncols=4, handlelength=2.2)
    return figure


def draw_runs(axes: Axes, table: pd.DataFrame, causes: tuple[str, ...], span: float) -> None:
    """One bar a run, as wide and as high as it is long; its black top is the time over the limit.

    `span` is the length of the axis [d].
    """
    for cause, runs in table.groupby("cause", sort=False):
        start, width = _placed(runs, span)
        axes.bar(start, runs["length"], width=width, align="edge", **_face(causes, str(cause)))
    over = table[table["over"] > 0.0]
    start, width = _placed(over, span)
    axes.bar(start, over["over"], bottom=over["length"] - over["over"], width=width, align="edge", **OVER)


def _placed(runs: pd.DataFrame, span: float) -> tuple[Any, Any]:
    """Left edges and widths of the bars."""
    start, end = date2num(runs["start"]), date2num(runs["end"])
    length = end - start
    return start, length - np.minimum(NARROWER * length, NARROWER_AT_MOST * span)


def _face(causes: tuple[str, ...], cause: str) -> dict[str, Any]:
    """How the bars of a cause look; the last of the list, which is no cause of a wash, is plain grey."""
    place = causes.index(cause)
    if place == len(causes) - 1:
        return {"facecolor": PALE, "edgecolor": GREY, "linewidth": 0.8}
    seen = look(place)
    return {"facecolor": "white", "edgecolor": seen.colour, "hatch": seen.hatch, "linewidth": 0.8}


def draw_months(axes: Axes, table: pd.DataFrame, causes: tuple[str, ...]) -> None:
    """The washes of each calendar month, stacked by what started them."""
    month = table["end"].dt.to_period("M").dt.to_timestamp()
    counts = table.groupby([month, "cause"]).size().unstack(fill_value=0)
    start = date2num(counts.index)
    width = (1.0 - NARROWER) * (date2num(counts.index + pd.offsets.MonthBegin()) - start)
    below = pd.Series(0.0, index=counts.index)
    for cause in [each for each in causes if each in counts.columns]:
        axes.bar(start, counts[cause], bottom=below, width=width, align="edge", **_face(causes, cause))
        below += counts[cause]


def _legend(bars: RunBars, words: Words, *, months: bool) -> list[Patch]:
    met = set(bars.table["cause"])
    met -= {bars.causes[-1]} if months else set()
    handles = [Patch(label=cause, **_face(bars.causes, cause)) for cause in bars.causes if cause in met]
    if not months and (bars.table["over"] > 0.0).any():
        handles.append(Patch(label=words.text("runs.over"), **OVER))
    return handles
