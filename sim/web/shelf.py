"""The cases that the page holds, in memory and nowhere else."""

import hashlib
from collections import OrderedDict
from dataclasses import astuple, dataclass, replace
from functools import cache
from pathlib import Path
from typing import NamedTuple

from plots.words import label, term
from sim.case.quantities import System
from sim.lessons.lesson import FOLDER
from sim.lessons.names import NAMES
from sim.web.errors import Refused

MOST_HELD, MOST_LOGS = 64, 8
LESSONS = ("rinse", "warm-water")
STORM = frozenset({("feed.suspended_solids", "storm.csv")})
DEMO = Path(__file__).parent / "cases" / "market_hall.toml"


@dataclass(frozen=True, slots=True)
class Held:
    """A case file's text, what it is called, and the folder that its series may come from (None: from nowhere).

    `series` are the keys and files of the series that it may read: those of the file that the page was started with.
    """

    text: str
    name: str
    folder: str | None = None
    series: frozenset[tuple[str, str]] = frozenset()

    @classmethod
    def of(cls, path: Path) -> "Held":
        """A case that comes with the program and needs no file beside it."""
        return cls(path.read_text(encoding="utf-8"), path.name)

    @property
    def id(self) -> str:
        """What addresses call it: a digest of all that it is."""
        parts = "\0".join([self.text, self.name, self.folder or "", *map(repr, sorted(self.series))])
        return hashlib.sha256(parts.encode("utf-8")).hexdigest()[:16]


@dataclass(frozen=True, slots=True)
class HeldLog:
    """The text of a plant's own log, what it is called, the filter that it is of, and how it is to be read."""

    text: str
    name: str
    stage: str | None
    how: tuple[tuple[str, str], ...]

    @property
    def id(self) -> str:
        """What addresses call it: a digest of all that it is."""
        return hashlib.sha256(repr(astuple(self)).encode("utf-8")).hexdigest()[:16]


Asked = tuple[tuple[str, str], ...]
"""Where sliders stand: dotted keys and numbers, as they stand in an address."""


class Stand(NamedTuple):
    """What an answer follows from: a case, where its sliders stand, and in which units."""

    held: Held
    moved: Asked
    system: System


def shipped() -> tuple[tuple[str, Held], ...]:
    """The cases that come with the program and need no file beside them, each with what it is about."""
    abouts = label("page.start.demo"), *(term("lesson", name) for name in LESSONS)
    return tuple(zip(abouts, _shipped(), strict=True))


@cache
def _shipped() -> tuple[Held, ...]:
    return Held.of(DEMO), *map(of_lesson, LESSONS)


@cache
def of_lesson(name: str) -> Held:
    """The case of a lesson; that of the storm reads a series from beside it."""
    found = Held.of(FOLDER / f"{name.replace('-', '_')}.toml")
    return replace(found, folder=str(FOLDER), series=STORM) if name == "storm" else found


class Shelf:
    """The cases by their ids: the first and the shipped ones for good, the others until newer ones come; logs too."""

    def __init__(self, first: Held) -> None:
        self.first = first
        self._for_good = {held.id: held for held in (first, Held.of(DEMO), *map(of_lesson, NAMES))}
        self._others: OrderedDict[str, Held] = OrderedDict()
        self._logs: OrderedDict[str, HeldLog] = OrderedDict()

    def put(self, held: Held) -> str:
        """Hold a case; its id."""
        if held.id not in self._for_good:
            self._others[held.id] = held
            self._others.move_to_end(held.id)
            while len(self._others) > MOST_HELD:
                self._others.popitem(last=False)
        return held.id

    def holds(self, case_id: str) -> bool:
        """Whether there is a case of this id."""
        return case_id in self._for_good or case_id in self._others

    def get(self, case_id: str | None) -> Held:
        """The case of an id, the first one without one; Refused if it is not held, or no longer."""
        if case_id is None:
            return self.first
        if case_id in self._for_good:
            return self._for_good[case_id]
        held = self._others.get(case_id)
        if held is None:
            raise Refused(404, "This case is not held here, or no longer; open its file again under “My plant”.")
        self._others.move_to_end(case_id)
        return held

    def put_log(self, log: HeldLog) -> str:
        """Hold a log; its id."""
        self._logs[log.id] = log
        self._logs.move_to_end(log.id)
        while len(self._logs) > MOST_LOGS:
            self._logs.popitem(last=False)
        return log.id

    def log(self, log_id: str | None) -> HeldLog:
        """The log of an id; Refused if it is not held, or no longer."""
        if log_id is None or log_id not in self._logs:
            raise Refused(404, "This log is not held here, or no longer; give its file again.")
        self._logs.move_to_end(log_id)
        return self._logs[log_id]
