"""One figure of the results against one setting (a curve for each policy) or two (a map for each policy)."""

from collections.abc import Sequence
from textwrap import wrap
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import Normalize
from matplotlib.figure import Figure

from plots.inputs import Axis, Swept
from plots.parts import plain_numbers
from plots.style import GREY, INK, figure_files, house_style, look, new_figure
from plots.words import paragraph, say

HEIGHT = 3.6  # inches: of the curves
LABEL_CHARACTERS = 18  # of a policy's name at the end of its curve
LINE, BETWEEN = 0.155, 0.6  # inches a line of such a name takes; lines between two names
PANEL_ROW, PANEL_AROUND, LEAST_PANEL = 0.3, 1.0, 1.5  # inches: a row of cells, what stands around them
ACROSS = 2  # panels of a map side by side
WIDE_CELLS = 7  # columns from which a panel has a row of its own
COLOURS = "cividis_r"  # told apart by any eye, and in grey: the darker, the more
SIZES, SMALLEST = ((8.5, 8), (7.5, 14)), 6.5  # points of the numbers, up to how many cells across
DARK = 0.55  # of the scale: above it numbers are white
ALL_CHARACTERS = 95  # of texts that fit side by side under one panel as wide as the figure
MOST_TICKS = 40
FEW = 8  # values that may each have a tick on a scale
CLOSEST = 0.06  # of the axis: values nearer than this to each other have no ticks of their own
BEFORE_FIRST = 0.03  # of the axis: what is free before the first value
ROOM_ABOVE = 1.08  # of the highest value


def files_of(pictures: Sequence[Swept], *, png: bool = False) -> dict[str, str | bytes]:
    """Each figure by file name; the same input gives the same bytes."""
    made: dict[str, str | bytes] = {}
    with house_style():
        for each in pictures:
            figure = swept_figure(each)
            caption = say("swept.map") if len(each.axes) > 1 else say("swept.curves")
            if each.table["value"].isna().any():
                caption = paragraph(caption, say("swept.absent"))
            made |= figure_files(each.name, figure, caption, png=png)
    return made


def swept_figure(swept: Swept) -> Figure:
    """Curves where one setting is varied, maps where two are."""
    return map_figure(swept) if len(swept.axes) > 1 else curves_figure(swept)


def curves_figure(swept: Swept) -> Figure:
    """One line for each policy, its name at its end."""
    names = ["\n".join(wrap(policy, LABEL_CHARACTERS)) for policy in swept.policies]
    lines = sum(name.count("\n") + 1.0 + BETWEEN for name in names)
    figure = new_figure(max(HEIGHT, LINE * lines + 1.0))
    axes = figure.subplots()
    (axis,) = swept.axes
    places = np.array(axis.numbers if axis.numbers is not None else range(len(axis.texts)), dtype=float)
    order, ends = np.argsort(places), []
    for place, policy in zip(swept.places, swept.policies, strict=True):
        values = swept.table.loc[swept.table["policy"] == policy, "value"].to_numpy(dtype=float)
        ends.append(float(values[order][-1]))
        axes.plot(places[order], values[order], markersize=4.5, label=policy, clip_on=False, **look(place).line)
    axes.set_xlim(places.min() - BEFORE_FIRST * (np.ptp(places) or 1.0), places.max())
    _limits(axes, swept)
    _ticks(axes, axis, places)
    axes.set_title(swept.measure.label)
    axes.set_xlabel(axis.label)
    axes.grid(axis="y")
    _name_at_the_end(axes, swept.places, names, ends, figure.get_figheight())
    return figure


def _limits(axes: Axes, swept: Swept) -> None:
    values = swept.table["value"]
    most = float(values.max()) if values.notna().any() else 0.0
    least = min(float(values.min()), 0.0) if values.notna().any() else 0.0
    axes.set_ylim(least, ROOM_ABOVE * most if most > 0.0 else 1.0)
    if values.notna().any() and not values.any():  # a scale would show amounts that nobody has
        axes.set_yticks([0.0])
    plain_numbers(axes.yaxis)


