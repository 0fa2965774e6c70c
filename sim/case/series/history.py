"""A column of a CSV file by itself: what was recorded, hour by hour, with its gaps left open."""

import math
from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path

from sim.case.limits import FLOW, SOLIDS, TEMPERATURE, TURBIDITY
from sim.case.record import record
from sim.case.series.file_series import CSV_FILE, points_of, rows_of, wrong_columns
from sim.case.series.file_times import FileClock
from sim.case.series.records import Remedy
from sim.case.series.schema import FileTable
from sim.case.series.sheet import Complaints, Row, read_sheet
from sim.case.series.treatment import Request, Treatment
from sim.case.series.zones import NO_ZONE
from sim.case.source import read_text
from sim.case.spelling import escaped, nearest_or, plain_duration, shown
from sim.case.units import HOUR
from sim.case.values import Quantity
from sim.errors import Problem, RefusedValue

KEYS: dict[str, Quantity] = {
    "feed.turbidity": TURBIDITY,
    "feed.suspended_solids": SOLIDS,
    "feed.temperature": TEMPERATURE,
    "demand.flow": FLOW,
}
"""Where in a case a series of each kind of unit belongs."""


@record
class History:
    """Hourly means from midnight on `start`, standard time of the file; nan where the hour has no value.

    `key` is where the series belongs in a case, which fixes the unit (SI); `unit` is that of the file. `step` [s] is
    the commonest spacing of its rows, `remedies` tell what was changed.
    """

    key: str
    unit: str
    start: datetime
    step: float
    hourly: tuple[float, ...]
    remedies: tuple[Remedy, ...]

    def in_file_unit(self, value: float) -> float:
        """A value [SI] in the unit of the file."""
        return KEYS[self.key].kind.units[self.unit].from_si(value)


def key_of(unit: str) -> str:
    """Where in a case a series in this unit belongs; RefusedValue if no series is in it."""
    for key, limits in KEYS.items():
        if unit in limits.kind.units:
            return key
    known = [unit for limits in KEYS.values() for unit in limits.kind.units]
    raise RefusedValue(shown(unit), f"the units {', '.join(known)}", nearest_or(unit, known, "one of these"))


def read_history(path: Path, table: FileTable) -> History:
    """The column that a table asks for; its `file` is not used, `path` is.

    Raises CaseError with every problem of the file, RefusedValue for a unit that no series has.
    """
    key = key_of(table.unit)
    complaints = Complaints(escaped(str(path)), key, by_option=True)
    sheet = read_sheet(read_text(path, CSV_FILE), complaints)
    complaints.stop()
    complaints.problems += [
        Problem(complaints.file, 1, f"--{each.path[-1]}", each.given, each.allowed, each.try_)
        for each in wrong_columns(sheet.header, table, ())
    ]
    complaints.stop()
    treated = _treated(rows_of(sheet, table, complaints), key, table, complaints)
    hourly = _hourly([point.time for point in treated.points], treated.values)
    return History(
        key=key, unit=table.unit, start=treated.request.start, step=treated.step, hourly=hourly,
        remedies=tuple(treated.remedies),
    )  # fmt: skip


def _treated(rows: Sequence[Row], key: str, table: FileTable, complaints: Complaints) -> Treatment:
    zone = table.zone or NO_ZONE
    clock = FileClock(zone, None if table.clock == "local" else zone.offset or timedelta(0))
    start = rows[0].stamp.replace(hour=0, minute=0, second=0, microsecond=0)
    ahead = max(zone.standard_offsets([start.year]))
    points, step = points_of(rows, clock, start - (clock.ahead if clock.ahead is not None else ahead), complaints)
    if step > HOUR and key != "feed.temperature":
        complaints.add([1], f"a row every {plain_duration(step)}", "a row every hour or more often", "a finer record")
    place = key.partition(".")
    request = Request(
        place=(place[0], place[2]), table=table, limits=KEYS[key], start=start, length=points[-1].time + step
    )
    treated = Treatment(points, step, request, complaints)
    complaints.stop()
    return treated


def _hourly(times: Sequence[float], values: Sequence[float | None]) -> tuple[float, ...]:
    """The mean of the values within each hour; a value counts in the hour in which its time lies."""
    count = math.floor(times[-1] / HOUR) + 1
    sums, counts = [0.0] * count, [0] * count
    for time, value in zip(times, values, strict=True):
        if value is not None and time >= 0.0:
            sums[math.floor(time / HOUR)] += value
            counts[math.floor(time / HOUR)] += 1
    return tuple(total / number if number else math.nan for total, number in zip(sums, counts, strict=True))
