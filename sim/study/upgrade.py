"""A case with keys of before in today's, and which of its figures move by what these keys now mean."""

import os
from dataclasses import dataclass, replace
from pathlib import Path

from sim.case.load import read_case
from sim.case.quantities import System
from sim.case.records import Case
from sim.case.series.records import Measured
from sim.case.source import read_text
from sim.case.stage.longest_run import longest_run_of
from sim.case.upgrade import upgraded
from sim.plant.simulate import simulate
from sim.study.errors import RequestError
from sim.study.whole_files import write_all
from sim.tell.present import rows

MEANINGS = (
    "The longest run now counts from the start of the last wash, also of one that had to wait, and ends at the last "
    "of its hours before it has passed: washes that came at the latest come up to a day earlier, at the hour of "
    "their policy. The old meaning can no longer be run, so those figures are not compared.",
    "Without an hour it ends the moment it has passed; longest_run_at in [[stage]] gives it one.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """A figure of a policy without the longest run of the stages that had none under it, and with it."""

    policy: str
    figure: str
    before: str
    after: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Upgrade:
    """What was rewritten, in words; the figures that move, and the policies that now obey a longest run without any
    that does; and what else is meant now than before."""

    case: Case
    changes: tuple[str, ...]
    moved: tuple[Moved, ...]
    same: tuple[str, ...]
    meanings: tuple[str, ...]


def upgrade(old: Path, new: Path, *, seed: int = 1, system: System = "si") -> Upgrade:
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
    obeying = dict.fromkeys(policy for policy, _ in found.obeying)
    moved = tuple(each for policy in obeying for each in _moved(case, policy, found.obeying, seed, system))
    write_all({new: found.text.replace("\n", "\r\n") if b"\r\n" in old.read_bytes() else found.text})
    return Upgrade(
        case=case,
        changes=found.changes,
        moved=moved,
        same=tuple(each for each in obeying if each not in {one.policy for one in moved}),
        meanings=MEANINGS if any("longest_run" in each for each in found.changes) else (),
    )


def _moved(
    case: Case, policy: str, obeying: tuple[tuple[str, str], ...], seed: int, system: System
) -> tuple[Moved, ...]:
    before, after = (simulate(each, policy, seed=seed) for each in (_freed(case, policy, obeying), case))
    return tuple(
        Moved(policy=policy, figure=row.label, before=row.texts[0], after=row.texts[1])
        for group in rows((before, after), system) for row in group if row.texts[0] != row.texts[1]
    )  # fmt: skip


def _freed(case: Case, policy: str, obeying: tuple[tuple[str, str], ...]) -> Case:
    """The case with a longest run under this policy only where it had one before."""
    own = next(each for each in case.policies if each.name == policy)
    triggers = tuple(
        (name, trigger if (policy, name) in obeying else replace(trigger, longest_run=longest_run_of(stage, trigger)))
        for stage, (name, trigger) in zip(case.stages, own.triggers, strict=True)
    )
    stages = tuple(replace(each, longest_run=None) for each in case.stages)
    return replace(case, stages=stages, policies=(replace(own, triggers=triggers),))
