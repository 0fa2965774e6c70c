"""Times of a CSV file, as its clock shows them, turned into seconds of the run.

A clock that follows daylight saving shows one hour twice in autumn and leaves one out in spring. Of equal times on it
the first is the earlier one, as is one that stands alone; a time that the clock leaves out is refused.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from sim.case.series.sheet import Complaints, Row
from sim.case.series.zones import Zone, ahead
from sim.case.spelling import plain_duration

SECOND = timedelta(seconds=1)

STEADY_CLOCK = 'clock = "standard" if the clock of the file never changes'


@dataclass(frozen=True, slots=True)
class FileClock:
    """The clock of a file: always `ahead` of universal time, or None if it follows the daylight saving of `zone`."""

    zone: Zone
    ahead: timedelta | None

    def shows(self, stamp: datetime) -> tuple[timedelta, timedelta]:
        """How far the clock is ahead when it shows a time first, and when it does so last."""
        if self.ahead is not None:
            return self.ahead, self.ahead
        return offsets_at(self.zone, stamp)


def offsets_at(zone: Zone, stamp: datetime) -> tuple[timedelta, timedelta]:
    """Offsets of a zone's clock for a time on it: equal but where it goes back (less) or forward (more)."""
    clock = zone.clock
    return ahead(clock, stamp), ahead(clock, stamp.replace(fold=1))


def seconds_of(rows: Sequence[Row], clock: FileClock, origin: datetime, complaints: Complaints) -> list[float]:
    """Seconds from `origin`, a universal time, to each row; times that cannot be in order are told."""
    placed: list[tuple[Row, datetime]] = []
    skipped: list[tuple[int, str]] = []
    for row in rows:
        first, last = clock.shows(row.stamp)
        if first < last:
            skipped.append((row.line, row.stamp.isoformat()))
            continue
        moment = row.stamp - first
        if first > last and placed and moment <= placed[-1][1]:
            moment = row.stamp - last
        placed.append((row, moment))
    complaints.add_cells(
        skipped,
        f"times that the clock of {clock.zone.name} shows; it goes forward past this one",
        f"{STEADY_CLOCK}; otherwise leaving these rows out",
    )
    _tell_order(placed, clock, complaints)
    complaints.stop()
    return [(moment - origin) / SECOND for _, moment in placed]


def _tell_order(placed: Sequence[tuple[Row, datetime]], clock: FileClock, complaints: Complaints) -> None:
    wrong = [(before, row) for (before, earlier), (row, later) in pairwise(placed) if later <= earlier]
    again = [(row.line, row.stamp.isoformat()) for before, row in wrong if row.stamp == before.stamp]
    back = [(row.line, row.stamp.isoformat()) for before, row in wrong if row.stamp != before.stamp]
    remedy = "" if clock.ahead is None else f"{_local_clock(clock)} and goes back here; otherwise "
    complaints.add_cells(again, "every time once: the row before has the same", f"{remedy}one row for each time")
    complaints.add_cells(
        back, "rows from the oldest to the newest: the row before is newer", f"{remedy}sorting the rows by time"
    )


def _local_clock(clock: FileClock) -> str:
    """What to write for a clock that follows daylight saving."""
    place = "" if clock.zone.offset is None else "a zone by its place with "
    return f'{place}clock = "local" if the clock of the file follows daylight saving'


def commonest_step(seconds: Sequence[float]) -> float:
    """The spacing of rows that is found most often, the shorter of two equally frequent [s]."""
    spacings = Counter(later - earlier for earlier, later in pairwise(seconds))
    return max(spacings, key=lambda spacing: (spacings[spacing], -spacing))


def tell_absent_hours(rows: Sequence[Row], step: float, clock: FileClock, complaints: Complaints) -> None:
    """Rows are missing just where the zone goes forward, though the clock of the file is said not to."""
    if clock.ahead is None or clock.zone.offset is not None:
        return
    absent = [
        (row.line, f"{before.stamp.isoformat()}, then {row.stamp.isoformat()}")
        for before, row in pairwise(rows)
        if _is_left_out(before.stamp, row.stamp, step, clock.zone)
    ]
    complaints.add_cells(
        absent,
        f"a row every {plain_duration(step)} in between, on a clock that never changes",
        f"{_local_clock(clock)} and goes forward here; otherwise a row for each time, with an empty cell if need be",
    )


def _is_left_out(before: datetime, after: datetime, step: float, zone: Zone) -> bool:
    """Whether every time that is missing between two rows is one that the zone's clock never shows."""
    missing = round((after - before) / SECOND / step) - 1
    times = (before + place * step * SECOND for place in range(1, missing + 1))
    return missing > 0 and all(first < last for first, last in (offsets_at(zone, time) for time in times))
