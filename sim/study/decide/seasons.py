"""One setting for the whole year against one for each half or each quarter of it.

A year is cut into four parts from the start of the run. Each part is run by itself from clean beds, on weather of its
own, with the advised setting times a few factors; a year is then put together from one setting a part. One, two or
four settings are so compared on the same runs.
"""

import itertools
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import numpy as np

from sim.case.load import load_case
from sim.case.record import record
from sim.case.records import Case
from sim.case.series.records import Changeable, Measured, Seasonal, UnsettledSeason
from sim.case.units import DAY, HOUR
from sim.errors import CaseError
from sim.study.costs import YEAR_DAYS
from sim.study.decide.advice import LARGEST_SEED, Advice, Advised, searching
from sim.study.decide.knobs import Knob, policy_for_all, with_values
from sim.study.decide.limits import IN_EVERY_RUN, PEAKS, Limit
from sim.study.decide.trials import Bench, Candidate, Tried
from sim.study.many.arrays import Values
from sim.study.single import policy_named

FACTORS = (0.5, 0.63, 0.8, 1.0, 1.25, 1.6, 2.0)
LENGTHS = (91.0, 91.0, 91.0, 92.0)  # days of the parts of a year
WORTH = 0.05  # of the least: what several settings have to save to be worth the trouble
MAIN = ("every", "volume", "above")

Choice = tuple[int, ...]
"""Which of the settings stands in each part of the year."""


@record
class Year:
    """A year put together: the setting of each part, and its cost or its water."""

    settings: tuple[Candidate, ...]
    least: float


@record
class Seasons:
    """The best year with one setting, with two and with four; None where no year keeps the limits.

    `starts` are the days from the start of the run, at `begin`, at which the parts begin. `whole`: what the advised
    setting takes in a whole year; parts run from clean beds take less, so only shares of them are told. `refused`
    says why a part of the year could not be run by itself.
    """

    policy: str
    knobs: tuple[Knob, ...]
    starts: tuple[float, ...]
    begin: datetime
    whole: float
    one: Year | None = None
    two: Year | None = None
    four: Year | None = None
    refused: str = ""

    def spared(self, year: Year | None) -> float | None:
        """What a year has less than the one of one setting, as a share of that."""
        if year is None or self.one is None:
            return None
        return 1.0 - year.least / self.one.least if self.one.least > 0.0 else 0.0

    def told(self, year: Year | None) -> float | None:
        """What a year takes by its share of what one setting takes, so that the advised one is told as advised."""
        spared = self.spared(year)
        return None if spared is None else self.whole * (1.0 - spared)

    @property
    def worth_it(self) -> bool:
        """Whether two settings or four save enough to be worth the trouble."""
        return any((self.spared(each) or 0.0) >= WORTH for each in (self.two, self.four))


def has_seasons(case: Case) -> bool:
    """Whether water or demand has a yearly course, and the run lasts a year."""
    solids, temperature, demand = case.feed.solids, case.feed.temperature, case.demand
    told = isinstance(solids, Seasonal | Measured) or isinstance(temperature, Seasonal | UnsettledSeason | Measured)
    stormy = isinstance(solids, Changeable) and (
        solids.season is not None or (solids.storms is not None and solids.storms.season is not None)
    )
    return case.run.length >= 360.0 * DAY and (told or stormy or demand.season is not None)


def seasons_of(bench: Bench, advice: Advice, advised: Advised) -> Seasons:
    """Seasonal settings of an advised policy."""
    knobs = tuple(knob for knob in advised.knobs if knob.part in MAIN)
    starts = tuple(float(each) for each in np.cumsum((0.0, *LENGTHS[:-1])))
    whole = float("nan") if advised.best is None else advised.best.mean(advice.least)
    nothing = Seasons(policy=advised.policy, knobs=knobs, starts=starts, begin=bench.case.run.start, whole=whole)
    if advised.best is None or not knobs:
        return nothing
    candidates = _candidates(bench.case, advised, advised.best)
    bench.enter("seasons")
    try:
        parts = [
            _part(bench, start, length, number, candidates, advice.today.candidate)
            for number, (start, length) in enumerate(zip(starts, LENGTHS, strict=True))
        ]
    except CaseError as error:
        return replace(nothing, refused=str(error.problems[0]))
    judge = _Judge(advice, parts, next(place for place, each in enumerate(candidates) if _same(each, advised.best)))
    count = range(len(candidates))
    halves = [(a, a, b, b) for a in count for b in count] + [(a, b, b, a) for a in count for b in count]
    choices = (
        [(each,) * len(LENGTHS) for each in count],
        halves,
        list(itertools.product(count, repeat=len(LENGTHS))),
    )
    one, two, four = (judge.best(candidates, each) for each in choices)
    return replace(nothing, one=one, two=two, four=four)


