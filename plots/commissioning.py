"""The commissioning page, to be filled in by hand at a plant, and the questions of a first visit on paper."""

from dataclasses import dataclass
from typing import NamedTuple

from plots.paper import Paper, paper_html
from plots.words import Amount, Code, Label, Name, Sentence


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One test of function to tick: the steps to see happen, and what to write down."""

    words: Sentence
    steps: tuple[Label, ...] = ()
    write: tuple[Label, ...] = ()


class Shown(NamedTuple):
    """What a reading shows in one water, and from what to what it may be."""

    water: Amount | Label
    expected: Amount | Label
    band: Amount | Label


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One thing to measure, notes on its band, and what to do outside it."""

    what: Label
    shown: tuple[Shown, ...]
    notes: tuple[Label, ...]
    outside: Sentence


@dataclass(frozen=True, slots=True, kw_only=True)
class StagePage:
    """The page of one filter, or of one of its `several` vessels; `too_short`: its rinse, as the model has it.

    Its measurements, then lines for readings under the names of their columns, and the command that reads them.
    """

    name: Name
    readings: tuple[Reading, ...]
    columns: tuple[str, ...]
    command: Code
    several: bool
    too_short: bool

    @property
    def between(self) -> bool:
        """Whether a reading depends on the water."""
        return any(len(reading.shown) > 1 for reading in self.readings)


@dataclass(frozen=True, slots=True, kw_only=True)
class Commissioning:
    """All of it. `way`: the name of what starts washes; `tests`: by day; `draws`: of the constants, for the
    bands; `number`: that of the settings sheet, on every page."""

    title: Name
    way: Name
    tests: tuple[tuple[Label, tuple[Check, ...]], ...]
    tools: Sentence
    cautions: tuple[Sentence, ...]
    stages: tuple[StagePage, ...]
    lines: int
    draws: int
    number: Label


class Asked(NamedTuple):
    """One question: in words, an example of an answer and when it is asked, and why."""

    words: Label
    example: str
    why: Sentence


def commissioning_html(page: Commissioning, paper: Paper) -> str:
    """The page of tests, then one for each filter."""
    return paper_html("commissioning.html", paper, page=page, foot=page.number)


def questionnaire_html(questions: tuple[Asked, ...], notes: tuple[Label, ...], command: Code, paper: Paper) -> str:
    """The questions, then what to note besides, with room for an answer each."""
    return paper_html("questionnaire.html", paper, questions=questions, notes=notes, command=command, foot="")
