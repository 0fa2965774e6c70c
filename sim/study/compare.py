"""The main job: every policy of a case on the same weather, side by side."""

from collections.abc import Callable
from typing import Any

from sim.case.record import record
from sim.case.records import Case
from sim.plant.made import all_compiled as all_compiled
from sim.plant.made import is_lacking as is_lacking
from sim.plant.made import plain_first as plain_first
from sim.plant.records import RunResult
from sim.plant.simulate import simulate
from sim.study.costs import priced
from sim.study.doubts import doubt_json, doubts
from sim.study.version import PROGRAM, VERSION
from sim.study.weeks import Week, run_by_weeks

Progress = Callable[[str, int, int], None]


@record
class Comparison:
    """The results of every policy of `case`, in the order of the file, all from one `seed`; their weeks if kept."""

    case: Case
    seed: int
    results: tuple[RunResult, ...]
    weeks: tuple[Week, ...] = ()

    @property
    def days(self) -> float:
        """Length of each run [d]."""
        return self.results[0].days

    def to_json(self) -> dict[str, Any]:
        """Plain data for a JSON file: SI with the unit in each key, None where a figure does not apply."""
        return {
            **heading(self.case, self.days, self.seed),
            "policies": [policy_row(each) for each in self.results],
            "paired": [],
            "doubts": [doubt_json(each) for each in doubts(self.case, self.results)],
        }


def policy_row(result: RunResult) -> dict[str, Any]:
    """The figures of one policy as plain data."""
    return {"name": result.policy, "site": result.site, "stages": result.stages, "interval": {}}


def heading(case: Case, days: float, seed: int) -> dict[str, Any]:
    """What every JSON result starts with: the program, the case and how it was run."""
    return {
        "program": PROGRAM,
        "version": VERSION,
        "case": case.title,
        "case_hash": case.source_hash,
        "days": days,
        "replicates": 1,
        "seed": seed,
        "compiled": all_compiled(),
        "assumed": [assumption.key for assumption in case.assumptions],
    }


def compare(
    case: Case, *, seed: int = 1, progress: Progress | None = None, weekly: bool = False
) -> Comparison:
    """Run every policy of the case on the same weather.

    `weekly`: keep what each week brought too, as a report needs it. `progress`, if given, is told before each run:
    the policy's name, its place from 0, how many there are.
    """
    results, known = list[RunResult](), list[Week]()
    for place, policy in enumerate(case.policies):
        if progress is not None:
            progress(policy.name, place, len(case.policies))
        if weekly:
            result, found = run_by_weeks(case, policy.name, seed=seed)
            known += found
        else:
            result = simulate(case, policy.name, seed=seed)
        results.append(priced(case, result))
    return Comparison(case=case, seed=seed, results=tuple(results), weeks=tuple(known))
