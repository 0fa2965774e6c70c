"""Times that another load on the machine hardly tilts: processor time, both sides in turn, medians of several."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from statistics import median

# Everything timed here runs in one thread. Where processor time is coarse, the wall clock has to do.
FINE = time.get_clock_info("process_time").resolution < 1e-5
clock = time.process_time if FINE else time.perf_counter


LEAST = 0.2  # s that a turn lasts: a call of some milliseconds after another one's turn finds every cache cold


def seconds(call: Callable[[], object], times: int = 1) -> float:
    """How long a call takes, s, in the mean of so many in a row."""
    start = clock()
    for _ in range(times):
        call()
    return (clock() - start) / times


def interleaved(calls: dict[str, Callable[[], object]], repeats: int = 7) -> dict[str, float]:
    """Median time of each call, s, over so many turns of LEAST or one call; what runs first does not count."""
    taken: dict[str, list[float]] = {name: [] for name in calls}
    for call in calls.values():
        call()
    times = {name: max(round(LEAST / max(seconds(call), 1e-6)), 1) for name, call in calls.items()}
    for _ in range(repeats):
        for name, call in calls.items():
            taken[name].append(seconds(call, times[name]))
    return {name: median(each) for name, each in taken.items()}


def machine_load() -> str:
    """Cores and the load of the last minute, as far as the system tells."""
    load = f"{os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "unknown"
    return f"{os.cpu_count()} cores, load {load}"
