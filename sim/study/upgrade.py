"""A case with keys of before in today's, and which of its figures move by what these keys now mean."""

import os
from dataclasses import replace
from pathlib import Path

from sim.case.load import read_case
from sim.case.record import record
from sim.case.records import Case
from sim.case.series.records import Measured
from sim.case.source import read_text
from sim.case.stage.longest_run import longest_run_of
from sim.case.upgrade import upgraded
from sim.plant.records import RunResult
from sim.plant.simulate import simulate
from sim.study.errors import RequestError
from sim.study.whole_files import write_all


@record
class Upgrade:
    """What was rewritten, and every policy that now obeys a longest run of stages that had none under it: its run
    without that one, and with it."""

    case: Case
    changes: tuple[str, ...]
    obeying: tuple[tuple[RunResult, RunResult], ...]


def upgrade(old: Path, new: Path, *, seed: int = 1) -> Upgrade:
    """Write the case of one file in today's keys to another, which must not exist.

    Figures are those of one run of `seed`. Raises CaseError for a case that is not in order then, RequestError where
    there is nothing to rewrite or the new file exists; nothing is written in either case.
    """
    if os.path.lexists(new):
        raise RequestError(f"{new} exists and is left as it is; try: another name")
    found = upgraded(read_text(old), old)
    case = read_case(found.text, old, {})
    if not found.changes:
        raise RequestError(f"{old} has no key of before: it can be used as it is, and nothing was written")
    series = (case.feed.temperature, case.feed.solids, case.demand.flow)
    if new.parent.resolve() != old.parent.resolve() and any(isinstance(each, Measured) for each in series):
        raise RequestError(f"cannot write {new}: {old} takes series from files that lie by it; try: a name beside it")
    obeying = tuple(
        (simulate(_freed(case, policy, found.obeying), policy, seed=seed), simulate(case, policy, seed=seed))
        for policy in dict.fromkeys(policy for policy, _ in found.obeying)
    )
    write_all({new: found.text.replace("\n", "\r\n") if b"\r\n" in old.read_bytes() else found.text})
    return Upgrade(case=case, changes=found.changes, obeying=obeying)


def _freed(case: Case, policy: str, obeying: tuple[tuple[str, str], ...]) -> Case:
    """The case with a longest run under this policy only where it had one before."""
    own = next(each for each in case.policies if each.name == policy)
    triggers = tuple(
        (name, trigger if (policy, name) in obeying else replace(trigger, longest_run=longest_run_of(stage, trigger)))
        for stage, (name, trigger) in zip(case.stages, own.triggers, strict=True)
    )
    stages = tuple(replace(each, longest_run=None) for each in case.stages)
    return replace(case, stages=stages, policies=(replace(own, triggers=triggers),))
