"""Whose turn it is to wash: one stage of a train at a time, first come first served."""

from collections import deque

import simpy

from sim.plant.clock import Order
from sim.plant.environment import LeapingEnvironment


class Turn:
    """The right to wash. Handed on in the grant slot of the instant at which it is given back.

    Not a `simpy.Resource`: its grants run ahead of everything else that happens at the same instant, against the
    written order, and cost four events a wash where nobody waits.
    """

    def __init__(self, env: LeapingEnvironment) -> None:
        self._env = env
        self._taken = False
        self._waiting: deque[tuple[int, simpy.Event]] = deque()

    def take(self, stage: int) -> simpy.Event | None:
        """Take the turn: None if it was free, else the event that hands it over."""
        if not self._taken:
            self._taken = True
            return None
        event = self._env.event()
        self._waiting.append((stage, event))
        return event

    def give_back(self) -> None:
        """End a turn; the next in line gets it."""
        if self._waiting:
            stage, event = self._waiting.popleft()
            self._env.trigger(event, Order.GRANT, stage)
        else:
            self._taken = False
