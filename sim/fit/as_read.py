"""The pieces of a log with what was read at the moments at which the model is compared.

Between two readings a log tells what passed, not when: its pieces have the mean flow. A gauge read in the quiet of
the night shows the quiet flow, and the bed keeps more back then. So the minute that ends at a reading has flow and
water as read, the rest of its piece the remainder; over more than an hour, water changes evenly from one reading to
the next.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, TypeAlias

import numpy as np

from sim.log.pieces import Pieces
from sim.log.records import Log, What

Values: TypeAlias = np.ndarray[Any, np.dtype[np.float64]]

MINUTE, HOUR = 60.0, 3600.0
AS_GOOD = 0.05  # of a flow: the mean of a piece, which a total tells, is then better than the one read
NAMES = ("flow", "turbidity", "temperature", "hardness", "chlorine")


def as_read(told: Pieces, log: Log, times: Sequence[float]) -> Pieces:
    """`told` with the minute before each of some rising times as read; what passes stays the same."""
    if not times:
        return told
    ends = np.array(told.end)
    starts = np.concatenate(([0.0], ends[:-1]))
    whole = {name: np.array(values) for name in NAMES if (values := getattr(told, name)) is not None}
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
