"""A moment of a run as somebody asks for it: a local date and time, or a day of the run with a time."""

import re
from datetime import datetime, time, timedelta

from sim.case.records import Case
from sim.study.errors import RequestError

MINUTE = "%Y-%m-%dT%H:%M"

_DAY = re.compile(r"day +(\d{1,6}) +(\d{1,2}:\d{2}(?::\d{2})?)", re.IGNORECASE)


def asked_moment(text: str, case: Case) -> float:
    """Seconds from the start of the run; RequestError for what is no moment of it.

    "day 1" is the date on which the run starts, whatever the hour.
    """
    start, length = case.run.start, case.run.length
    found = _read(text.strip(), start)
    if found is None:
        raise RequestError(
            f'--explain: given "{text}"; allowed: a local date and time such as {start:{MINUTE}}, or a day of the '
            f"run with a time such as day 2 05:00; try: {start:{MINUTE}}"
        )
    seconds = (found - start).total_seconds()
    if not 0.0 <= seconds <= length:
        end = start + timedelta(seconds=length)
        raise RequestError(
            f'--explain: given "{text}", {found:%Y-%m-%d %H:%M}; allowed: {start:%Y-%m-%d %H:%M} to '
            f"{end:%Y-%m-%d %H:%M}, in which the case runs; try: {start if seconds < 0.0 else end:{MINUTE}}"
        )
    return seconds


def _read(text: str, start: datetime) -> datetime | None:
    """The local date and time, None if the text is none."""
    day = _DAY.fullmatch(text)
    if not text.isascii():  # digits of other scripts are digits to Python
        return None
    try:
        if day is None:
            found = datetime.fromisoformat(text)
            return found if found.tzinfo is None and "T" in text.upper().replace(" ", "T") else None
        clock = time.fromisoformat(day[2].zfill(len(day[2]) + (day[2].index(":") == 1)))
        return datetime.combine(start.date() + timedelta(days=int(day[1]) - 1), clock)
    except (ValueError, OverflowError):
        return None
