"""Whether the order of the policies rests on a constant that was only assumed.

Every assumed constant goes to the low and to the high end of its range, one at a time and all together, and every
policy runs again. Two policies change places when a figure that set them apart sets them apart the other way.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from itertools import combinations
from pathlib import Path
from typing import Any, Literal

from sim.case.load import load_case
from sim.case.records import Assumption, Case
from sim.errors import CaseError
from sim.plant.records import RunResult
from sim.plant.simulate import simulate
from sim.study.assumed_settings import Setting, settings_of

End = Literal["low", "high"]
Progress = Callable[[str, int, int], None]
Load = Callable[[Path, Mapping[str, Any]], Case]

RANKED_BY: Mapping[str, float] = {"breach_h": 0.5, "drain_m3": 0.1}
"""The figures whose order is tested, and the difference [h, m3] below which two policies count as equal."""
EQUAL_SHARE = 0.01  # of the larger figure: as little sets no two policies apart either


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
    """What the runs at the ends of the ranges showed. `refused`: ends at which the case cannot be run, with why."""

    policies: tuple[str, ...]
    assumed: int
    constants: int
    runs: int
    turns: tuple[Turn, ...]
    refused: tuple[tuple[str, End, str], ...]

    @property
    def steady_pairs(self) -> tuple[tuple[str, str], ...]:
        """The pairs of policies that no trial made change places, by any figure."""
        turned = {frozenset((turn.better, turn.worse)) for turn in self.turns}
        return tuple(pair for pair in combinations(self.policies, 2) if frozenset(pair) not in turned)

    def to_json(self) -> dict[str, Any]:
        """Plain data for a JSON file."""
        return {
            "assumed": self.assumed,
            "constants": self.constants,
            "runs": self.runs,
            "holds": not self.turns,
            "turns": [asdict(turn) for turn in self.turns],
            "refused": [{"key": key, "end": end, "why": why} for key, end, why in self.refused],
        }


def range_test(
    path: Path,
    case: Case,
    results: Sequence[RunResult],
    *,
    seed: int = 1,
    progress: Progress | None = None,
    load: Load = load_case,
) -> RangeTest:
    """Run the policies of the case in `path` at the ends of its assumed ranges, against `results` at typical values.

    `load` reads the case with some settings changed; another than `load_case` reads it from where it does not change.
    `progress`, if given, is told before each trial: the constant, its place from 0, how many there are.
    """
    turns: list[Turn] = []
    refused: list[tuple[str, End, str]] = []
    runs = 0
    for assumptions, end, found in at_ends(path, case, progress, load):
        if isinstance(found, str):
            refused.append((trial_name(assumptions), end, found))
            continue
        others = [simulate(found, policy.name, seed=seed) for policy in found.policies]
        runs += len(others)
        keys = tuple(each.key for each in assumptions)
        turns += [Turn(keys, end, *change) for change in _changes(results, others)]
    names = tuple(result.policy for result in results)
    return RangeTest(names, len(case.assumptions), case.constants, runs, tuple(turns), tuple(refused))


def trial_name(assumptions: Sequence[Assumption]) -> str:
    """What a trial of one constant, or of all of them, is called."""
    return assumptions[0].key if len(assumptions) == 1 else "all together"


def at_ends(
    path: Path, case: Case, progress: Progress | None = None, load: Load = load_case
) -> Iterator[tuple[tuple[Assumption, ...], End, Case | str]]:
    """The case with each assumed constant, then all of them, at either end; a text where it cannot be read so."""
    trials = ends_of_ranges(case)
    for place, (assumptions, end, settings) in enumerate(trials):
        if progress is not None:
            progress(f"{trial_name(assumptions)}, {end}", place, len(trials))
        if not settings:
            continue
        try:
            yield assumptions, end, load(path, settings)
        except CaseError as error:
            yield assumptions, end, str(error.problems[0])


def ends_of_ranges(case: Case) -> list[tuple[tuple[Assumption, ...], End, dict[str, Setting]]]:
    """Each assumed constant, then all of them, at either end, with the settings that put it there."""
    ends: tuple[End, End] = ("low", "high")
    trials: list[tuple[tuple[Assumption, ...], End]] = [((each,), end) for each in case.assumptions for end in ends]
    if len(case.assumptions) > 1:
        trials += [(case.assumptions, end) for end in ends]
    return [(assumptions, end, _settings(case, assumptions, end)) for assumptions, end in trials]


def _settings(case: Case, assumptions: Sequence[Assumption], end: End) -> dict[str, Setting]:
    """Values for the case file that put these constants at an end; those that stay where they are left out."""
    return settings_of(case, {each: each.low if end == "low" else each.high for each in assumptions})


def _changes(typical: Sequence[RunResult], other: Sequence[RunResult]) -> list[tuple[str, str, str]]:
    """Figure, and the pair that changed places by it: the better and the worse one at typical values."""
    found: list[tuple[str, str, str]] = []
    for kpi, least in RANKED_BY.items():
        for i, j in combinations(range(len(typical)), 2):
            before, after = _sign(typical, i, j, kpi, least), _sign(other, i, j, kpi, least)
            if before * after < 0:
                better, worse = (i, j) if before < 0 else (j, i)
                found.append((kpi, typical[better].policy, typical[worse].policy))
    return found


def _sign(results: Sequence[RunResult], i: int, j: int, kpi: str, least: float) -> int:
    """-1 if i has clearly less of a figure than j, 1 if more, 0 if about as much or if it does not apply."""
    a, b = results[i].site[kpi], results[j].site[kpi]
    if a is None or b is None or abs(a - b) <= max(least, EQUAL_SHARE * max(a, b)):
        return 0
    return -1 if a < b else 1
