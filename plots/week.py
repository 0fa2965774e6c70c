"""One week: flow, tank and signals over all of it, and below each round of washes enlarged, step by step."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any, NamedTuple

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.dates import date2num
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import MaxNLocator

from plots.course import ABOVE, PANEL_TITLE, hatch_above, mark_washes, point_at
from plots.inputs import DissolvedSignal, FaultSpan, Measure, Span, VesselSignal, WashBars, WeekPicture
from plots.parts import from_zero, line_across, name_rows, plain_numbers
from plots.style import FAINT, GREY, INK, PALE, date_axes, look, new_figure, ticks_between
from plots.words import Name, dated, label, term

FLOW, LEVEL, SIGNAL = 0.95, 1.0, 0.9  # inches: the panels over the whole week
LANE, AROUND_LANES, ABOVE_ALL = 0.2, 0.55, 1.05  # inches: a lane of a round, what stands around them, the legend
SIGNALS_AT_MOST, ROUNDS_AT_MOST, ACROSS, LEGEND_ACROSS = 5, 4, 2, 3
MANY_VESSELS = 5  # from which on one row of rounds has to do
TOGETHER = timedelta(minutes=45)  # washes with less between them are one round
CLOCK_STEPS, CLOCK_TICKS = (5, 10, 15, 30, 60, 120, 240, 720, 1440, 10_080), 6  # minutes between ticks; ticks
BESIDE = timedelta(minutes=4)  # shown before and after a round
THICK = 0.66  # of a lane
FAULT_LINE = 11.0  # points

STEPS = ("backwash", "settle", "regenerant", "displacement", "rinse", "make-up")
# Each step, and each thing that happens to the unit, by pattern alone: colours stand for ways to start a wash.
FACES: dict[str, dict[str, Any]] = {
    "backwash": {"facecolor": "white", "edgecolor": INK, "hatch": "//////"},
    "settle": {"facecolor": "white", "edgecolor": GREY, "hatch": ""},
    "regenerant": {"facecolor": "white", "edgecolor": INK, "hatch": "++++"},
    "displacement": {"facecolor": "white", "edgecolor": GREY, "hatch": "\\\\\\\\"},
    "rinse": {"facecolor": "white", "edgecolor": GREY, "hatch": "------"},
    "make-up": {"facecolor": "white", "edgecolor": GREY, "hatch": "||||"},
    "wait": {"facecolor": "#eeeeee", "edgecolor": GREY, "hatch": "", "linestyle": ":"},
    "held": {"facecolor": "#d9d9d9", "edgecolor": GREY, "hatch": "||||"},
    "raw": {"facecolor": "white", "edgecolor": INK, "hatch": "xxxxx"},
    "starved": {"facecolor": INK, "edgecolor": INK, "hatch": ""},
}
MARKS: dict[str, dict[str, Any]] = {
    "raw": {"marker": "X", "color": INK},
    "starved": {"marker": "s", "color": INK},
    "early": {"marker": "^", "markerfacecolor": "white", "color": INK},
    "missed": {"marker": "D", "markerfacecolor": PALE, "color": INK},
    "regenerated": {"marker": "o", "markerfacecolor": "white", "color": INK},
    "unrestored": {"marker": "P", "color": INK},
}


class Round(NamedTuple):
    """Washes that follow one another closely, or run side by side."""

    start: datetime
    end: datetime


def week_figure(week: WeekPicture) -> Figure:
    """Everything of one week."""
    signals, dissolved, rounds = shown_signals(week), shown_dissolved(week), shown_rounds(week)
    heights = [FLOW, *([LEVEL] if week.level else []), *[SIGNAL] * (len(signals) + len(dissolved))]
    lanes = len(_lanes(week))
    rows = -(-len(rounds) // ACROSS)
    below = [LANE * lanes + AROUND_LANES] * rows
    figure = new_figure(ABOVE_ALL + sum(heights) + sum(below))
    grid = figure.add_gridspec(len(heights) + rows, ACROSS, height_ratios=[*heights, *below])
    panels = [figure.add_subplot(grid[row, :]) for row in range(len(heights))]
    starts = tuple(_rounds_starts(week.washes))
    _draw_flow(panels[0], week)
    if week.level is not None:
        _draw_tank(panels[1], week, week.level)
    rest, colour = iter(panels[len(panels) - len(signals) - len(dissolved) :]), look(week.place).colour
    for signal in signals:
        _draw_signal(next(rest), signal, colour)
    for sent in dissolved:
        _draw_dissolved(next(rest), sent, colour)
    _mark_faults(panels, week.faults)
    for axes in panels:
        mark_washes(axes, starts)
    title = label("week.title", number=week.number, way=Name(week.policy))
    panels[0].set_title(f"{title}\n{week.flow.label}", fontsize=9.0, fontweight="bold", pad=ABOVE, y=1.0)
    if starts:
        point_at(panels[0], starts, label("week.round"))
    date_axes(panels, week.start, week.end)
    for place, each in enumerate(rounds):
        axes = figure.add_subplot(grid[len(heights) + place // ACROSS, place % ACROSS])
        _draw_round(axes, week, each, named=place % ACROSS == 0)
    handles = _legend(week)
    if handles:
        figure.legend(handles=handles, loc="outside upper left", ncols=LEGEND_ACROSS, handlelength=2.0)
    return figure


def shown_signals(week: WeekPicture) -> tuple[VesselSignal, ...]:
    """The signals that have room: those with a switch first, before what is dissolved, the others behind that."""
    switched = [each for each in week.signals if each.set_point is not None][:SIGNALS_AT_MOST]
    others = [each for each in week.signals if each.set_point is None]
    left = max(SIGNALS_AT_MOST - len(switched) - len(week.dissolved), 0)
    chosen = [*switched, *others[:left]]
    return tuple(each for each in week.signals if each in chosen)


def shown_dissolved(week: WeekPicture) -> tuple[DissolvedSignal, ...]:
    """What is dissolved, as far as it has room beside the signals with a switch: what has a limit first."""
    switched = sum(each.set_point is not None for each in week.signals)
    ranked = sorted(range(len(week.dissolved)), key=lambda place: week.dissolved[place].limit is None)
    return tuple(week.dissolved[place] for place in sorted(ranked[: max(SIGNALS_AT_MOST - switched, 0)]))


def rounds_of(washes: WashBars) -> tuple[Round, ...]:
    """The washes of a week in rounds, in order of time."""
    found: list[Round] = []
    for _, _, start, end in sorted(bars_of(washes), key=lambda bar: bar[2]):
        if found and start - found[-1].end <= TOGETHER:
            found[-1] = Round(found[-1].start, max(found[-1].end, end))
        else:
            found.append(Round(start, end))
    return tuple(found)


def bars_of(washes: WashBars) -> Iterator[tuple[str, str, datetime, datetime]]:
    """Vessel, step, start and end of every bar."""
    table = washes.table
    times = ([pd.Timestamp(time).to_pydatetime() for time in table[name]] for name in ("start", "end"))
    yield from zip(table["vessel"], table["step"], *times, strict=True)


def _rounds_starts(washes: WashBars) -> Sequence[datetime]:
    return [each.start for each in rounds_of(washes)]


def shown_rounds(week: WeekPicture) -> tuple[Round, ...]:
    """The rounds that are enlarged: those with water round a vessel or none for the unit first, then the longest."""

    def telling(each: Round) -> tuple[bool, timedelta]:
        met = any(span.start < each.end and span.end > each.start for span in (*week.raw, *week.starved))
        return met, each.end - each.start

    found = rounds_of(week.washes)
    chosen = sorted(found, key=telling, reverse=True)
    chosen = chosen[: ROUNDS_AT_MOST if len(week.washes.vessels) <= MANY_VESSELS else ACROSS]
    return tuple(each for each in found if each in chosen)


def _draw_flow(axes: Axes, week: WeekPicture) -> None:
    axes.plot(week.table["time"], week.table["flow"], color=look(week.place).colour, drawstyle="steps-post",
              linewidth=0.9)  # fmt: skip
    _scale(axes, week.table["flow"], week.flow)
    for name in ("raw", "starved"):
        times = [span.start for span in getattr(week, name)]
        axes.plot(date2num(times), [0.06 if name == "raw" else 0.2] * len(times), linestyle="none", markersize=4.5,
                  transform=axes.get_xaxis_transform(), **MARKS[name])  # fmt: skip


def _mark_faults(panels: Sequence[Axes], faults: Sequence[FaultSpan]) -> None:
    """A grey band down all panels for as long as something fails, named at the head of the first."""
    for place, fault in enumerate(faults):
        start, end = float(date2num(fault.start)), float(date2num(fault.end))
        for axes in panels:
            axes.axvspan(start, end, facecolor=FAINT, edgecolor=GREY, linewidth=0.6, zorder=0.0)
        first = panels[0]
        first.annotate(fault.words, xy=(start, 1.0), xycoords=first.get_xaxis_transform(), va="top", fontsize=7.5,
                       xytext=(3.0, -3.0 - FAULT_LINE * place), textcoords="offset points",
                       bbox={"facecolor": FAINT, "edgecolor": "none", "pad": 1.0})  # fmt: skip


def _draw_tank(axes: Axes, week: WeekPicture, level: Measure) -> None:
    axes.plot(week.table["time"], week.table["level"], color=look(week.place).colour, linewidth=1.1)
    marks = week.marks or ()
    for mark, name in zip(marks, (label("week.starts"), label("week.stops")), strict=False):
        line_across(axes, mark, name, 0.9)
    _scale(axes, pd.concat([week.table["level"], pd.Series(marks, dtype=float)]), level)


def _draw_signal(axes: Axes, signal: VesselSignal, colour: str) -> None:
    axes.plot(signal.table["time"], signal.table["pressure"], color=colour, linewidth=1.1)
    high = signal.table["pressure"]
    if signal.set_point is not None:
        line_across(axes, signal.set_point, label("figure.set_point"), 0.9)
        high = pd.concat([high, pd.Series([signal.set_point])])
    _scale(axes, high, signal.pressure)
    for name in ("early", "missed"):
        times = getattr(signal, name)
        axes.plot(date2num(list(times)), [signal.set_point or 0.0] * len(times), linestyle="none", markersize=5.5,
                  **MARKS[name])  # fmt: skip


def _draw_dissolved(axes: Axes, signal: DissolvedSignal, colour: str) -> None:
    axes.plot(signal.table["time"], signal.table["dissolved"], color=colour, linewidth=1.1)
    high = signal.table["dissolved"]
    if signal.limit is not None:
        hatch_above(axes, signal.table, "dissolved", signal.limit)
        line_across(axes, signal.limit, label("figure.limit"), 0.9)
        high = pd.concat([high, pd.Series([signal.limit])])
    _scale(axes, high, signal.measure)
    for name in ("regenerated", "unrestored"):
        if times := getattr(signal, name):  # what is not clipped and empty would have no room in the layout
            axes.plot(date2num(list(times)), [0.0] * len(times), linestyle="none", markersize=4.5, clip_on=False,
                      zorder=3.0, **MARKS[name])  # fmt: skip


def _scale(axes: Axes, values: pd.Series, measure: Measure) -> None:
    top = float(values.max()) if values.notna().any() else 0.0
    from_zero(axes, top)
    axes.set_title(measure.label, pad=3.0, **PANEL_TITLE)
    axes.yaxis.set_major_locator(MaxNLocator(nbins=3, steps=[1, 2, 5, 10]))
    plain_numbers(axes.yaxis)
    axes.grid(axis="y")


def _draw_round(axes: Axes, week: WeekPicture, each: Round, *, named: bool) -> None:
    """A lane for each vessel, and one for what the unit or the service gets meanwhile."""
    names = _lanes(week)
    happened = {name: getattr(week, name) for name in ("held", "raw", "starved")}
    draw_lanes(axes, names, week.washes, happened, each)
    name_rows(axes, names if named else [""] * len(names))
    axes.set_title(dated(each.start, "moment"), fontsize=8.5, y=1.0)
    _clock_axis(axes, each)


def draw_lanes(
    axes: Axes, names: Sequence[str], washes: WashBars, happened: Mapping[str, Sequence[Span]], shown: Round,
    shift: timedelta = timedelta(),
) -> None:  # fmt: skip
    """The steps of a round in the lanes of their vessels, and in the last lane what happens meanwhile."""
    spans = [(names.index(vessel), start, end, step) for vessel, step, start, end in bars_of(washes)]
    spans += [(len(names) - 1, *span, name) for name, found in happened.items() for span in found]
    for lane, start, end, name in spans:
        if start < shown.end and end > shown.start:
            draw_bar(axes, lane, start + shift, end + shift, name)
    axes.grid(axis="x")


def clock_ticks(axes: Axes, ticks: Sequence[datetime], start: datetime, end: datetime) -> None:
    """Times of day from `start` to `end`."""
    axes.set_xticks(date2num(ticks), [f"{tick:%H:%M}" for tick in ticks])
    axes.set_xlim(float(date2num(start)), float(date2num(end)))


def _lanes(week: WeekPicture) -> list[str]:
    """A name for each lane: the vessels, and the unit or, where raw water goes on to it, the service."""
    if week.level is not None:
        return [*week.washes.vessels, label("week.unit")]
    return [*week.washes.vessels, *([label("week.service")] if week.raw else [])]


def draw_bar(axes: Axes, lane: int, start: datetime, end: datetime, name: str) -> None:
    """A bar from one time to another in a lane, with the face of a step or of what happens to the unit."""
    left = float(date2num(start))
    axes.barh(lane, float(date2num(end)) - left, left=left, height=THICK, linewidth=0.8, **FACES[name])


def _clock_axis(axes: Axes, each: Round) -> None:
    """Times of day, every 5 minutes to every 12 hours."""
    start, end = each.start - BESIDE, each.end + BESIDE
    midnight = start.replace(hour=0, minute=0, second=0, microsecond=0)
    steps = [timedelta(minutes=each) for each in CLOCK_STEPS]
    step = next(each for each in steps if (end - start) / each <= CLOCK_TICKS)
    first = midnight + -(-(start - midnight) // step) * step
    clock_ticks(axes, ticks_between(first, end, step), start, end)


def _legend(week: WeekPicture) -> list[Any]:
    """What is met in this week, and nothing else."""
    steps = [step for step in (*STEPS, "wait") if (week.washes.table["step"] == step).any()]
    unit = [name for name in ("held", "raw", "starved") if getattr(week, name)]
    handles: list[Any] = [Patch(label=term("lane", name), **FACES[name]) for name in (*steps, *unit)]
    marks = [name for name in ("raw", "starved") if getattr(week, name)]
    marks += [name for name in ("early", "missed") if any(getattr(each, name) for each in week.signals)]
    shown = shown_dissolved(week)
    marks += [name for name in ("regenerated", "unrestored") if any(getattr(each, name) for each in shown)]
    handles += [
        Line2D([], [], linestyle="none", markersize=5.0, label=term("mark", name), **MARKS[name])
        for name in marks
    ]
    return handles
