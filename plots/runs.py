"""Filter runs as bars: one bar a run, or where they are too many, the washes of each month by what started them."""

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.dates import date2num
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import MaxNLocator

from plots.inputs import RunBars
from plots.style import FAINT, GREY, INK, PALE, columns, date_axes, new_figure
from plots.words import label

PANEL, LEAST, AROUND = 0.85, 1.6, 0.9  # inches: one policy's panel, all panels at least, what stands around them
SINGLE_BARS = 75  # more bars than this in one panel are too thin for a hatch
NARROWER, NARROWER_AT_MOST = 0.12, 0.004  # of a bar, of all the time: so that neighbouring bars do not touch
HEADROOM = 1.1  # of the highest bar
LEGEND_ACROSS = 4  # columns at most
BRIEF = 0.03  # of the highest bar: a black top of less is not seen and has a mark over its bar
# Causes are told by hatch in grey; colours stand for ways to start a wash.
CAUSE_LOOKS = (
    ("white", ""), ("white", "||||"), ("white", "////"), ("white", "xxxx"), (FAINT, "\\\\\\\\"), ("white", "----"),
    ("white", "++++"),
)  # fmt: skip
BRIEF_MARK: dict[str, Any] = {"linestyle": "none", "marker": "v", "markersize": 3.5, "color": INK}
OVER: dict[str, Any] = {"facecolor": INK, "edgecolor": INK, "linewidth": 0.8}


def crowded(bars: RunBars) -> bool:
    """Whether a policy has more runs than can be told apart as single bars."""
    return bool((bars.table.groupby("policy").size() > SINGLE_BARS).any())


def runs_figure(bars: RunBars) -> Figure:
    """A panel for each policy, all on the same time and the same scale."""
    figure = new_figure(AROUND + max(PANEL * len(bars.policies), LEAST))
    panels = figure.subplots(len(bars.policies), 1, sharey=True, squeeze=False)[:, 0]
    months = crowded(bars)
    start, end = bars.table["start"].min(), bars.table["end"].max()
    span = float(date2num(end) - date2num(start))
    for axes, policy in zip(panels, bars.policies, strict=True):
        table = bars.table[bars.table["policy"] == policy]
        if months:
            draw_months(axes, table[table["cause"] != bars.causes[-1]], bars.causes)
        else:
            draw_runs(axes, table, bars.causes, span)
            mark_brief(axes, table[brief(bars)[table.index]])
        axes.set_title(policy, fontsize=8.5, y=1.0)
        axes.grid(axis="y")
        axes.yaxis.set_major_locator(MaxNLocator(nbins=3, steps=[1, 2, 5, 10]))
    panels[-1].set_ylim(0.0, HEADROOM * panels[-1].get_ylim()[1])
    date_axes(list(panels), start, end)
    figure.supylabel(label("runs.washes_a_month") if months else bars.length.label, fontsize=8.5)
    handles = _legend(bars, months=months)
    across = min(columns([str(each.get_label()) for each in handles]), LEGEND_ACROSS)
    figure.legend(handles=handles, loc="outside upper left", ncols=across, handlelength=2.2)
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


def brief(bars: RunBars) -> pd.Series:
    """Which runs are over the limit for less than can be seen."""
    over = bars.table["over"]
    found: pd.Series = (over > 0.0) & (over < BRIEF * bars.table["length"].max())
    return found


def mark_brief(axes: Axes, table: pd.DataFrame) -> None:
    """A mark over each of these runs."""
    middle = (date2num(table["start"]) + date2num(table["end"])) / 2.0
    if not table.empty:
        axes.plot(middle, table["length"], **BRIEF_MARK)


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
    fill, hatch = CAUSE_LOOKS[place % len(CAUSE_LOOKS)]
    return {"facecolor": fill, "edgecolor": GREY, "hatch": hatch, "linewidth": 0.8}


def draw_months(axes: Axes, table: pd.DataFrame, causes: tuple[str, ...]) -> None:
    """The washes of each calendar month, stacked by what started them."""
    month = table["end"].dt.to_period("M").dt.to_timestamp()
    counts = table.groupby([month, "cause"]).size().unstack(fill_value=0)
    start = date2num(counts.index)
    width = (1.0 - NARROWER) * (date2num(counts.index + pd.offsets.MonthBegin()) - start)
    below = pd.Series(0.0, index=counts.index)
    for cause in [each for each in causes if each in counts.columns]:
        met = (counts[cause] > 0).to_numpy()  # a bar of no height would still draw a line
        axes.bar(start[met], counts[cause][met], bottom=below[met], width=width[met], align="edge",
                 **_face(causes, cause))  # fmt: skip
        below += counts[cause]


def _legend(bars: RunBars, *, months: bool) -> list[Patch | Line2D]:
    met = set(bars.table["cause"])
    met -= {bars.causes[-1]} if months else set()
    handles: list[Patch | Line2D] = [
        Patch(label=cause, **_face(bars.causes, cause)) for cause in bars.causes if cause in met
    ]
    if not months and (bars.table["over"] > 0.0).any():
        handles.append(Patch(label=label("runs.over"), **OVER))
    if not months and brief(bars).any():
        handles.append(Line2D([], [], label=label("runs.brief"), **BRIEF_MARK))
    return handles
