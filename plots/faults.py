"""What a failure does, for a wall: a row for each kind of fault, a mark for each way to start a wash."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from plots.inputs import Measure
from plots.parts import plain_numbers
from plots.style import GREY, INK, figure_files, look
from plots.wall import SIZE, wall_style
from plots.wall_parts import FOOT, TITLE, shown
from plots.words import label, say

ROW, AROUND = 0.36, 2.9  # inches: a row of marks; heads, scales and foot
SPREAD = 0.56  # of a row, over which the marks of ways are spread
STRAIGHT = 0.8  # of the way from nought to the first power of ten that is drawn straight


@dataclass(frozen=True, slots=True, kw_only=True)
class Failing:
    """What each kind of fault changes with each way.

    `table`: kind, policy, drain, over, until (over a limit until noticed), one row a kind and way; kinds in the order
    of the rows, those that harm most first. `places` are those of the policies in the case, which give their look.
    """

    title: str
    kinds: tuple[str, ...]
    policies: tuple[str, ...]
    places: tuple[int, ...]
    table: pd.DataFrame
    drain: Measure
    over: Measure
    unnoticed: str


def fault_figure_files(failing: Failing, *, png: bool = False) -> dict[str, str | bytes]:
    """The figure by file name; the same input gives the same bytes."""
    with wall_style():
        return figure_files("faults", fault_figure(failing), png=png)


def fault_figure(failing: Failing) -> Figure:
    """Change in water to drain on the left, more hours over a limit on the right."""
    height = max(SIZE[1], AROUND + ROW * len(failing.kinds))
    figure = Figure(figsize=(SIZE[0], height), layout="constrained")
    foot = 0.95 / height
    engine: Any = figure.get_layout_engine()
    engine.set(rect=(0.015, foot, 0.97, 0.985 - foot), wspace=0.04)
    figure.suptitle(shown(failing.title), x=0.02, ha="left", fontsize=TITLE, fontweight="bold")
    left, right = figure.subplots(1, 2, sharey=True)
    _panel(left, failing, "drain", failing.drain)
    _panel(right, failing, "over", failing.over)
    left.set_yticks(range(len(failing.kinds)), failing.kinds)
    left.set_ylim(len(failing.kinds) - 0.5, -0.5)
    _legend(figure, failing)
    below = "\n".join((say("fault.caption"), say("report.caution")))
    figure.text(0.02, 0.12 / height, below, fontsize=FOOT, color=INK, va="bottom", ha="left", linespacing=1.3)
    return figure


def _panel(axes: Axes, failing: Failing, name: str, measure: Measure) -> None:
    """Marks of one figure; of hours over a limit hollow ones too, until noticed."""
    values = failing.table[name].to_numpy(dtype=float)
    largest = float(np.nanmax(np.abs(values), initial=0.0))
    for number in range(1, len(failing.kinds), 2):
        axes.axhspan(number - 0.5, number + 0.5, color="#f5f5f5", zorder=0)
    step = SPREAD / max(len(failing.policies) - 1, 1)
    for number, (policy, place) in enumerate(zip(failing.policies, failing.places, strict=True)):
        rows, colour = failing.table[failing.table["policy"] == policy], look(place).colour
        at = rows["kind"].map(failing.kinds.index).to_numpy(dtype=float) + number * step - SPREAD / 2.0
        if len(failing.policies) == 1:
            at = rows["kind"].map(failing.kinds.index).to_numpy(dtype=float)
        if name == "over":
            axes.hlines(at, rows["until"], rows["over"], color=colour, linewidth=1.6)
            axes.plot(rows["until"], at, look(place).marker, color=colour, fillstyle="none", clip_on=False)
        axes.plot(rows[name], at, look(place).marker, color=colour, clip_on=False)
    axes.axvline(0.0, color=GREY, linewidth=1.2, zorder=1)
    if largest > 0.0:
        least = 10.0 ** np.floor(np.log10(max(largest / 1000.0, 0.1)))
        axes.set_xscale("symlog", linthresh=10.0 * least, linscale=STRAIGHT)
        axes.set_xlim(None if values.min() < 0.0 else -2.0 * least, None)
        plain_numbers(axes.xaxis)
    else:
        axes.set_xlim(-1.0, 1.0)
        axes.set_xticks([0.0])
    axes.set_title(shown(measure.label))
    axes.grid(axis="x")
    axes.tick_params(axis="y", length=0)


def _legend(figure: Figure, failing: Failing) -> None:
    """What the marks are."""
    until, height = label("fault.until"), figure.get_figheight()
    marks = [Line2D([], [], linestyle="none", marker=look(place).marker, color=look(place).colour, label=policy)
             for policy, place in zip(failing.policies, failing.places, strict=True)]  # fmt: skip
    marks.append(Line2D([], [], linestyle="none", marker="o", color=INK, label=failing.unnoticed))
    marks.append(Line2D([], [], linestyle="none", marker="o", color=INK, fillstyle="none", label=until))
    figure.legend(handles=marks, loc="lower left", bbox_to_anchor=(0.01, 0.52 / height), fontsize=FOOT,
                  ncols=len(marks), columnspacing=1.2, handletextpad=0.2)  # fmt: skip
