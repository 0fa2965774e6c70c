"""What a stage has for its regenerations: salt and permanganate that can run out, and the water of its brine tank."""

import copy
import math
from typing import NamedTuple

from hydraulics.brine import brine_volume, dissolved_after
from sim.case.stage.records import Stage, Step
from sim.wash.regeneration import step_volume


class Drawn(NamedTuple):
    """What a step of regenerant brings [g], with `water` of the brine tank [m3]; `short`: less than it asks for."""

    salt: float
    permanganate: float
    water: float
    short: bool


NOTHING = Drawn(0.0, 0.0, 0.0, False)


class Stores:
    """The stores of one stage, at the moments at which steps draw on them or fill them up.

    Without make-up steps salt comes by mass. With them it lies in a tank of water [m3] that dissolves what it can
    hold; as the run begins the tank has the water of one make-up, saturated. Unless it `draws`, a regenerant brings
    water alone.
    """

    def __init__(self, stage: Stage) -> None:
        store = stage.store
        self._store = store
        self._salt = math.inf if store is None or store.salt is None else store.salt
        self._permanganate = math.inf if store is None or store.permanganate is None else store.permanganate
        self._by_mass = not any(step.do == "make-up" for step in stage.steps)
        self._water = step_volume(stage, "make-up")
        self._dissolved = 0.0 if store is None else min(self._water * store.solubility, self._salt)
        self._since, self._filled = 0.0, 0.0
        self._salt -= self._dissolved
        self.draws, self._is_out, self._undrawn = True, False, False

    def run_out(self, now: float, *, out: bool) -> None:
        """No salt is left but what is dissolved, nor is any filled in; or there is as much as there can be again."""
        self._stand(now)
        self._is_out = out
        self._fill_salt()

    def _fill_salt(self) -> None:
        of_store = math.inf if self._store is None or self._store.salt is None else self._store.salt
        self._salt = 0.0 if self._is_out else of_store

    def _stand(self, now: float) -> None:
        """Refill what is due and let salt dissolve up to now [s]."""
        store = self._store
        if store is None:
            return
        if store.refilled is not None:
            while self._filled + store.refilled <= now:
                self._filled += store.refilled
                self._dissolve(self._filled)
                self._fill_salt()
                self._permanganate = math.inf if store.permanganate is None else store.permanganate
        self._dissolve(now)

    def _dissolve(self, until: float) -> None:
        store = self._store
        assert store is not None
        most = min(self._water * store.solubility, self._dissolved + self._salt)
        after = dissolved_after(self._dissolved, most, until - self._since, store.dissolving)
        self._salt -= after - self._dissolved
        self._dissolved, self._since = after, until

    def salt_left(self, now: float) -> float:
        """Salt in store and dissolved [g] as it is now [s]; inf where none can run out. Nothing is changed."""
        other = copy.copy(self)
        other._stand(now)
        return other._salt + other._dissolved

    def draw(self, step: Step, now: float) -> Drawn:
        """What a step of regenerant that begins now brings."""
        self._stand(now)
        self._undrawn = not self.draws
        if self._undrawn:
            return NOTHING
        purple = min(step.permanganate or 0.0, self._permanganate)
        self._permanganate -= purple
        short = purple < (step.permanganate or 0.0)
        if self._by_mass or step.permanganate is not None:
            salt = min(step.salt or 0.0, self._salt)
            self._salt -= salt
            return Drawn(salt, purple, 0.0, short or salt < (step.salt or 0.0))
        brine = brine_volume(self._water, self._dissolved)
        share = min(step.seconds * step.flow / brine, 1.0) if brine > 0.0 else 0.0
        salt = share * self._dissolved
        full = self._water * (0.0 if self._store is None else self._store.solubility)
        short = short or self._dissolved + self._salt < (1.0 - 1e-9) * full or brine <= 0.0
        water = share * self._water
        self._dissolved -= salt
        self._water -= water
        return Drawn(salt, purple, water, short)

    def put_back(self, drawn: Drawn, share: float) -> None:
        """A share of what a step was to bring stays here: it was broken off."""
        self._permanganate += share * drawn.permanganate
        self._water += share * drawn.water
        if self._by_mass:
            self._salt += share * drawn.salt
        else:
            self._dissolved += share * drawn.salt

    def make_up(self, volume: float, now: float) -> float:
        """Water comes into the brine tank [m3]; how much: none where nothing was drawn, since it is full."""
        self._stand(now)
        volume = 0.0 if self._undrawn else volume
        self._water += volume
        return volume
