"""When the power is off, and what a timer makes of that: times in seconds from the start of the run."""

import math
from collections.abc import Iterable

from sim.case.fault.records import Fault, What
from sim.plant.clock import phase_end


class Power:
    """The power cuts of a run, in order of time."""

    def __init__(self, faults: Iterable[Fault], length: float) -> None:
        cuts = (fault for fault in faults if fault.what is What.POWER_CUT)
        self._cuts = sorted((cut.start, min(cut.end, length), cut.valve) for cut in cuts)

    def back(self, now: float) -> float | None:
        """When the power comes back that is off now; None while it is on."""
        found = None
        for start, end, _ in self._cuts:
            if start <= now < end:
                now = found = end
        return found

    def since(self, now: float) -> float:
        """When the last cut was over; -inf before any."""
        return max((end for _, end, _ in self._cuts if end <= now), default=-math.inf)

    def ran(self, since: float, now: float) -> float:
        """How long a timer has run since then: all but the cuts [s]."""
        if not self._cuts:
            return now - since
        return now - since - math.fsum(max(min(end, now) - max(start, since), 0.0) for start, end, _ in self._cuts)

    def after(self, now: float, seconds: float) -> float:
        """When a timer that starts now has run for so long; it stands still while the power is off."""
        end = phase_end(now, seconds)
        for start, stop, _ in self._cuts:
            if now <= start < end:
                end += stop - start
        return end

    def sends_home(self, since: float) -> float:
        """When the first cut after that sends the valves home, which breaks off a wash; inf if none does."""
        return min((start for start, _, valve in self._cuts if valve == "home" and start > since), default=math.inf)
