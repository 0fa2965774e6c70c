"""Figures for a wall about whole trains: hours of washes, and how long a switch must be on."""

from datetime import datetime, timedelta
from textwrap import wrap
from typing import Any

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch
from matplotlib.ticker import MaxNLocator, NullLocator

from plots.parts import from_zero, name_rows, note, plain_numbers
from plots.style import INK, PALE, look, ticks_between
from plots.wall_inputs import HoldWall, StaggerRound, StaggerWall
from plots.wall_parts import BAR_HIGH, LINE, PANEL_TITLE, TEXT, draw_bars, line_at, name_line, shown
from plots.week import FACES, STEPS, Round, clock_ticks, draw_lanes, rounds_of
from plots.words import label, term

BESIDE = timedelta(minutes=8)
TICK = timedelta(minutes=30)
BAR_ROWS, LEGEND_ROWS = 5, 7  # of the page's grid
AXIS_CHARACTERS = 10  # of a line beside a low axis
BARS_CHARACTERS = 30  # of a line over the bars
WAYS: dict[str, dict[str, Any]] = {
    "early": {"facecolor": "white", "edgecolor": look(1).colour, "hatch": "xxxx"},
    "in_time": {"facecolor": "white", "edgecolor": look(0).colour, "hatch": "////"},
    "longest_run": {"facecolor": PALE, "edgecolor": INK, "hatch": ""},
}


def draw_stagger(wall: StaggerWall, figure: Figure) -> None:
    """The lanes of every way on the same hours, and bars beside them."""
    height = BAR_ROWS * len(wall.bars) + LEGEND_ROWS
    rows = height // len(wall.rounds)
    grid = figure.add_gridspec(height, 2, width_ratios=(3, 2))
    most = max(float(each.feed.max()) for each in wall.rounds)
    drawn = [_telling_round(each) for each in wall.rounds]
    day = min(each.start for each in drawn).replace(hour=0, minute=0, second=0, microsecond=0)
    start = min(_clock(each.start, day) for each in drawn) - BESIDE
    end = max(_clock(each.start, day) + (each.end - each.start) for each in drawn) + BESIDE
    for place, (each, seen) in enumerate(zip(wall.rounds, drawn, strict=True)):
        last = place == len(wall.rounds) - 1
        inner = grid[place * rows : height if last else (place + 1) * rows, 0].subgridspec(2, 1, height_ratios=(5, 2))
        lanes, feed = figure.add_subplot(inner[0]), figure.add_subplot(inner[1])
        names = [*each.washes.vessels, label("week.unit")]
        shift = _clock(seen.start, day) - seen.start
        draw_lanes(lanes, names, each.washes, {"held": each.held, "raw": each.raw}, seen, shift)
        name_rows(lanes, names)
        lanes.set_title(shown(each.name), fontsize=TEXT)
        ticks = ticks_between(start.replace(minute=0, second=0, microsecond=0), end, TICK)
        clock_ticks(lanes, ticks, start, end)
        lanes.spines["bottom"].set_visible(False)
        lanes.tick_params(axis="x", bottom=False, labelbottom=False)
        feed.tick_params(axis="x", labelbottom=last)
        draw_feed(feed, each.feed[(each.feed.index >= seen.start - BESIDE) & (each.feed.index <= seen.end + BESIDE)],
                  shift, wall, most)
        clock_ticks(feed, ticks, start, end)
        if place == 0:
            name_line(feed, wall.limit, label("figure.limit"))
    feed.set_xlabel(wall.feed.label)
    for place, bars in enumerate(wall.bars):
        axes = figure.add_subplot(grid[place * BAR_ROWS : (place + 1) * BAR_ROWS, 1])
        draw_bars(axes, bars)
        axes.set_title("\n".join(wrap(bars.measure.label, BARS_CHARACTERS)), fontsize=PANEL_TITLE)
    steps = [step for step in STEPS if (wall.rounds[0].washes.table["step"] == step).any()]
    handles = [Patch(label=term("lane", name), **FACES[name]) for name in (*steps, "held", "raw")]
    corner = figure.add_subplot(grid[-LEGEND_ROWS:, 1])
    corner.set_axis_off()
    corner.legend(handles=handles, loc="lower left", handlelength=1.6, fontsize=TEXT, borderaxespad=0.0,
                  title=label("wall.check_stops"), title_fontsize=TEXT, alignment="left")  # fmt: skip


