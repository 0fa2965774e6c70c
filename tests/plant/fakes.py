"""Water made by hand, for tests of the clock alone; and the log of what happened."""

from collections.abc import Sequence

import simpy

from sim.plant.clock import Order
from sim.plant.environment import LeapingEnvironment
from sim.plant.records import RunResult

Happening = tuple[float, str]


class StillWater:
    """Water that meets no trigger; remembers every time to which it was carried."""

    def __init__(self) -> None:
        self.carried: list[float] = []

    def advance_to(self, until: float, stop: float) -> tuple[float, int, simpy.Event] | None:
        self.carried.append(min(until, stop))
        return None


class ScriptedWater(StillWater):
    """Water that trips at written times: (time, stage, event), in that order."""

    def __init__(self) -> None:
        super().__init__()
        self.trips: list[tuple[float, int, simpy.Event]] = []

    def advance_to(self, until: float, stop: float) -> tuple[float, int, simpy.Event] | None:
        if self.trips and self.trips[0][0] <= min(until, stop):
            self.carried.append(self.trips[0][0])
            return self.trips.pop(0)
        return super().advance_to(until, stop)


def on_still_water() -> LeapingEnvironment:
    """An environment for tests that need no water."""
    return LeapingEnvironment(StillWater())


class Diary:
    """An exact event log: what happened, in the order in which it did."""

    def __init__(self, env: LeapingEnvironment) -> None:
        self._env = env
        self.entries: list[Happening] = []

    def write(self, what: str) -> None:
        self.entries.append((self._env.now, what))

    def keep(self, event: simpy.Event, what: str) -> simpy.Event:
        """Write down when an event happens."""
        assert event.callbacks is not None
        event.callbacks.append(lambda _: self.write(what))
        return event

    def expect(self, time: float, order: Order, stage: int, what: str) -> None:
        """Schedule something that will be written down."""
        self.keep(self._env.at(time, order, stage), what)


def told(result: RunResult, *whats: str) -> list[tuple[float, str, str]]:
    """(time, who, what) of a log, or of some kinds of entry in it; the end of the run left out."""
    return [
        (entry.time_s, entry.who, entry.what)
        for entry in result.log[:-1]
        if not whats or entry.what in whats
    ]  # fmt: skip


def wash_starts(result: RunResult, who: str = "filter") -> list[tuple[float, str]]:
    """When the washes of a stage started, and why."""
    return [(entry.time_s, entry.why) for entry in result.log if entry.what == "wash starts" and entry.who == who]


def close(pairs: Sequence[tuple[float, str]], expected: Sequence[tuple[float, str]], within: float) -> bool:
    """Whether two lists name the same things in the same order at the same times, to `within` seconds."""
    return [what for _, what in pairs] == [what for _, what in expected] and all(
        abs(time - due) <= within for (time, _), (due, _) in zip(pairs, expected, strict=True)
    )