def _same(candidate: Candidate, best: Tried) -> bool:
    return candidate.values == best.candidate.values


def _candidates(case: Case, advised: Advised, best: Tried) -> tuple[Candidate, ...]:
    """The advised setting times each factor, as far as it lies in the range that was tried."""
    policy = policy_for_all(case, policy_named(case, advised.policy))
    found: dict[tuple[float, ...], Candidate] = {}
    for factor in FACTORS:
        pairs = zip(advised.knobs, best.candidate.values, strict=True)
        moved = [
            (value,) if factor == 1.0 or knob.part not in MAIN else knob.within([value * factor])
            for knob, value in pairs
        ]
        if not all(moved):
            continue
        values = tuple(each[0] for each in moved)
        made = with_values(policy, advised.knobs, values)
        if made is not None:
            name = f"{policy.name} times {factor:g}"
            found.setdefault(values, Candidate(name=name, policy=made, steps=best.candidate.steps, values=values))
    return tuple(found.values())


def _part(
    bench: Bench, start: float, length: float, number: int, candidates: Sequence[Candidate], today: Candidate
) -> list[Tried]:
    """A part of the year with every candidate, and last with today's setting."""
    begin = bench.case.run.start + timedelta(days=start)
    settings: dict[str, Any] = {"run.start": begin, "run.length": f"{length:g} d"}
    seeking = searching(bench)
    steps = candidates[0].steps if candidates else ()
    case = load_case(bench.path, settings)
    part = Bench(
        path=bench.path, case=case, crew=bench.crew, seed=(bench.seed + 2 + number) % LARGEST_SEED,
        replicates=seeking.replicates, progress=bench.progress,
        cases={steps: load_case(bench.path, settings | dict(steps)), (): case},
    )  # fmt: skip
    return part.tried([*candidates, today])


class _Judge:
    """Years put together from parts, and whether they keep the limits in the mean.

    The advised setting, at `advised` among the candidates, keeps them in whole years: what it has here is allowed.
    """

    def __init__(self, advice: Advice, parts: Sequence[Sequence[Tried]], advised: int) -> None:
        self.advice, self.parts = advice, parts
        self.today: Choice = (len(parts[0]) - 1,) * len(parts)
        self.advised: Choice = (advised,) * len(parts)

    def best(self, candidates: Sequence[Candidate], choices: Sequence[Choice]) -> Year | None:
        """The year of least cost or water that keeps every limit; None where none does."""
        kept = np.ones(len(choices), dtype=bool)
        for limit in self.advice.limits:
            found, allowed = self._level(limit, choices), self._allowed(limit)
            kept &= found <= allowed + 1e-9 * max(1.0, allowed)
        if not kept.any():
            return None
        least = self._sum(self.advice.least, choices).mean(axis=1)
        place = int(np.argmin(np.where(kept, least, np.inf)))
        settings = tuple(candidates[each] for each in choices[place])
        return Year(settings=settings, least=float(least[place]))

    def _allowed(self, limit: Limit) -> float:
        most = float(self._level(limit, [self.today])[0]) if limit.most is None else limit.most
        return max(most, float(self._level(limit, [self.advised])[0]))

    def _level(self, limit: Limit, choices: Sequence[Choice]) -> Values:
        if limit.key == "risk":
            avoidable = self._sum("over_limit_h", choices) - self._sum("unavoidable_h", choices)
            allowed = (self.advice.case.run.allowed_over_limit or 0.0) / HOUR
            found: Values = (avoidable > allowed).mean(axis=1)
        elif limit.key in PEAKS:
            found = np.max([each for each, _ in self._parts(limit.figure, choices)], axis=0).max(axis=1)
        elif limit.key == "idle":
            found = np.min([each for each, _ in self._parts(limit.figure, choices)], axis=0).mean(axis=1)
        elif limit.key in IN_EVERY_RUN:
            found = self._sum(limit.figure, choices).max(axis=1)
        else:
            found = self._sum(limit.figure, choices).mean(axis=1)
        return found

    def _sum(self, key: str, choices: Sequence[Choice]) -> Values:
        """A figure of the whole year, for each choice and replicate; 0 where it does not apply."""
        total: Values = np.sum([each * days / YEAR_DAYS for each, days in self._parts(key, choices)], axis=0)
        return total

    def _parts(self, key: str, choices: Sequence[Choice]) -> list[tuple[Values, float]]:
        index = np.array(choices)
        return [
            (np.nan_to_num(np.stack([each.figures[key] for each in part]))[index[:, number]], days)
            for number, (part, days) in enumerate(zip(self.parts, LENGTHS, strict=True))
        ]
