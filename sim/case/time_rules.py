"""What a time, a date or hours of the day in a case file may be: rules as in `rules`."""

import re
from datetime import date, datetime, time
from typing import Annotated, Any

from sim.case.train.records import HoursOfDay
from sim.case.units import DAY, HOUR, MINUTE
from sim.case.values import OneOf, Rule

EARLIEST, LATEST = 1900, 2200
MOST_TIMES = 24

_TIME = re.compile(r"([0-9]{1,2})(?::([0-9]{2}))?(?: *([ap])\.?m\.?)?", re.IGNORECASE)
WORDS = {"midnight": 0.0, "noon": DAY / 2}
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def seconds_of_day(text: str) -> float:
    """A time of day in words [s after midnight]: 24 h, am or pm, midnight, noon; ValueError says what to try.

    >>> seconds_of_day("22:30"), seconds_of_day("10:30 pm"), seconds_of_day("noon")
    (81000.0, 81000.0, 43200.0)
    """
    if text.lower() in WORDS:
        return WORDS[text.lower()]
    found = _TIME.fullmatch(text)
    half = found[3] if found else None
    if found is None or not (found[2] or half):
        raise ValueError('as in "22:30", "10:30 pm", "midnight" or "noon"')
    hours, minutes = int(found[1]), int(found[2] or 0)
    if half and hours == 12:
        raise ValueError(f'"{"midnight" if half in "aA" else "noon"}" or "{"noon" if half in "aA" else "midnight"}"; '
                         "people read 12 am and 12 pm either way")  # fmt: skip
    if minutes > 59 or hours > (12 if half else 24) or (half and not hours) or (hours == 24 and minutes):
        raise ValueError("hours up to 12 with am or pm, else up to 24:00, minutes up to 59")
    return (hours + (12 if half and half in "pP" else 0)) * HOUR + minutes * MINUTE


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
        if isinstance(raw, str):
            try:
                return seconds_of_day(raw) % DAY
            except ValueError as wrong:
                raise self.refuse(raw, str(wrong)) from None
        if not isinstance(raw, time):
            raise self.refuse(raw, f'without quotes as in {self.example}, or in quotes as in "10:30 pm"')
        return raw.hour * HOUR + raw.minute * MINUTE + raw.second + raw.microsecond * 1e-6

    def json_schema(self) -> dict[str, Any]:
        return {"type": "string", "description": f"{self.allowed}: 24 h without quotes, am or pm in quotes"}


class HoursList(Rule):
    """One time of day, or several; read as a tuple in the order given."""

    allowed = "a time of day, or a list of them"
    example = TimeOfDay.example

    def parse(self, raw: object) -> tuple[float, ...]:
        hours = raw if isinstance(raw, list) else [raw]
        if not 0 < len(hours) <= MOST_TIMES:
            raise self.refuse(raw, f"1 to {MOST_TIMES} times of day")
        found = tuple(TimeOfDay().parse(each) for each in hours)
        if len(set(found)) < len(found):
            raise self.refuse(raw, "each time of day once")
        return found

    def json_schema(self) -> dict[str, Any]:
        one = TimeOfDay().json_schema()
        return {"anyOf": [one, {"type": "array", "items": one, "minItems": 1, "maxItems": MOST_TIMES}]}


class Weekday(OneOf):
    """A day of the week, read as its number from 0 for Monday."""

    def __init__(self) -> None:
        super().__init__(*WEEKDAYS)

    def parse(self, raw: object) -> Any:
        return WEEKDAYS.index(super().parse(raw))


class Day(Unquoted):
    """A date of one year."""

    allowed = f"a date, years {EARLIEST} to {LATEST}"
    example = "2027-12-24"

    def parse(self, raw: object) -> date:
        day = self.date_of(raw)
        self.insist_on_year(day)
        return day


class WeekdayOrDate(Weekday):
    """A day of the week as its number, or a date."""

    @property
    def allowed(self) -> str:
        return f"{super().allowed}; or {Day.allowed}, without quotes"

    def parse(self, raw: object) -> Any:
        return super().parse(raw) if isinstance(raw, str) else Day().parse(raw)

    def json_schema(self) -> dict[str, Any]:
        return {"type": "string", "description": self.allowed}


class DayHours(Rule):
    """Hours of the day from one time to another, over midnight where the second is the earlier one."""

    allowed = "hours of the day from 00:00 to 24:00 in quotes, the first time included, the second not"
    example = '"22:00-06:00"'

    def parse(self, raw: object) -> HoursOfDay:
        parts = [part.strip() for part in raw.split("-")] if isinstance(raw, str) else []
        if len(parts) != 2:
            raise self.refuse(raw, f"two times joined by a hyphen, hours and minutes, as in {self.example}")
        try:
            start, end = (seconds_of_day(part) for part in parts)
        except ValueError as wrong:
            raise self.refuse(raw, str(wrong)) from None
        end = DAY if parts[1].lower() == "midnight" else end
        if start >= DAY or end > DAY:
            raise self.refuse(raw, "hours up to 23, minutes up to 59; only the end may be 24:00")
        if start == end:
            raise self.refuse(raw, 'two times that differ; "00:00-24:00" is the whole day')
        return HoursOfDay(start=start, end=end)

    def json_schema(self) -> dict[str, Any]:
        clock = "(([01]?[0-9]|2[0-3]):[0-5][0-9]|24:00|1?[0-9](:[0-5][0-9])? *[ap]m|noon|midnight)"
        return {"type": "string", "pattern": f"^{clock} *- *{clock}$", "description": self.allowed}


HourOfDay = Annotated[float, TimeOfDay()]
YearDay = Annotated[int, DayOfYear()]
Moment = Annotated[datetime, LocalMoment()]