def draw_feed(axes: Axes, feed: pd.Series, shift: timedelta, wall: StaggerWall, most: float) -> None:
    """What reaches the unit on a scale in tens, its limit, and when it is over it."""
    times = [time + shift for time in feed.index]
    over = feed > wall.limit
    axes.fill_between(times, 0.0, 1.0, where=over | over.shift(fill_value=False), color=look(1).colour, alpha=0.35,
                      linewidth=LINE, transform=axes.get_xaxis_transform())  # fmt: skip
    axes.plot(times, feed, color=look(1).colour)
    axes.set_yscale("log")
    axes.set_ylim(wall.limit / 4.0, 1.5 * max(most, wall.limit))
    axes.set_yticks([wall.limit, *([most] if most > 2.0 * wall.limit else [])])
    plain_numbers(axes.yaxis)
    axes.yaxis.set_minor_locator(NullLocator())
    line_at(axes, wall.limit)


def _telling_round(each: StaggerRound) -> Round:
    """All washes that start on one date, that with the most raw water sent on; of equals the first."""
    found = rounds_of(each.washes)
    dates = sorted({one.start.date() for one in found})
    raw = {date: sum((span.end - span.start for span in each.raw if span.start.date() == date), timedelta())
           for date in dates}  # fmt: skip
    same = [one for one in found if one.start.date() == max(dates, key=lambda date: raw[date])]
    return Round(same[0].start, same[-1].end)


def _clock(time: datetime, day: datetime) -> datetime:
    """The same time of day on another date."""
    return datetime.combine(day.date(), time.time())


def draw_hold(wall: HoldWall, figure: Figure) -> None:
    """What the switch saw on top; washes by what started them, and the pressure drop at which they came below it.

    The holds between are on grey.
    """
    rows = figure.subfigures(2, 1, height_ratios=(2, 5), squeeze=False)[:, 0]
    draw_signals(rows[0], wall)
    upper, lower = rows[1].subplots(2, 1, sharex=True)
    places = range(len(wall.table))
    below = [0.0] * len(wall.table)
    for name, face in WAYS.items():
        values = wall.table[name].tolist()
        some = [place for place in places if values[place]]
        upper.bar(some, [values[place] for place in some], bottom=[below[place] for place in some], width=BAR_HIGH,
                  linewidth=LINE, label=term("wall_wash", name), **face)  # fmt: skip
        below = [before + value for before, value in zip(below, values, strict=True)]
    for place, count in enumerate(below):
        note(upper, f"{count:.0f}", (place, count), (0, 3), across="center", up="bottom", fontweight="bold")
    upper.set_ylim(0.0, 1.5 * max(below))
    upper.set_title(label("wall.washes"))
    upper.yaxis.set_major_locator(MaxNLocator(integer=True, nbins=4))
    upper.legend(loc="upper right", handlelength=1.6, fontsize=TEXT, ncols=2, borderaxespad=0.0)
    lower.plot(places, wall.table["pressure"], color=look(0).colour, linestyle="none", marker="o", markersize=10.0)
    line_at(lower, wall.set_point)
    note(lower, label("figure.set_point"), (0.0, wall.set_point), (4.0, 3.0), up="bottom",
         xycoords=("axes fraction", "data"))  # fmt: skip
    from_zero(lower, max(float(wall.table["pressure"].max()), wall.set_point))
    lower.set_title(wall.pressure.label)
    lower.set_xticks(places, wall.table["hold"])
    lower.set_xlabel(label("wall.held_for"))
    _mark_window(upper, lower, wall)
    for axes in (upper, lower):
        axes.grid(axis="y")


def draw_signals(figure: Any, wall: HoldWall) -> None:
    """Signals before a wash beside each other on one scale, and the set point across."""
    if not wall.signals:
        return
    panels = figure.subplots(1, len(wall.signals), sharey=True, squeeze=False)[0]
    for axes, each in zip(panels, wall.signals, strict=True):
        axes.plot(each.minutes, each.signal, color=look(0).colour, linewidth=LINE)
        line_at(axes, wall.set_point)
        axes.set_xlim(each.minutes[0], each.minutes[-1])
        axes.plot([0.0], [0.9], marker="v", color=INK, transform=axes.get_xaxis_transform(), clip_on=False)
        axes.set_title(each.name, fontsize=TEXT)
        axes.set_xticks([each.minutes[0], each.minutes[0] / 2.0, 0.0])
        axes.set_xlabel(label("wall.before_wash"))
    from_zero(panels[0], max(max(each.signal) for each in wall.signals))
    panels[0].set_ylabel("\n".join(wrap(wall.seen.label, AXIS_CHARACTERS)))


def _mark_window(upper: Axes, lower: Axes, wall: HoldWall) -> None:
    """Grey behind the holds between."""
    works = [place for place, each in enumerate(wall.table["works"]) if each]
    if not works:
        return
    for axes in (upper, lower):
        axes.axvspan(works[0] - 0.5, works[-1] + 0.5, facecolor=PALE, alpha=0.45, linewidth=0.0, zorder=0.0)
    note(lower, label("wall.between"), ((works[0] + works[-1]) / 2.0, 0.0), (0.0, 6.0), across="center",
         up="bottom", fontweight="bold")  # fmt: skip
