"""What a trigger asks for without running anything: volumes between washes, washes in a day, hours of the day."""

import math
from typing import assert_never

from sim.case.stage.longest_run import longest_run_of
from sim.case.stage.records import Stage
from sim.case.trigger.records import (
    Calendar,
    Pressure,
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
        case Pressure():
            return None
        case _:
            assert_never(trigger)


ROUNDING = 1e-9  # of a day


def calendar_interval(trigger: Calendar) -> float:
    """Time between washes that a calendar comes to [s]: whole days, since each waits for its hour."""
    return max(math.ceil(trigger.every / DAY - ROUNDING), 1) * DAY


def most_a_day(site: Site, stage: Stage, trigger: Trigger) -> int:
    """The most washes of a stage that a day can bring, at least one of each vessel, as where only a run can tell."""
    a_day = max(_single_a_day(site, stage, each) for each in singles(trigger))
    return stage.vessels.sharing * a_day


def _single_a_day(site: Site, stage: Stage, trigger: SingleTrigger) -> int:
    match trigger:
        case Volume(volume=volume, at=None):
            return max(1, math.ceil(site.largest_day / stage.vessels.sharing / volume))
        case Calendar() | Volume() | VolumeReserve() | VolumeLearned() | Pressure():
            return 1
        case _:
            assert_never(trigger)
