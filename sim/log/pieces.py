"""A log as stretches of constant flow and water."""

import numpy as np

from sim.case.record import record
from sim.log.records import Log, What


@record
class Pieces:
    """Row i holds from end[i - 1], or the start of the log, to end[i] [s]."""

    end: tuple[float, ...]
    flow: tuple[float, ...]
    turbidity: tuple[float, ...] | None
    temperature: tuple[float, ...] | None
    hardness: tuple[float, ...] | None
    chlorine: tuple[float, ...] | None


def pieces(log: Log, most: int = 10_000) -> Pieces:
    """Each reading holds up to the next."""
    times = {t for s in log.series for t in s.times if s.what in (
        What.FLOW, What.TURBIDITY_IN, What.TEMPERATURE, What.HARDNESS_IN, What.CHLORINE_IN)}
    starts = np.array(sorted({0.0, *times} - {log.length}))
    ends = np.append(starts[1:], log.length)

    def of(what: What) -> tuple[float, ...] | None:
        s = log.of(what)
        if s is None:
            return None
        place = np.searchsorted(s.times, starts, side="right") - 1
        return tuple(np.array(s.values)[np.maximum(place, 0)].tolist())

    flow = of(What.FLOW)
    assert flow is not None
    return Pieces(
        end=tuple(ends.tolist()), flow=flow, turbidity=of(What.TURBIDITY_IN), temperature=of(What.TEMPERATURE),
        hardness=of(What.HARDNESS_IN), chlorine=of(What.CHLORINE_IN),
    )
