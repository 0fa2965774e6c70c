"""The limits that a setting is to keep, and whether it does: in the mean of the runs, and as far as they are sure.

A setting keeps a limit surely where the upper end of the 95 % interval does; peaks, waits and raw water have to keep
it in every run.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from sim.study.decide.trials import Tried
from sim.study.many.intervals import Interval

Bound = Literal["risk", "over_limit_h", "pressure_kpa", "stopped_h", "waits", "raw_min"]

IN_EVERY_RUN: frozenset[Bound] = frozenset({"pressure_kpa", "waits", "raw_min"})
ROUNDING = 1e-9
MARGIN = 0.1  # of today's figure: runs in random weather are never sure of "no more than today" without one


@dataclass(frozen=True, slots=True)
class Limit:
    """A figure is to be at most `most`: a share for the risk, else of a year; None asks for no more than today."""

    key: Bound
    most: float | None

    def allowed(self, today: Tried) -> float:
        """The most that it allows; a tenth more than today counts as today where the weather is random."""
        if self.most is not None:
            return self.most
        return level(self, today) * (1.0 + MARGIN if self._is_random(today) else 1.0)

    def _is_random(self, today: Tried) -> bool:
        return len(today.figures[self.key]) > 1

    def excess(self, tried: Tried, today: Tried) -> float:
        """By how much the runs exceed it in the mean, as a share of what is allowed; 0 where it is kept."""
        allowed, found = self.allowed(today), level(self, tried)
        over = found - allowed
        return 0.0 if over <= ROUNDING * max(1.0, abs(allowed)) else over / (allowed or 1.0)

    def kept_surely(self, tried: Tried, today: Tried) -> bool:
        """Whether the runs are sure that it is kept."""
        if self.excess(tried, today):
            return False
        if self.key in IN_EVERY_RUN:
            return True
        found: Interval | None
        if self.most is None:
            found = today.less_than(tried, self.key)
            most = self.allowed(today) - level(self, today)
        else:
            found, most = tried.interval(self.key), self.most
        if found is None or found.high is None:
            return True  # a single run, of a case in which nothing is random
        return found.high <= most + ROUNDING * max(1.0, most)


def level(limit: Limit, tried: Tried) -> float:
    """Where a setting stands: the mean, or the highest of all runs; 0 where the figure does not apply."""
    if limit.key == "risk":
        found = tried.interval("risk")
        return 0.0 if found is None else found.mean
    values = tried.figures[limit.key]
    known = values[values == values]
    if not known.size:
        return 0.0
    return float(known.max()) if limit.key in IN_EVERY_RUN else tried.mean(limit.key)


def excess(limits: Sequence[Limit], tried: Tried, today: Tried) -> float:
    """All that a setting exceeds, added up; 0 where it keeps every limit."""
    return math.fsum(each.excess(tried, today) for each in limits)


def exceeded(limits: Sequence[Limit], tried: Tried, today: Tried) -> tuple[Limit, ...]:
    """The limits that a setting exceeds in the mean."""
    return tuple(each for each in limits if each.excess(tried, today))


def unsure(limits: Sequence[Limit], tried: Tried, today: Tried) -> tuple[Limit, ...]:
    """The limits that the runs are not sure to be kept."""
    return tuple(each for each in limits if not each.kept_surely(tried, today))
