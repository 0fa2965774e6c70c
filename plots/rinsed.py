"""What a rinse does: jars of filtered water after a wash, the same by minutes, the vessel before and after."""

import math

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from plots.inputs import Rinsed, Section
from plots.parts import from_zero, line_across, no_scales, note
from plots.section import DARKEST, draw_deposit, draw_walls
from plots.style import BEFORE, DIRT, GREY, INK, NARROW, PALE, POOL, WATER, mixed, new_figure
from plots.words import label

JARS_HIGH, CURVE_HIGH, VESSELS_HIGH, WIDE_HIGH, LOW = 1.35, 2.0, 2.7, 2.9, 2.2  # inches
CLEAR, DIRTY = 0.2, 60.0  # NTU or mg/L between which water looks clear and looks full of solids
SPECKS = 90  # in a jar of the dirtiest water
SPREAD_X, SPREAD_Y = 0.7548776662, 0.5698402910  # shares of a box that spread specks evenly, the same ones each time
HEADROOM = 1.15
MUD = 0.65  # of dirt in the colour of the dirtiest water


def rinsed_figure(rinsed: Rinsed, *, narrow: bool = False, low: bool = False) -> Figure:
    """Jars on top; below them curve and vessels, side by side or, where `narrow`, below each other.

    `low`: jars and curve alone, side by side.
    """
    if low:
        figure = new_figure(LOW)
        jars, curve = figure.subplots(1, 2)
        draw_jars(jars, rinsed)
        draw_curve(curve, rinsed)
        return figure
    if narrow:
        figure = new_figure(JARS_HIGH + CURVE_HIGH + VESSELS_HIGH, NARROW)
        axes = figure.subplot_mosaic(
            [["jars"], ["curve"], ["vessels"]], height_ratios=(JARS_HIGH, CURVE_HIGH, VESSELS_HIGH)
        )
    else:
        figure = new_figure(JARS_HIGH + WIDE_HIGH)
        axes = figure.subplot_mosaic(
            [["jars", "jars"], ["curve", "vessels"]], height_ratios=(JARS_HIGH, WIDE_HIGH), width_ratios=(5, 4)
        )
    draw_jars(axes["jars"], rinsed)
    draw_curve(axes["curve"], rinsed)
    draw_vessels(axes["vessels"], rinsed.sections)
    return figure


def muddiness(solids: float) -> float:
    """How full of solids water looks, from 0 to 1: even steps of a factor look even."""
    if not solids > CLEAR:
        return 0.0
    return min(math.log(solids / CLEAR) / math.log(DIRTY / CLEAR), 1.0)


def draw_water(axes: Axes, left: float, bottom: float, width: float, height: float, solids: float) -> None:
    """A box of water, the darker the more solids, with its specks."""
    colour = mixed(POOL, DIRT, MUD * muddiness(solids))
    axes.add_patch(Rectangle((left, bottom), width, height, facecolor=colour, linewidth=0.0))
    draw_specks(axes, left, bottom, width, height, solids)


def draw_specks(axes: Axes, left: float, bottom: float, width: float, height: float, solids: float) -> None:
    """Specks in a box of water, the more the more solids; none where there is no water."""
    count = 0 if math.isnan(solids) else round(SPECKS * muddiness(solids) ** 1.5)
    place = np.arange(count) + 1.0
    x = left + width * (0.06 + 0.88 * np.mod(place * SPREAD_X, 1.0))
    y = bottom + height * (0.05 + 0.9 * np.mod(place * SPREAD_Y, 1.0))
    axes.plot(x, y, linestyle="none", marker="o", markersize=1.7, color=INK, markeredgewidth=0.0, alpha=0.75)


