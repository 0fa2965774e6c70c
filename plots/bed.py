"""The bed of one stage: a section of its vessel with the deposit in it, and beside it deposit by depth."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from plots.inputs import Bed
from plots.style import GREY, INK, columns, look, new_figure
from plots.words import Words

HEIGHT, NAME_ROW = 3.7, 0.2  # inches: of the drawings, of a row of names under them
ABOVE = 0.16  # of the bed's depth: how much of the vessel above the bed is drawn
WIDE = 1.6  # widths of the vessel that the section takes, names of layers included
DARKEST = 0.8  # grey of the most deposit, 1 being black
MARKS = 9  # markers along a curve


def bed_figure(bed: Bed, words: Words) -> Figure:
    """The section to the left, the curves of all policies to the right, on the same depths."""
    across = columns(list(bed.ends))
    names = NAME_ROW * -(-len(bed.ends) // across)
    figure = new_figure(HEIGHT + names)
    axes = figure.subplot_mosaic(
        [["section", "curves"], ["names", "names"]], width_ratios=(2, 3), height_ratios=(HEIGHT, names)
    )
    axes["curves"].sharey(axes["section"])
    draw_section(axes["section"], bed, words)
    draw_curves(axes["curves"], bed, words)
    axes["names"].set_axis_off()
    axes["names"].legend(*axes["curves"].get_legend_handles_labels(), loc="center right", ncols=across, borderpad=0.0)
    figure.suptitle(words.text("bed.title", stage=bed.stage, policy=bed.shown), x=0.01, ha="left", fontsize=9.0,
                    fontweight="bold")  # fmt: skip
    return figure


def draw_section(axes: Axes, bed: Bed, words: Words) -> None:
    """Walls, floor and layers, true in depth; the darker the grey, the more deposit."""
    floor = float(bed.layers["bottom"].iloc[-1])
    above = ABOVE * floor
    shown = bed.slices[bed.slices["policy"] == bed.shown]
    most = float(bed.slices["deposit"].max()) or 1.0
    edges = np.append(shown["top"].to_numpy(dtype=float), float(shown["bottom"].iloc[-1]))
    shades = DARKEST * shown["deposit"].to_numpy(dtype=float)[:, None] / most
    axes.pcolormesh([0.0, 1.0], edges, shades, cmap="Greys", vmin=0.0, vmax=1.0, edgecolors="face", linewidth=0.2)
    for top, bottom, medium in bed.layers[["top", "bottom", "medium"]].itertuples(index=False):
        axes.plot([0.0, 1.0], [top, top], color=INK, linewidth=0.9)
        axes.annotate(str(medium), xy=(1.06, (top + bottom) / 2.0), va="center", ha="left", annotation_clip=False)
    axes.plot([0.0, 0.0, 1.0, 1.0], [-above, floor, floor, -above], color=INK, linewidth=2.2, solid_joinstyle="miter")
    axes.annotate(words.text("bed.water"), xy=(0.5, -above / 2.0), va="center", ha="center", color=GREY)
    axes.set_xlim(-0.03, WIDE)
    axes.set_ylim(1.02 * floor, -above)
    axes.set_xticks([])
    axes.set_yticks([tick for tick in axes.get_yticks() if 0.0 <= tick <= floor])
    axes.spines["bottom"].set_visible(False)
    axes.set_ylabel(bed.depth.label)


def draw_curves(axes: Axes, bed: Bed, words: Words) -> None:
    """A curve for each policy, named on the curve; dotted where a layer's capture ends."""
    mark_capacity(axes, bed, words)
    for place, policy in enumerate(bed.ends):
        seen, table = look(place), bed.slices[bed.slices["policy"] == policy]
        depth = (table["top"] + table["bottom"]) / 2.0
        axes.plot(table["deposit"], depth, color=seen.colour, linestyle=seen.dash, marker=seen.marker, markersize=4.0,
                  markevery=(place, max(len(table) // MARKS, 1)), label=policy)  # fmt: skip
    axes.axhline(0.0, color=GREY, linewidth=0.6)
    axes.set_xlim(left=0.0)
    axes.set_xlabel(bed.deposit.label)
    axes.tick_params(axis="y", labelleft=False)
    axes.grid(axis="x")


def mark_capacity(axes: Axes, bed: Bed, words: Words) -> None:
    """A dotted line where each layer holds all it can."""
    known = bed.layers[bed.layers["most"].notna()]
    if known.empty:
        return
    axes.plot(np.repeat(known["most"], 2), known[["top", "bottom"]].to_numpy().ravel(), color=INK, linestyle=":",
              linewidth=1.4)  # fmt: skip
    axes.annotate(words.text("bed.ends_capture"), xy=(float(known["most"].iloc[0]), 0.0), xytext=(0.0, 3.0),
                  textcoords="offset points", ha="right", va="bottom", fontsize=8.0)  # fmt: skip
