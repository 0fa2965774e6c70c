"""A log as pieces in which flow and water are constant: what a run takes as its demand and its feed.

A reading holds from the one before it up to its own time, so that a pressure drop stands beside the flow at which it
was read. Where there is a total, flows are scaled so that between its readings just so much passes; while a wash
lasts nothing does.

Between two readings a log tells what passed, not when: its pieces have the mean flow. A gauge read in the quiet of
the night shows the quiet flow, and the bed keeps more back then. So `as_read` gives the minute that ends at a reading
flow and water as read, the rest of its piece the remainder; over more than an hour, water changes evenly from one
reading to the next.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, TypeAlias

import numpy as np

from sim.case.record import record
from sim.case.units import HOUR, MINUTE
from sim.log.records import Log, Series, What

Values: TypeAlias = np.ndarray[Any, np.dtype[np.float64]]
Flags: TypeAlias = np.ndarray[Any, np.dtype[np.bool_]]

FINE_ENOUGH = 100.0
"""Readings of a total are taken this many of its resolutions apart, which makes what passed sure to 1 %."""

SAME = 1e-12
"""Relative; neighbours that differ by less are equal."""

AS_GOOD = 0.05
"""Of a flow: the mean of a piece, which a total tells, is then better than the one read."""


@record
class Pieces:
    """Row i holds from the end of row i - 1, or from the start of the log, up to `end[i]` [s].

    `flow` [m3/s] through the filter to service, `turbidity` [NTU], `temperature` [degC], `hardness` [g/m3 CaCO3],
    `chlorine` [g/m3 Cl2] of the water ahead of it; None where the log has no such readings.
    """

    end: tuple[float, ...]
    flow: tuple[float, ...]
    turbidity: tuple[float, ...] | None
    temperature: tuple[float, ...] | None
    hardness: tuple[float, ...] | None
    chlorine: tuple[float, ...] | None


WATER = {
    "turbidity": What.TURBIDITY_IN,
    "temperature": What.TEMPERATURE,
    "hardness": What.HARDNESS_IN,
    "chlorine": What.CHLORINE_IN,
}


def pieces(log: Log, most: int = 10_000, *, wash_length: float = 0.0) -> Pieces:
    """The log in at most about `most` pieces; `wash_length` [s] is that of a wash whose end it does not say.

    The edges of washes stay, equal neighbours are one piece, and of the others those are joined that differ least:
    each by its mean, so that what passes is the same.
    """
    washes = np.array([
        (wash.start, max(wash.start, wash.start + wash_length if wash.end is None else wash.end))
        for wash in log.washes
    ]).reshape(-1, 2).clip(0.0, log.length)  # fmt: skip
    times = [series.times for series in log.series if series.what is not What.DRAIN]
    edges = np.unique(np.concatenate([[0.0, log.length], washes.ravel(), *times]))
    lengths, middles = np.diff(edges), (edges[1:] + edges[:-1]) / 2.0
    place = np.searchsorted(washes[:, 0], middles) - 1
    washing = (place >= 0) & (middles < washes[place, 1]) if len(washes) else np.zeros(len(middles), dtype=bool)
    volumes = _volumes(log, washes, edges, washing)
    water = {name: _held(series, edges[1:]) for name, what in WATER.items() if (series := log.of(what)) is not None}
    kept = _kept(edges, np.isin(edges[:-1], washes), [volumes / lengths, *water.values()], most)

    def mean(amounts: Values) -> tuple[float, ...]:
        return tuple((np.add.reduceat(amounts, kept) / np.add.reduceat(lengths, kept)).tolist())

    told = {name: mean(water[name] * lengths) if name in water else None for name in WATER}
    return Pieces(end=(*edges[kept[1:]].tolist(), log.length), flow=mean(volumes), **told)


def _held(series: Series, ends: Values) -> Values:
    """The reading at or next after each of some ends; the last one beyond it."""
    place = np.searchsorted(series.times, ends).clip(max=len(series.times) - 1)
    values: Values = np.array(series.values)[place]
    return values


def _volumes(log: Log, washes: Values, edges: Values, washing: Flags) -> Values:
    """What passes between neighbouring edges [m3]."""
    flow, total, lengths = log.of(What.FLOW), log.of(What.TOTAL), np.diff(edges)
    shape: Values = lengths * np.where(washing, 0.0, 1.0 if flow is None else _held(flow, edges[1:]))
    if total is None:
        return shape
    times, values = _sure(total, washes)
    stretch = (np.searchsorted(times, edges[1:]) - 1).clip(0, len(times) - 2)
    beyond = (edges[1:] <= times[0]) | (edges[:-1] >= times[-1])
    inside = np.where(beyond, 0.0, shape)
    sums, spans = (np.bincount(stretch, each, len(times) - 1) for each in (inside, np.where(beyond, 0.0, lengths)))
    passed = np.diff(values)
    even = lengths * (passed / np.maximum(spans, SAME))[stretch]
    scaled = shape * (passed / np.maximum(sums, SAME**2))[stretch]
    within: Values = np.where(sums[stretch] > 0.0, scaled, even)
    return np.where(beyond, shape if flow is not None else even, within)


def _sure(total: Series, washes: Values) -> tuple[Values, Values]:
    """The readings of a total that are far enough apart, those about washes, the first and the last."""
    times, values = np.array(total.times), np.array(total.values)
    if len(times) == 1:
        return np.append(times, times + 1.0), np.append(values, values)
    steps = np.floor((values - values[0]) / (FINE_ENOUGH * total.resolution))
    kept = np.append(True, np.diff(steps) > 0.0)
    about = (np.searchsorted(times, washes[:, 0], side="right") - 1, np.searchsorted(times, washes[:, 1]))
    kept[np.concatenate([*about, [len(times) - 1]]).clip(0, len(times) - 1)] = True
    return times[kept], values[kept]


def _kept(edges: Values, fixed: Flags, columns: list[Values], most: int) -> Any:
    """The places of the pieces that others join: the first, those at fixed edges, the rest by how much changes."""
    changes = np.zeros(len(edges) - 1)
    for column in columns:
        steps = np.abs(np.diff(column, prepend=column[0]))
        steps[steps <= SAME * np.abs(column).max()] = 0.0
        changes += steps / max(steps.sum(), SAME)
    kept = (changes > 0.0) | fixed
    kept[0] = True
    if kept.sum() > most:
        joint = np.cumsum(changes / max(changes.sum(), SAME)) + edges[:-1] / edges[-1]
        room = max(most - int(fixed.sum()) - 1, 1)
        kept = fixed | (np.diff(np.floor(joint * room / 2.0), prepend=-1.0) > 0.0)
        kept[0] = True
    return np.flatnonzero(kept)


def as_read(told: Pieces, log: Log, times: Sequence[float]) -> Pieces:
    """`told` with the minute before each of some rising times as read; what passes stays the same."""
    if not times:
        return told
    ends = np.array(told.end)
    starts = np.concatenate(([0.0], ends[:-1]))
    whole = {name: np.array(values) for name in ("flow", *WATER) if (values := getattr(told, name)) is not None}
    read = dict(whole)
    if "turbidity" in whole:
        own = whole["turbidity"]
        before = np.concatenate((own[:1], own[:-1]))
        whole["turbidity"] = np.where(ends - starts > HOUR * (1.0 + 1e-9), 0.5 * (before + own), own)
    series = log.of(What.FLOW)
    flows = {} if series is None else dict(zip(series.times, series.values, strict=True))
    at = np.array(times, dtype=float)
    place = np.searchsorted(ends, at).clip(max=len(ends) - 1)
    first = at <= 0.0  # a reading as the log begins is of the minute after
    room = np.minimum(MINUTE, np.where(first, ends[place], at - starts[place]) / 2.0)
    opens, closes = np.where(first, 0.0, at - room), np.where(first, room, at)
    opens[1:] = np.maximum(opens[1:], closes[:-1])
    cut = np.unique(np.concatenate([ends, opens[opens > 0.0], closes]))
    lengths, middles = np.diff(cut, prepend=0.0), cut - np.diff(cut, prepend=0.0) / 2.0
    piece = np.searchsorted(ends, middles).clip(max=len(ends) - 1)
    values = {name: each[piece] for name, each in whole.items()}
    minute = np.searchsorted(closes, middles).clip(max=len(closes) - 1)
    within = (middles > opens[minute]) & (middles < closes[minute]) & (values["flow"] > 0.0)
    for name in values:
        values[name] = np.where(within, read[name][piece], values[name])
    looked = np.array([flows.get(float(time), -1.0) for time in at])[minute]
    mean = whole["flow"][piece]
    looked = np.where(np.abs(looked - mean) > AS_GOOD * mean, looked, 0.0)
    looked = np.where(within & (looked > 0.0), looked, 0.0)
    taken, left = (np.bincount(piece, each, len(ends)) for each in (looked * lengths, lengths * (looked <= 0.0)))
    rest = (whole["flow"] * (ends - starts) - taken)[piece] / np.maximum(left, 1e-9)[piece]
    values["flow"] = np.where(looked > 0.0, looked, np.where(values["flow"] > 0.0, np.maximum(rest, 0.0), 0.0))
    return replace(told, end=tuple(cut.tolist()), **{name: tuple(each.tolist()) for name, each in values.items()})
