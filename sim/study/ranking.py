"""Whether the order of the policies rests on a constant that is known by its range only.

Every constant that is assumed, or given with a range, goes to the low and to the high end of that, one at a time and
all together, and every policy runs again. Two policies change places when a figure that set them apart sets them
apart the other way. A run that washes without end is stopped: it counts as the most water to drain and as a limit
that is not kept.
"""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path
from typing import Any

from sim.case.load import load_case
from sim.case.records import Assumption, Case
from sim.case.units import DAY, HOUR
from sim.errors import CaseError
from sim.plant.records import Figure, RunResult
from sim.plant.simulate import Plant
from sim.study.costs import YEAR_DAYS
from sim.study.errors import Interrupted, RunFailure, SettingError
from sim.study.many.assumed_settings import MONEY, Setting, settings_of
from sim.study.many.outcome import Outcome
from sim.study.many.repeat import Count, repeat
from sim.study.many.workers import Crew
from sim.study.over_ranges import At, End, Move, OverRanges

Load = Callable[[Path, Mapping[str, Any]], Case]
RANKED_BY: Mapping[str, float] = {"over_limit_h": 0.5, "drain_m3": 0.1}
"""The figures whose order is tested, and the difference [h, m3] below which two policies count as equal."""
EQUAL_SHARE = 0.01  # of the larger figure: as little sets no two policies apart either
SPREAD = ("drain_m3", "downtime_h", "over_limit_h", "breakthrough_risk", "peak_dp_kpa")
"""The figures whose spread over the ranges is told."""
FIRST_DAYS = 28.0  # by which most runs that wash without end do so
WITHOUT_END = 0.25  # share of the time: a vessel that is off line for longer washes without end


@dataclass(frozen=True, slots=True)
class Turn:
    """A pair of policies that changes places by a figure when some constants lie at an end of their ranges."""

    keys: tuple[str, ...]
    end: End
    kpi: str
    better: str
    worse: str


@dataclass(frozen=True, slots=True)
class RangeTest:
    """What the runs at the ends of the ranges showed. `refused`: ends at which the case cannot be run, with why.

    `endless`: ends at which a policy washes without end, with its name.
    """

    policies: tuple[str, ...]
    assumed: int
    constants: int
    runs: int
    turns: tuple[Turn, ...]
    refused: tuple[tuple[str, End, str], ...]
    endless: tuple[tuple[str, End, str], ...]
    over: OverRanges

    @property
    def moves(self) -> tuple[Move, ...]:
        """The constants that move the answer, the one that moves it most first."""
        return self.over.moves(RANKED_BY, [turn.keys[0] for turn in self.turns if len(turn.keys) == 1])


def range_test(
    path: Path,
    case: Case,
    results: Sequence[RunResult],
    crew: Crew,
    *,
    seed: int = 1,
    progress: Count | None = None,
    load: Load = load_case,
) -> RangeTest:
    """Have `crew` run the policies of the case in `path` at the ends of its ranges; `results` are at typical values.

    `load` reads the case with some settings changed; another than `load_case` reads it from where it does not change.
    `progress` is told how many runs are done, and of how many.
    """
    names = tuple(result.policy for result in results)
    ends = list(at_ends(path, case, load))
    refused = tuple((trial_name(each), end, found) for each, end, found in ends if isinstance(found, str))
    trials = [(each, end, found) for each, end, found in ends if not isinstance(found, str)]
    shown: Sequence[Sites] = _run(case, trials, crew, seed, progress) if trials else []
    turns = [
        Turn(tuple(each.key for each in assumptions), end, *change)
        for (assumptions, end, _), sites in zip(trials, shown, strict=True)
        for change in _changes(results, sites)
    ]
    endless = tuple(
        (trial_name(assumptions), end, name)
        for (assumptions, end, _), sites in zip(trials, shown, strict=True)
        for name, site in sites.items() if _is_endless(site)
    )  # fmt: skip
    return RangeTest(
        names, len(case.assumptions), case.constants, len(trials) * len(names), tuple(turns), refused, endless,
        _over(case, {each.policy: each.site for each in results}, trials, shown),
    )  # fmt: skip


def stopped() -> Interrupted:
    """That a person stopped the runs at the ends of the ranges."""
    return Interrupted("interrupted while assumed constants were tried; nothing written; --no-ranges leaves them out")


Sites = Mapping[str, Mapping[str, Figure]]
"""The figures of the site by policy, as one trial showed them."""
Trials = Sequence[tuple[tuple[Assumption, ...], End, Case]]


def _run(case: Case, trials: Trials, crew: Crew, seed: int, progress: Count | None) -> Sequence[Sites]:
    """What every policy showed in each trial."""
    last_first = [found for _, _, found in reversed(trials)]  # all together: it may well take the longest
    try:
        repeated = repeat(
            case, crew, seed=seed, replicates=len(trials), draws=last_first.__getitem__, run=on_the_same_water,
            progress=progress,
        )  # fmt: skip
    except Interrupted:
        raise stopped() from None
    except RunFailure as error:
        assumptions, end, _ = trials[-1 - error.replicate]
        raise SettingError(f"{trial_name(assumptions)}, {end}", error.policy, error.why) from error
    places = range(len(trials))
    return [{each.name: repeated.run(each.name, place) for each in case.policies} for place in places][::-1]


