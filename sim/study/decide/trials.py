"""Settings run over many replicates, and what is kept of each: figures of a year, one a replicate."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from pathlib import Path
from typing import Any, Literal

import numpy as np

from sim.case.load import load_case
from sim.case.price.records import NO_PRICES, Prices
from sim.case.record import record
from sim.case.records import Case
from sim.case.stage.longest_run import with_usual_longest_runs
from sim.case.trigger.records import Policy, devices
from sim.case.units import DAY, HOUR, PA_PER_KPA
from sim.plant.records import Figure
from sim.review.site import site_of
from sim.study.costs import PRICE_OF, YEAR_DAYS, amounts, parts_of
from sim.study.many.arrays import Values
from sim.study.many.doubts_of_many import worst_figures
from sim.study.many.intervals import CONFIDENCE, Interval, of_mean, of_share
from sim.study.many.repeat import Count, Repeated, repeat
from sim.study.many.study_file import StudyFile
from sim.study.many.workers import Crew

Steps = tuple[tuple[str, float | str], ...]
"""Minutes of steps, or salt with its unit, by dotted key, where they are not those of the case."""

Known = dict[tuple[Policy, Steps, int, int], "Tried"]
"""What was run: policy without its name, steps, seed, replicates."""

AMOUNT, PART = "amount ", "part "

YEARLY = {
    "water": "drain_m3",
    "over_limit_h": "over_limit_h",
    "unavoidable_h": "over_limit_unavoidable_h",
    "stopped_h": "downstream_stopped_h",
    "waits": "waits",
    "raw_min": "bypass_min",
    "unmet_m3": "unmet_m3",
    "unmet_by_washing_m3": "unmet_by_washing_m3",
    "washes": "washes",
    "downtime_h": "downtime_h",
    "treated_m3": "treated_m3",
    "hardness_over_h": "hardness_over_h",
    "iron_over_h": "iron_over_h",
    "manganese_over_h": "manganese_over_h",
    "oxidant_over_h": "oxidant_over_h",
    "exposure": "oxidant_exposure_g_h_m3",
    "hardness_leak_kg": "hardness_leak_kg",
    "regenerations": "regenerations",
    "without": "regenerations_without",
    "salt_kg": "salt_kg",
}
"""Sums over a run, by the name under which they stand here, brought to a year."""

HOURS_OVER = ("over_limit_h", "hardness_over_h", "iron_over_h", "manganese_over_h", "oxidant_over_h")
"""Of these each stage has its own too."""

SHARES = ("breakthrough_risk",)
"""Figures of a run that stand here as they are."""


@record
class Candidate:
    """A policy at some settings. `values` are those of its knobs; `name` tells it from all others of a study."""

    name: str
    policy: Policy
    steps: Steps = ()
    values: tuple[float, ...] = ()


@record
class Tried:
    """What the runs of a candidate showed.

    `figures`: of a year, by the names of YEARLY and "cost", each "part" of the cost and the "amount" behind it, those
    of SHARES and of `_standing`, a value a replicate, nan where one does not apply. `over`: for every whole
    year whether it had more avoidable hours over the limit than the case allows; None where that is not known.
    `worst`: of SITE and each stage the figures of `doubts_of_many.WORST`, as `doubts.of_figures` takes them.
    """

    candidate: Candidate
    figures: Mapping[str, Values]
    over: Values | None
    worst: Mapping[str, Mapping[str, Figure]] = field(default_factory=dict)

    def mean(self, key: str) -> float:
        """The mean of a figure; nan where it does not apply."""
        found = self.interval(key)
        return float("nan") if found is None else found.mean

    def interval(self, key: str, confidence: float = CONFIDENCE) -> Interval | None:
        """The mean with its interval, the risk with its own."""
        if key == "risk":
            return None if self.over is None else of_share(int(self.over.sum()), self.over.size, confidence)
        return of_mean(self.figures[key], confidence)

    def less_than(self, other: "Tried", key: str, confidence: float = CONFIDENCE) -> Interval | None:
        """By how much a figure lies below another's, replicate by replicate on the same water."""
        return of_mean(other.figures[key] - self.figures[key], confidence)


