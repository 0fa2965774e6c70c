"""When in the day the filters of a case wash."""

import math
from collections.abc import Mapping, Sequence
from datetime import datetime, time
from typing import assert_never

import numpy as np

from sim.case.record import record
from sim.case.records import Case
from sim.case.stage.longest_run import longest_run_hours
from sim.case.stage.records import Stage
from sim.case.trigger.records import (
    Calendar,
    Pressure,
    Signal,
    Trigger,
    Volume,
    VolumeLearned,
    VolumeReserve,
    singles,
)
from sim.case.units import DAY, MINUTE
from sim.plant.records import Cause, RunResult
from sim.plant.simulate import Plant
from sim.study.single import triggers_of

HALF_HOUR, HALF_HOURS = 30 * MINUTE, 48
USUAL = (0.1, 0.9)  # of what a run showed, this part is usual
LONGEST = 60.0 * DAY  # s that are looked at


@record
class Arc:
    """Hours of the day in which washes of a stage start [s after midnight], `last` past a day where over midnight.

    `hour`: the hour set, of washes that the clock starts; None of all others together. `count`: washes of the run.
    """

    first: float
    last: float
    hour: float | None
    count: int


@record
class HoursWashed:
    """When washes of each stage start in the first `days` of a run, by its name."""

    days: float
    arcs: Mapping[str, tuple[Arc, ...]]


def hours_washed(case: Case, policy: str) -> HoursWashed:
    """Of a run no longer than need be to see it."""
    end = min(LONGEST, case.run.length)
    plant = Plant(case, policy)
    plant.run_until(end)
    return HoursWashed(days=end / DAY, arcs=arcs(case, policy, plant.result()))


def usual(values: Sequence[float]) -> tuple[float, float]:
    """From which to which value of those that there were most lie, by USUAL.

    Of ten the first is below what is usual and none above: nine tenths of them are at most the ninth.
    >>> usual([float(n) for n in range(1, 11)])
    (1.0, 9.0)
    """
    low, high = (float(np.quantile(values, share, method="inverted_cdf")) for share in USUAL)
    return low, high


def arcs(case: Case, policy: str, result: RunResult) -> Mapping[str, tuple[Arc, ...]]:
    """When washes of each stage start in a run."""
    triggers = triggers_of(case, policy)
    return {stage.name: _arcs(result, stage, triggers[stage.name], case.run.start) for stage in case.stages}


def _arcs(result: RunResult, stage: Stage, trigger: Trigger, start: datetime) -> tuple[Arc, ...]:
    """When washes of a stage start: those that the clock starts by its hours, then all others."""
    hours, by_hour = clock_hours(stage, trigger), dict[float | None, list[float]]()
    for run in result.runs:
        if run.stage == stage.name and run.cause is not None:
            at = since_midnight(start, run.end_s) % DAY
            hour = min(hours[run.cause], key=lambda each: abs(_past(each, at)), default=None)
            by_hour.setdefault(hour, []).append(at)
    found = []
    for hour in sorted(by_hour, key=lambda each: (each is None, each or 0.0)):
        begin = _quiet(by_hour[hour]) if hour is None else hour
        first, last = usual([_past(begin, at) if hour is not None else (at - begin) % DAY for at in by_hour[hour]])
        zero = (begin + first) % DAY
        found.append(Arc(first=zero, last=zero + last - first, hour=hour, count=len(by_hour[hour])))
    return tuple(found)


def clock_hours(stage: Stage, trigger: Trigger) -> Mapping[Cause, tuple[float, ...]]:
    """The hours at which each cause starts a wash; none where it does so at any time."""
    found = dict.fromkeys(Cause, tuple[float, ...]()) | {Cause.LONGEST_RUN: longest_run_hours(stage, trigger)}
    for each in singles(trigger):
        match each:
            case Calendar():
                found[Cause.CALENDAR] = each.hours
            case VolumeReserve() | VolumeLearned():
                found[Cause.RESERVE_HOUR] = (each.at,)
            case Volume(at=float(at)):
                found[Cause.VOLUME] = (at,)
            case Signal(at=float(at)):
                found[Cause.SIGNAL] = (at,)
            case Volume() | Signal() | Pressure():
                pass
            case _:
                assert_never(each)
    return found


def _past(hour: float, at: float) -> float:
    """How long after an hour a time of day is, before it if it is nearer so [s]."""
    return (at - hour + DAY / 2) % DAY - DAY / 2


def _quiet(times: Sequence[float]) -> float:
    """The time of day [s] at which the longest time without any of these ends."""
    known = sorted(set(times))
    gaps = [(each - known[place - 1]) % DAY or DAY for place, each in enumerate(known)]
    return known[gaps.index(max(gaps))]


def half_hours(first: float, last: float) -> frozenset[int]:
    """The half hours of the day that a span [s after midnight] touches, its end not included unless it is its start.

    >>> sorted(half_hours(84600.0, 84600.0 + 3600.0)), sorted(half_hours(1800.0, 1800.0))
    ([0, 47], [1])
    """
    ends = max(math.ceil(last / HALF_HOUR), math.floor(first / HALF_HOUR) + 1)
    return frozenset(each % HALF_HOURS for each in range(math.floor(first / HALF_HOUR), ends))


def since_midnight(start: datetime, seconds: float) -> float:
    """The time of day of a moment of the run [s after midnight]."""
    return (start - datetime.combine(start.date(), time())).total_seconds() % DAY + seconds


