"""The bed of one stage: a section of its vessel with the deposit in it, and beside it deposit by depth."""

import textwrap
from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure, SubFigure
from matplotlib.ticker import MaxNLocator

from plots.inputs import Bed
from plots.parts import HEADROOM, note
from plots.style import GREY, INK, columns, day, deposits, look, new_figure
from plots.words import Code, Name, label, typeset

HEIGHT, ROW, NAME_ROW = 3.7, 2.5, 0.2  # inches: of one bed alone, of one of several, of a row of names under them
DEPTH_CHARACTERS = 22  # of a line beside the depths
BEDS = 3  # in one figure, which then fills a page
ABOVE = 0.16  # of the bed's depth: how much of the vessel above the bed is drawn
WIDE = 1.6  # widths of the vessel that the section takes, names of layers included
DARKEST = 1.0  # of all the dirt, where a bed holds all it can
SHADES = 32  # of the scale under the section
SHOWN_FROM = 0.15  # of what a layer can hold: with less in it the curves have a scale of their own
MARKS = 9  # markers along a curve
WIDE_PANELS, USED_WIDE = (2.0, 3.0), (2.4, 2.4, 2.2)  # widths of the panels, with the capacity used beside them
WHOLE, USED_FROM, LEAST_USED = 103.0, 10.0, 1.0  # %: of a scale to the whole capacity, from which on, else the least


def beds_by_figure(beds: Sequence[Bed]) -> list[tuple[Bed, ...]]:
    """As many stages together as a figure has room for."""
    return [tuple(beds[first : first + BEDS]) for first in range(0, len(beds), BEDS)]


