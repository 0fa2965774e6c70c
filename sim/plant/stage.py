"""What the vessels of one stage have in common: whose turn it is, who stands by, washes by hand."""

import math

import simpy

from sim.case.records import Case
from sim.plant.clock import Order
from sim.plant.environment import LeapingEnvironment
from sim.plant.line import Line
from sim.plant.stage_clock import StageClock


class StageVessels:
    """The vessels of stage k in rotation: the pressure washes the next one, and duty passes to the next one."""

    def __init__(self, env: LeapingEnvironment, line: Line, case: Case, k: int) -> None:
        self._env, self._line = env, line
        self.k, self.stage = k, case.stages[k]
        self.vessels = list(line.vessels_of(k))
        self._next = self.vessels[0]
        self._called: dict[int, simpy.Event] = {}
        self._has_standby = self.stage.vessels.count > self.stage.vessels.sharing
        self.clock = StageClock(self.stage, case.run)
        self.starts: list[float] = []  # of the washes of the stage so far
        self.signalled = -math.inf  # when the last wash by a signal was due
        self.by_hand = [each.at for each in case.washing.by_hand if each.stage == self.stage.name]

    def is_next(self, i: int) -> bool:
        """Whether the pressure drop of the stage would wash vessel i."""
        return i == self._next

    def call(self, i: int) -> simpy.Event:
        """The event by which vessel i is called: to be the next to wash, or to take over the service."""
        self._called[i] = self._env.event()
        return self._called[i]

    def withdraw(self, i: int) -> None:
        """Vessel i waits for no call any more."""
        self._called.pop(i, None)

    def starts_wash(self, i: int) -> None:
        """Vessel i goes off line: the rotation moves on."""
        self._next = self.vessels[(self.vessels.index(i) + 1) % len(self.vessels)]
        if self._has_standby:
            for step in range(1, len(self.vessels)):
                other = self.vessels[(self.vessels.index(i) + step) % len(self.vessels)]
                if other in self._called:
                    self._line.serve(other)
                    self._wake(other)
                    return
        elif self._next in self._called:
            self._wake(self._next)

    def takes_over(self) -> bool:
        """Whether a vessel that has just been washed goes into service at once."""
        return not self._has_standby or self._line.stage[self.k].serving == 0

    def _wake(self, i: int) -> None:
        self._env.trigger(self._called.pop(i), Order.GRANT, i)
