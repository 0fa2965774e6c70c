"""What a lesson is, and the one program that runs it, fills its sentences and makes the input of its picture."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final, Literal

from plots.inputs import Measure
from plots.wall_inputs import Bars, Wall
from plots.words import Amount, Code, Label, Number, Sentence, amount
from sim.case.load import load_case
from sim.case.quantities import Quantity, System
from sim.case.record import record
from sim.case.records import Case
from sim.case.units import DAY
from sim.plant.records import RunResult
from sim.plant.simulate import simulate
from sim.study.compare import Progress, heading
from sim.study.vary import Setting
from sim.tell.listing import Column, Listing
from sim.tell.present import UNITS, column

FOLDER: Final = Path(__file__).parent
"""Where the case files of the lessons lie."""

SEED: Final = 1

Row = Mapping[str, Any]
"""The figures of one run by key, SI with the unit in each key."""


@record
class Way:
    """One run: what it is called, what of the case differs, and its policy where the case has several."""

    name: str
    settings: Mapping[str, Setting] = field(default_factory=dict)
    policy: str | None = None


@record
class Ran:
    """A way, the case as it was run, and what came of it."""

    way: Way
    case: Case
    result: RunResult

    def number(self, key: str) -> float:
        """A figure of the site; 0 where it does not apply."""
        return float(self.result.site[key] or 0.0)

    def count(self, key: str) -> int:
        """A number of times."""
        return int(self.number(key))


@dataclass(frozen=True, slots=True)
class Display:
    """Figures in the units of one system."""

    system: System

    def factor(self, quantity: Quantity) -> float:
        """By what an SI figure is multiplied to be drawn."""
        return UNITS[self.system][quantity].per_result_unit

    def texts(self, values: Sequence[float | None], quantity: Quantity) -> tuple[Number, ...]:
        """Figures with the same decimals."""
        return column(values, quantity, self.system)

    def unit(self, quantity: Quantity) -> Code:
        """The symbol."""
        return UNITS[self.system][quantity].symbol

    def amounts(self, values: Sequence[float | None], quantity: Quantity) -> tuple[Amount, ...]:
        """The same with their unit."""
        return tuple(amount(each, self.unit(quantity)) for each in self.texts(values, quantity))

    def measure(self, words: str, quantity: Quantity) -> Measure:
        """What an axis shows."""
        return Measure(words, self.unit(quantity))


@record
class Shown:
    """A column of the table: its head, given the unit of `quantity`, and the figure that it shows.

    `scale` makes the figure one of the quantity's SI unit. Without a quantity `text` writes the figure.
    """

    head: Callable[[Code], Label]
    holds: Literal["numbers", "words"] = "numbers"
    key: str
    quantity: Quantity | None = None
    scale: float = 1.0
    text: Callable[[Any, Display], str] = lambda value, display: str(value)

    def texts(self, rows: Sequence[Row], display: Display) -> tuple[str, ...]:
        """The cells."""
        values = [row[self.key] for row in rows]
        if self.quantity is None:
            return tuple(self.text(value, display) for value in values)
        return display.texts([value * self.scale for value in values], self.quantity)

    def column(self, display: Display) -> Column:
        """The head, with its unit."""
        unit = Code("") if self.quantity is None else display.unit(self.quantity)
        return Column(self.head(unit), self.holds)


@record
class Told:
    """The answer of a lesson in the units of one system: a table, two or three sentences, the figure."""

    table: Listing
    sentences: tuple[Sentence, ...]
    wall: Wall


@record
class Lesson:
    """A lesson: `situation` in two lines and the `question` come before the runs of every way, `sentences` after.

    `files` are the names of the case file, first, and of the data that it reads; `again` is the command, with {case}
    for the file, that runs it the same way. Of each run `figures` gives the row and `drawn` what beside it a sentence
    or the picture needs; `common` are figures of the case that stand in every row of the table.
    """

    name: str
    files: tuple[str, ...]
    situation: Callable[[Case, Display], tuple[Sentence, Sentence]]
    question: Callable[[], Sentence]
    again: str
    ways: tuple[Way, ...]
    figures: Callable[[Ran], Row]
    drawn: Callable[[Ran], Any]
    common: Callable[[Case], Row] = lambda case: {}
    columns: tuple[Shown, ...]
    sentences: "Callable[[Studied, Display], Iterator[Sentence]]"
    picture: "Callable[[Studied, Display], Wall]"

    @property
    def path(self) -> Path:
        """The case file."""
        return FOLDER / self.files[0]

    def texts(self) -> dict[str, str]:
        """The case file, and the data that it reads, by name."""
        return {name: (FOLDER / name).read_text(encoding="utf-8") for name in self.files}

    def situated(self, system: System) -> tuple[Sentence, Sentence]:
        """What is run, in two lines."""
        return self.situation(load_case(self.path), Display(system))

    def study(self, progress: Progress | None = None) -> "Studied":
        """Run every way."""
        rows, drawn = [], []
        for place, way in enumerate(self.ways):
            if progress is not None:
                progress(way.name, place, len(self.ways))
            case = load_case(self.path, way.settings)
            result = simulate(case, way.policy or case.policies[0].name, seed=SEED)
            ran = Ran(way=way, case=case, result=result)
            rows.append(self.figures(ran))
            drawn.append(self.drawn(ran))
        return Studied(lesson=self, case=load_case(self.path), rows=tuple(rows), drawn=tuple(drawn))


@record
class Studied:
    """What the runs of a lesson gave: a row and what is drawn for each way; `case` is as its file has it."""

    lesson: Lesson
    case: Case
    rows: tuple[Row, ...]
    drawn: tuple[Any, ...]

    def told(self, system: System) -> Told:
        """The answer, built from the figures and from nothing else."""
        lesson, display = self.lesson, Display(system)
        rows = [{**row, **lesson.common(self.case)} for row in self.rows]
        texts = [each.texts(rows, display) for each in lesson.columns]
        heads = tuple(each.column(display) for each in lesson.columns)
        return Told(
            table=Listing(columns=heads, rows=tuple(zip(*texts, strict=True))),
            sentences=tuple(lesson.sentences(self, display)),
            wall=lesson.picture(self, display),
        )

    def bars(self, words: str, key: str, display: Display, names: Sequence[str] = ()) -> Bars:
        """One column of the table as bars, a bar for each way, by its own name or one of these."""
        shown = next(each for each in self.lesson.columns if each.key == key)
        assert shown.quantity is not None
        return Bars(
            measure=display.measure(words, shown.quantity),
            names=tuple(names or [each.name for each in self.lesson.ways]),
            values=tuple(row[key] * shown.scale * display.factor(shown.quantity) for row in self.rows),
            texts=shown.texts(self.rows, display),
        )

    def to_json(self) -> dict[str, Any]:
        """The figures as plain data, SI with the unit in each key."""
        days = self.case.run.length / DAY
        return {**heading(self.case, days, SEED), "lesson": self.lesson.name, "rows": list(self.rows)}


def of_each(total: float | int | None, count: float | int | None) -> float:
    """A total shared out, as over washes."""
    assert total is not None
    assert count
    return total / count
