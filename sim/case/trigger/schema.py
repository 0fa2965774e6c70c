"""The tables of what starts a wash, as the user writes them below [policy."name"."stage"]."""

from typing import Annotated, Literal

from pydantic import Discriminator, Tag

from sim.case import units
from sim.case.limits import HARDNESS, SOLIDS, TURBIDITY, Interval
from sim.case.series.schema import FileTable
from sim.case.table import Table
from sim.case.time_rules import DayHours, HourOfDay, HoursList, Weekday
from sim.case.train.records import HoursOfDay
from sim.case.trigger.records import Days, Sensed
from sim.case.units import Kind, Unit
from sim.case.values import Amount, Either, Items, Number, OneOf, Quantity, Whole, YesNo

Treated = Annotated[float, Quantity(units.VOLUME, "1 L", "100000000 m3")]


class CalendarTable(Table):
    """Wash every so long or on weekdays, at times of day; without these so long after the last wash."""

    in_example = ("every", "at")

    start_on: Literal["calendar"]
    every: Interval | None = None
    on: Annotated[list[Annotated[int, Weekday()]], Items(1, 7)] | None = None
    at: Annotated[tuple[float, ...], HoursList()] | None = None
    skip_closed: YesNo = False
    longest_run: Interval | None = None


class VolumeTable(Table):
    """Wash once a volume is treated, at once or at a time of day."""

    start_on: Literal["volume"]
    volume: Treated
    at: HourOfDay | None = None
    longest_run: Interval | None = None


class VolumeReserveTable(Table):
    """Wash at the next time of day once only a reserve of the volume is left."""

    start_on: Literal["volume with reserve"]
    volume: Treated
    reserve: Treated
    at: HourOfDay
    longest_run: Interval | None = None


class VolumeLearnedTable(Table):
    """As the volume with reserve, the reserve learned from what the days before used."""

    start_on: Literal["volume with learned reserve"]
    volume: Treated
    reserve: Treated
    quantile: Annotated[float, Number(0.01, 1.0, like=0.9)] = 0.9
    days: Annotated[int, Whole(1, 366)] = 14
    by: Days = "trailing"
    at: HourOfDay
    longest_run: Interval | None = None


class PressureTable(Table):
    """Wash once the signal has stayed at or above a set value for so long."""

    start_on: Literal["pressure drop"]
    above: Annotated[float, Quantity(units.PRESSURE, "10 Pa", "10 bar")]
    hold: Annotated[float, Quantity(units.DURATION, "0 s", "24 h", like="3 min")]
    longest_run: Interval | None = None


CONTACT = Quantity(Kind("contact", "closed", {"closed": Unit(1.0)}, "1 closed"), "0 closed", "1 closed")


def _hours_or_file(raw: object) -> str:
    return "<hours>" if isinstance(raw, dict) and "hours" in raw else "<file>"


class ContactHours(Table):
    """Hours of the day over which a contact is closed."""

    hours: Annotated[list[Annotated[HoursOfDay, DayHours()]], Items(1, 12)]


class ContactFile(FileTable):
    """A contact from a column of a CSV file: closed where it has more than a half."""

    unit: Annotated[str, OneOf(*CONTACT.kind.units)]
    stuck: Literal["refuse", "gap", "keep"] = "keep"


ABOVE = Either(SOLIDS, TURBIDITY, HARDNESS)


class SignalTable(Table):
    """Wash once what the stage sends on has stayed at or above a value, or a contact closed, for so long."""

    start_on: Literal["signal"]
    of: Sensed
    above: Annotated[Amount, ABOVE] | None = None
    contact: (
        Annotated[
            Annotated[ContactHours, Tag("<hours>")] | Annotated[ContactFile, Tag("<file>")],
            Discriminator(_hours_or_file),
        ]
        | None
    ) = None
    hold: Annotated[float, Quantity(units.DURATION, "0 s", "24 h", like="10 min")]
    at: HourOfDay | None = None
    longest_run: Interval | None = None


START_ON = OneOf(
    "calendar", "volume", "volume with reserve", "volume with learned reserve", "pressure drop", "signal"
)


def _what_starts(raw: object) -> str | None:
    word = raw.get("start_on") if isinstance(raw, dict) else None
    return f"<{word}>" if word in START_ON.words else None


def _one_or_any(raw: object) -> str | None:
    return "<any of>" if isinstance(raw, dict) and "any_of" in raw else _what_starts(raw)


_Single = (
    Annotated[CalendarTable, Tag("<calendar>")]
    | Annotated[VolumeTable, Tag("<volume>")]
    | Annotated[VolumeReserveTable, Tag("<volume with reserve>")]
    | Annotated[VolumeLearnedTable, Tag("<volume with learned reserve>")]
    | Annotated[PressureTable, Tag("<pressure drop>")]
    | Annotated[SignalTable, Tag("<signal>")]
)
SingleTriggerTable = Annotated[_Single, Discriminator(_what_starts)]


class AnyOfTable(Table):
    """Wash on whichever of several triggers comes first."""

    any_of: Annotated[list[SingleTriggerTable], Items(2, len(START_ON.words))]
    longest_run: Interval | None = None


TriggerTable = Annotated[_Single | Annotated[AnyOfTable, Tag("<any of>")], Discriminator(_one_or_any)]
