"""The runs of every policy: a stroke each, a box around the middle half, the mean with its interval below."""

import math
from textwrap import wrap

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from plots.compared import AROUND, HIGHEST, NAME_CHARACTERS, TITLE_CHARACTERS
from plots.inputs import Spread
from plots.parts import note, plain_numbers
from plots.style import GREY, INK, look, new_figure
from plots.words import label

ROW, LEGEND = 0.62, 0.3  # inches
BAND, STROKE = (-0.40, 0.04), 0.05  # of a row: where strokes stand, and how long each is
BOX, MEAN = 0.20, 0.26  # of a row: half the height of the box, where the mean stands
VECTOR_AT_MOST = 400  # strokes of a policy that are drawn one by one in an SVG; more of them become an image
GOLDEN = 0.618034  # successive multiples of it spread evenly over the band


def spread_figure(policies: tuple[str, ...], figures: tuple[Spread, ...]) -> Figure:
    """One panel a figure; the policies stand in the same rows in all of them."""
    figure = new_figure(min(AROUND + LEGEND + ROW * len(policies), HIGHEST))
    panels = figure.subplots(1, len(figures), sharey=True, squeeze=False)[0]
    for axes, spread in zip(panels, figures, strict=True):
        for place in range(len(policies)):
            draw_runs(axes, spread.values[place], place)
            draw_mean(axes, spread, place)
        _finish(axes, spread)
    panels[0].set_yticks(range(len(policies)), ["\n".join(wrap(name, NAME_CHARACTERS)) for name in policies])
    panels[0].set_ylim(len(policies) - 0.5, -0.5)
    figure.legend(handles=_legend(), loc="outside upper left", ncols=3)
    return figure


def draw_runs(axes: Axes, values: tuple[float, ...], row: int) -> None:
    """A stroke for every run, so scattered over the band that equal runs stay apart; the box of their middle half."""
    known = np.array([value for value in values if not math.isnan(value)])
    if not known.size:
        return
    height = row + BAND[0] + (BAND[1] - BAND[0]) * (np.arange(known.size) * GOLDEN % 1.0)
    gap = np.full(known.size, np.nan)
    across = np.column_stack([known, known, gap]).ravel()
    along = np.column_stack([height - STROKE, height + STROKE, gap]).ravel()
    axes.plot(across, along, color=look(row).colour, linewidth=0.7, rasterized=known.size > VECTOR_AT_MOST)
    low, high = np.quantile(known, [0.25, 0.75])
    middle = row + (BAND[0] + BAND[1]) / 2.0
    axes.fill([low, high, high, low], [middle - BOX] * 2 + [middle + BOX] * 2, facecolor="none", edgecolor=INK,
              linewidth=0.6)  # fmt: skip


def draw_mean(axes: Axes, spread: Spread, row: int) -> None:
    """The mean with its interval, and both as text beside it."""
    mean, low, high = spread.means[row], spread.low[row], spread.high[row]
    if math.isnan(mean):
        return
    if not math.isnan(low):
        axes.plot([low, high], [row + MEAN] * 2, color=INK, linewidth=1.2, marker="|", markersize=5)
    axes.plot([mean], [row + MEAN], color=look(row).colour, marker=look(row).marker, markersize=4)
    note(axes, spread.texts[row], (mean if math.isnan(high) else high, row + MEAN), (4, 0), fontsize=8)


def _finish(axes: Axes, spread: Spread) -> None:
    known = [value for values in (*spread.values, spread.high) for value in values if not math.isnan(value)]
    least, most = min(known, default=0.0), max(known, default=1.0)
    start = 0.0 if least < 0.5 * most else least
    room = (most - start) or abs(most) or 1.0
    axes.set_xlim(start - 0.04 * room, most + 0.45 * room)
    if start:
        axes.set_xlabel(label("spread.not_from_zero"), fontsize=8.0)
    axes.set_title("\n".join(wrap(spread.measure.label, TITLE_CHARACTERS)), fontsize=8.5)
    axes.tick_params(axis="y", length=0)
    axes.grid(axis="x")
    axes.locator_params(axis="x", nbins=4)
    plain_numbers(axes.xaxis)


def _legend() -> list[Line2D | Patch]:
    return [
        Line2D([], [], color=GREY, marker="|", linestyle="none", label=label("spread.run")),
        Patch(facecolor="none", edgecolor=INK, linewidth=0.6, label=label("spread.box")),
        Line2D([], [], color=INK, marker="o", markersize=4, label=label("spread.mean")),
    ]
