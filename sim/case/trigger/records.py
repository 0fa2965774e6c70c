"""The frozen records of what starts a wash: SI, times of day in seconds after midnight, as in `records`."""

from typing import Literal, NamedTuple, assert_never

from sim.case.record import record
from sim.case.train.records import HoursOfDay

Days = Literal["weekday", "trailing"]


Sensed = Literal["turbidity", "hardness", "chlorine", "contact"]


@record
class Clock:
    """The clock of a stage's controller: it gains `drift` [s a day] from the start of the run, fast is positive.

    `daylight_saving`: whether it follows that of the run's place; `keeps_time`: whether it goes on over a power cut.
    """

    drift: float = 0.0
    daylight_saving: bool = False
    keeps_time: bool = True


RIGHT = Clock()


@record
class OnlyWhile:
    """What must hold for a wash to start: the unit downstream stands, its tank holds more than so much [m3]."""

    unit_idle: bool = False
    tank_above: float | None = None


@record
class Calendar:
    """Wash every so many seconds, at a time of day [s]; with `also_at` at each of several on a day that is due.

    `on` (0 is Monday): on these weekdays, whatever the days before. Without `at`: `every` so long after the start of
    the last wash. With `skip_closed` an hour on a closed day passes by.
    `longest_run` [s] of any trigger: one that is shorter than that of its stage, None where the stage's holds.
    """

    every: float | None = None
    at: float | None = None
    also_at: tuple[float, ...] = ()
    on: tuple[int, ...] = ()
    skip_closed: bool = False
    longest_run: float | None = None

    @property
    def hours(self) -> tuple[float, ...]:
        """Its times of day in order [s after midnight], each once; none where it counts from the last wash."""
        return () if self.at is None else tuple(sorted({self.at, *self.also_at}))


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


@record
class Contact:
    """A contact that something else closes: every day within `hours`, or over `spans` [s of the run]."""

    hours: tuple[HoursOfDay, ...] = ()
    spans: tuple[tuple[float, float], ...] = ()


@record
class Signal:
    """Wash when what the stage sends on has been at or `above` a value [g/m3] without a break for `hold` [s].

    `of` turbidity the value is one of solids. Or `of` a `contact` that has been closed for so long, once each time
    that it closes. With `at` [s] at the next such time of day.
    """

    of: Sensed
    hold: float
    above: float | None = None
    at: float | None = None
    contact: Contact | None = None
    longest_run: float | None = None


SingleTrigger = Calendar | Volume | VolumeReserve | VolumeLearned | Pressure | Signal


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
    """What starts a wash, by what tells it: the clock, a meter, a pressure switch, a monitor or a contact.

    Unpack it, so that another device is missed nowhere.
    """

    clock: Calendar | None = None
    meters: tuple[Volume | VolumeReserve | VolumeLearned, ...] = ()
    switch: Pressure | None = None
    signals: tuple[Signal, ...] = ()


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
            case Signal():
                found = found._replace(signals=(*found.signals, each))
            case _:
                assert_never(each)
    return found


def hours(trigger: Trigger) -> tuple[float, ...]:
    """The times of day at which a wash is to start [s after midnight], each once."""
    return tuple(dict.fromkeys(at for each in singles(trigger) for at in _hours(each)))


def _hours(trigger: SingleTrigger) -> tuple[float, ...]:
    match trigger:
        case Calendar():
            return trigger.hours
        case Pressure():
            return ()
        case Volume() | VolumeReserve() | VolumeLearned() | Signal():
            return () if trigger.at is None else (trigger.at,)
        case _:
            assert_never(trigger)


@record
class Policy:
    """What starts a wash: one trigger for every stage, in the order of the train."""

    name: str
    triggers: tuple[tuple[str, Trigger], ...]


def by_calendar(policy: Policy) -> bool:
    """Whether every stage washes by the calendar alone."""
    by_device = (devices(trigger) for _, trigger in policy.triggers)
    return not any(meters or switch or signals for _, meters, switch, signals in by_device)
