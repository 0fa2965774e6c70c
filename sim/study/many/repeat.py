"""Every policy of a case over many replicates of its weather: each replicate the same water for all of them."""

from collections.abc import Callable, Iterable, Sequence
from contextlib import closing
from dataclasses import dataclass
from functools import partial
from itertools import combinations
from typing import Any

import numpy as np

from sim.case.record import record
from sim.case.records import Case
from sim.case.units import DAY, HOUR
from sim.plant.records import Figure
from sim.processes import interrupted_with
from sim.study.compare import heading
from sim.study.costs import year_cost
from sim.study.errors import Interrupted
from sim.study.many.arrays import SITE, Figures, Values
from sim.study.many.dispatch import Dispatch, Todo, shared_out
from sim.study.many.identity import keys_of
from sim.study.many.intervals import Interval, Pair, differ, of_mean, of_pair, of_share
from sim.study.many.jobs import Job
from sim.study.many.outcome import Outcome, RunOne, run_one
from sim.study.many.precision import RISK, Precision, more
from sim.study.many.study_file import StudyFile
from sim.study.many.workers import Crew

PAIRED = ("washes", "downtime_h", "treated_m3", "unmet_m3", "drain_m3", "over_limit_h", "solids_to_service_kg")
RISK_KPI, COST_KPI = "bad_year_share", "cost"

Count = Callable[[int, int], None]


@record
class Repeated:
    """What many runs of every policy of `case` showed. `uncertain`: whether assumed constants were drawn as well.

    `missed` are the wishes for precision that were not met when the study ended at its most replicates.
    """

    case: Case
    seed: int
    figures: Figures
    uncertain: bool
    missed: tuple[Precision, ...] = ()

    @property
    def days(self) -> float:
        """Length of each run [d]."""
        return self.case.run.length / DAY

    def mean(self, policy: str, key: str, place: str = SITE) -> Interval | None:
        """The mean of a figure over the runs in which it applies; the share of years for the risk."""
        if key == RISK_KPI:
            return self.risk(policy) if place == SITE else None
        return of_mean(self.values(policy, key, place))

    def values(self, policy: str, key: str, place: str = SITE) -> Values:
        """One figure of every run of a policy; its cost by the case's prices."""
        if key != COST_KPI:
            return self.figures.of(policy, key, place)
        prices = self.case.prices if place == SITE else None
        costs = [year_cost(prices, self.run(policy, each), self.days) for each in range(self.figures.replicates)]
        return np.array([np.nan if cost is None else cost for cost in costs])

    def run(self, policy: str, replicate: int) -> dict[str, Figure]:
        """The figures of the site of one run."""
        found = {key: float(self.figures.of(policy, key)[replicate]) for key in self.figures.keys}
        return {key: None if np.isnan(value) else value for key, value in found.items()}

    def over(self, policy: str) -> Values | None:
        """Whether each whole year, run after run, had more avoidable hours over the limit than the case allows.

        None for a single run, for runs under a year, and where the case does not say what is allowed.
        """
        allowed, years = self.case.run.allowed_over_limit, self.figures.avoidable(policy)
        if allowed is None or self.figures.replicates < 2 or not years.size:
            return None
        return (years.ravel() > allowed / HOUR).astype(np.float64)

    def risk(self, policy: str) -> Interval | None:
        """The share of years with more than allowed, with Wilson's interval."""
        over = self.over(policy)
        return None if over is None else of_share(int(over.sum()), over.size)

    def risks_differ(self, a: str, b: str) -> bool:
        """Whether the years in which only one of two policies had more than allowed tell them apart."""
        one, other = self.over(a), self.over(b)
        return one is not None and other is not None and differ(one, other)

    def pair(self, a: str, b: str, key: str) -> Pair | None:
        """One policy's figure less another's, replicate by replicate."""
        return of_pair(a, b, key, self.values(a, key), self.values(b, key))

    def pairs(self) -> Iterable[Pair]:
        """Every pair of policies by every figure of PAIRED that both have."""
        for a, b in combinations(self.figures.policies, 2):
            for key in PAIRED:
                found = self.pair(a, b, key)
                if found is not None:
                    yield found

    def paired_rows(self) -> Iterable[dict[str, Any]]:
        """Every paired difference as plain data."""
        for each in self.pairs():
            yield {
                "a": each.a, "b": each.b, "kpi": each.kpi, **each.difference._asdict(), "variance": each.variance,
                "variance_unpaired": each.unpaired,
            }  # fmt: skip

    def means(self, policy: str, place: str = SITE) -> dict[str, Figure]:
        """Every figure's mean, under its key."""
        found = {key: self.mean(policy, key, place) for key in self.figures.keys}
        return {key: None if each is None else each.mean for key, each in found.items()}

    def to_json(self) -> dict[str, Any]:
        """Plain data for a JSON file: means over the replicates, intervals, paired differences."""
        return {
            **heading(self.case, self.days, self.seed),
            "replicates": self.figures.replicates,
            "uncertain": self.uncertain,
            "precision_missed": [str(each) for each in self.missed],
            "policies": [self._policy_json(policy) for policy in self.figures.policies],
            "paired": list(self.paired_rows()),
        }

    def _policy_json(self, policy: str) -> dict[str, Any]:
        intervals = {key: self.mean(policy, key) for key in self.figures.keys}
        return {
            "name": policy,
            "site": self.means(policy),
            "stages": {stage.name: self.means(policy, stage.name) for stage in self.case.stages},
            "interval": {key: [each.low, each.high] for key, each in intervals.items() if each and each.known},
        }


