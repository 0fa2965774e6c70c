"""What a case says against itself.

A check reads the tables as attributes and yields one finding for every contradiction of its kind. In a file with
refused values a table may lack some: reading one raises Unread, and that check is left until they are mended.
The checks stand with their subjects, listed by what they look at.
"""

from collections.abc import Iterable, Iterator
from itertools import chain

from sim.case.chemistry import checks as chemistry
from sim.case.fault import checks as faults
from sim.case.line_numbers import Path
from sim.case.mistakes import Finding
from sim.case.price import checks as price
from sim.case.schema import CaseFile
from sim.case.series import checks as series
from sim.case.stage import checks as stages
from sim.case.table import Table, Unread
from sim.case.train import checks as train
from sim.case.trigger import checks as triggers
from sim.case.trigger.schema import AnyOfTable
from sim.case.wash import checks as wash

OF_CASE = (
    *series.OF_CASE, *wash.OF_CASE, *train.OF_CASE, *price.OF_CASE, *triggers.OF_CASE, *stages.OF_CASE,
    *chemistry.OF_CASE, *faults.OF_CASE,
)  # fmt: skip

OF_STAGE = (*stages.OF_STAGE, *train.OF_STAGE, *chemistry.OF_STAGE, *triggers.OF_STAGE)


def contradictions(case: CaseFile) -> list[Finding]:
    """Everything that the readable part of a case says against itself."""
    checks = chain((check(case) for check in OF_CASE), _policy_checks(case), _stage_checks(case))
    return [finding for check in checks for finding in _as_far_as_readable(check)]


def _as_far_as_readable(findings: Iterable[Finding]) -> Iterator[Finding]:
    try:
        yield from findings
    except Unread:
        return


def _policy_checks(case: CaseFile) -> Iterator[Iterable[Finding]]:
    for policy, own in getattr(case, "policy", {}).items():
        if isinstance(own, dict):
            yield triggers.policy_covers_the_train(case, policy, own)
            for stage, trigger in own.items():
                yield triggers.longest_run_is_shorter(case, stage, trigger, ("policy", policy, stage))
                yield from _trigger_checks(case, trigger, ("policy", policy, stage))


def _trigger_checks(case: CaseFile, trigger: Table, place: Path) -> Iterator[Iterable[Finding]]:
    """Those of one trigger, or of each of several."""
    if isinstance(trigger, AnyOfTable):
        yield triggers.triggers_differ(trigger, place)
        for number, each in enumerate(getattr(trigger, "any_of", [])):
            yield from _trigger_checks(case, each, (*place, "any_of", number))
        return
    yield triggers.reserve_is_a_part(trigger, place)
    yield triggers.weekdays_come_round(trigger, place)
    yield triggers.hour_is_allowed(case, trigger, place)
    yield from (check(case, trigger, place) for check in triggers.OF_TRIGGER)


def _stage_checks(case: CaseFile) -> Iterator[Iterable[Finding]]:
    for position, stage in enumerate(getattr(case, "stage", [])):
        place = ("stage", position)
        yield from (check(stage, place, case) for check in OF_STAGE)
        yield triggers.hour_is_allowed(case, stage, place, "longest_run_at")
        for number, step in enumerate(getattr(stage, "step", [])):
            yield from (check(step, (*place, "step", number)) for check in (*stages.OF_STEP, *chemistry.OF_STEP))
        for number, layer in enumerate(getattr(stage, "layer", [])):
            checks = (*stages.OF_LAYER, *chemistry.OF_LAYER)
            yield from (check(layer, stage, (*place, "layer", number), case) for check in checks)
