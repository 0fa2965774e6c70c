"""What a lesson is: a situation, a question, runs, and the answer that their figures give."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, Protocol

from plots.wall_inputs import Wall
from sim.case.quantities import System
from sim.case.records import Case
from sim.case.units import DAY
from sim.study.compare import Progress, heading
from sim.tell.listing import Listing

FOLDER: Final = Path(__file__).parent
"""Where the case files of the lessons lie."""

SEED: Final = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """The answer of a lesson in the units of one system: a table, two or three sentences, the figure."""

    table: Listing
    sentences: tuple[str, ...]
    wall: Wall


class Studied(Protocol):
    """What the runs of a lesson gave."""

    @property
    def case(self) -> Case:
        """The case as its file has it."""

    def rows(self) -> list[dict[str, Any]]:
        """The figures, SI, a row for each setting or way to start a wash."""

    def told(self, system: System) -> Told:
        """The answer, built from the figures and from nothing else."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lesson:
    """A lesson: `situation` in two lines and what to `watch` for come before the runs of `study`.

    `files` are the names of the case file, first, and of the data that it reads; `again` is the command, with {case}
    for the file, that runs it the same way.
    """

    name: str
    files: tuple[str, ...]
    situation: Callable[[System], tuple[str, str]]
    watch: str
    again: str
    study: Callable[[Path, Progress | None], Studied]

    @property
    def path(self) -> Path:
        """The case file."""
        return FOLDER / self.files[0]

    def texts(self) -> dict[str, str]:
        """The case file, and the data that it reads, by name."""
        return {name: (FOLDER / name).read_text(encoding="utf-8") for name in self.files}


def lesson_json(lesson: Lesson, studied: Studied) -> dict[str, Any]:
    """A lesson's figures as plain data, SI with the unit in each key."""
    case = studied.case
    return {**heading(case, case.run.length / DAY, SEED), "lesson": lesson.name, "rows": studied.rows()}


def of_each(total: float | int | None, count: float | int | None) -> float:
    """A total shared out, as over washes."""
    assert total is not None
    assert count
    return total / count


def listed(texts: Sequence[str]) -> str:
    """Texts in a sentence.

    >>> listed(["a"]), listed(["a", "b", "c"])
    ('a', 'a, b and c')
    """
    *most, last = texts
    return f"{', '.join(most)} and {last}" if most else last
