"""A plant's own log as records: SI, times in seconds since its start."""

from datetime import datetime
from enum import StrEnum
from typing import Literal

from sim.case.record import record


class What(StrEnum):
    """What a reading is of."""

    FLOW = "flow"
    TOTAL = "total"
    PRESSURE_DROP = "pressure drop"
    TURBIDITY_IN = "turbidity in"
    TURBIDITY_OUT = "turbidity out"
    HARDNESS_IN = "hardness in"
    HARDNESS_OUT = "hardness out"
    CHLORINE_IN = "chlorine in"
    CHLORINE_OUT = "chlorine out"
    TEMPERATURE = "temperature"
    WASH = "wash"
    DRAIN = "drained"


@record
class Series:
    """Readings of one kind: values in m3/s, m3, Pa, NTU, g/m3 or degC; `resolution`: the least difference written."""

    what: What
    times: tuple[float, ...]
    values: tuple[float, ...]
    resolution: float


@record
class Washed:
    """A wash: when it began and, if known, ended [s], and what it sent to drain [m3]."""

    start: float
    end: float | None = None
    drained: float | None = None
    found: Literal["marked", "seen"] = "marked"


@record
class Log:
    """All series of a log of `length` [s] that began at `start`, and the washes in it."""

    file: str
    start: datetime
    length: float
    series: tuple[Series, ...]
    washes: tuple[Washed, ...]

    def of(self, what: What) -> Series | None:
        """The series of one kind; None where there is none."""
        return next((each for each in self.series if each.what is what), None)

    def runs(self) -> tuple[tuple[float, float], ...]:
        """Start and end of every run between washes [s]."""
        starts = [0.0, *(each.start if each.end is None else each.end for each in self.washes)]
        ends = [*(each.start for each in self.washes), self.length]
        return tuple(zip(starts, ends, strict=True))
