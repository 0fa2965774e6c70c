"""Which way to start a wash a comparison speaks for, against today's: limits first, then the least to drain.

The limits are those that stand in every study of settings (`decide/limits.py`), and that of the water judged. A way
has no time over a limit of what is dissolved and no regeneration that restored nothing. A limit that no way keeps
asks for no more than today.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

from sim.case.records import Case
from sim.plant.records import RunResult
from sim.study.decide.advice import policy_of_today
from sim.study.decide.limits import OF_THE_DISSOLVED, OVER_DISSOLVED, Limit, exceeded, excess, standing_limits
from sim.study.decide.trials import Candidate, Tried, measured
from sim.study.many.arrays import Figures
from sim.study.many.leading import beats
from sim.study.many.outcome import Outcome
from sim.study.many.repeat import Repeated
from sim.study.ranking import keeping, less_clearly

Kind = Literal["same", "take", "mend", "stay", "none"]

DRAIN, HOURS = "drain_m3", Limit("over_limit_h", None)
NO_TIME = Limit("over_limit_h", 0.0)
DIFFERING = (
    "drain_m3", "downtime_h", "over_limit_h", "breakthrough_risk", "unmet_m3", "peak_dp_kpa", "salt_kg",
    *OVER_DISSOLVED,
)  # fmt: skip
"""What sets two ways apart."""


def once(case: Case, seed: int, results: Sequence[RunResult]) -> Repeated:
    """One run of every policy, as many runs are held."""
    figures = Figures([each.policy for each in results])
    figures.grow(1)
    for each in results:
        figures.put(Outcome(policy=each.policy, replicate=0, site=each.site, stages=each.stages, avoidable_h=()))
    return Repeated(case=case, seed=seed, figures=figures, uncertain=False)


@dataclass(frozen=True)
class Choice:
    """What all runs of a comparison speak for."""

    repeated: Repeated

    @property
    def ways(self) -> tuple[str, ...]:
        """Every way, in the order of the case."""
        return self.repeated.figures.policies

    @cached_property
    def today(self) -> str:
        """Today's way: as the case says, else its first calendar, else its first."""
        found = policy_of_today(self.repeated.case, None).name
        return found if found in self.ways else self.ways[0]

    @cached_property
    def limits(self) -> tuple[Limit, ...]:
        """The limits of every way; of one that no way keeps, no more than today."""
        return tuple(replace(each, most=None) if each in self.unkept else each for each in self._standing)

    @cached_property
    def unkept(self) -> tuple[Limit, ...]:
        """The limits that no way keeps, that of the water judged first."""
        standing = self._standing if self.repeated.days else ()  # no time decides nothing
        found = [each for each in standing if all(exceeded([each], self._tried[way], self._now) for way in self.ways)]
        return (*(() if self.keeping else (NO_TIME,)), *found)

    @cached_property
    def keeping(self) -> frozenset[str]:
        """The ways that keep the limit of the water judged, in the mean of the runs."""
        case = self.repeated.case
        if case.judged.limit is None:
            return frozenset(self.ways)
        return keeping(case, {way: self.repeated.means(way) for way in self.ways})

    @cached_property
    def broken(self) -> Mapping[str, tuple[Limit, ...]]:
        """The limits that each way breaks."""
        return {way: tuple(self._broken(way)) if self.repeated.days else () for way in self.ways}

    @cached_property
    def kind(self) -> Kind:
        """How the comparison ends: nothing differs; take a way, or one that mends what today's breaks; stay; none."""
        kept = self._kept
        if len(self.ways) > 1 and not any(self._differ(self.ways[0], way) for way in self.ways[1:]):
            return "same"
        if not kept:
            return "none"
        if self.today not in kept:
            return "mend"
        return "take" if self.drains_less(kept[0], self.today) else "stay"

    @cached_property
    def way(self) -> str:
        """The way that the answer is about: the one chosen; where none is, the nearest miss that is not today's."""
        if self.kind in ("take", "mend"):
            return self._kept[0]
        others = [way for way in self.ways if way != self.today] or [self.today]
        if self.kind == "stay":
            return min(others, key=self.drain)
        return min(others, key=lambda way: (self._excess(way), self.drain(way)))

    @cached_property
    def order(self) -> tuple[str, ...]:
        """The ways as the answer has them: those that break no limit first, of these the least to drain."""
        first = self.today if self.kind in ("same", "stay") else self.way
        return tuple(sorted(self.ways, key=lambda way: (way != first, bool(self.broken[way]), self.drain(way))))

    def drain(self, way: str) -> float:
        """Water to drain, mean of the runs [m3]."""
        found = self.repeated.mean(way, DRAIN)
        return math.nan if found is None else found.mean

    def drains_less(self, one: str, other: str) -> bool:
        """Whether one way clearly has less water to drain than another; of many runs, as far as they show it."""
        clear = less_clearly(self.drain(one), self.drain(other), DRAIN)
        return clear and (self.repeated.figures.replicates == 1 or beats(self.repeated, one, other, DRAIN, "less"))

    @property
    def is_compared(self) -> bool:
        """Whether there is a way to be told of beside today's."""
        if len(self.ways) == 1 or self.kind == "same":
            return False
        return self.kind != "stay" or self.drains_less(self.way, self.today)

    @cached_property
    def _standing(self) -> tuple[Limit, ...]:
        """The limits that stand in every study; what is dissolved is held to none, as the water judged is."""
        standing = standing_limits(self.repeated.case)
        return tuple(replace(each, most=0.0) if each.key in OF_THE_DISSOLVED else each for each in standing)

    @cached_property
    def _tried(self) -> Mapping[str, Tried]:
        policies = {each.name: each for each in self.repeated.case.policies}
        return {way: measured(self.repeated, Candidate(name=way, policy=policies[way])) for way in self.ways}

    @property
    def _now(self) -> Tried:
        return self._tried[self.today]

    @cached_property
    def _kept(self) -> list[str]:
        """The ways that break no limit, the least to drain first."""
        return sorted((way for way in self.ways if not self.broken[way]), key=self.drain)

    def _broken(self, way: str) -> list[Limit]:
        if self.keeping:
            own = [] if way in self.keeping else [NO_TIME]
        else:
            own = list(exceeded([HOURS], self._tried[way], self._now))
        return [*own, *exceeded(self.limits, self._tried[way], self._now)]

    def _excess(self, way: str) -> float:
        hours = HOURS if way in self.keeping or not self.keeping else NO_TIME
        return excess([hours, *self.limits], self._tried[way], self._now)

    def _differ(self, one: str, other: str) -> bool:
        return any(
            not math.isclose(a.mean, b.mean, rel_tol=1e-6, abs_tol=1e-6)
            for key in DIFFERING
            if (a := self.repeated.mean(one, key)) and (b := self.repeated.mean(other, key))
        )
