"""What a trigger asks for without running anything: volumes between washes, washes in a day, hours of the day."""

import math
from typing import assert_never

from sim.case.stage.longest_run import longest_run_of
from sim.case.stage.records import Stage
from sim.case.trigger.records import (
    Calendar,
    Pressure,
    Signal,
    SingleTrigger,
    Trigger,
    Volume,
    VolumeLearned,
    VolumeReserve,
    singles,
)
from sim.case.units import DAY
from sim.review.site import Site


def run_volume(site: Site, stage: Stage, trigger: Trigger) -> float | None:
    """Volume that one vessel treats between washes [m3]; None where only a run can tell.

    At the mean flow for what counts time; the longest run cuts short whatever else would take longer, and of
    several triggers the first one counts.
    """
    volumes = [_single_volume(site, stage, each) for each in singles(trigger)]
    known = [volume for volume in volumes if volume is not None]
    if len(known) < len(volumes):
        return None
    longest = longest_run_of(stage, trigger)
    if longest is not None:
        known.append(longest * site.mean_through(stage))
    return min(known)


def _single_volume(site: Site, stage: Stage, trigger: SingleTrigger) -> float | None:
    match trigger:
        case Calendar():
            return calendar_interval(trigger) * site.mean_through(stage)
        case Volume(volume=volume) | VolumeReserve(volume=volume) | VolumeLearned(volume=volume):
            return volume
        case Pressure() | Signal():
            return None
        case _:
            assert_never(trigger)


ROUNDING = 1e-9  # of a day
WEEK = 7  # days


def calendar_interval(trigger: Calendar) -> float:
    """Time between washes that a calendar comes to in the mean [s]: whole days, where each waits for its hour."""
    if trigger.at is None:
        return trigger.every or math.inf
    days = WEEK / len(trigger.on) if trigger.every is None else max(math.ceil(trigger.every / DAY - ROUNDING), 1)
    return days * DAY / len(trigger.hours)


def is_rounded(trigger: Calendar) -> bool:
    """Whether a calendar has fewer washes than its days say, since each waits for its hour."""
    every = trigger.every
    return every is not None and trigger.at is not None and calendar_interval(trigger) * len(trigger.hours) > every


def most_a_day(site: Site, stage: Stage, trigger: Trigger) -> int:
    """The most washes of a stage that a day can bring, at least one of each vessel, as where only a run can tell."""
    a_day = max(_single_a_day(site, stage, each) for each in singles(trigger))
    return stage.vessels.sharing * a_day


def _single_a_day(site: Site, stage: Stage, trigger: SingleTrigger) -> int:
    match trigger:
        case Volume(volume=volume, at=None):
            return max(1, math.ceil(site.largest_day / stage.vessels.sharing / volume))
        case Calendar(at=None, every=float(every)):
            return max(1, math.ceil(DAY / every))
        case Calendar():
            return len(trigger.hours)
        case Volume() | VolumeReserve() | VolumeLearned() | Pressure() | Signal():
            return 1
        case _:
            assert_never(trigger)
