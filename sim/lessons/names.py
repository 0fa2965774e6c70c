"""The lessons by name, found without loading anything that runs."""

from importlib import import_module
from typing import TYPE_CHECKING, Final

from sim.case.spelling import nearest, quoted
from sim.study.errors import RequestError

if TYPE_CHECKING:  # a list of lessons needs nothing that they need
    from sim.case.records import Case
    from sim.lessons.lesson import Lesson

NAMES: Final = ("rinse", "storm", "warm-water", "stagger", "hold", "salt", "worst-hour", "stuck-meter")
"""In the order in which they are listed; what each is about is a term."""


def lesson(name: str) -> "Lesson":
    """The lesson of this name; RequestError with the nearest one, or all, if there is none."""
    if name not in NAMES:
        near = nearest(name, NAMES)
        names = ", ".join(NAMES)
        raise RequestError(
            f'there is no lesson "{name}"{f"; did you mean {quoted(near)}?" if near else "."} There are: {names}'
        )
    found: Lesson = import_module(f"sim.lessons.{name.replace('-', '_')}").LESSON
    return found


def on_own(chosen: "Lesson", case: "Case") -> "Lesson":
    """A lesson on somebody's own plant; RequestError where it does not apply there."""
    found = chosen.own(case)
    if isinstance(found, str):
        raise RequestError(f"lesson {chosen.name}: {found} Without CASE it runs on a plant of its own.")
    return found
