"""What the figures for a wall are made from: one message each, numbers already in display units."""

from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd

from plots.inputs import Measure, Span, WashBars
from plots.words import Amount


@dataclass(frozen=True, slots=True, kw_only=True)
class Bars:
    """One figure at several settings: a bar for each, with its text; drawn up to `most`, absent: its own highest."""

    measure: Measure
    names: tuple[str, ...]
    values: tuple[float, ...]
    texts: tuple[str, ...]
    most: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RinseWall:
    """Water after a return to service: a column of `after_return` for each rinse, minutes since then as its index."""

    title: str
    after_return: pd.DataFrame
    solids: Measure
    limit: float | None
    bars: tuple[Bars, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StormCourse:
    """One way to start a wash around a storm.

    `table`: day, feed, outlet, pressure, nan where the filter is not in service; `washes` are the days on which one
    starts; `over` is its time over the limit.
    """

    policy: str
    table: pd.DataFrame
    washes: tuple[float, ...]
    over: Amount


@dataclass(frozen=True, slots=True, kw_only=True)
class StormWall:
    """A storm as several ways to start a wash met it, side by side."""

    title: str
    courses: tuple[StormCourse, ...]
    feed: Measure
    solids: Measure
    pressure: Measure
    limit: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Residual:
    """What each wash of a run left in the bed: `table` has week and residual; `height`: of the bed in the wash."""

    name: str
    table: pd.DataFrame
    height: float
    height_text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WarmWall:
    """Panels by name, each with the residuals of several washes; `top`: of the vessel, where the outlet is."""

    title: str
    panels: Mapping[str, tuple[Residual, ...]]
    residual: Measure
    height: Measure
    top: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StaggerRound:
    """The washes of one way to lay them, of which one round is drawn; `feed`: solids by time, nan for none."""

    name: str
    washes: WashBars
    held: tuple[Span, ...]
    raw: tuple[Span, ...]
    feed: pd.Series


@dataclass(frozen=True, slots=True, kw_only=True)
class StaggerWall:
    """A round of washes each way, one below the other on the same hours, what the unit gets in it, and what each way
    comes to; `limit` is that of the unit's feed, which `feed` measures."""

    title: str
    rounds: tuple[StaggerRound, ...]
    feed: Measure
    limit: float
    bars: tuple[Bars, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Signal:
    """What a switch saw before a wash, by minutes before it."""

    name: str
    minutes: tuple[float, ...]
    signal: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldWall:
    """Washes by what started them at several holds, and the signals that some of them `seen` before one.

    `table`: hold, early (on a spike alone), in_time, longest_run, pressure (at the wash), works (neither early
    nor never).
    """

    title: str
    table: pd.DataFrame
    pressure: Measure
    set_point: float
    signals: tuple[Signal, ...]
    seen: Measure


@dataclass(frozen=True, slots=True, kw_only=True)
class BarsWall:
    """Several figures of the same ways, one below the other."""

    title: str
    bars: tuple[Bars, ...]


Wall = RinseWall | StormWall | WarmWall | StaggerWall | HoldWall | BarsWall
