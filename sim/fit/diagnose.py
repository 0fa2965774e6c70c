"""Which fault or change a log speaks for: each with its size and its beginning that suit the log best.

Features of a run stray from the model by an error that the log itself shows, and all of a kind by one that the case
may have. A cause is scored by its likelihood less a penalty for the two numbers that it may choose (as BIC has it);
that nothing differs from the case is a candidate too, ahead beforehand by the margin that an alarm takes.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from hydraulics.errors import FilterrunError
from sim.case.records import Case
from sim.fit.causes import SHOWS, Cause, Change, Diagnosis, Look, Symptom
from sim.fit.signature import CHANCE, Feature, Signature, Table
from sim.fit.symptom import noticed
from sim.fit.tried import GRADUAL, Tried, tried_of
from sim.log.records import Log, What
from sim.study.faults_possible import Kind

LEAST_ERROR: Mapping[Feature, float] = {
    Feature.CLEAN: 0.01, Feature.LOADED: 0.01, Feature.AFTER_WASH: 0.03, Feature.LATE: 0.03, Feature.HARDNESS: 0.05,
    Feature.METERED: 0.005, Feature.AT_WASH: 0.03, Feature.VOLUME: 0.02, Feature.HOUR: 0.1, Feature.DRAINED: 0.02,
}  # fmt: skip
"""Of one run, however steady a log looks."""
OFF: Mapping[Feature, float] = {
    Feature.CLEAN: 0.06, Feature.LOADED: 0.1, Feature.AFTER_WASH: 0.25, Feature.LATE: 0.25, Feature.HARDNESS: 0.2,
    Feature.METERED: 0.02, Feature.AT_WASH: 0.05, Feature.VOLUME: 0.03, Feature.HOUR: 0.25, Feature.DRAINED: 0.03,
}  # fmt: skip
"""By how much a case fitted to its plant may be off throughout; from memory."""
OFF_BY_PRESSURE, ERROR_BY_PRESSURE, SHAPE_BY_PRESSURE = 0.1, 0.15, 0.3
"""So much in CHANCE where a pressure drop or what passes starts the washes."""
ALARM = 8.0
"""By how much the best score has to beat that of no cause: from healthy logs of tests/fit/bench_diagnose.py."""
PARTED = 3.0
"""Two causes whose expected scores differ by less cannot be told apart."""
SEEN = 1.0
"""A cause expected to beat no cause by less cannot be seen in these readings."""
SHAPE = 0.1
"""Of a shift, what the model may be wrong about it."""
ALIKE = 0.8
"""Two causes of a symptom of which one has more than so much of the probability of the other are alike."""
LEAST_STEP, OF_FIRST, MOST_BEGINNINGS = 0.25, (1.0 / 3.0, 2.0 / 3.0, 1.0), 60
"""Of the smallest size run, the least that is tried; of the run in which it begins; at most so many beginnings."""
READ: Mapping[Look, What] = {
    Look.DRAIN: What.DRAIN, Look.INLET: What.TURBIDITY_IN, Look.CLEAN: What.PRESSURE_DROP,
    Look.AFTER_WASH: What.TURBIDITY_OUT, Look.HARDNESS: What.HARDNESS_OUT,
}  # fmt: skip
"""Looks that a log with these readings has had."""
KNOWN: Mapping[Change, tuple[What, ...]] = {
    Change.MORE_SOLIDS: (What.TURBIDITY_IN,), Change.COLDER: (What.TEMPERATURE,),
    Change.MORE_DEMAND: (What.FLOW, What.TOTAL), Change.LESS_DEMAND: (What.FLOW, What.TOTAL),
}  # fmt: skip
"""Changes that are no cause but known where a log reads these."""


class Fitted(NamedTuple):
    """The best of a cause: its score, how features change with it, in which run it began, its size."""

    score: float
    shift: Table
    first: int
    size: float | None


Sized = Sequence[tuple[float | None, Table]]
"""Sizes of a cause, the smallest first, with the shift that the model gives for each."""


def diagnose(
    log: Log, case: Case, stage: str, *, policy: str | None = None, progress: Callable[[int, int], None] | None = None
) -> Diagnosis:
    """Causes of what one stage shows in a log, the likeliest first, from a case that suits the plant.

    `policy`: the way in which its washes start; None: that of `today`, or the first. Raises RequestError for a way
    that the case does not have, RunError where the healthy model cannot run on the log.
    """
    policy = policy or case.today or case.policies[0].name
    signature = Signature(log, case, stage, policy)
    own = signature.alone.stages[0]
    read = {each.what for each in log.series}
    tried = [each for each in tried_of(signature.alone, policy, own)
             if not isinstance(each.what, Change) or read.isdisjoint(KNOWN.get(each.what, ()))]  # fmt: skip
    scoring = Scoring(signature.read - signature.healthy, steady=signature.steady, of_gauges=signature.of_gauges)
    sized: list[Sized] = []
    for number, each in enumerate(tried):
        if progress is not None:
            progress(number, len(tried))
        sized.append(sizes_of(signature, each))
    best = {n: scoring.best(tried[n].what, each) for n, each in enumerate(sized)
            if any(shift.any() for _, shift in each)}  # fmt: skip
    seen = {n: each for n, each in best.items() if scoring.apart(each.shift) > SEEN}
    order, healthy = sorted(seen, key=lambda n: -seen[n].score), scoring.of(np.zeros_like(signature.healthy))
    weights = _shares([healthy + ALARM, *(seen[n].score for n in order)])
    causes = tuple(
        Cause(
            what=tried[n].what, stage=tried[n].stage, probability=share, size=seen[n].size,
            since=float(signature.since[seen[n].first]) if seen[n].first > 0 else 0.0,
            inseparable_from=_alike(scoring, tried, sized, seen, n) if n in order[:3] else (),
        )
        for n, share in zip(order, weights[1:], strict=True)
    )
    margin = seen[order[0]].score - healthy if order else 0.0
    return Diagnosis(
        stage=stage, causes=causes, healthy=weights[0], margin=margin, alarm=margin > ALARM, next=_next(causes, read)
    )


def by_symptom(case: Case, stage: str, symptom: Symptom, *, policy: str | None = None) -> Diagnosis:
    """Causes of what somebody saw, those that show it most surely first: by the case alone, each in a middling size.

    Raises RequestError for a way to start washes that the case does not have.
    """
    found = list(noticed(case, stage, symptom, policy or case.today or case.policies[0].name))
    order, every = sorted(found, key=lambda each: -each[1]), math.fsum(sure for _, sure in found)
    causes = tuple(
        Cause(
            what=tried.what, stage=tried.stage, probability=sure / every, since=None, size=None,
            inseparable_from=tuple(other.what for other, much in order if other is not tried
                                   and ALIKE * sure < much < sure / ALIKE)[:2],
        )
        for tried, sure in order
    )  # fmt: skip
    return Diagnosis(
        stage=stage, causes=causes, healthy=0.0, margin=0.0, alarm=False, next=_next(causes, set())
    )


def sizes_of(signature: Signature, tried: Tried) -> Sized:
    """The shift of every size; too much for a run of the model is left out."""
    nothing, *sizes = tried.sizes or (None, None)
    found: list[tuple[float | None, Table]] = [(nothing, np.zeros_like(signature.healthy))] if tried.sizes else []
    for size in sizes:
        with suppress(FilterrunError):
            found.append((size, signature.shift(tried, size or 0.0)))
    return found


class Scoring:
    """How well shifts of features explain what a log shows beyond the model."""

    def __init__(self, beyond: Table, *, steady: bool, of_gauges: Table | None = None) -> None:
        self._beyond, self._valid = np.nan_to_num(beyond), np.isfinite(beyond)
        self._runs = beyond.shape[1]
        over = (beyond[each, :-1] if each is Feature.VOLUME else beyond[each] for each in Feature)
        error = np.array([_error(row, each) for row, each in zip(over, Feature, strict=True)])
        self._off = np.array([OFF[each] for each in Feature]) ** 2
        self._shape = np.full((len(Feature), 1), SHAPE)
        if not steady:
            error[CHANCE] = np.maximum(error[CHANCE], ERROR_BY_PRESSURE)
            self._off[CHANCE], self._shape[CHANCE] = OFF_BY_PRESSURE**2, SHAPE_BY_PRESSURE
        self._error: Table = np.hypot(error[:, None], np.zeros_like(beyond) if of_gauges is None else of_gauges)
        self._weight = self._weights(np.zeros_like(beyond))

    def _weights(self, shift: Table) -> Table:
        """One over the square of the error of every feature of every run, that of a shift itself included."""
        return self._valid / (self._error**2 + (self._shape * shift) ** 2)

    def _product(self, one: Table, other: Table, weight: Table) -> float:
        """The product of two tables by the inverse of their errors, of which one is shared by all runs."""
        shared = self._off / (1.0 + self._off * weight.sum(axis=1))
        ones, others = (weight * one).sum(axis=1), (weight * other).sum(axis=1)
        return float((weight * one * other).sum() - (shared * ones * others).sum())

    def of(self, shift: Table) -> float:
        """The log of the likelihood of a shift, but for what all have in common."""
        left, weight = self._beyond - shift, self._weights(shift)
        wider = np.log(self._weight[self._valid] / weight[self._valid]).sum()
        wider += np.log((1.0 + self._off * weight.sum(axis=1)) / (1.0 + self._off * self._weight.sum(axis=1))).sum()
        return -0.5 * (self._product(left, left, weight) + float(wider))

    def apart(self, shift: Table, other: Table | None = None) -> float:
        """By how much the true one of two shifts is expected to beat the other; None: no shift."""
        left = shift if other is None else shift - other
        return 0.5 * self._product(left, left, self._weights(shift))

    def best(self, what: Kind | Change, sized: Sized) -> Fitted:
        """The size and the beginning that suit the log best."""
        found = self._nearest(what, sized, self._beyond)
        free = 1 + (found.size is not None)
        return found._replace(score=self.of(found.shift) - 0.5 * free * math.log(self._runs))

    def alike(self, shift: Table, what: Kind | Change, sized: Sized) -> float:
        """By how much a shift is expected to beat the most similar one of another cause."""
        return self.apart(shift, self._nearest(what, sized, shift).shift)

    def _nearest(self, what: Kind | Change, sized: Sized, to: Table) -> Fitted:
        """Of all beginnings and sizes the one nearest to a table; between two sizes in proportion."""
        found: Fitted | None = None
        gradual = what in GRADUAL
        for first in np.unique(np.linspace(0, self._runs - 1, MOST_BEGINNINGS).round().astype(int)):
            for of_first in (1.0,) if gradual else OF_FIRST:
                begun = [(size, _from(shift, int(first), of_first, gradual=gradual)) for size, shift in sized]
                for (size, shift), (more, greater) in pairwise(begun) if len(begun) > 1 else ((begun[0], begun[0]),):
                    left, step = to - shift, greater - shift
                    square, least = self._product(step, step, self._weight), 0.0 if shift.any() else LEAST_STEP
                    part = 0.0
                    if square > 0.0:
                        part = min(max(self._product(left, step, self._weight) / square, least), 1.0)
                    left = left - part * step
                    score = -0.5 * self._product(left, left, self._weight)
                    if found is None or score > found.score:
                        known = None if size is None or more is None else size + part * (more - size)
                        found = Fitted(score, shift + part * step, int(first), known)
        assert found is not None
        return found


def _from(shift: Table, first: int, of_first: float, *, gradual: bool) -> Table:
    """A shift that begins in a run, of which it has a part; what grows grows from there."""
    begun = np.zeros_like(shift)
    begun[:, first:] = shift[:, : shift.shape[1] - first] if gradual else shift[:, first:]
    begun[:, first] *= of_first
    return begun


def _error(row: Table, feature: Feature) -> float:
    """The error of a feature of one run: from run to run, but for the greatest step, which may be a beginning.

    Of n squares of errors the greatest has about 2 ln n of their n in it.
    """
    steps = np.sort(np.diff(row[np.isfinite(row)]) ** 2)
    count = len(steps)
    seen = math.sqrt(float(steps[:-1].sum()) / (count - 2.0 * math.log(count)) / 2.0) if count > 1 else 0.0
    return max(seen, LEAST_ERROR[feature])


def _shares(scores: Sequence[float]) -> list[float]:
    most = max(scores)
    weights = [math.exp(score - most) for score in scores]
    return [weight / sum(weights) for weight in weights]


def _alike(
    scoring: Scoring, tried: Sequence[Tried], sized: Sequence[Sized], seen: Mapping[int, Fitted], of: int
) -> tuple[Kind | Change, ...]:
    """The two at most that come so near to a cause that these readings cannot tell."""
    near = {n: scoring.alike(seen[of].shift, tried[n].what, sized[n]) for n in seen if n != of}
    return tuple(tried[n].what for n in sorted(near, key=lambda n: near[n])[:2] if near[n] < PARTED)


def _next(causes: Sequence[Cause], read: set[What]) -> Look | None:
    """The look that parts the likeliest causes, or else shows the first: best one not had yet that does both."""
    if not causes:
        return None
    group = {causes[0].what, *(causes[0].inseparable_from or (each.what for each in causes[1:2]))}
    showing = [look for look in Look if causes[0].what in SHOWS[look]]
    parting = [look for look in Look if 0 < len(group & SHOWS[look]) < len(group)]
    looks = [*(look for look in parting if look in showing), *parting, *showing]
    return next((look for look in looks if READ.get(look) not in read), next(iter(looks), None))
