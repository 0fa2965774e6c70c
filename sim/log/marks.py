"""Washes from the marks of a log."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sim.case.series.sheet import Dates, stamp_of
from sim.case.time_rules import seconds_of_day
from sim.case.units import DAY, HOUR
from sim.log.records import Washed

ONE_WASH = 2 * HOUR
"""Marks in rows one after another, closer than this [s], are of one wash."""

YES = frozenset({"x", "1", "1.0", "w", "y", "yes", "true", "wash", "washed"})
NO = frozenset({"0", "0.0", "-", "n", "no", "false"})

_CLOCK = re.compile(r"([0-9]{1,2}:[0-9]{2}):([0-9]{2})")


@dataclass(frozen=True, slots=True)
class Mark:
    """A wash that began at a time [s], marked in a row; `timed` where the mark says when."""

    row: int
    start: float
    timed: bool


def mark_of(text: str, row: int, time: float, stamp: datetime, dates: Dates) -> tuple[Mark, ...]:
    """What is written of washes in one row at `time` [s], `stamp` on the clock of the log.

    A mark, or more with a plus sign between them; a time of day is the last such time up to the row's. ValueError for
    what is neither a mark nor a time up to then.
    """
    if "+" in text:
        return tuple(mark for part in text.split("+") for mark in mark_of(part.strip(), row, time, stamp, dates))
    word = text.lower()
    if word in NO:
        return ()
    if word in YES:
        return (Mark(row, time, timed=False),)
    began = stamp_of(text, dates) or _last_at(text, stamp)
    if began > stamp:
        raise ValueError(text)
    return (Mark(row, time - (stamp - began).total_seconds(), timed=True),)


def _last_at(text: str, stamp: datetime) -> datetime:
    """The last moment up to `stamp` at which a clock showed a time of day."""
    found = _CLOCK.fullmatch(text)
    seconds = seconds_of_day(found[1] if found else text) % DAY + (float(found[2]) if found else 0.0)
    began = stamp.replace(hour=0, minute=0, second=0, microsecond=0) + timedelta(seconds=seconds)
    return began if began <= stamp else began - timedelta(days=1)


def washes_marked(marks: Sequence[Mark], at: Sequence[float]) -> tuple[Washed, ...]:
    """The washes that marks tell, in the order of time; `at` has the times of all rows [s].

    Marks without a time in rows one after another are one wash, which began after the row before and was over at the
    row behind. A wash before the first row is not of this log.
    """
    washes: dict[float, Washed] = {}
    first = 0
    for number, mark in enumerate(marks):
        follows = number + 1 < len(marks) and _is_of_one(mark, marks[number + 1], at)
        if follows:
            continue
        begun, first = marks[first], number + 1
        start, end = begun.start, None
        if begun.row < mark.row:
            start = at[begun.row - 1] if begun.row and start - at[begun.row - 1] < ONE_WASH else start
            end = at[mark.row + 1] if mark.row + 1 < len(at) and at[mark.row + 1] - at[mark.row] < ONE_WASH else None
        if start >= 0.0:
            washes.setdefault(start, Washed(start=start, end=end, drained=None, found="marked"))
    return tuple(washes[start] for start in sorted(washes))


def _is_of_one(mark: Mark, later: Mark, at: Sequence[float]) -> bool:
    near = later.row == mark.row + 1 and at[later.row] - at[mark.row] < ONE_WASH
    return near and not mark.timed and not later.timed
