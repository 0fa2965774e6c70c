"""The limits that a setting is to keep, and whether it does: in the mean of the runs, and as far as they are sure.

A setting keeps a limit surely where the upper end of the 95 % interval does; peaks, waits and raw water have to keep
it in every run. Some limits stand in every study, whatever is asked for: what no plant can do is no solution.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from sim.case.records import Case
from sim.case.units import DAY, HOUR, PA_PER_KPA
from sim.review.bearable import Bound as PressureBound
from sim.review.bearable import supply_gives
from sim.review.site import site_of
from sim.study.costs import YEAR_DAYS
from sim.study.decide.trials import HOURS_OVER, Tried, of_stage
from sim.study.many.intervals import CONFIDENCE, Interval
from sim.study.ranking import WITHOUT_END

Bound = Literal[
    "risk", "over_limit_h", "pressure_kpa", "stopped_h", "waits", "raw_min", "unmet_m3", "supply_kpa", "rating_kpa",
    "below_clean_kpa", "idle", "off_line", "hardness_over_h", "iron_over_h", "manganese_over_h", "oxidant_over_h",
    "hardness_leak_kg", "exposure", "without",
]  # fmt: skip

IN_EVERY_RUN: frozenset[Bound] = frozenset(
    {"pressure_kpa", "waits", "raw_min", "supply_kpa", "rating_kpa", "below_clean_kpa", "off_line"}
)
PEAKS: frozenset[Bound] = frozenset({"pressure_kpa", "supply_kpa", "rating_kpa", "below_clean_kpa", "off_line"})
"""The highest of a run, no sums over it."""

OVER_DISSOLVED: Mapping[Bound, str] = {
    "hardness_over_h": "hardness", "iron_over_h": "iron", "manganese_over_h": "manganese",
    "oxidant_over_h": "chlorine",
}  # fmt: skip
"""Hours over each limit of what is dissolved, and the key of that limit."""
OF_THE_DISSOLVED: frozenset[Bound] = frozenset({*OVER_DISSOLVED, "without"})
"""What a way to start a wash is to have none of: hours over such limits, regenerations that restored nothing."""
WITH_THE_WATER: frozenset[Bound] = frozenset({"exposure", "hardness_leak_kg"})
"""Sums that grow with the water that is sent on, whatever its quality."""

ROUNDING = 1e-9
MARGIN = 0.1  # of today's figure: runs in random weather are never sure of "no more than today" without one
SENT_MORE = 0.01  # of today's figure, of WITH_THE_WATER: fewer washes send a little more water on
MOST_IDLE = 0.5  # share of the runs in which a device may start no wash


@dataclass(frozen=True, slots=True)
class Limit:
    """A figure is to be at most `most`: a share for the risk, else of a year; None asks for no more than today.

    Of one `stage` where it is named; `bound` says what a pressure comes from; `where_none` is what is allowed where
    today has nothing of the figure, and always a hundredth of it, or for hours over a limit all of it.
    """

    key: Bound
    most: float | None
    stage: str = ""
    bound: PressureBound = "usual supply"
    where_none: float = 0.0

    @property
    def figure(self) -> str:
        """The name of its figure among those of a candidate."""
        key = "pressure_kpa" if self.key == "rating_kpa" else self.key
        return of_stage(key, self.stage) if self.stage else key

    def allowed(self, today: Tried) -> float:
        """The most that it allows; a tenth more than today counts as today where the weather is random."""
        if self.most is not None:
            return self.most
        now = level(self, today)
        if now <= ROUNDING:
            return max(now, self.where_none)
        margin = SENT_MORE if self.key in WITH_THE_WATER else 0.0
        least = self.where_none if self.key in HOURS_OVER else SENT_MORE * self.where_none
        return max(now * (1.0 + (MARGIN if self._is_random(today) else margin)), least)

    def _is_random(self, today: Tried) -> bool:
        return len(today.figures[self.figure]) > 1

    def excess(self, tried: Tried, today: Tried) -> float:
        """By how much the runs exceed it in the mean, as a share of what is allowed; 0 where it is kept."""
        allowed, found = self.allowed(today), level(self, tried)
        over = found - allowed
        return 0.0 if over <= ROUNDING * max(1.0, abs(allowed)) else over / (allowed or 1.0)

    def share_kept(self, tried: Tried, today: Tried) -> float:
        """The share of the runs that keep it, each by itself; of a risk, which no run has, whether all do."""
        if self.key == "risk":
            return 0.0 if self.excess(tried, today) else 1.0
        found, most = tried.figures[self.figure], self.allowed(today)
        if self.most is None:
            found, most = found - today.figures[self.figure], most - level(self, today)
        return float(np.mean(~(found > most + ROUNDING * max(1.0, abs(most)))))

    def kept_surely(self, tried: Tried, today: Tried, confidence: float = CONFIDENCE) -> bool:
        """Whether the runs are sure that it is kept."""
        if self.excess(tried, today):
            return False
        if self.key in IN_EVERY_RUN or self.key == "idle":
            return True
        found: Interval | None
        if self.most is None:
            found = today.less_than(tried, self.figure, confidence)
            most = self.allowed(today) - level(self, today)
        else:
            found, most = tried.interval(self.figure, confidence), self.most
        if found is None or found.high is None:
            return True  # a single run, of a case in which nothing is random
        return found.high <= most + ROUNDING * max(1.0, most)


def standing_limits(case: Case) -> tuple[Limit, ...]:
    """Those of every study: pressures that the supply and the vessels bear, deliveries, set points that can act, and
    what is dissolved.

    Demand not met counts no less than today's unless lost production has a price, since then it is weighed.
    """
    given = supply_gives(site_of(case))
    found = [Limit("supply_kpa", given.value / PA_PER_KPA, bound=given.bound)]
    for stage in case.stages:
        rating = stage.vessel.pressure_rating
        if rating is not None and rating < given.value:
            found.append(Limit("rating_kpa", rating / PA_PER_KPA, stage.name, "rating"))
    if case.prices is None or case.prices.lost_production is None:
        found.append(Limit("unmet_m3", None))
    if case.downstream is not None or case.may_be_drunk:
        found.append(Limit("raw_min", 0.0))
    found += [Limit("below_clean_kpa", 0.0), Limit("idle", MOST_IDLE), Limit("off_line", WITHOUT_END)]
    return (*found, *_of_the_dissolved(case))


def _of_the_dissolved(case: Case) -> Iterator[Limit]:
    """No more than today over each limit that a stage has; no more oxidant at the unit; no more regenerations that
    restored nothing.

    A unit that gets no oxidant today may get what the last limit of chlorine allows in a year.
    """
    for key, name in OVER_DISSOLVED.items():
        if _last_limit(case, name) is not None:
            yield Limit(key, None)
    fed = {"free_chlorine", "combined_chlorine"} & {name for name, _ in case.feed.solutes}
    dosed = any(stage.dosing is not None and stage.dosing.product != "air" for stage in case.stages)
    if case.downstream is not None and (fed or dosed):
        yield Limit("exposure", None, where_none=(_last_limit(case, "chlorine") or 0.0) * YEAR_DAYS * DAY / HOUR)
    if any(step.do == "regenerant" for stage in case.stages for step in stage.steps):
        yield Limit("without", None)


def earlier_limits(case: Case, asked: float) -> Iterator[Limit]:
    """What each stage lets through ahead of the last with such a limit: no more hours over its own than today.

    Where the last may be over its limit of solids for `asked` hours a year, those before it may be as well. Stages
    whose chemistry no run follows are left out.
    """
    before = case.stages[: case.stages.index(case.judged)]
    for stage in before:
        if stage.limit is not None and not stage.only_solids:
            yield Limit("over_limit_h", None, stage.name, where_none=asked)
    for key, name in OVER_DISSOLVED.items():
        limited = [stage.name for stage in case.stages if getattr(stage.limits, name) is not None]
        for each in limited[:-1]:
            yield Limit(key, None, each)


def _last_limit(case: Case, name: str) -> float | None:
    """The limit of something dissolved of the last stage that has one [g/m3]."""
    limits: list[float | None] = [getattr(stage.limits, name) for stage in case.stages]
    return next((each for each in reversed(limits) if each is not None), None)


def hours_over(tried: Tried) -> float:
    """Hours over all limits together, of solids and of what is dissolved; those that do not apply left out."""
    hours = (tried.mean(key) for key in HOURS_OVER)
    return math.fsum(each for each in hours if each == each)


def level(limit: Limit, tried: Tried) -> float:
    """Where a setting stands: the mean, or the highest of all runs; 0 where the figure does not apply."""
    if limit.key == "risk":
        found = tried.interval("risk")
        return 0.0 if found is None else found.mean
    values = tried.figures[limit.figure]
    known = values[values == values]
    if not known.size:
        return 0.0
    return float(known.max()) if limit.key in IN_EVERY_RUN else tried.mean(limit.figure)


def excess(limits: Sequence[Limit], tried: Tried, today: Tried) -> float:
    """All that a setting exceeds, added up; 0 where it keeps every limit."""
    return math.fsum(each.excess(tried, today) for each in limits)


def exceeded(limits: Sequence[Limit], tried: Tried, today: Tried) -> tuple[Limit, ...]:
    """The limits that a setting exceeds in the mean."""
    return tuple(each for each in limits if each.excess(tried, today))


def broken_when_dead(limits: Sequence[Limit], tried: Tried, today: Tried) -> tuple[Limit, ...]:
    """The limits that a device which no longer works exceeds; that it starts no wash goes without saying."""
    return tuple(each for each in exceeded(limits, tried, today) if each.key != "idle")


def unsure(
    limits: Sequence[Limit], tried: Tried, today: Tried, confidence: float = CONFIDENCE
) -> tuple[Limit, ...]:
    """The limits that the runs are not sure to be kept."""
    return tuple(each for each in limits if not each.kept_surely(tried, today, confidence))
