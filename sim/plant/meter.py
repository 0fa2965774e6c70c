"""The devices of a stage as they are while some of them fail: water meters, the pressure switch, its tap.

A reading is turned back into what the water has to do for it: the treated volume at which a meter will show a volume,
the pressure drop at which a switch will be met. Faults of one device act in the order of the case.
"""

import math
from collections.abc import Iterable
from typing import NamedTuple

import simpy

from sim.case.fault.records import Fault, What

HOURS_A_DAY = 24.0
METERS = {What.METER_STUCK, What.METER_WRONG}
STUCK = {What.SWITCH_OPEN, What.SWITCH_CLOSED}
SWITCHES = STUCK | {What.SWITCH_CHATTERS, What.SWITCH_DRIFTS, What.TAP_PLUGGED}
"""What fails of a meter, and of a switch with its tap."""


class Meter:
    """The water meter of one vessel: it counts a share of what passes, from the moment at which that changed."""

    def __init__(self) -> None:
        self._share = 1.0
        self._run = self._all = 0.0, 0.0  # true and shown [m3] then: since the wash, and ever

    def begin_run(self) -> None:
        """What is treated counts from zero."""
        self._run = 0.0, 0.0

    def change(self, share: float, treated: float, total: float) -> None:
        """From now on it counts another share, with so much truly treated since the wash and ever [m3]."""
        self._run, self._all = (treated, self.treated(treated)), (total, self.total(total))
        self._share = share

    def treated(self, treated: float) -> float:
        """What it shows since the wash for what is treated [m3]."""
        before, shown = self._run
        return shown + self._share * (treated - before)

    def total(self, total: float) -> float:
        """What it shows of all that was ever treated [m3]."""
        before, shown = self._all
        return shown + self._share * (total - before)

    def due(self, volume: float) -> float:
        """What is treated when it shows a volume [m3]; inf if it never will.

        10 % low from 20 m3 on, it shows 110 m3 at 20 + 90 / 0.9:
        >>> meter = Meter()
        >>> meter.change(0.9, 20.0, 20.0)
        >>> meter.due(110.0)
        120.0
        """
        before, shown = self._run
        if self._share == 0.0:
            return before if shown >= volume else math.inf
        return before + (volume - shown) / self._share


class Shown(NamedTuple):
    """What the devices of a vessel show a person: all that its meter counted [m3], the time since its last wash began
    [s], the pressure drop at its taps [Pa], and what the clock of its stage shows [s of the run]."""

    total: float
    since_wash_s: float
    dp_pa: float
    clock_reading: float


class Devices:
    """The devices of one stage; `changed` happens whenever a wait upon them has to be taken up anew."""

    def __init__(self, vessels: Iterable[int], changed: simpy.Event) -> None:
        self.meters = {i: Meter() for i in vessels}
        self.changed = changed
        self._failed: dict[int, Fault] = {}  # by its place in the case
        self._hours: dict[int, int] = {}  # of those that drift, whole ones so far

    def fail(self, number: int, fault: Fault) -> None:
        """Fault `number` of the case begins, of one of these devices."""
        self._failed = dict(sorted((self._failed | {number: fault}).items()))
        self._hours[number] = 0

    def mend(self, number: int) -> None:
        """And ends."""
        del self._failed[number]

    def drift(self, number: int) -> None:
        """Another hour of drifting."""
        self._hours[number] += 1

    @property
    def counted(self) -> float:
        """The share that its meters count."""
        meters = (fault for fault in self._failed.values() if fault.what in METERS)
        return math.prod(fault.share or 0.0 for fault in meters)  # none where it is stuck

    @property
    def stuck(self) -> What | None:
        """Whether its switch is stuck, and how; of two ways the one that the case names last."""
        ways = [fault.what for fault in self._failed.values() if fault.what in STUCK]
        return ways[-1] if ways else None

    def met_at(self, above: float, hold: float) -> float:
        """The true pressure drop at which a switch set to `above` [Pa] is met; inf if it never is, or is stuck.

        While it chatters the highest of what it reads counts, but with a hold the lowest, which must stay above.
        """
        if self.stuck is not None:
            return math.inf
        for number, fault in reversed(self._failed.items()):
            by, share = fault.by or 0.0, fault.share or 0.0
            match fault.what:
                case What.SWITCH_CHATTERS:
                    above += by if hold > 0.0 else -by
                case What.SWITCH_DRIFTS:
                    above -= by * (self._hours[number] / HOURS_A_DAY)
                case What.TAP_PLUGGED:
                    above = above / share if share > 0.0 else math.inf
        return above

    def seen(self, pressure: float) -> float:
        """What a gauge at its taps shows of a pressure drop [Pa]."""
        plugged = (fault for fault in self._failed.values() if fault.what is What.TAP_PLUGGED)
        return pressure * math.prod(fault.share or 0.0 for fault in plugged)
