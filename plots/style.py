"""How figures look: house colours, each with its own dash, marker and hatch; saving that repeats to the byte.

Nothing is told by colour alone, so every figure reads the same in grey.
"""

import io
import re
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from textwrap import wrap
from typing import Any

import matplotlib
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.dates import date2num
from matplotlib.figure import Figure
from matplotlib.ticker import Formatter, FuncFormatter, ScalarFormatter, StrMethodFormatter
from matplotlib.transforms import Bbox

from plots.words import Moment, dated, months, respelled

WIDTH = 7.0  # inches: the text width of A4 and of letter
NARROW = 3.7  # inches: a small screen
PNG_DOTS_PER_INCH = 150
CAPTION_LINE, CAPTION_GAP, CAPTION_CHARACTERS = 0.165, 0.07, 104  # inches, inches, characters that fill a line

POINTS_PER_INCH = 72
LAYOUT_DIGITS = 5
LEGEND_CHARACTERS = 112  # of all names in one row of a legend
TICKS = 8
TICK_HOURS = (1, 2, 6, 12, 24, 48, 96, 168, 336)
TICK_MONTHS = (1, 2, 3, 6, 12, 24, 60, 120)

INK, GREY, PALE, FAINT = "#1a1a1a", "#6b6b6b", "#d9d9d9", "#f0f0f0"
WATER, POOL, CLEAN, DIRT, SILT, BEFORE = "#1f6f9f", "#cfe4f0", "#f1e6cf", "#4a2f12", "#7a4f1e", "#9b9b9b"
"""Water as a line and as an area, media of a clean bed, all the dirt that a bed holds, dirt as a line,
what stood before a move: everywhere."""


def mixed(one: str, other: str, share: float) -> str:
    """A colour between two.

    >>> mixed("#000000", "#ff8000", 0.5)
    '#804000'
    """
    parts = [(int(one[k : k + 2], 16), int(other[k : k + 2], 16)) for k in (1, 3, 5)]
    return "#" + "".join(f"{round(low + min(max(share, 0.0), 1.0) * (high - low)):02x}" for low, high in parts)


@dataclass(frozen=True, slots=True)
class Look:
    """How one policy, or one cause, is told from the others."""

    colour: str
    dash: Any
    marker: str
    hatch: str

    @property
    def line(self) -> dict[str, Any]:
        """As a line with its marks."""
        return {"color": self.colour, "linestyle": self.dash, "marker": self.marker}


_COLOURS = ("#0072B2", "#D55E00", "#009E73", "#CC79A7")
_DASHES: tuple[Any, ...] = ("-", (0, (6, 2)), (0, (2, 1.6)), (0, (7, 2, 1.5, 2)), (0, (1, 1)), (0, (10, 3)))
_MARKERS = ("o", "s", "^", "D", "v", "P")
# No dots or rings: each of them is a path of its own, and a hatch of them a fifth of a megabyte.
_HATCHES = ("", "////", "----", "xxxx", "\\\\\\\\", "||||", "++++", "//", "--", "xx")


def look(place: int) -> Look:
    """The look of the policy or cause at this place. From the fifth on colours come again, with other dashes."""
    return Look(
        _COLOURS[place % len(_COLOURS)],
        _DASHES[place % len(_DASHES)],
        _MARKERS[place % len(_MARKERS)],
        _HATCHES[place % len(_HATCHES)],
    )


_RC: Any = {
    "font.family": "sans-serif",
    "font.sans-serif": ["DejaVu Sans"],
    "font.size": 8.5,
    "text.color": INK,
    "text.parse_math": False,  # a name may hold a dollar sign
    "axes.edgecolor": GREY,
    "axes.labelcolor": INK,
    "axes.labelsize": 8.5,
    "axes.titlesize": 9.0,
    "axes.titleweight": "bold",
    "axes.titlelocation": "left",
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.linewidth": 0.7,
    "axes.axisbelow": True,
    "xtick.color": INK,
    "ytick.color": INK,
    "xtick.labelsize": 8.0,
    "ytick.labelsize": 8.0,
    "grid.color": PALE,
    "grid.linewidth": 0.5,
    "hatch.linewidth": 0.7,
    "lines.linewidth": 1.2,
    "legend.frameon": False,
    "legend.fontsize": 8.0,
    "svg.fonttype": "none",
    "svg.hashsalt": "filterrun",
}


