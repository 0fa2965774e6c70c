"""A case at several values of one or two of its settings: every policy at each, with nothing else changed."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import product
from pathlib import Path
from typing import Any

from hydraulics.errors import FilterrunError
from sim.case.load import load_case
from sim.case.record import record
from sim.case.records import Case
from sim.case.units import DAY
from sim.errors import CaseError, RefusedValue
from sim.plant.records import RunResult
from sim.plant.simulate import simulate
from sim.study.compare import Progress, heading, policy_row
from sim.study.costs import priced
from sim.study.errors import RequestError, SettingError
from sim.study.single import require_policy
from sim.study.vary import Setting, key_words, plain, told

MOST_KEYS = 2
MOST_RUNS = 400
MOST_TOLD = 8
"""Problems that a message names; the rest is counted."""


@record
class Point:
    """The case at one value of each key that is varied, and what its policies gave there."""

    settings: Mapping[str, Setting]
    results: tuple[RunResult, ...]


@record
class Sweep:
    """The points of a sweep: the first key varies slowest. `case` is the case as its file has it."""

    case: Case
    seed: int
    values: Mapping[str, tuple[Setting, ...]]
    policies: tuple[str, ...]
    points: tuple[Point, ...]

    @property
    def keys(self) -> tuple[str, ...]:
        """The dotted keys that are varied."""
        return tuple(self.values)

    @property
    def idle(self) -> tuple[str, ...]:
        """The keys with several values that change no figure of any policy."""
        return tuple(key for key, values in self.values.items() if len(values) > 1 and self._changes_nothing(key))

    def _changes_nothing(self, key: str) -> bool:
        alike: dict[tuple[Setting, ...], list[object]] = {}
        for point in self.points:
            others = tuple(value for name, value in point.settings.items() if name != key)
            alike.setdefault(others, []).append([(each.site, each.stages) for each in point.results])
        return all(figures == group[0] for group in alike.values() for figures in group)

    def to_json(self) -> dict[str, Any]:
        """Plain data for a JSON file: figures in SI with the unit in each key, settings as the case file has them."""
        return {
            **heading(self.case, self.case.run.length / DAY, self.seed),
            "keys": list(self.keys),
            "rows": [
                {
                    "settings": {key: plain(value) for key, value in point.settings.items()},
                    "policies": [policy_row(each) for each in point.results],
                }
                for point in self.points
            ],
        }


def sweep(
    path: Path,
    vary: Mapping[str, Sequence[Setting]],
    policies: Sequence[str] = (),
    seed: int = 1,
    progress: Progress | None = None,
) -> Sweep:
    """Run the policies named, or all, of the case in `path` at every combination of values.

    `vary` has one or two dotted keys of the case file (see `sim.case.dotted`) with the values of each.
    `progress`, if given, is told before each run: settings and policy, its place from 0, how many there are.
    Raises CaseError for a file that is not in order, RequestError for settings that it cannot take, before anything
    is run; SettingError for a run that fails.
    """
    case = load_case(path)
    names = tuple(dict.fromkeys(policies)) or tuple(policy.name for policy in case.policies)
    for name in names:
        require_policy(case, name)
    values = {key: tuple(each) for key, each in vary.items()}
    _require_few(values, len(names))
    settings = [dict(zip(values, each, strict=True)) for each in product(*values.values())]
    points = []
    short = [words for words, _ in key_words(tuple(values))]
    for place, (chosen, at) in enumerate(zip(settings, _cases(path, settings), strict=True)):
        results = []
        for number, name in enumerate(names):
            if progress is not None:
                words = settings_words(dict(zip(short, chosen.values(), strict=True)))
                progress(f"{words}: {name}", place * len(names) + number, len(settings) * len(names))
            results.append(_run(at, name, seed, chosen))
        points.append(Point(settings=chosen, results=tuple(results)))
    return Sweep(case=case, seed=seed, values=values, policies=names, points=tuple(points))


def settings_words(settings: Mapping[str, Setting]) -> str:
    """Settings in a line.

    >>> settings_words({"run.length": "9 d"})
    'run.length = 9 d'
    """
    return ", ".join(f"{key} = {told(value)}" for key, value in settings.items())


def _require_few(values: Mapping[str, Sequence[Setting]], policies: int) -> None:
    """RequestError where there is nothing to vary, or too much, or the same twice."""
    if not 1 <= len(values) <= MOST_KEYS:
        raise RequestError(f"{len(values)} keys to vary; allowed: one or {MOST_KEYS}; try: others in the file")
    runs = policies
    for key, each in values.items():
        words = [told(value) for value in each]
        if not words:
            raise RequestError(f"no value for {key}; allowed: one or more")
        twice = next((word for word in words if words.count(word) > 1), None)
        if twice is not None:
            raise RequestError(f"{key} has the value {twice} twice; allowed: every value once")
        runs *= len(each)
    if runs > MOST_RUNS:
        raise RequestError(f"{runs:,} runs; allowed: up to {MOST_RUNS} together; try: fewer values or fewer policies")


def _cases(path: Path, settings: Sequence[Mapping[str, Setting]]) -> list[Case]:
    """The case at each of these settings; RequestError with everything that cannot be taken."""
    cases: list[Case] = []
    problems: dict[tuple[str, ...], str] = {}
    for chosen in settings:
        try:
            cases.append(load_case(path, chosen))
        except (CaseError, RefusedValue) as error:
            for where, *parts in _told(error, chosen):
                problems.setdefault(tuple(parts), where)
    if problems:
        more = [f"and {len(problems) - MOST_TOLD} more"] if len(problems) > MOST_TOLD else []
        raise RequestError("\n  ".join([
            "the case cannot be varied so; nothing was run or written",
            *(f"{where}\n    given:   {given}\n    allowed: {allowed}\n    try:     {try_}"
              for (given, allowed, try_), where in list(problems.items())[:MOST_TOLD]),
            *more,
        ]))  # fmt: skip
    return cases


def _told(error: CaseError | RefusedValue, settings: Mapping[str, Setting]) -> Iterator[tuple[str, str, str, str]]:
    """Where, given, allowed and try of each problem; the place is told where it is not the setting itself."""
    if isinstance(error, RefusedValue):
        yield settings_words(settings), error.given, error.allowed, error.try_
        return
    for problem in error.problems:
        own = {problem.key: settings[problem.key]} if problem.key in settings else settings
        where = settings_words(own)
        yield (
            where if problem.key in settings else f"{where}: {problem.key}",
            problem.given,
            problem.allowed,
            problem.try_,
        )


def _run(case: Case, policy: str, seed: int, settings: Mapping[str, Setting]) -> RunResult:
    try:
        return priced(case, simulate(case, policy, seed=seed))
    except FilterrunError as error:
        raise SettingError(settings_words(settings), policy, str(error)) from error
