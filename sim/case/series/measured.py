"""One series from the points of a file: gaps filled or refused, and a value at every time of the run.

A value holds from its time until the next one, at most for one step of the file. A gap is what no value holds for.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from sim.case.series.records import Measured, Remedied
from sim.case.series.treatment import Treatment
from sim.case.spelling import plain_duration

FILLED: Mapping[str, Remedied] = {
    "hold": "filled by holding the value before",
    "interpolate": "filled by interpolation",
}


@dataclass(frozen=True, slots=True)
class Known:
    """A value [SI] that a remedy has left standing, at its time [s] and its place among the points."""

    time: float
    value: float
    place: int


@dataclass(frozen=True, slots=True)
class Gap:
    """So many values missing between two that are known; none holds from `start` to `end` [s]."""

    before: Known
    after: Known
    missing: int
    start: float
    end: float

    @property
    def length(self) -> float:
        return self.end - self.start

    def values(self, remedy: str) -> list[tuple[float, float]]:
        """Times and values that fill it, evenly spaced."""
        spacing = (self.after.time - self.before.time) / (self.missing + 1)
        rise = (self.after.value - self.before.value) / (self.missing + 1) if remedy == "interpolate" else 0.0
        return [
            (self.before.time + part * spacing, self.before.value + part * rise)
            for part in range(1, self.missing + 1)
        ]


def measured(given: Treatment) -> Measured:
    """The values for the whole run; CaseError if something about them is refused."""
    known = [
        Known(point.time, value, place)
        for place, (point, value) in enumerate(zip(given.points, given.values, strict=True))
        if value is not None
    ]
    gaps = [gap for before, after in pairwise(known) for gap in _gap_between(before, after, given.step)]
    used = [gap for gap in gaps if gap.end > 0.0 and gap.start < given.until]
    _tell_cover(known, given)
    _tell_gaps(used, known, given)
    given.complaints.stop()
    return _joined(known, used, given)


def _gap_between(before: Known, after: Known, step: float) -> list[Gap]:
    # Half a step or less is no value left out: see HALF_MORE.
    missing = math.ceil((after.time - before.time) / step - 0.5) - 1
    return [Gap(before, after, missing, before.time + step, after.time)] if missing > 0 else []


def _tell_cover(known: Sequence[Known], given: Treatment) -> None:
    """Refuse values that do not reach from the start of the run to its end."""
    request, points = given.request, given.points
    if not known:
        given.complaints.add([points[0].line], "no number that can be used", "a column of numbers", "another column")
        return
    first, last = known[0].time, known[-1].time + given.step
    late = first > 0.0
    if not late and last >= given.until:
        return
    start = max(first, 0.0) if last > max(first, 0.0) else first
    given.complaints.add(
        [points[known[0 if late else -1].place].line],
        f"values from {request.clock(first)} to {request.clock(last)} on the run's clock",
        f"values for the whole run, {request.clock(0.0)} to {request.clock(request.length)}",
        f'start = {request.clock(start)} and length = "{plain_duration(last - start)}" at the most, under [run]; '
        "or a file that covers the run",
    )


def _tell_gaps(gaps: Sequence[Gap], known: Sequence[Known], given: Treatment) -> None:
    """Refuse gaps without a remedy or beyond its reach; otherwise put on record what it fills."""
    request, remedy = given.request, given.request.table.gaps
    beyond = [gap for gap in gaps if remedy == "refuse" or gap.length > request.longest_gap]
    if not beyond:
        times = [time for gap in gaps for time, _ in gap.values(remedy)]
        count = sum(map(given.uses, times))
        if remedy in FILLED:
            given.tell(FILLED[remedy], count, max((gap.length for gap in gaps), default=0.0))
        return
    longest = max(beyond, key=lambda gap: gap.length)
    length, allowed = plain_duration(longest.length), f"gaps of up to {plain_duration(request.longest_gap)}"
    told, enough = "a gap too long to fill", f'longest_gap = "{length}"'
    if remedy == "refuse":
        missing = sum(gap.missing for gap in beyond)
        told, allowed = f"missing values, {missing:,} in all", f"a value every {plain_duration(given.step)}"
        with_length = f", with {enough}" if longest.length > request.longest_gap else ""
        enough = given.complaints.remedy("gaps", "interpolate", "hold") + with_length
    given.complaints.add(
        [given.points[gap.before.place + 1].line for gap in beyond],
        f"{told}, the longest for {length} from {request.clock(longest.start)}",
        allowed,
        f"{enough}; {_run_without(beyond, known, given)}",
    )


def _run_without(gaps: Sequence[Gap], known: Sequence[Known], given: Treatment) -> str:
    """The longest part of the run that has values and none of these gaps, as a remedy."""
    starts = [max(known[0].time, 0.0), *(gap.end for gap in gaps)]
    ends = [*(gap.start for gap in gaps), min(known[-1].time + given.step, given.until)]
    start, end = max(zip(starts, ends, strict=True), key=lambda part: part[1] - part[0])
    if end <= start:
        return "or another file: the whole run lies in a gap"
    length = plain_duration(end - start)
    if given.complaints.by_option:
        return f"or a part without them, such as {length} from {given.request.clock(start)} on"
    return f'or a run without them, such as start = {given.request.clock(start)} and length = "{length}"'


def _joined(known: Sequence[Known], gaps: Sequence[Gap], given: Treatment) -> Measured:
    """Known and filled values in order, cut to the run."""
    filled = [pair for gap in gaps for pair in gap.values(given.request.table.gaps)]
    values = sorted([*((each.time, each.value) for each in known), *filled])
    ends = [*(time for time, _ in values[1:]), values[-1][0] + given.step]
    kept = [
        (min(end, given.request.length), value)
        for (time, value), end in zip(values, ends, strict=True)
        if end > 0.0 and time < given.until
    ]
    return Measured(end=tuple(end for end, _ in kept), value=tuple(value for _, value in kept))
