"""What a case asks of a file: which numbers, for which time."""

from datetime import datetime, timedelta

from sim.case.record import record
from sim.case.series.schema import FileTable
from sim.case.units import DAY, HOUR
from sim.case.values import Quantity

LONGEST_GAP = 6 * HOUR
"""Longest gap that a remedy fills where the case does not say [s]."""

STUCK_AFTER, STUCK_STEPS = DAY, 12
"""A value counts as stuck beyond this time [s] and this many steps where the case does not say."""


@record
class Request:
    """The place of the series in the case and its table, the range of its values, start and length [s] of the run."""

    place: tuple[str, str]
    table: FileTable
    limits: Quantity
    start: datetime
    length: float

    @property
    def key(self) -> str:
        """The dotted key."""
        return ".".join(self.place)

    def si(self, number: float) -> float:
        """A number of the file in the unit of the records."""
        unit = self.limits.kind.units[self.table.unit]
        return ((1.0 if self.table.scale is None else self.table.scale) * number - unit.zero) * unit.factor

    def told(self, number: float) -> str:
        """A number of the file as a message shows it."""
        scaled = "" if self.table.scale is None else f" times {self.table.scale:g}"
        return f"{number:g} {self.table.unit}{scaled}"

    def clock(self, time: float) -> str:
        """A time [s from the start of the run] on the run's clock, as a case file gives it."""
        return (self.start + timedelta(seconds=time)).isoformat()

    def stuck_after(self, step: float) -> float:
        """How long a value of a file with this step may stay the same [s]."""
        given = self.table.stuck_after
        return max(STUCK_AFTER, STUCK_STEPS * step) if given is None else given

    @property
    def longest_gap(self) -> float:
        """Longest gap that the remedy may fill [s]."""
        return LONGEST_GAP if self.table.longest_gap is None else self.table.longest_gap