def _over(case: Case, typical: Sites, trials: Trials, shown: Sequence[Sites]) -> OverRanges:
    """The spread of the figures, and which policies kept the limit in which trial."""
    return OverRanges(
        typical=_told(typical),
        kept=keeping(case, typical),
        limited=case.judged.limit is not None,
        trials=tuple(
            At(keys=tuple(each.key for each in assumptions), end=end, shown=_told(sites), kept=keeping(case, sites))
            for (assumptions, end, _), sites in zip(trials, shown, strict=True)
        ),
    )


def _told(sites: Sites) -> dict[str, dict[str, float]]:
    return {name: {key: _number(site[key]) for key in SPREAD} for name, site in sites.items()}


def keeping(case: Case, sites: Sites) -> frozenset[str]:
    """Who has no time over the limit, or at most the avoidable hours that the case allows a year."""
    allowed = case.run.allowed_over_limit
    if allowed is None:
        return frozenset(name for name, site in sites.items() if not site["over_limit_h"] and not _is_endless(site))
    years = case.run.length / DAY / YEAR_DAYS
    return frozenset(
        name for name, site in sites.items()
        if not _is_endless(site)
        and _number(site["over_limit_h"]) - _number(site["over_limit_unavoidable_h"]) <= allowed / HOUR * years
    )  # fmt: skip


def _number(value: Figure) -> float:
    return float("nan") if value is None or math.isinf(value) else float(value)


def _is_endless(site: Mapping[str, Figure]) -> bool:
    return site["drain_m3"] == math.inf


def on_the_same_water(case: Case, policy: str, seed: int, place: int) -> Outcome:
    """One run of a trial: `place` tells it from the others, and all of them have the weather of the comparison.

    Of one that washes without end no figure is known but the water to drain, which is endless.
    """
    plant = Plant(case, policy, seed=seed)
    for until in (min(FIRST_DAYS * DAY, case.run.length), case.run.length):
        plant.run_until(until)
        result = plant.result()
        site, stages = result.site, result.stages
        off_line = [_number(stages[each.name]["downtime_h"]) / each.vessels.count for each in case.stages]
        if max(off_line) > WITHOUT_END * until / HOUR:
            site = dict.fromkeys(site) | {"drain_m3": math.inf}
            break
    return Outcome(policy=policy, replicate=place, site=site, stages=stages, avoidable_h=())


def trial_name(assumptions: Sequence[Assumption]) -> str:
    """What a trial of one constant, or of all of them, is called."""
    return assumptions[0].key if len(assumptions) == 1 else "all together"


def at_ends(path: Path, case: Case, load: Load) -> Iterator[tuple[tuple[Assumption, ...], End, Case | str]]:
    """The case with each constant of a range, then all of them, at either end; a text where it cannot be read."""
    for assumptions, end, settings in ends_of_ranges(case):
        if not settings or all(each.key.startswith(MONEY) for each in assumptions):
            continue  # nothing is another, or nothing that a run has
        try:
            yield assumptions, end, load(path, settings)
        except CaseError as error:
            yield assumptions, end, str(error.problems[0])


def ends_of_ranges(case: Case) -> list[tuple[tuple[Assumption, ...], End, dict[str, Setting]]]:
    """Each constant with a range, then all of them, at either end, with the settings that put it there."""
    ends: tuple[End, End] = ("low", "high")
    trials: list[tuple[tuple[Assumption, ...], End]] = [((each,), end) for each in case.ranged for end in ends]
    if len(case.ranged) > 1:
        trials += [(case.ranged, end) for end in ends]
    return [(assumptions, end, _settings(case, assumptions, end)) for assumptions, end in trials]


def _settings(case: Case, assumptions: Sequence[Assumption], end: End) -> dict[str, Setting]:
    """Values for the case file that put these constants at an end; those that stay where they are left out."""
    return settings_of(case, {each: each.low if end == "low" else each.high for each in assumptions})


def _changes(typical: Sequence[RunResult], sites: Sites) -> Iterator[tuple[str, str, str]]:
    """Figure, and the pair that changed places by it in a trial: the better and the worse one at typical values."""
    for kpi, least in RANKED_BY.items():
        for one, two in combinations(typical, 2):
            before = _sign(one.site[kpi], two.site[kpi], least)
            after = _sign(sites[one.policy][kpi], sites[two.policy][kpi], least)
            if before * after < 0:
                better, worse = (one, two) if before < 0 else (two, one)
                yield kpi, better.policy, worse.policy


def less_clearly(a: float, b: float, kpi: str) -> bool:
    """Whether a figure of RANKED_BY is clearly less than another."""
    return _sign(a, b, RANKED_BY[kpi]) < 0


def _sign(a: Figure, b: Figure, least: float) -> int:
    """-1 if a figure is clearly less than another, 1 if more, 0 if about as much or if it does not apply."""
    if a is None or b is None:
        return 0
    about = max(least, EQUAL_SHARE / (1.0 - EQUAL_SHARE) * min(a, b))  # of the larger, which may have no end
    return -1 if a < b - about else 1 if b < a - about else 0
