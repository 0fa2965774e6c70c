"""What the faults that hold at a moment have changed so far, against the same run with nothing failing."""

from collections.abc import Sequence
from dataclasses import replace

from sim.case.fault.records import Fault
from sim.case.record import record
from sim.case.records import Case
from sim.plant.records import Figure
from sim.plant.simulate import Plant

TOLD = ("washes", "drain_m3", "over_limit_h")


@record
class Changed:
    """Since the first of the faults began [s]: figures of the site as they are, and with nothing failing."""

    since_s: float
    now: dict[str, Figure]
    then: dict[str, Figure]


def changed(case: Case, policy: str, seed: int, time: float, failed: Sequence[Fault]) -> Changed | None:
    """What these faults have changed by a moment [s]; None where there is none."""
    if not failed:
        return None
    since = min(each.start for each in failed)
    now, then = (_between(each, policy, seed, since, time) for each in (case, replace(case, faults=())))
    return Changed(since_s=since, now=now, then=then)


def _between(case: Case, policy: str, seed: int, since: float, time: float) -> dict[str, Figure]:
    plant = Plant(case, policy, seed=seed)
    plant.run_until(since)
    before = plant.result().site
    plant.run_until(time)
    after = plant.result().site
    return {key: None if (value := after[key]) is None else value - (before[key] or 0) for key in TOLD}