@dataclass(slots=True, kw_only=True)
class _Study:
    """A study under way."""

    case: Case
    seed: int
    crew: Crew
    kept: StudyFile | None
    key: Callable[[str, int], str]
    case_of: Callable[[int], Case]
    run: RunOne
    figures: Figures
    progress: Count
    done: int = 0

    def extend(self, replicates: int) -> None:
        """Have so many replicates in all: those kept on file are taken from there, the others are run."""
        first = self.figures.replicates
        self.figures.grow(replicates)
        goal = replicates * len(self.case.policies)
        todo = shared_out([self._missing(place) for place in range(first, replicates)], self.crew.count)
        self.progress(self.done, goal)
        with closing(Dispatch(todo, self._job, self.crew, self.seed, self.run).answers()) as answers:
            for answer in answers:
                self._take(answer.outcomes)
                self.progress(self.done, goal)

    def _take(self, outcomes: Sequence[Outcome]) -> None:
        if self.kept is not None:
            self.kept.keep([(self.key(each.policy, each.replicate), each) for each in outcomes])
        for outcome in outcomes:
            self.figures.put(outcome)
        self.done += len(outcomes)

    def _missing(self, replicate: int) -> Todo:
        """The policies of a replicate that are not on file; those that are go into the figures."""
        names = tuple(policy.name for policy in self.case.policies)
        if self.kept is None:
            return replicate, names
        missing = []
        for name in names:
            outcome = self.kept.find(self.key(name, replicate), name, replicate)
            if outcome is None:
                missing.append(name)
            else:
                self.figures.put(outcome)
                self.done += 1
        return replicate, tuple(missing)

    def _job(self, replicate: int, policies: tuple[str, ...]) -> Job:
        return Job(case=self.case_of(replicate), replicate=replicate, policies=policies)


def repeat(
    case: Case, crew: Crew, *, seed: int = 1, replicates: int, at_most: int | None = None,
    precision: Sequence[Precision] = (), draws: Callable[[int], Case] | None = None, kept: StudyFile | None = None,
    progress: Count | None = None, run: RunOne = run_one,
) -> Repeated:  # fmt: skip
    """Run every policy over so many replicates and, until every `precision` is met, over more, `at_most` in all.

    `draws` gives each replicate a case of its own; `kept` holds what is done. `progress` is told how many runs are
    done, and of how many. The result depends on none of: who did the runs, in which order, what was on file before.
    Raises Interrupted where a person stops it, StudyError where the workers or the disk do.
    """
    study = _Study(
        case=case, seed=seed, crew=crew, kept=kept, key=keys_of(case, seed, run, uncertain=draws is not None),
        case_of=draws or (lambda replicate: case), run=run, progress=progress or (lambda done, goal: None),
        figures=Figures([policy.name for policy in case.policies]),
    )  # fmt: skip
    most = max(replicates, at_most or replicates)
    goal = replicates
    try:
        while True:
            with interrupted_with(partial(_interrupted_words, study, goal)):
                study.extend(goal)
            found = Repeated(case=case, seed=seed, figures=study.figures, uncertain=draws is not None)
            missed = tuple(each for each in precision if not each.met(_asked(found, each)))
            if not missed or goal >= most:
                break
            goal = more(goal, most)
    except KeyboardInterrupt:
        raise _interrupted(study, goal) from None
    return Repeated(case=case, seed=seed, figures=study.figures, uncertain=draws is not None, missed=missed)


def _asked(found: Repeated, precision: Precision) -> list[Interval | None]:
    key = RISK_KPI if precision.key == RISK else precision.key
    return [found.mean(policy, key) for policy in found.figures.policies]


def _interrupted_words(study: _Study, goal: int) -> str:
    return str(_interrupted(study, goal))


def _interrupted(study: _Study, goal: int) -> Interrupted:
    """How many runs were done, and whether they are kept."""
    return Interrupted(
        f"interrupted: {study.done} of {goal * len(study.case.policies)} runs were done and "
        + (
            "are lost, as no --study was given to keep them in; nothing written" if study.kept is None
            else f"are kept in {study.kept.path}; the same command goes on from there"
        )
    )  # fmt: skip
