"""What the event queue alone costs, and what a year costs in a long run."""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import replace

import simpy

from sim.case.records import Case
from sim.plant import simulate
from tests.bench.cases import PRESSURE
from tests.bench.timing import interleaved
from tests.plant.builders import DAY

MINUTES_A_YEAR = 525_600
YEARS = (1, 2, 5, 10, 20)


def empty_timeouts(count: int = MINUTES_A_YEAR) -> None:
    """A process that does nothing, a timeout at a time."""
    env = simpy.Environment()

    def idle() -> Generator[simpy.Event, None, None]:
        for _ in range(count):
            yield env.timeout(60.0)

    env.process(idle())
    env.run()


def over_years(case: Case, repeats: int = 3) -> dict[int, float]:
    """Median seconds for each simulated year of runs of different lengths."""
    calls: dict[str, Callable[[], object]] = {}
    for years in YEARS:
        longer = replace(case, run=replace(case.run, length=365.0 * DAY * years))
        calls[str(years)] = lambda longer=longer: simulate(longer, PRESSURE)
    return {int(years): taken / int(years) for years, taken in interleaved(calls, repeats).items()}
