"""The lessons by name, found without loading anything that runs."""

from importlib import import_module
from typing import TYPE_CHECKING, Final

from sim.case.spelling import nearest, quoted
from sim.study.errors import RequestError

if TYPE_CHECKING:  # a list of lessons needs nothing that they need
    from sim.lessons.lesson import Lesson

TITLES: Final = {
    "rinse": "what the rinse after a backwash is for, and when it has done its work",
    "storm": "one pulse of solids in the feed, and four ways to start a wash",
    "warm-water": "one backwash in cold and in warm water",
    "stagger": "three filters on one wash pump: one after the other, 55 minutes apart, or side by side",
    "hold": "a pressure switch ahead of a unit that stops and goes, and how long it must be on",
}
"""What each lesson is about."""


def lesson(name: str) -> "Lesson":
    """The lesson of this name; RequestError with the nearest one, or all, if there is none."""
    if name not in TITLES:
        near = nearest(name, TITLES)
        offer = f" did you mean {quoted(near)}?" if near else ""
        raise RequestError(f'there is no lesson "{name}";{offer} There are: {", ".join(TITLES)}')
    found: Lesson = import_module(f"sim.lessons.{name.replace('-', '_')}").LESSON
    return found