Doing = Literal["searching", "confirming", "failing", "seasons", "constants", "all constants"]


@record
class Phase:
    """What a study does next: the so manieth of so many, of this policy, device or constant."""

    what: Doing
    name: str
    place: int
    count: int


@record
class Rough:
    """What a study would answer so far, by the runs that it searches with: round `number` of `count`.

    `tried` has what is `least` of all that keeps the limits in the mean, None where nothing does; `way` its policy.
    """

    number: int
    count: int
    least: Literal["cost", "water"]
    today: Tried
    way: str
    tried: Tried | None


@dataclass(slots=True)
class Tally:
    """How many runs a study has taken so far."""

    runs: int = 0


@dataclass(slots=True, kw_only=True)
class Bench:
    """Runs candidates of the case in `path` on the weather of `seed`, each of them once; `load` reads it anew.

    A stage of the case without a longest run gets the usual one, the same for every candidate.

    `progress` is told how many runs of the whole study are done and known to be needed, `phase` what comes next,
    `rough` what the answer would be so far; `kept` holds what is done.
    """

    path: Path
    case: Case
    crew: Crew
    seed: int
    replicates: int
    progress: Count | None = None
    phase: Callable[[Phase], None] | None = None
    rough: Callable[[Rough], None] | None = None
    kept: StudyFile | None = None
    tally: Tally = field(default_factory=Tally)
    load: Callable[[Path, Mapping[str, Any]], Case] = load_case
    known: Known = field(default_factory=dict)
    cases: dict[Steps, Case] = field(default_factory=dict)

    def tried(self, candidates: Sequence[Candidate]) -> list[Tried]:
        """What each of the candidates showed; those that were run before are not run again."""
        groups: dict[Steps, list[Candidate]] = {}
        for each in candidates:
            if self._key(each) not in self.known and each not in groups.setdefault(each.steps, []):
                groups[each.steps].append(each)
        for steps, group in groups.items():
            if group:
                self._run(steps, group)
        prices = self.case.prices or NO_PRICES
        return [priced(replace(self.known[self._key(each)], candidate=each), prices) for each in candidates]

    def case_at(self, steps: Steps) -> Case:
        """The case with these steps."""
        if not steps:
            return self.case
        if steps not in self.cases:
            self.cases[steps] = replace(self.load(self.path, dict(steps)), prices=self.case.prices)
        return self.cases[steps]

    def at_prices(self, prices: Prices) -> "Bench":
        """The same runs at other prices: what is run there is known here too."""
        return replace(self, case=replace(self.case, prices=prices), cases={})

    def enter(self, what: Doing, name: str = "", place: int = 0, count: int = 0) -> None:
        """Say what comes next."""
        if self.phase is not None:
            self.phase(Phase(what=what, name=name, place=place, count=count))

    def alone(self, settings: Mapping[str, Any] | None = None) -> "Bench":
        """One run of each candidate, at other constants of the case where some are given."""
        if not settings:
            return replace(self, replicates=1)

        def load(path: Path, changed: Mapping[str, Any]) -> Case:
            return self.load(path, {**settings, **changed})

        found, prices = load(self.path, {}), self.case.prices
        if prices is not None and found.prices is not None:
            prices = replace(prices, pump_efficiency=found.prices.pump_efficiency)
        return replace(self, replicates=1, case=replace(found, prices=prices), load=load, known={}, cases={})

    def _key(self, candidate: Candidate) -> tuple[Policy, Steps, int, int]:
        return replace(candidate.policy, name=""), candidate.steps, self.seed, self.replicates

    def _run(self, steps: Steps, group: Sequence[Candidate]) -> None:
        named = tuple(replace(each.policy, name=each.name) for each in group)
        case = replace(with_usual_longest_runs(self.case_at(steps)), policies=named)
        before, told = self.tally.runs, self.progress
        repeated = repeat(
            case, self.crew, seed=self.seed, replicates=self.replicates, kept=self.kept,
            progress=None if told is None else lambda done, goal: told(before + done, before + goal),
        )  # fmt: skip
        self.tally.runs += len(named) * self.replicates
        for each in group:
            self.known[self._key(each)] = measured(repeated, each)


