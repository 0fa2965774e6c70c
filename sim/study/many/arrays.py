"""The figures of many runs as arrays: eight bytes a figure, so that a thousand years fit where one log would."""

from collections.abc import Sequence
from typing import Any, TypeAlias

import numpy as np

from sim.study.many.outcome import Outcome

SITE = ""
Values: TypeAlias = np.ndarray[Any, np.dtype[np.float64]]


class Figures:
    """Every figure of every run by policy, place (a stage, or SITE) and key; nan where one does not apply."""

    def __init__(self, policies: Sequence[str]) -> None:
        self.policies = tuple(policies)
        self.replicates = 0
        self.keys: tuple[str, ...] = ()
        self.places: tuple[str, ...] = ()
        self._values: dict[str, Values] = {}
        self._years: dict[str, Values] = {}

    def grow(self, replicates: int) -> None:
        """Make room for so many replicates in all."""
        more = replicates - self.replicates
        for kept in (self._values, self._years):
            for policy, values in kept.items():
                kept[policy] = np.concatenate([values, np.full((more, *values.shape[1:]), np.nan)])
        self.replicates = replicates

    def put(self, outcome: Outcome) -> None:
        """Take in one run."""
        places = {SITE: outcome.site, **outcome.stages}
        if not self.keys:
            self._lay_out(outcome, places)
        for number, place in enumerate(self.places):
            row = [places[place][key] for key in self.keys]
            self._values[outcome.policy][outcome.replicate, number] = [np.nan if x is None else x for x in row]
        self._years[outcome.policy][outcome.replicate] = outcome.avoidable_h

    def _lay_out(self, outcome: Outcome, places: dict[str, Any]) -> None:
        self.keys, self.places = tuple(outcome.site), tuple(places)
        shape = (self.replicates, len(self.places), len(self.keys))
        self._values = {policy: np.full(shape, np.nan) for policy in self.policies}
        years = (self.replicates, len(outcome.avoidable_h))
        self._years = {policy: np.full(years, np.nan) for policy in self.policies}

    def of(self, policy: str, key: str, place: str = SITE) -> Values:
        """One figure of every run of a policy, in the order of the replicates."""
        return self._values[policy][:, self.places.index(place), self.keys.index(key)]

    def avoidable(self, policy: str) -> Values:
        """Avoidable hours over the limit of every whole year: a row a replicate, as many columns as whole years."""
        return self._years[policy]
