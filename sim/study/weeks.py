"""A run week by week, and its worst week."""

from collections.abc import Iterable
from typing import NamedTuple

from sim.case.records import Case
from sim.case.units import DAY
from sim.plant.records import RunResult
from sim.plant.simulate import Plant

WEEK = 7.0 * DAY
OVER = ("over_limit_h", "hardness_over_h", "iron_over_h", "manganese_over_h", "oxidant_over_h")
"""What a stage may be over a limit of."""


class Week(NamedTuple):
    """Seven days, counted from the start of the run; the last week may be shorter.

    `over_limit_h` is the last stage's, None where it has no limit; `stages_over_h` adds up all stages over their own,
    those of what is dissolved too.
    A wash counts in the week of its completion.
    """

    policy: str
    number: int
    start_s: float
    end_s: float
    over_limit_h: float | None
    washes: int
    drain_m3: float
    treated_m3: float
    stages_over_h: float


def in_week(time_s: float, number: int) -> bool:
    """Whether a moment of a run [s] lies in its week of this number, from 1."""
    return (number - 1) * WEEK <= time_s < number * WEEK


def weeks(case: Case, policy: str, *, seed: int = 1, replicate: int = 0) -> tuple[Week, ...]:
    """Every week of the run of one policy."""
    return run_by_weeks(case, policy, seed=seed, replicate=replicate)[1]


def run_by_weeks(
    case: Case, policy: str, *, seed: int = 1, replicate: int = 0
) -> tuple[RunResult, tuple[Week, ...]]:
    """The whole run of one policy, and every week of it, from the ledger at each week's end."""
    plant = Plant(case, policy, seed=seed, replicate=replicate)
    found: list[Week] = []
    start, before = 0.0, (0.0, 0, 0.0, 0.0, 0.0)
    while True:
        end = min(start + WEEK, case.run.length)
        plant.run_until(end)
        result = plant.result()
        site = result.site
        stages_over = sum(each[key] or 0.0 for each in result.stages.values() for key in OVER)
        over, limited = site["over_limit_h"] or 0.0, site["over_limit_h"] is not None
        after = (over, int(site["washes"] or 0), float(site["drain_m3"] or 0.0),
                 float(site["treated_m3"] or 0.0), stages_over)  # fmt: skip
        found.append(
            Week(policy, len(found) + 1, start, end, after[0] - before[0] if limited else None,
                 after[1] - before[1], after[2] - before[2], after[3] - before[3], after[4] - before[4])
        )  # fmt: skip
        if end >= case.run.length:
            return result, tuple(found)
        start, before = end, after


def worst_week(found: Iterable[Week]) -> tuple[Week, bool]:
    """The week with the most time over the limit, else over that of any stage, else the most washes; if by the first.

    Among weeks of as many washes, as a calendar gives all year, the one that treated the most water; then the first.
    """
    known = tuple(found)
    worst = max(known, key=lambda week: week.over_limit_h or 0.0)
    if worst.over_limit_h:
        return worst, True
    return max(known, key=lambda week: (week.stages_over_h, week.washes, week.treated_m3)), False
