"""What vessels share while they wash: the right to wash at all, the wash supply, the raw line and the drain."""

from typing import Any

import simpy
from simpy.resources.resource import Request

from sim.case.records import Stage, Step
from sim.case.train_records import Washing
from sim.plant.clock import Order
from sim.plant.environment import LeapingEnvironment
from sim.plant.rules import lines_of


class Claim(Request):
    """A vessel's claim to a shared thing. `at_once`: it was free, and there is nothing to wait for."""

    def __init__(self, shared: "Shared", vessel: int) -> None:
        self.vessel, self.at_once, self._asking = vessel, False, True
        super().__init__(shared)
        self._asking = False

    def grant(self, env: LeapingEnvironment) -> None:
        """Hand the thing over: now, to who asks just now; else in the grant slot of this instant."""
        self.usage_since = env.now
        if self._asking:
            self.at_once, self._ok, self._value = True, True, None
        else:
            env.trigger(self, Order.GRANT, self.vessel)


class Shared(simpy.Resource):
    """A resource for so many vessels at once, first come first served.

    simpy's own grants run ahead of everything else at the instant; these keep their place in the written order.
    """

    def __init__(self, env: LeapingEnvironment, capacity: int, name: str) -> None:
        super().__init__(env, capacity)
        self.name = name

    def claim(self, vessel: int) -> Claim:
        """Ask for it; the claim is an event, which has happened already if it says `at_once`."""
        return Claim(self, vessel)

    def give_back(self, claim: Claim) -> None:
        """End the use of it; the next in line gets it in the grant slot of this instant."""
        self.users.remove(claim)
        self._trigger_put(None)

    def _do_put(self, event: Any) -> None:
        if len(self.users) < self.capacity:
            self.users.append(event)
            event.grant(self._env)


class Site:
    """All that the vessels of a site share, and the starts of all washes so far [s]."""

    def __init__(self, env: LeapingEnvironment, washing: Washing, vessels: int) -> None:
        self.share = washing.together == "share"
        self.turn = Shared(env, vessels if self.share else 1, "turn")
        self._lines = {
            name: Shared(env, getattr(washing.lines, name), name) for name in ("supply", "raw", "drain")
        }
        self.starts: list[float] = []

    def lines_for(self, step: Step, stage: Stage) -> list[Shared]:
        """The lines that a step occupies beside others, in one order for all, so that no two wait for each other."""
        wanted = lines_of(step.do, stage.wash_path) if self.share else ()
        return [line for name, line in self._lines.items() if name in wanted]