def measured(repeated: Repeated, candidate: Candidate) -> Tried:
    """What the runs of the policy of a candidate's name showed."""
    name, count = candidate.name, repeated.figures.replicates
    a_year = YEAR_DAYS / repeated.days if repeated.days else 0.0
    figures = {key: repeated.values(name, of) * a_year for key, of in YEARLY.items()}
    figures |= {key: repeated.values(name, key) for key in SHARES}
    figures |= _standing(repeated, candidate)
    for key, stage in product(HOURS_OVER, repeated.case.stages):
        figures[of_stage(key, stage.name)] = repeated.values(name, key, stage.name) * a_year
    worst = {place: worst_figures(repeated, name, place) for place in repeated.figures.places}
    prices = repeated.case.prices or NO_PRICES
    amount = [amounts(prices, repeated.run(name, place), repeated.days) for place in range(count)]
    for key in amount[0]:
        figures[f"{AMOUNT}{key}"] = np.array([each[key] for each in amount])
    return Tried(candidate=candidate, figures=figures, over=repeated.over(name), worst=worst)


def of_stage(key: str, stage: str) -> str:
    """The name of a stage's own figure: its highest pressure drop [kPa], hours of a year over one of its limits."""
    return f"{key} {stage}"


def _standing(repeated: Repeated, candidate: Candidate) -> dict[str, Values]:
    """What the limits of every study look at.

    The highest pressure drop of all stages, of each, and of all together as if they came at once [kPa]; by how much a
    set point lies below the clean bed [kPa]; whether no device starts a wash; the largest share of downtime.
    """
    case, name, site = repeated.case, candidate.name, site_of(repeated.case)
    triggers = dict(candidate.policy.triggers)
    peaks = {stage.name: repeated.values(name, "peak_dp_kpa", stage.name) for stage in case.stages}
    blank = np.full(repeated.figures.replicates, np.nan)
    below, idle, off_line = blank, blank, np.zeros_like(blank)
    for stage in case.stages:
        trigger = triggers[stage.name]
        _, meters, switch, _ = devices(trigger)
        if switch is not None:
            below = np.fmax(below, (site.clean(stage) - switch.above) / PA_PER_KPA)
        if meters or switch:
            by_itself = repeated.values(name, "longest_run_share", stage.name)
            idle = np.fmin(idle, ~(by_itself < 1.0))  # without a wash nothing is known of its share
        hours = repeated.days * DAY / HOUR * stage.vessels.count
        off_line = np.fmax(off_line, repeated.values(name, "downtime_h", stage.name) / (hours or 1.0))
    return {
        "pressure_kpa": repeated.values(name, "peak_dp_kpa"),
        **{of_stage("pressure_kpa", stage): values for stage, values in peaks.items()},
        "supply_kpa": np.sum(list(peaks.values()), axis=0),
        "below_clean_kpa": below,
        "idle": idle,
        "off_line": off_line,
    }


def priced(tried: Tried, prices: Prices) -> Tried:
    """The same runs at these prices: what a year costs, and its parts, follow from their amounts."""
    amount = {key.removeprefix(AMOUNT): values for key, values in tried.figures.items() if key.startswith(AMOUNT)}
    parts, unknown = parts_of(prices, amount), np.full(len(amount["water"]), np.nan)
    costs = {f"{PART}{part}": parts.get(part, unknown) for part in PRICE_OF}
    costs["cost"] = np.sum(list(parts.values()), axis=0) if parts else unknown
    return replace(tried, figures={**tried.figures, **costs})