def bed_figure(beds: Sequence[Bed]) -> Figure:
    """A row for each stage: the section to the left, the curves of all policies to the right, on the same depths."""
    across = columns(list(beds[0].ends))
    row, names = HEIGHT if len(beds) == 1 else ROW, NAME_ROW * -(-len(beds[0].ends) // across)
    figure = new_figure(row * len(beds) + names)
    split: Any = figure.subfigures(len(beds) + 1, 1, height_ratios=[*[row] * len(beds), names])
    *parts, last = split
    panels = [draw_bed(part, bed) for part, bed in zip(parts, beds, strict=True)]
    below = last.subplots()
    below.set_axis_off()
    below.legend(*panels[0].get_legend_handles_labels(), loc="center right", ncols=across, borderpad=0.0)
    return figure


def draw_bed(part: SubFigure, bed: Bed) -> Axes:
    """One stage in its part of a figure; the panel of its curves."""
    panels = ["section", "curves", *([] if bed.used is None else ["used"])]
    grid: list[Any] = [panels]
    axes: dict[str, Axes] = part.subplot_mosaic(grid, width_ratios=WIDE_PANELS if bed.used is None else USED_WIDE)
    for panel in panels[1:]:
        axes[panel].sharey(axes["section"])
    draw_section(axes["section"], bed)
    draw_curves(axes["curves"], bed)
    if bed.used is not None:
        draw_used(axes["used"], bed.used, bed)
    title = label("bed.title", stage=Name(bed.stage), way=Name(bed.shown), day=day(bed.ends[bed.shown]))
    part.suptitle(title, x=0.01, ha="left", fontsize=9.0, fontweight="bold")
    return axes["curves"]


def draw_section(axes: Axes, bed: Bed) -> None:
    """Walls, floor and layers, true in depth; grey by how much of what the bed can hold is there."""
    floor = float(bed.layers["bottom"].iloc[-1])
    above = ABOVE * floor
    greys: dict[str, Any] = {"vmin": 0.0, "vmax": bed.holds / DARKEST}
    draw_deposit(axes, bed.slices[bed.slices["policy"] == bed.shown], 0.0, greys)
    _scale_of_greys(axes, greys, bed)
    for top, bottom, medium in bed.layers[["top", "bottom", "medium"]].itertuples(index=False):
        axes.plot([0.0, 1.0], [top, top], color=INK, linewidth=0.9)
        axes.annotate(str(medium), xy=(1.06, (top + bottom) / 2.0), va="center", ha="left", annotation_clip=False)
    draw_walls(axes, 0.0, above, floor)
    axes.annotate(label("bed.water"), xy=(0.5, -above / 2.0), va="center", ha="center", color=GREY)
    axes.set_xlim(-0.03, WIDE)
    axes.set_ylim(1.02 * floor, -above)
    axes.set_xticks([])
    axes.set_yticks([tick for tick in axes.get_yticks() if 0.0 <= tick <= floor])
    axes.spines["bottom"].set_visible(False)
    axes.set_ylabel(textwrap.fill(bed.depth.label, DEPTH_CHARACTERS))


def draw_deposit(axes: Axes, slices: pd.DataFrame, left: float, greys: dict[str, Any]) -> None:
    """The deposit of every slice in grey, in a vessel of width one that begins at `left`."""
    edges = np.append(slices["top"].to_numpy(dtype=float), float(slices["bottom"].iloc[-1]))
    axes.pcolormesh([left, left + 1.0], edges, slices["deposit"].to_numpy(dtype=float)[:, None], edgecolors="face",
                    linewidth=0.2, cmap=deposits(), **greys)  # fmt: skip


def draw_walls(axes: Axes, left: float, above: float, floor: float) -> None:
    """Walls and floor of such a vessel."""
    axes.plot([left, left, left + 1.0, left + 1.0], [-above, floor, floor, -above], color=INK, linewidth=2.2,
              solid_joinstyle="miter")  # fmt: skip


def _scale_of_greys(axes: Axes, greys: dict[str, Any], bed: Bed) -> None:
    """Which grey is how much, from nothing to all that the bed can hold, under the section."""
    across = axes.inset_axes((0.0, -0.075, 0.625, 0.03))
    across.pcolormesh(np.linspace(0.0, bed.holds, SHADES + 1), [0.0, 1.0],
                      (np.arange(SHADES)[None, :] + 0.5) * bed.holds / SHADES, edgecolors="face", linewidth=0.2,
                      cmap=deposits(), **greys)  # fmt: skip
    across.set_yticks([])
    across.set_xticks([0.0, bed.holds], ["0", f"{bed.holds:.2g}"])
    across.set_xlabel(label("bed.scale", unit=Code(typeset(bed.deposit.unit))), fontsize=8.0)


def draw_curves(axes: Axes, bed: Bed) -> None:
    """A curve for each policy; dotted where a layer's capture ends, unless the deposit is too little to show it."""
    if capacity_shows(bed):
        mark_capacity(axes, bed)
    for place, policy in enumerate(bed.ends):
        table = bed.slices[bed.slices["policy"] == policy]
        depth = (table["top"] + table["bottom"]) / 2.0
        axes.plot(table["deposit"], depth, markersize=4.0, markevery=(place, max(len(table) // MARKS, 1)),
                  label=policy, **look(bed.places[policy]).line)  # fmt: skip
    axes.axhline(0.0, color=GREY, linewidth=0.6)
    most = float(bed.slices["deposit"].max())
    axes.set_xlim(0.0, None if most else bed.holds)
    axes.set_xlabel(bed.deposit.label)
    axes.tick_params(axis="y", labelleft=False)
    axes.grid(axis="x")


def draw_used(axes: Axes, used: pd.DataFrame, bed: Bed) -> None:
    """A curve for each policy: the share of the capacity that is used, by depth."""
    for place, policy in enumerate(bed.ends):
        table = used[used["policy"] == policy]
        depth = (table["top"] + table["bottom"]) / 2.0
        axes.plot(table["used"], depth, markersize=4.0, markevery=(place, max(len(table) // MARKS, 1)),
                  **look(bed.places[policy]).line)  # fmt: skip
    axes.axhline(0.0, color=GREY, linewidth=0.6)
    most = float(used["used"].max())
    axes.set_xlim(0.0, WHOLE if most > USED_FROM else max(HEADROOM * most, LEAST_USED))
    axes.xaxis.set_major_locator(MaxNLocator(nbins=4, steps=[1, 2, 2.5, 5, 10]))
    axes.set_xlabel(label("bed.used"))
    axes.tick_params(axis="y", labelleft=False)
    axes.grid(axis="x")


def capacity_shows(bed: Bed) -> bool:
    """Whether the curves and what the layers can hold go on one scale."""
    least = bed.layers["most"].min()
    return bool(float(bed.slices["deposit"].max()) > SHOWN_FROM * least)  # False where nothing is known


def mark_capacity(axes: Axes, bed: Bed) -> None:
    """A dotted line where each layer holds all it can."""
    known = bed.layers[bed.layers["most"].notna()]
    axes.plot(np.repeat(known["most"], 2), known[["top", "bottom"]].to_numpy().ravel(), color=INK, linestyle=":",
              linewidth=1.4)  # fmt: skip
    note(axes, label("bed.ends_capture"), (float(known["most"].iloc[0]), 0.0), (0.0, 3.0), across="right",
         up="bottom", fontsize=8.0)  # fmt: skip
