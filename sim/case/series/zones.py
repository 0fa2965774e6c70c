"""The clock that times are read from: a fixed offset from universal time, or a zone with a name.

Names are those of the IANA time zone database, from the system or from the package `tzdata`.
"""

import re
import zoneinfo
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone, tzinfo
from functools import cache
from typing import Annotated, Any

from sim.case.spelling import nearest_or
from sim.case.units import HOUR, MINUTE
from sim.case.values import Rule

WEST, EAST = -12, 14
"""Hours from universal time between which every clock on earth lies."""

WEEKS = 53

_OFFSET = re.compile(r"UTC(?:([+-])([0-9]{1,2})(?::([0-5][0-9]))?)?")


@dataclass(frozen=True, slots=True)
class Zone:
    """A time zone by its name in the file; `offset` from universal time, None if the name stands for a place."""

    name: str
    offset: timedelta | None

    @property
    def clock(self) -> tzinfo:
        """The clock on its walls, with whatever daylight saving it follows."""
        return zoneinfo.ZoneInfo(self.name) if self.offset is None else timezone(self.offset)

    def standard_offsets(self, years: Iterable[int]) -> set[timedelta]:
        """What the zone's clock shows ahead of universal time outside daylight saving, in each of some years.

        That is the least it is ahead within the year. More than one: the zone changed its standard time.
        """
        return {self.offset} if self.offset is not None else {_least_ahead(self.name, year) for year in years}


NO_ZONE = Zone("UTC", timedelta(0))
"""Of a clock that never changes, wherever it hangs."""


@cache
def _least_ahead(name: str, year: int) -> timedelta:
    clock, new_year = zoneinfo.ZoneInfo(name), datetime(year, 1, 1)
    weeks = (new_year + timedelta(weeks=week) for week in range(WEEKS))
    return min(ahead(clock, day) for day in weeks)


def ahead(clock: tzinfo, time: datetime) -> timedelta:
    """How far a clock is ahead of universal time when it shows a time; `fold` tells the second of two equal ones."""
    offset = clock.utcoffset(time)
    assert offset is not None, "a zone knows its offset at every time"
    return offset


def offset_name(offset: timedelta) -> str:
    """An offset as a file writes it.

    >>> offset_name(timedelta(hours=-5)), offset_name(timedelta(hours=5, minutes=30)), offset_name(timedelta())
    ('UTC-5', 'UTC+5:30', 'UTC')
    """
    seconds = offset.total_seconds()
    if seconds == 0.0:
        return "UTC"
    hours, rest = divmod(abs(seconds), HOUR)
    minutes = f":{rest / MINUTE:02.0f}" if rest else ""
    return f"UTC{'+' if seconds > 0.0 else '-'}{hours:.0f}{minutes}"


@cache
def known_places() -> frozenset[str]:
    """Names that stand for a place; short names such as CET are left out, since some hide daylight saving."""
    return frozenset(
        name for name in zoneinfo.available_timezones() if "/" in name and not name.startswith(("Etc/", "SystemV/"))
    )


class ZoneName(Rule):
    """The name of a time zone, read as a `Zone`."""

    allowed = 'an offset from universal time such as "UTC-5", or a zone by its place such as "Europe/Rome"'
    example = '"UTC-5"'

    def parse(self, raw: object) -> Zone:
        if not isinstance(raw, str):
            raise self.refuse(raw, f"a text in quotes, as in {self.example}")
        found = _OFFSET.fullmatch(raw)
        if found:
            return Zone(raw, self._offset(raw, found))
        if raw in known_places():
            return Zone(raw, None)
        raise self.refuse(raw, nearest_or(raw, known_places(), "the offset, or the place whose clock it is"))

    def _offset(self, raw: str, found: re.Match[str]) -> timedelta:
        sign, hours, minutes = found.groups()
        offset = timedelta(hours=int(hours or 0), minutes=int(minutes or 0)) * (-1 if sign == "-" else 1)
        if not timedelta(hours=WEST) <= offset <= timedelta(hours=EAST):
            raise self.refuse(raw, f"an offset from UTC{WEST} to UTC+{EAST}")
        return offset

    def json_schema(self) -> dict[str, Any]:
        return {"type": "string", "minLength": 1, "description": self.allowed}


ZoneOf = Annotated[Zone, ZoneName()]