def _ticks(axes: Axes, axis: Axis, places: Any) -> None:
    """A tick for each value of words; a scale where the values lie on one, unless they are few."""
    if axis.numbers is None or (len(places) <= FEW and _far_enough(places)):
        few = slice(None, None, -(-len(places) // MOST_TICKS))
        axes.set_xticks(places[few], axis.ticks[few], rotation=_turned(axis.ticks[few], 1))


def _turned(texts: Sequence[str], panels: int) -> float:
    """The angle of texts under an axis of one of so many panels: upright where they are too long side by side."""
    return 90.0 if sum(len(text) + 2 for text in texts) > ALL_CHARACTERS // panels else 0.0


def _far_enough(places: Any) -> bool:
    spread = np.ptp(places)
    return len(places) < 2 or bool(np.min(np.diff(np.sort(places))) > CLOSEST * spread)


def _name_at_the_end(
    axes: Axes, places: Sequence[int], names: Sequence[str], ends: Sequence[float], height: float
) -> None:
    """Each name beside the last point of its line, moved up or down where two would cover each other."""
    low, high = axes.get_ylim()
    inch = (high - low) / (height - 1.0)
    wanted = [low if np.isnan(end) else end for end in ends]
    found = apart(wanted, names, inch * LINE, low)
    for place, name, end, at in zip(places, names, wanted, found, strict=True):
        across = axes.get_yaxis_transform()
        axes.plot([1.0, 1.04], [end, at], color=look(place).colour, linewidth=0.8, transform=across,
                  clip_on=False)  # fmt: skip
        axes.annotate(name, xy=(1.04, at), xycoords=across, xytext=(3.0, 0.0), textcoords="offset points",
                      va="center", ha="left", fontsize=8.0, linespacing=1.0, annotation_clip=False)  # fmt: skip


def apart(wanted: Sequence[float], names: Sequence[str], line: float, low: float) -> list[float]:
    """Places near the wanted ones at which names of some lines each do not cover each other, none below `low`.

    `line` is the height of a line of text.
    """
    heights = [line * (name.count("\n") + 1.0 + BETWEEN) for name in names]
    order = sorted(range(len(wanted)), key=lambda place: wanted[place])
    found = list(wanted)
    floor = low
    for place in order:
        found[place] = max(wanted[place], floor + heights[place] / 2.0)
        floor = found[place] + heights[place] / 2.0
    # What was pushed up further than needed comes down as far as the one below allows.
    ceiling = max(floor - max(0.0, (floor - low) - sum(heights)) / 2.0, max(wanted, default=low) + line)
    for place in reversed(order):
        found[place] = min(found[place], ceiling - heights[place] / 2.0)
        ceiling = found[place] - heights[place] / 2.0
    return found


def map_figure(swept: Swept) -> Figure:
    """One panel for each policy on a common scale, the number in every cell."""
    down, across = swept.axes
    columns = 1 if len(across.texts) >= WIDE_CELLS or len(swept.policies) == 1 else ACROSS
    rows = -(-len(swept.policies) // columns)
    panel = max(PANEL_ROW * len(down.texts) + PANEL_AROUND, LEAST_PANEL)
    figure = new_figure(rows * panel + 0.4)
    grid = figure.subplots(rows, columns, squeeze=False)
    values = swept.table["value"]
    known = values.notna().any()
    scale = Normalize(float(values.min()) if known else 0.0, float(values.max()) if known else 1.0)
    size = next((size for size, most in SIZES if columns * len(across.texts) <= most), SMALLEST)
    for axes in grid.flat[len(swept.policies) :]:
        axes.set_axis_off()
    for axes, policy in zip(grid.flat, swept.policies, strict=False):
        table = swept.table[swept.table["policy"] == policy]
        shape = (len(down.texts), len(across.texts))
        draw_map(axes, table["value"].to_numpy(dtype=float).reshape(shape), table["text"].to_numpy().reshape(shape),
                 scale, size)  # fmt: skip
        axes.set_xticks(range(shape[1]), across.texts, rotation=_turned(across.texts, columns))
        axes.set_yticks(range(shape[0]), down.texts if axes in grid[:, 0] else [""] * shape[0])
        axes.set_title(policy, fontsize=8.5)
    figure.suptitle(swept.measure.label, x=0.01, ha="left", fontsize=9.0, fontweight="bold")
    figure.supxlabel(across.name, fontsize=8.5)
    figure.supylabel(down.name, fontsize=8.5)
    return figure


def draw_map(axes: Axes, values: Any, texts: Any, scale: Normalize, size: float) -> None:
    """Cells on one scale with their numbers; a cell without a figure stays white."""
    axes.imshow(np.ma.masked_invalid(values), cmap=COLOURS, norm=scale, aspect="auto")
    span = scale.vmax - scale.vmin if scale.vmax is not None and scale.vmin is not None else 0.0
    for (row, column), value in np.ndenumerate(values):
        dark = span > 0.0 and (value - float(scale.vmin or 0.0)) / span > DARK
        axes.annotate(str(texts[row, column]), xy=(column, row), ha="center", va="center", fontsize=size,
                      color="white" if dark else INK)  # fmt: skip
    axes.set_xticks(np.arange(values.shape[1] + 1) - 0.5, minor=True)
    axes.set_yticks(np.arange(values.shape[0] + 1) - 0.5, minor=True)
    axes.grid(which="minor", color="white", linewidth=1.5)
    axes.tick_params(which="both", length=0)
    for spine in axes.spines.values():
        spine.set_edgecolor(GREY)
