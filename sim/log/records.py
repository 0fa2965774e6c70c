"""The frozen records of a log: readings in SI, times in seconds from its first row."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime
from enum import StrEnum
from typing import Literal

from sim.case.limits import DISSOLVED, DRAINED, FLOW, HARDNESS, LOSS, TEMPERATURE, TOTAL, TURBIDITY
from sim.case.record import record
from sim.case.series.records import Remedy
from sim.case.values import Quantity


class What(StrEnum):
    """What a column of a log tells, by the name that its header may have."""

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


LIMITS: Mapping[What, Quantity] = {
    What.FLOW: FLOW, What.TOTAL: TOTAL, What.PRESSURE_DROP: LOSS, What.TEMPERATURE: TEMPERATURE, What.DRAIN: DRAINED,
    What.TURBIDITY_IN: TURBIDITY, What.TURBIDITY_OUT: TURBIDITY, What.HARDNESS_IN: HARDNESS,
    What.HARDNESS_OUT: HARDNESS, What.CHLORINE_IN: DISSOLVED, What.CHLORINE_OUT: DISSOLVED,
}  # fmt: skip
"""The range and the units of what has numbers: all but marks."""

Found = Literal["marked", "seen"]
"""Whether a log has marks of its washes, or they show in its flow and its pressure drop."""


@record
class Series:
    """The readings of one quantity at rising times [s]: m3/s, m3, Pa, NTU, g/m3 (hardness as CaCO3, chlorine as Cl2),
    degC. A total goes on where its meter began anew. `resolution`: what all readings are whole multiples of apart, at
    least the last digit written [same unit].
    """

    what: What
    times: tuple[float, ...]
    values: tuple[float, ...]
    resolution: float

    def only(self, places: Iterable[int]) -> "Series":
        """Some of its readings."""
        kept = list(places)
        times, values = (tuple(each[n] for n in kept) for each in (self.times, self.values))
        return replace(self, times=times, values=values)


@record
class Washed:
    """One wash: when it began and ended [s], what it drained [m3]; None where the log does not say.

    A reading at its start was taken before it.
    """

    start: float
    end: float | None
    drained: float | None
    found: Found


@record
class Log:
    """What one file tells: `start` is the time of its first row, `length` [s] reaches to its last."""

    file: str
    start: datetime
    length: float
    series: tuple[Series, ...]
    washes: tuple[Washed, ...]
    remedies: tuple[Remedy, ...] = ()

    def of(self, what: What) -> Series | None:
        """The readings of one quantity, None where there are none."""
        return next((each for each in self.series if each.what == what), None)

    def runs(self) -> tuple[tuple[float, float], ...]:
        """From when to when it filtered between washes [s]; the first and the last run are cut by the log."""
        starts = [0.0, *(wash.start if wash.end is None else wash.end for wash in self.washes)]
        ends = [*(wash.start for wash in self.washes), self.length]
        return tuple((start, end) for start, end in zip(starts, ends, strict=True) if end > start)
