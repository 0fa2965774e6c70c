"""What vessels share while they wash: the right to wash at all, the wash supply, the raw line and the drain."""

from collections import deque
from collections.abc import Sequence

import simpy

from sim.case.stage.records import Stage, Step
from sim.case.train.records import Washing
from sim.plant.allowed import lines_of
from sim.plant.clock import Order
from sim.plant.environment import LeapingEnvironment


class Shared:
    """Something for so many vessels at once, first come first served.

    It is handed on in the grant slot of the instant, in its place of the written order; the grants of
    `simpy.Resource` run ahead of everything else there.
    """

    def __init__(self, env: LeapingEnvironment, capacity: int, name: str) -> None:
        self._env, self._free, self.name = env, capacity, name
        self._queue: deque[tuple[int, simpy.Event]] = deque()

    def claim(self, vessel: int) -> simpy.Event | None:
        """Take it for a vessel; where it is not free, the event by which it will be handed over."""
        if self._free > 0:
            self._free -= 1
            return None
        event = self._env.event()
        self._queue.append((vessel, event))
        return event

    def give_back(self) -> None:
        """End the use of it; the next in line gets it in the grant slot of this instant."""
        if self._queue:
            vessel, event = self._queue.popleft()
            self._env.trigger(event, Order.GRANT, vessel)
        else:
            self._free += 1


class Site:
    """All that the vessels of a site share, the starts of all washes so far [s], and the stages that wash."""

    def __init__(self, env: LeapingEnvironment, washing: Washing, stages: Sequence[Stage]) -> None:
        self._env, self.share = env, washing.together == "share"
        count = sum(stage.vessels.count for stage in stages) if self.share else 1
        one = Shared(env, count, "turn")
        apart = washing.together == "overlap"
        self._turns = {stage.name: Shared(env, 1, "turn") if apart else one for stage in stages}
        self._lines = {
            name: Shared(env, getattr(washing.lines, name), name) for name in ("supply", "raw", "drain")
        }
        self.starts: list[float] = []
        self.washing: list[str] = []  # the stage of every wash under way
        self._waiting: list[tuple[int, simpy.Event]] = []

    def turn_of(self, stage: Stage) -> Shared:
        """What a vessel of a stage takes while it washes."""
        return self._turns[stage.name]

    def wash_over(self, vessel: int) -> simpy.Event:
        """The event of the next wash that is over, for a vessel that is not to wash meanwhile."""
        self._waiting.append((vessel, event := self._env.event()))
        return event

    def ends_wash(self, stage: Stage) -> None:
        """A wash of a stage is over."""
        self.washing.remove(stage.name)
        for vessel, event in self._waiting:
            self._env.trigger(event, Order.POLICY, vessel)
        self._waiting.clear()

    def lines_for(self, step: Step, stage: Stage) -> tuple[Shared, ...]:
        """The lines that a step occupies beside others, in one order for all, so that no two wait for each other."""
        wanted = lines_of(step.do, stage.wash_path) if self.share else ()
        return tuple(line for name, line in self._lines.items() if name in wanted)