def draw_jars(axes: Axes, rinsed: Rinsed) -> None:
    """A jar for each moment, its number on it and its minute below it."""
    for place, (minutes, solids, text) in enumerate(
        rinsed.jars[["minutes", "solids", "text"]].itertuples(index=False)
    ):
        if not math.isnan(solids):
            draw_water(axes, place - 0.3, 0.0, 0.6, 0.82, solids)
        outline = [(-0.36, 1.0), (-0.3, 0.94), (-0.3, 0.0), (0.3, 0.0), (0.3, 0.94), (0.36, 1.0)]
        axes.plot([place + x for x, _ in outline], [y for _, y in outline], color=INK, linewidth=1.3)
        shown = label("rinsed.no_flow") if math.isnan(solids) else str(text)
        axes.annotate(shown, xy=(place, 1.06), ha="center", va="bottom", fontsize=9.0, fontweight="bold")
        axes.annotate(f"{minutes:g}", xy=(place, -0.08), ha="center", va="top", annotation_clip=False)
    axes.set_xlim(-0.6, len(rinsed.jars) - 0.4)
    axes.set_ylim(-0.02, 1.25)
    no_scales(axes)
    axes.set_title(rinsed.solids.label)
    axes.set_xlabel(label("figure.minutes_after_return"), labelpad=17.0)


def draw_curve(axes: Axes, rinsed: Rinsed) -> None:
    """The filtered water over the minutes after the return, the jars as marks, the limit as a line across."""
    curves = [rinsed.outlet] if rinsed.earlier is None else [rinsed.earlier, rinsed.outlet]
    for curve in curves:
        colour, width = (WATER, 1.4) if curve is rinsed.outlet else (BEFORE, 2.8)
        axes.plot(curve["minutes"], curve["solids"], color=colour, linewidth=width)
    axes.plot(rinsed.jars["minutes"], rinsed.jars["solids"], color=WATER, linestyle="none", marker="o",
              markersize=4.0)  # fmt: skip
    tops = [rinsed.top, *(float(curve["solids"].max()) for curve in curves)]
    if rinsed.limit is not None:
        line_across(axes, rinsed.limit, label("figure.limit"))
        tops.append(rinsed.limit)
    from_zero(axes, max(each for each in tops if not math.isnan(each)), HEADROOM)
    axes.set_xlim(left=0.0)
    axes.grid(axis="y")
    axes.set_ylabel(rinsed.solids.label)
    axes.set_xlabel(label("figure.minutes_after_return"))


def draw_vessels(axes: Axes, sections: tuple[Section, ...]) -> None:
    """The vessels beside each other, to one scale of height and one of grey."""
    most = max(float(section.slices["deposit"].max()) for section in sections) or 1.0
    floor = max(float(section.layers["bottom"].iloc[-1]) for section in sections)
    above = max(section.above for section in sections)
    for place, section in enumerate(sections):
        draw_vessel(axes, section, 2.0 * place, most)
        note(axes, section.when, (2.0 * place + 0.5, -above), (0.0, 4.0), across="center", up="bottom",
             fontweight="bold")  # fmt: skip
    axes.set_xlim(-0.15, 2.0 * len(sections) - 0.2)
    axes.set_ylim(floor + 0.12 * (floor + above), -above - 0.12 * (floor + above))
    no_scales(axes)


def draw_vessel(axes: Axes, section: Section, left: float, most: float) -> None:
    """Walls, water with its specks, layers with their deposit, and in words what water and bed hold."""
    draw_deposit(axes, section.slices, left, {"vmin": 0.0, "vmax": most / DARKEST})
    floor = float(section.slices["bottom"].iloc[-1])
    draw_water(axes, left, -section.above, 1.0, section.above, section.water)
    for top, bottom, medium in section.layers[["top", "bottom", "medium"]].itertuples(index=False):
        axes.plot([left, left + 1.0], [top, top], color=INK, linewidth=0.9)
        axes.annotate(str(medium), xy=(left + 1.05, (top + bottom) / 2.0), va="center", ha="left", fontsize=8.0)
    draw_walls(axes, left, section.above, floor)
    box = {"boxstyle": "square,pad=0.15", "facecolor": "white", "edgecolor": PALE, "linewidth": 0.6}
    water = label("rinsed.water", solids=section.water_holds)
    axes.annotate(water, xy=(left + 0.5, -section.above / 2.0), ha="center", va="center", fontsize=7.5,
                  bbox=box)  # fmt: skip
    bed = label("rinsed.bed", solids=section.bed_holds)
    note(axes, bed, (left + 0.5, floor), (0.0, -4.0), across="center", up="top", fontsize=8.0,
         color=GREY, annotation_clip=False)  # fmt: skip