def deposits() -> LinearSegmentedColormap:
    """The colours from a clean bed to one that holds all it can."""
    return LinearSegmentedColormap.from_list("deposit", [CLEAN, DIRT])


@contextmanager
def house_style() -> Iterator[None]:
    """Our settings in place of whatever the user's are, for as long as something is drawn and saved."""
    with matplotlib.rc_context(), warnings.catch_warnings():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(_RC)
        # A name in a script that the font lacks is still text in the SVG; in the PNG it shows as boxes.
        warnings.filterwarnings("ignore", message=r"Glyph \d+ .* missing from font", category=UserWarning)
        yield


def new_figure(height: float, width: float = WIDTH) -> Figure:
    """An empty figure, of the house's width unless told otherwise [inches]."""
    return Figure(figsize=(width, height), layout="constrained")


def as_svg(figure: Figure, below: float = 0.0) -> str:
    """The figure, with so many inches below it, as SVG, its text as text; the same bytes each time."""
    out = io.StringIO()
    figure.savefig(out, format="svg", bbox_inches=_page(figure, below), metadata={"Date": None, "Creator": None})
    return _PATH.sub(_shortened, out.getvalue())


_HEIGHT = re.compile(r'(height="|viewBox="0 0 [\d.]+ )[\d.]+')
_CAPTION = re.compile(r' *<g id="caption">.*?</g>\n', re.DOTALL)
_PATH = re.compile(r'(?<= d=")[^"]+')
_DIGITS = re.compile(r"(\d\.\d)\d+")


def _shortened(path: re.Match[str]) -> str:
    """A path to a tenth of a point (0.04 mm), on one line: what matplotlib writes is a fifth longer."""
    return _DIGITS.sub(r"\1", path[0]).replace(" \n", "")


def as_png(figure: Figure, below: float = 0.0) -> bytes:
    """The figure, with so many inches below it, as PNG; the same bytes each time."""
    out = io.BytesIO()
    page = _page(figure, below)
    figure.savefig(out, format="png", dpi=PNG_DOTS_PER_INCH, bbox_inches=page, metadata={"Software": None})
    return out.getvalue()


def figure_files(name: str, figure: Figure, caption: str = "", *, png: bool) -> dict[str, str | bytes]:
    """The figure, laid out once, with its caption if it has one, as SVG and, if asked for, PNG by file name."""
    keep_layout(figure)
    below = put_caption(figure, caption) if caption else 0.0
    made: dict[str, str | bytes] = {f"{name}.svg": as_svg(figure, below)}
    return made | ({f"{name}.png": as_png(figure, below)} if png else {})


def _page(figure: Figure, below: float) -> Bbox | None:
    width, height = figure.get_size_inches()
    return Bbox.from_extents(0.0, -below, width, height) if below else None


def put_caption(figure: Figure, caption: str) -> float:
    """Set the caption under the figure, which keeps its layout; the room that it takes there [inches]."""
    lines = wrap(caption, CAPTION_CHARACTERS)
    figure.text(0.01, -CAPTION_GAP / figure.get_size_inches()[1], "\n".join(lines), va="top", ha="left", fontsize=8.5,
                linespacing=1.3, gid="caption")  # fmt: skip
    return CAPTION_LINE * len(lines) + 2.0 * CAPTION_GAP


def without_caption(svg: str, figure: Figure) -> str:
    """The same drawing, of this figure, without its caption and the room that this takes."""
    height = f"{POINTS_PER_INCH * figure.get_size_inches()[1]:g}"
    return _CAPTION.sub("", _HEIGHT.sub(rf"\g<1>{height}", svg, count=2), count=1)


