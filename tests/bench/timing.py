"""Times that another load on the machine hardly tilts: processor time, both sides in turn, medians of several."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from statistics import median

# Everything timed here runs in one thread. Where processor time is coarse, the wall clock has to do.
FINE = time.get_clock_info("process_time").resolution < 1e-5
clock = time.process_time if FINE else time.perf_counter


def seconds(call: Callable[[], object]) -> float:
    """How long one call takes, s."""
    start = clock()
    call()
    return clock() - start


def interleaved(calls: dict[str, Callable[[], object]], repeats: int = 7) -> dict[str, float]:
    """Median time of each call, s, after one of each that does not count; the calls take turns."""
    taken: dict[str, list[float]] = {name: [] for name in calls}
    for call in calls.values():
        call()
    for _ in range(repeats):
        for name, call in calls.items():
            taken[name].append(seconds(call))
    return {name: median(times) for name, times in taken.items()}


def machine_load() -> str:
    """Cores and the load of the last minute, as far as the system tells."""
    load = f"{os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "unknown"
    return f"{os.cpu_count()} cores, load {load}"
