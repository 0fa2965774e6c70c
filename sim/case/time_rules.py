"""What a time, a date or hours of the day in a case file may be: rules as in `rules`."""

import re
from datetime import date, datetime, time
from typing import Annotated, Any

from sim.case.train.records import HoursOfDay
from sim.case.units import DAY, HOUR, MINUTE
from sim.case.values import Rule

EARLIEST, LATEST = 1900, 2200

_HOURS = re.compile(r"([0-9]{2}):([0-9]{2})-([0-9]{2}):([0-9]{2})")


class Unquoted(Rule):
    """What TOML itself knows as a time; the Schema of JSON does not, so it only says what is allowed."""

    def json_schema(self) -> dict[str, Any]:
        # No "format": the one named date-time asks for the offset that is refused here.
        return {"type": "string", "description": f"{self.allowed}, without quotes"}

    def date_of(self, raw: object) -> date:
        """A date without a time."""
        if not isinstance(raw, date) or isinstance(raw, datetime):
            raise self.refuse(raw, f"the date alone, without quotes and time, as in {self.example}")
        return raw

    def insist_on_year(self, raw: date) -> None:
        """Refuse a year that no run lies in."""
        if not EARLIEST <= raw.year <= LATEST:
            raise self.refuse(raw, "a year within the range")


class LocalMoment(Unquoted):
    """A local date and time, without offset from universal time."""

    allowed = f"a local date and time, years {EARLIEST} to {LATEST}"
    example = "2027-01-04T00:00:00"

    def parse(self, raw: object) -> datetime:
        if not isinstance(raw, datetime):
            raise self.refuse(raw, f"date and time without quotes, as in {self.example}")
        if raw.tzinfo is not None:
            local = raw.replace(tzinfo=None).isoformat()
            raise self.refuse(raw, f"local time, without offset from universal time, as in {local}")
        self.insist_on_year(raw)
        return raw


class DayOfYear(Unquoted):
    """A date, read as its day of the year."""

    allowed = "a date"
    example = "2027-07-20"

    def parse(self, raw: object) -> int:
        return self.date_of(raw).timetuple().tm_yday


class TimeOfDay(Unquoted):
    """A time of day, read as seconds after midnight."""

    allowed = "a time of day"
    example = "03:00:00"

    def parse(self, raw: object) -> float:
        if not isinstance(raw, time):
            raise self.refuse(raw, f"hours, minutes and seconds without quotes, as in {self.example}")
        return raw.hour * HOUR + raw.minute * MINUTE + raw.second + raw.microsecond * 1e-6


class Day(Unquoted):
    """A date of one year."""

    allowed = f"a date, years {EARLIEST} to {LATEST}"
    example = "2027-12-24"

    def parse(self, raw: object) -> date:
        day = self.date_of(raw)
        self.insist_on_year(day)
        return day


class DayHours(Rule):
    """Hours of the day from one time to another, over midnight where the second is the earlier one."""

    allowed = "hours of the day from 00:00 to 24:00 in quotes, the first time included, the second not"
    example = '"22:00-06:00"'

    def parse(self, raw: object) -> HoursOfDay:
        found = _HOURS.fullmatch(raw) if isinstance(raw, str) else None
        if found is None:
            raise self.refuse(raw, f"two times joined by a hyphen, hours and minutes, as in {self.example}")
        hours, minutes, end_hours, end_minutes = (int(part) for part in found.groups())
        start, end = hours * HOUR + minutes * MINUTE, end_hours * HOUR + end_minutes * MINUTE
        if max(minutes, end_minutes) > 59 or start >= DAY or end > DAY:
            raise self.refuse(raw, "hours up to 23, minutes up to 59; only the end may be 24:00")
        if start == end:
            raise self.refuse(raw, 'two times that differ; "00:00-24:00" is the whole day')
        return HoursOfDay(start=start, end=end)

    def json_schema(self) -> dict[str, Any]:
        clock = "([01][0-9]|2[0-3]):[0-5][0-9]"
        return {"type": "string", "pattern": f"^{clock}-({clock}|24:00)$", "description": self.allowed}


HourOfDay = Annotated[float, TimeOfDay()]
YearDay = Annotated[int, DayOfYear()]
Moment = Annotated[datetime, LocalMoment()]
