"""The frozen records of what starts a wash: SI, times of day in seconds after midnight, as in `records`."""

from typing import Literal, NamedTuple, assert_never

from sim.case.record import record

Days = Literal["weekday", "trailing"]


@record
class Calendar:
    """Wash every so many seconds, at a time of day [s].

    `longest_run` [s] of any trigger: one that is shorter than that of its stage, None where the stage's holds.
    """

    every: float
    at: float
    longest_run: float | None = None


@record
class Volume:
    """Wash when `volume` [m3] is treated since the last wash; with `at` [s], at the next such time of day."""

    volume: float
    at: float | None
    longest_run: float | None = None


@record
class VolumeReserve:
    """Book the next `at` [s] once only `reserve` [m3] of `volume` [m3] is left; wash at once if none is."""

    volume: float
    reserve: float
    at: float
    longest_run: float | None = None


@record
class Pressure:
    """Wash when the signal has been at or `above` the set value [Pa] without a break for `hold` [s]."""

    above: float
    hold: float
    longest_run: float | None = None


@record
class VolumeLearned:
    """As VolumeReserve, with a reserve that the meter's own record tells, judged at every `at` [s].

    The reserve is the share `quantile` of the volumes of the last `days` days, from one `at` to the next: of all of
    them ("trailing"), or of those that began on the same weekday; `reserve` [m3] until there is a record that long.
    """

    volume: float
    reserve: float
    quantile: float
    days: int
    by: Days
    at: float
    longest_run: float | None = None


SingleTrigger = Calendar | Volume | VolumeReserve | VolumeLearned | Pressure


@record
class AnyOf:
    """Wash on whichever of several triggers, each of another kind, comes first; `longest_run` holds for all."""

    triggers: tuple[SingleTrigger, ...]
    longest_run: float | None = None


Trigger = SingleTrigger | AnyOf


def singles(trigger: Trigger) -> tuple[SingleTrigger, ...]:
    """The triggers of which any one starts a wash; no two of them are of one kind."""
    return trigger.triggers if isinstance(trigger, AnyOf) else (trigger,)


class Devices(NamedTuple):
    """What starts a wash, by what tells it: the clock, a meter, a pressure switch.

    Unpack it, so that another device is missed nowhere.
    """

    clock: Calendar | None = None
    meters: tuple[Volume | VolumeReserve | VolumeLearned, ...] = ()
    switch: Pressure | None = None


def devices(trigger: Trigger) -> Devices:
    """The triggers of which any one starts a wash, by device."""
    found = Devices()
    for each in singles(trigger):
        match each:
            case Calendar():
                found = found._replace(clock=each)
            case Volume() | VolumeReserve() | VolumeLearned():
                found = found._replace(meters=(*found.meters, each))
            case Pressure():
                found = found._replace(switch=each)
            case _:
                assert_never(each)
    return found


def hours(trigger: Trigger) -> tuple[float, ...]:
    """The times of day at which a wash is to start [s after midnight], each once."""
    at = (None if isinstance(each, Pressure) else each.at for each in singles(trigger))
    return tuple(dict.fromkeys(each for each in at if each is not None))


@record
class Policy:
    """What starts a wash: one trigger for every stage, in the order of the train."""

    name: str
    triggers: tuple[tuple[str, Trigger], ...]


def by_calendar(policy: Policy) -> bool:
    """Whether every stage washes by the calendar alone."""
    by_device = (devices(trigger) for _, trigger in policy.triggers)
    return not any(meters or switch for _, meters, switch in by_device)
