"""Whether the order of some settings rests on a constant that was only assumed."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from sim.case.records import Case
from sim.plant.simulate import simulate
from sim.study.decide.trials import Candidate
from sim.study.ranking import Progress, RangeTest, range_test


def ends_of(
    path: Path, case: Case, settings: Mapping[str, Candidate], *, seed: int, progress: Progress | None = None
) -> RangeTest:
    """One run of each setting, by its name, at both ends of every assumed range; with the steps of the case."""
    policies = tuple(replace(each.policy, name=name) for name, each in settings.items())
    named = replace(case, policies=policies)
    results = [simulate(named, each.name, seed=seed) for each in policies]
    return range_test(path, case, results, seed=seed, progress=progress, policies=policies)
