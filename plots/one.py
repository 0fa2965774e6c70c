"""One figure at a time, for a page that draws it while somebody looks: SVG, caption, and words in its place."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from matplotlib.figure import Figure

from plots.captions import compared_alt, rinsed_alt
from plots.compared import compared_figure
from plots.decision import bars_alt, bars_figure
from plots.decision_inputs import StackedBars
from plots.inputs import Compared, Frames, Rinsed
from plots.rinsed import rinsed_figure
from plots.stills import reasons, still_alt, still_svg
from plots.style import as_svg, house_style, keep_layout
from plots.words import Name, say


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """A figure as SVG, its caption, and what is said to somebody who does not see it."""

    svg: str
    caption: str
    alt: str


def show_train(frames: Frames) -> Shown:
    """Some moments of a train, for who sees it still."""
    return Shown(svg=still_svg(frames), caption=reasons(frames), alt=still_alt(frames))


def show_compared(policies: Sequence[str], figures: Sequence[Compared]) -> Shown:
    """The ways to start a wash side by side, to present."""
    return Shown(
        svg=_drawn(lambda: compared_figure(tuple(policies), tuple(figures))),
        caption=say("compared.caption"),
        alt=compared_alt(policies, figures),
    )


def show_rinsed(rinsed: Rinsed, *, narrow: bool, low: bool = False) -> Shown:
    """Jars, curve and vessels of one wash; `low`: jars and curve alone, to present."""
    return Shown(
        svg=_drawn(lambda: rinsed_figure(rinsed, narrow=narrow, low=low)),
        caption=say("rinsed.caption", stage=Name(rinsed.stage)),
        alt=rinsed_alt(rinsed),
    )


def show_bars(stacked: StackedBars, *, narrow: bool, earlier: StackedBars | None = None) -> Shown:
    """What a year takes, bar by bar, and in grey what it took `earlier`."""
    return Shown(
        svg=_drawn(lambda: bars_figure(stacked, narrow=narrow, earlier=earlier)),
        caption=say("decision.bars"),
        alt=bars_alt(stacked),
    )


def _drawn(draw: Callable[[], Figure]) -> str:
    with house_style():
        figure = draw()
        keep_layout(figure)
        return as_svg(figure)
