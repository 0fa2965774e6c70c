"""The figures of a decision: what is traded for what, what a year takes, and which price matters."""

from collections.abc import Iterator, Sequence
from textwrap import wrap

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from plots.bundle import bundled
from plots.decision_inputs import Decision, DecisionReport, StackedBars, Tornado, Tradeoff, TradeoffLine
from plots.gallery import Named, drawing_of
from plots.inputs import Head, Sheet
from plots.parts import SHORT_DASHES, name_rows, note, plain_numbers
from plots.style import BEFORE, GREY, INK, NARROW, WIDTH, columns, house_style, look, new_figure
from plots.words import (
    Amount,
    Label,
    Name,
    Number,
    Sentence,
    amount,
    colon,
    label,
    localised,
    number,
    paragraph,
    say,
    typeset,
)

Values = np.ndarray[tuple[int], np.dtype[np.float64]]

HEIGHT, ROW, AROUND = 3.9, 0.5, 1.1  # inches
NAME_CHARACTERS = 22  # of a bar's name, before it is cut into lines
ROOM = 1.3  # of the longest bar, for the text at its end
NARROW_ROW, NARROW_ROOM = 0.95, 1.04  # the same on a small screen, where names and texts stand above the bars
BAR, STRIP = 0.56, 0.09  # of a row
ROOM_FOR_TEXT = 0.65  # of the widest bar, on either side of it
SPAN = 4.0  # times the best value: a present one that lies further out is not drawn
LITTLE_LESS = 0.9  # of the least water or cost: where no time over the limit is allowed, how far left still counts
HIGH = 2.0  # times what is allowed or reached: what goes further over the limit is not drawn


def decision_files(
    decision: Decision, report: DecisionReport, sheets: Sequence[Sheet], head: Head, *, png: bool = False
) -> dict[str, str | bytes]:
    """Report, workbook and every figure by file name; the same input gives the same bytes."""
    with house_style():
        drawings = tuple(drawing_of(*each, png=png) for each in _figures(decision))
    return bundled(drawings, report, sheets, head)


def _figures(decision: Decision) -> Iterator[Named]:
    if decision.bars is not None:
        yield ("bars", bars_figure(decision.bars), say("decision.bars"), bars_alt(decision.bars))
    for tornado in decision.tornados:
        caption = say("decision.tornado", device=tornado.device)
        yield (f"prices_{tornado.device}", tornado_figure(tornado), caption, tornado_alt(tornado))
    yield (
        "tradeoff", tradeoff_figure(decision.tradeoff), say("decision.tradeoff"),
        tradeoff_alt(decision.tradeoff),
    )  # fmt: skip


def tradeoff_figure(tradeoff: Tradeoff) -> Figure:
    """A line of small points for each policy, its present and its best setting on it."""
    figure = new_figure(HEIGHT)
    axes = figure.subplots()
    right, top = (reach or 1.0 for reach in _reach(tradeoff))  # a run in which nothing washes
    for place, line in enumerate(tradeoff.lines):
        _draw_line(axes, line, place, right)
    if tradeoff.limit is not None:
        axes.axhline(tradeoff.limit, color=INK, linewidth=0.9, linestyle=SHORT_DASHES)
    axes.set_xlim(0.0, right)
    axes.set_ylim(-0.03 * top, top)
    axes.set_xlabel(tradeoff.x.label)
    axes.set_title(tradeoff.y.label)
    axes.grid()
    plain_numbers(axes.xaxis)
    plain_numbers(axes.yaxis)
    handles = _tradeoff_legend(tradeoff)
    figure.legend(
        handles=handles, loc="outside upper left", ncols=columns([str(each.get_label()) for each in handles])
    )
    return figure


def _draw_line(axes: Axes, line: TradeoffLine, place: int, right: float) -> None:
    seen = look(place)
    front = _front([point for point in line.points if point[0] <= right])
    if front and not line.steps:
        axes.plot(*zip(*front, strict=True), color=seen.colour, linestyle=seen.dash, linewidth=1.0)
    if line.points:
        axes.plot(*zip(*line.points, strict=True), color=seen.colour, marker=seen.marker, linestyle="none",
                  markersize=4.5 if line.steps else 2.6)  # fmt: skip
    if line.present[0] <= right:
        axes.plot(*line.present, color=seen.colour, marker=seen.marker, markersize=9, markerfacecolor="white",
                  markeredgewidth=1.4, linestyle="none", clip_on=False, zorder=4)  # fmt: skip
    if line.best is not None:
        axes.plot(*line.best, color=seen.colour, marker=seen.marker, markersize=9, markeredgecolor=INK,
                  markeredgewidth=0.8, linestyle="none", clip_on=False, zorder=5)  # fmt: skip


