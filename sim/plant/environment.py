"""A simpy environment whose water is always where the clock is.

Before the next event the line is carried to its time. If it trips on the way, the trip becomes an ordinary event at
the time of the crossing and runs first. So whenever a process runs, the water's time equals `now`.
"""

from collections.abc import Generator
from heapq import heapify, heappush
from typing import Any, NoReturn, Protocol, TypeAlias, TypeVar

import simpy

from sim.plant.clock import Order, checked
from sim.plant.errors import ClockError

Result = TypeVar("Result")
Process: TypeAlias = Generator[simpy.Event, Any, Result]

EVENTS_AT_ONE_INSTANT = 10_000
# All that the program uses of simpy beyond what it documents stands in this file: its heap `_queue` of (time,
# priority, number, event), `_eid` and `_now` of an environment, `_ok` and `_value` of an event. Seen working in:
TRIED = ("4.1",)


class Water(Protocol):
    """What the environment needs of the line."""

    def advance_to(self, until: float, stop: float) -> tuple[float, int, simpy.Event] | None:
        """Carry the water; on a trip its time, its stage and the event that waits for it."""


class LeapingEnvironment(simpy.Environment):
    """Carries the water from event to event; times are absolute and ties follow `Order`."""

    def __init__(self, water: Water) -> None:
        super().__init__()
        self._water = water
        self._stop = 0.0  # up to where the clock may go on its own
        self._at_this_instant = 0
        self.events = 0
        self.longest_queue = 0

    def at(self, time: float, order: Order, stage: int = 0) -> simpy.Event:
        """An event at an absolute time [s], in the written order among those of the same instant."""
        event = simpy.Event(self)
        self._put(checked(self._now, time), order, stage, event)
        return event

    def leap(self, time: float, order: Order, stage: int = 0) -> simpy.Event | None:
        """Go to an absolute time [s] at once where nothing else comes first, which counts as an event.

        Else the event to wait for, in the written order among what happens at that instant.
        """
        before, queue = self._now, self._queue
        if checked(before, time) < self._stop and (not queue or (time, order.of(stage)) < queue[0][:2]):
            trip = self._water.advance_to(time, self._stop)
            if trip is None:
                self._now = time
                self._count(before)
                return None
            self._put_trip(trip)
        return self.at(time, order, stage)

    def trigger(self, event: simpy.Event, order: Order, stage: int) -> None:
        """Let a waiting event happen at this instant, in its place of the written order."""
        self._put(self._now, order, stage, event)

    def withdraw(self, event: simpy.Event) -> None:
        """Take an event that nobody waits for any more off the queue, so that it neither wakes nor cuts anything."""
        self._queue[:] = [entry for entry in self._queue if entry[3] is not event]
        heapify(self._queue)

    def timeout(self, delay: Any = 0, value: Any = None) -> NoReturn:
        """Refused: relative delays add rounding and know no order. Use `at`."""
        raise ClockError(self._now, self._now, "use at(time, order) instead of timeout(delay)")

    def step(self) -> None:
        """Carry the water to the next event, or to a trip before it, and process that."""
        self._carry(self.peek())
        self._process()

    def run_until(self, stop: float) -> None:
        """Process every event before `stop` [s]; those at `stop` wait for the next call, as in simpy.

        The water goes to its last whole piece before `stop`, so that a run in parts equals a run in one.
        """
        checked(self._now, stop)
        self._stop = stop
        while self._carry(stop) < stop:
            self._process()

    def _carry(self, stop: float) -> float:
        """Bring the water to the next event, never past `stop`; the time of what comes next, perhaps a trip."""
        advance, queue = self._water.advance_to, self._queue
        while (trip := advance(queue[0][0] if queue else simpy.core.Infinity, stop)) is not None:
            self._put_trip(trip)
        return queue[0][0] if queue else simpy.core.Infinity

    def _put_trip(self, trip: tuple[float, int, simpy.Event]) -> None:
        time, stage, event = trip
        self._put(time, Order.TRIP, stage, event)

    def _put(self, time: float, order: Order, stage: int, event: simpy.Event) -> None:
        event._ok, event._value = True, None
        heappush(self._queue, (time, order.of(stage), next(self._eid), event))  # type: ignore[misc]
        if len(self._queue) > self.longest_queue:
            self.longest_queue = len(self._queue)

    def _process(self) -> None:
        before = self._now
        super().step()
        self._count(before)

    def _count(self, before: float) -> None:
        """Something happened; refuse a clock that no longer moves on from `before` [s]."""
        self.events += 1
        if self._now > before:
            self._at_this_instant = 0
            return
        self._at_this_instant += 1
        if self._at_this_instant > EVENTS_AT_ONE_INSTANT:
            raise ClockError(self._now, self._now, f"{EVENTS_AT_ONE_INSTANT} events and the clock did not move")
