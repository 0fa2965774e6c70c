"""A reserve that the meter's own record tells: how much of a volume to keep back for the day that begins.

A day runs from one `at` of the trigger to the next. At each `at`, with the filter in service, the reserve for the day
that begins is worked out; if no more than it is left of the trigger's volume, the wash starts then. If the volume is
spent between two of them, the wash starts at once.
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from sim.case.trigger.records import VolumeLearned

WEEK = 7


def volumes_of(readings: Sequence[float]) -> list[float]:
    """What each day used [m3], from the readings of a meter [m3] at every `at`, the oldest first."""
    return [later - earlier for earlier, later in pairwise(readings)]


def learned_reserve(trigger: VolumeLearned, volumes: Sequence[float]) -> float:
    """What to keep back for the day that begins [m3].

    `volumes` [m3] are those delivered to service on every complete day so far, the oldest first; the last one has
    just ended. Of the latest `days` of them those count that began on the weekday of the day that begins (by
    "weekday": 7, 14, ... days ago), or all ("trailing"). The reserve is their `quantile`: the least volume among them
    that at least that share of them did not exceed (numpy's method "inverted_cdf", definition 1 of Hyndman & Fan,
    1996). With fewer than `days` days on record it is the trigger's `reserve`.

    Ten days of 1 to 10 m3: nine tenths of them used 9 m3 or less.
    >>> trigger = VolumeLearned(
    ...     volume=50.0, reserve=5.0, quantile=0.9, days=10, by="trailing", at=0.0
    ... )
    >>> learned_reserve(trigger, [3.0, 1.0, 2.0, 10.0, 9.0, 8.0, 7.0, 4.0, 5.0, 6.0])
    9.0
    """
    if len(volumes) < trigger.days:
        return trigger.reserve
    latest = volumes[: -trigger.days - 1 : -1]  # the newest first
    counted = latest[WEEK - 1 :: WEEK] if trigger.by == "weekday" else latest
    return float(np.quantile(counted, trigger.quantile, method="inverted_cdf"))


def wash_is_due(trigger: VolumeLearned, treated: float, reserve: float) -> bool:
    """Whether a wash starts at this `at`: some water is treated [m3], and no more than the reserve is left."""
    return treated > 0.0 and trigger.volume - treated <= reserve
