"""The policies side by side: a panel for each figure, a bar for each policy, the number at its end."""

import math
from textwrap import wrap

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from plots.inputs import Compared
from plots.parts import draw_bar, note, plain_numbers
from plots.style import new_figure
from plots.words import label

ROW, LEAST_ROW, LINE, SPACE, AROUND, HIGHEST = 0.36, 0.17, 0.14, 0.1, 0.85, 9.0  # inches
NAME_CHARACTERS = 20
TITLE_CHARACTERS = 27
TIGHT = 16  # policies from which names stay on one line and rows close up
ROOM = 1.35  # of the longest bar, for the number at its end


def compared_figure(policies: tuple[str, ...], figures: tuple[Compared, ...]) -> Figure:
    """One panel a figure; the policies stand in the same rows in all of them."""
    tight = len(policies) >= TIGHT
    names = [name if tight else "\n".join(wrap(name, NAME_CHARACTERS)) for name in policies]
    row = LEAST_ROW if tight else max(ROW, LINE * (1 + max(name.count("\n") for name in names)) + SPACE)
    height = min(AROUND + row * len(policies), HIGHEST)
    figure = new_figure(height)
    panels = figure.subplots(1, len(figures), sharey=True, squeeze=False).ravel()
    for axes, compared in zip(panels, figures, strict=True):
        draw_bars(axes, compared)
    panels[0].set_yticks(range(len(policies)), names)
    panels[0].set_ylim(len(policies) - 0.5, -0.5)
    return figure


def draw_bars(axes: Axes, compared: Compared) -> None:
    """A bar from zero for every policy that has the figure."""
    longest = max((value for value in compared.values if not math.isnan(value)), default=0.0)
    for place, (value, text) in enumerate(zip(compared.values, compared.texts, strict=True)):
        known = not math.isnan(value)
        if known and value:  # nothing has no bar, not even an edge
            draw_bar(axes, place, value, height=0.62, edge=1.1)
        shown = text if known else label("figure.absent")
        note(axes, shown, (value if known else 0.0, place), (3, 0), fontsize=8.5)
    axes.set_xlim(0.0, ROOM * (longest or 1.0))
    axes.set_title("\n".join(wrap(compared.measure.label, TITLE_CHARACTERS)), fontsize=8.5)
    axes.tick_params(axis="y", length=0)
    if not longest:  # a scale would show amounts that nobody has
        axes.set_xticks([])
        axes.set_xlabel(label("compared.none"))
        return
    axes.grid(axis="x")
    axes.locator_params(axis="x", nbins=4)
    plain_numbers(axes.xaxis)
