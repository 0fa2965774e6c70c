"""Seconds of a run as date and time."""

from datetime import datetime, timedelta


def moment(start: datetime, seconds: float) -> datetime:
    """Date and time of an event, to the nearest second."""
    return start + timedelta(seconds=round(seconds))