def _front(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """The points than which no other has less of both, from left to right."""
    found: list[tuple[float, float]] = []
    for point in sorted(points):
        if not found or point[1] < found[-1][1]:
            found.append(point)
    return found


def _reach(tradeoff: Tradeoff) -> tuple[float, float]:
    """How far the axes go: a little beyond everything that matters, not to the wildest setting tried."""
    marked = [each for line in tradeoff.lines for each in (line.present, line.best) if each is not None]
    points = [each for line in tradeoff.lines for each in line.points]
    right = max(each[0] for each in marked)
    top = max([each[1] for each in marked] + ([tradeoff.limit] if tradeoff.limit is not None else []))
    bests = [line.best[0] for line in tradeoff.lines if line.best is not None]
    if bests and right > SPAN * max(bests):
        right = SPAN * max(bests)  # a present setting far out, told in a note, would press all else into a corner
    wide = max((each[0] for each in points if each[0] <= 1.5 * right), default=right)
    least = LITTLE_LESS * min(bests, default=0.0)
    near = (each[1] for each in points if (each[1] <= HIGH * top if top else each[0] >= least))
    high = max(near, default=top)
    return 1.06 * min(max(right, wide), 1.5 * right), 1.06 * max(high, top) or 1.0


def _tradeoff_legend(tradeoff: Tradeoff) -> list[Line2D]:
    found = [
        Line2D([], [], color=look(place).colour, marker=look(place).marker, markersize=4, label=line.policy,
               linestyle="none" if line.steps else look(place).dash)
        for place, line in enumerate(tradeoff.lines)
    ]  # fmt: skip
    found.append(Line2D([], [], color=GREY, marker="o", markersize=8, markerfacecolor="white", linestyle="none",
                        label=label("decision.present")))  # fmt: skip
    found.append(Line2D([], [], color=GREY, marker="o", markersize=8, markeredgecolor=INK, linestyle="none",
                        label=label("decision.best")))  # fmt: skip
    if tradeoff.limit is not None:
        found.append(
            Line2D([], [], color=INK, linestyle=SHORT_DASHES, linewidth=0.9, label=label("decision.limit"))
        )
    return found


def tradeoff_alt(tradeoff: Tradeoff) -> Sentence:
    """The figure in a sentence."""

    def said() -> Iterator[Sentence]:
        for line in tradeoff.lines:
            if line.points:
                spent = [each[0] for each in line.points]
                least, most = (_four_figures(each) for each in (min(spent), max(spent)))
                yield say("decision.tradeoff_way", way=Name(line.policy), least=least,
                          most=amount(most, typeset(tradeoff.x.unit)))  # fmt: skip

    return paragraph(say("decision.tradeoff_alt", figure=tradeoff.y.term), *said())


def _four_figures(value: float) -> Number:
    return localised(f"{float(f'{value:.4g}'):.10g}")


def bars_figure(stacked: StackedBars, *, narrow: bool = False, earlier: StackedBars | None = None) -> Figure:
    """Bars on one another's level, parts told by hatch and colour, the whole and where it may lie at the end.

    Below each of them in grey how long it was `earlier`, where that is the same figure; the scale holds both.
    """
    count = len(stacked.bars)
    figure = new_figure((NARROW_ROW if narrow else ROW) * count + AROUND, NARROW if narrow else WIDTH)
    axes = figure.subplots()
    values = np.nan_to_num(np.array(stacked.values, dtype=float))
    left = np.zeros(count)
    height = BAR * (ROW / NARROW_ROW if narrow else 1.0)
    for place, part in enumerate(stacked.parts):
        seen = look(place)
        axes.barh(range(count), values[:, place], height, left=left, color=seen.colour, hatch=seen.hatch,
                  edgecolor="white", linewidth=0.6, label=part)  # fmt: skip
        left = left + values[:, place]
    reach = _ends(axes, stacked, left, height)
    before = _before(axes, stacked, earlier, height)
    _name_bars(axes, stacked, reach, narrow=narrow)
    axes.set_xlim(0.0, (NARROW_ROOM if narrow else ROOM) * max(float(reach.max()), before) or 1.0)
    axes.set_title(stacked.measure.label)
    plain_numbers(axes.xaxis)
    if len(stacked.parts) > 1:
        figure.legend(loc="outside upper left", ncols=2 if narrow else columns(stacked.parts))
    return figure


def _before(axes: Axes, stacked: StackedBars, earlier: StackedBars | None, height: float) -> float:
    """Strips as long as the bars of the same names were; how far the longest reaches, 0 without any."""
    if earlier is None or earlier.measure != stacked.measure:
        return 0.0
    wholes = dict(zip(earlier.bars, np.nansum(np.array(earlier.values, dtype=float), axis=1), strict=True))
    rows = [(row, float(wholes[name])) for row, name in enumerate(stacked.bars) if name in wholes]
    for row, whole in rows:
        axes.barh(row + (height + STRIP) / 2.0, whole, STRIP, color=BEFORE)
    return max((whole for _, whole in rows), default=0.0)


def _ends(axes: Axes, stacked: StackedBars, whole: Values, height: float) -> Values:
    """Lines from where to where the bars may end; how far each bar reaches with its line."""
    reach = whole.copy()
    for row, ends in enumerate(stacked.ends):
        if ends is not None:
            axes.hlines(row, *ends, color=INK, linewidth=1.3)
            axes.vlines(ends, row - height / 4.0, row + height / 4.0, color=INK, linewidth=1.3)
            reach[row] = max(reach[row], ends[1])
    return reach


def _name_bars(axes: Axes, stacked: StackedBars, reach: Values, *, narrow: bool) -> None:
    """Names beside the bars and texts at their ends; both above them where there is no room."""
    if not narrow:
        for row, text in enumerate(_texts(stacked)):
            note(axes, typeset(text), (float(reach[row]), row), (5, 0), fontsize=8.5)
        _rows(axes, stacked.bars)
        return
    _rows(axes, ["" for _ in stacked.bars])
    axes.set_ylim(len(stacked.bars) - 0.6, -0.8)
    for row, (name, text) in enumerate(zip(stacked.bars, _texts(stacked), strict=True)):
        note(axes, typeset(f"{name}{colon()}{text}"), (0.0, row), (2, 13), up="bottom", fontsize=8.0)


def _texts(stacked: StackedBars) -> list[str]:
    """The text of each bar, and below it from where to where its whole may lie."""
    pairs = zip(stacked.texts, stacked.ends, strict=True)
    return [text if ends is None else f"{text}\n{_from_to(ends)}" for text, ends in pairs]


def _from_to(ends: tuple[float, float]) -> Label:
    low, high = _ends_written(ends)
    return label("decision.between", low=low, high=high)


def _ends_written(ends: tuple[float, float]) -> tuple[Number, Number]:
    decimals = 0 if ends[1] >= 100.0 else 2
    return number(ends[0], decimals), number(ends[1], decimals)


def _rows(axes: Axes, names: Sequence[str]) -> None:
    name_rows(axes, ["\n".join(wrap(name, NAME_CHARACTERS)) for name in names])
    axes.grid(axis="x")


def bars_alt(stacked: StackedBars) -> Sentence:
    """The figure in sentences."""

    def said() -> Iterator[Sentence]:
        for bar, text, ends in zip(stacked.bars, stacked.texts, stacked.ends, strict=True):
            if ends is None:
                yield say("decision.bar", bar=Name(bar), amount=Amount(text))
            else:
                low, high = _ends_written(ends)
                yield say("decision.bar_between", bar=Name(bar), amount=Amount(text), low=low, high=high)

    return paragraph(say("decision.bars_alt"), *said())


def tornado_figure(tornado: Tornado) -> Figure:
    """For each price a bar from the figure at its low end to that at its high end."""
    figure = new_figure(ROW * len(tornado.rows) + AROUND + 0.3)
    axes = figure.subplots()
    low_look, high_look = look(1), look(0)
    for row, (_, low, high, low_text, high_text) in enumerate(tornado.rows):
        for value, text, seen, hatch in ((low, low_text, low_look, "////"), (high, high_text, high_look, "")):
            axes.barh(row, value - tornado.base, BAR, left=tornado.base, color=seen.colour, hatch=hatch,
                      edgecolor="white", linewidth=0.6)  # fmt: skip
            beyond = value >= tornado.base
            note(axes, typeset(text), (value, row), (3 if beyond else -3, 0), across="left" if beyond else "right",
                 fontsize=7.5, bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8})  # fmt: skip
    axes.axvline(tornado.base, color=INK, linewidth=0.9)
    axes.axvline(0.0, color=INK, linewidth=0.9, linestyle=SHORT_DASHES)
    _rows(axes, [each[0] for each in tornado.rows])
    ends = [value for each in tornado.rows for value in each[1:3]] + [0.0, tornado.base]
    room = ROOM_FOR_TEXT * ((max(ends) - min(ends)) or 1.0)
    axes.set_xlim(min(ends) - room, max(ends) + room)
    axes.set_title(tornado.measure.label)
    plain_numbers(axes.xaxis)
    figure.legend(handles=_tornado_legend(), loc="outside upper left", ncols=3)
    return figure


def _tornado_legend() -> list[Patch | Line2D]:
    return [
        Patch(facecolor=look(1).colour, hatch="////", edgecolor="white", label=label("decision.low")),
        Patch(facecolor=look(0).colour, edgecolor="white", label=label("decision.high")),
        Line2D([], [], color=INK, linestyle=SHORT_DASHES, linewidth=0.9, label=label("decision.zero")),
    ]


def tornado_alt(tornado: Tornado) -> Sentence:
    """The figure in sentences."""
    prices = [
        say("decision.tornado_price", price=Name(name.replace("\n", " ")), low=Amount(low), high=Amount(high))
        for name, _, _, low, high in tornado.rows
    ]
    return paragraph(say("decision.tornado_alt", base=number(tornado.base)), *prices)