def keep_layout(figure: Figure) -> None:
    """Lay the figure out once, to a hundred-thousandth of its size, and keep that: whatever draws it finds it so.

    With many panels the solver's last digit depends on where Python has put its objects, and the names of clip
    paths on that. With an engine, even one that does nothing, matplotlib draws twice to save once.
    """
    engine = figure.get_layout_engine()
    if engine is None:
        return
    for axis in (axis for axes in figure.axes for axis in (axes.xaxis, axes.yaxis)):
        if isinstance(axis.get_major_formatter(), ScalarFormatter | StrMethodFormatter | FuncFormatter):
            axis.set_major_formatter(_Respelled(axis.get_major_formatter()))
        if not axis.get_label_text():
            axis.set_label_coords(0.0, 0.0)  # what has no name needs no place: to look for one takes long
    engine.execute(figure)
    figure.set_layout_engine(None)
    for axes in figure.axes:
        left, bottom, width, height = (round(float(each), LAYOUT_DIGITS) for each in axes.get_position().bounds)
        axes.set_position((left, bottom, width, height))


class _Respelled(Formatter):
    """The numbers of another formatter, in the signs of the language."""

    def __init__(self, of: Formatter) -> None:
        self.of = of

    def __call__(self, x: float, pos: int | None = None) -> str:
        return respelled(self.of(x, pos))

    def set_locs(self, locs: Any) -> None:
        self.of.set_locs(locs)

    def get_offset(self) -> str:
        return respelled(self.of.get_offset())


def columns(names: Sequence[str]) -> int:
    """How many columns a legend of these names has room for under a figure."""
    return max(min(len(names), LEGEND_CHARACTERS // (max(map(len, names)) + 7)), 1)


def day(time: datetime) -> Moment:
    """A date in words, such as 3 Feb 2027."""
    return dated(time, "day_year")


def date_axis(axes: Axes, start: datetime, end: datetime) -> None:
    """Days, or months where there are many, on the x axis from `start` to `end`; the year with the first."""
    names = months()
    ticks = date_ticks(start, end)

    def text(time: datetime, place: int) -> str:
        clock = "" if (time.hour, time.minute) == (0, 0) else f" {time:%H:%M}"
        year = f"\n{time.year}" if place == 0 or time.year != ticks[place - 1].year else ""
        return f"{time.day} {names[time.month - 1]}{clock}{year}"

    axes.set_xlim(float(date2num(start)), float(date2num(end)))
    axes.set_xticks(date2num(ticks), [text(time, place) for place, time in enumerate(ticks)])


def date_axes(panels: Sequence[Axes], start: datetime, end: datetime) -> None:
    """Panels below each other on the same time, its ticks under the last alone: each tick takes its time to draw."""
    for axes in panels[:-1]:
        axes.set_xlim(float(date2num(start)), float(date2num(end)))
        axes.set_xticks([])
    date_axis(panels[-1], start, end)


def ticks_between(first: datetime, end: datetime, step: timedelta) -> list[datetime]:
    """Every moment so far apart, from the first on."""
    return [first + place * step for place in range(int((end - first) / step) + 1)]


def date_ticks(start: datetime, end: datetime) -> list[datetime]:
    """At most TICKS + 1 moments between two: every so many hours or days from a midnight, or firsts of months."""
    midnight = start.replace(hour=0, minute=0, second=0, microsecond=0)
    for hours in TICK_HOURS:
        step = timedelta(hours=hours)
        if (end - start) / step <= TICKS:
            first = midnight + -(-(start - midnight) // step) * step
            return ticks_between(first, end, step)
    first_month = start.year * 12 + start.month  # counted from 0 in January, so this is the month after the start's
    last_month = end.year * 12 + end.month - 1
    step_months = next((each for each in TICK_MONTHS if (last_month - first_month) / each < TICKS), TICK_MONTHS[-1])
    return [datetime(month // 12, month % 12 + 1, 1) for month in range(first_month, last_month + 1, step_months)]
