"""One run of many, and what is kept of it: figures, never its log."""

from collections.abc import Callable
from itertools import pairwise

from sim.case.record import record
from sim.case.records import Case
from sim.plant.records import Figure
from sim.plant.simulate import Plant

YEAR = 365.0 * 86_400.0  # s


@record
class Outcome:
    """The figures of site and stages of one run.

    `avoidable_h` are, for each whole year of 365 days from the start, the hours over the limit less the unavoidable
    ones; none where the last stage has no limit.
    """

    policy: str
    replicate: int
    site: dict[str, Figure]
    stages: dict[str, dict[str, Figure]]
    avoidable_h: tuple[float, ...]


RunOne = Callable[[Case, str, int, int], Outcome]


def run_one(case: Case, policy: str, seed: int, replicate: int) -> Outcome:
    """Run a case through one of its policies; stopping at the ends of years changes nothing."""
    plant = Plant(case, policy, seed=seed, replicate=replicate)
    sums = [0.0]
    for year in range(1, int(case.run.length // YEAR) + 1):
        plant.run_until(year * YEAR)
        site = plant.result().site
        over, unavoidable = site["over_limit_h"], site["over_limit_unavoidable_h"]
        if over is not None and unavoidable is not None:
            sums.append(over - unavoidable)
    plant.run_until(case.run.length)
    result = plant.result()
    return Outcome(
        policy=policy,
        replicate=replicate,
        site=result.site,
        stages=result.stages,
        avoidable_h=tuple(after - before for before, after in pairwise(sums)),
    )
