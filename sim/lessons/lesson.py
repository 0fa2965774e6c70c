"""What a lesson is, and the one program that runs it, fills its sentences and makes the input of its picture."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final, Literal

from plots.inputs import Measure
from plots.wall_inputs import Bars, Wall
from plots.words import (
    Amount,
    Code,
    Label,
    Name,
    Number,
    Sentence,
    Term,
    amount,
    in_days,
    items,
    label,
    localised,
    say,
    term,
)
from sim.case.load import load_case
from sim.case.quantities import Quantity, System
from sim.case.record import record
from sim.case.records import Case
from sim.case.stage.records import Stage
from sim.case.units import DAY
from sim.plant.records import RunResult
from sim.plant.simulate import simulate
from sim.study.compare import Progress, heading
from sim.study.errors import RequestError
from sim.study.vary import Setting
from sim.tell.listing import Column, Listing
from sim.tell.present import UNITS, column, solids_unit
from sim.tell.sentences import not_for_a_plant
from sim.tell.trigger.settings_sheet import minutes_of, set_amount

FOLDER: Final = Path(__file__).parent
"""Where the case files of the lessons lie."""

SEED: Final = 1
SHORT, LONG, OFTEN = 30 * DAY, 60 * DAY, 15 * DAY
"""How much of somebody's own plant is run [s]: the long one where a filter may go longer than `OFTEN` unwashed."""

Row = Mapping[str, Any]
"""The figures of one run by key, SI with the unit in each key."""

Load = Callable[[Mapping[str, Setting]], Case]
"""A case with some settings changed."""


@record
class Way:
    """One run: what it is called, what of the case differs, and its policy where the case has several."""

    name: str
    settings: Mapping[str, Setting] = field(default_factory=dict)
    policy: str | None = None


@record
class Ran:
    """A way, the case as it was run, what came of it, and which of its stages it is about."""

    way: Way
    case: Case
    result: RunResult
    stage: str

    def of_stage(self, key: str) -> float:
        """A figure of that stage; 0 where it does not apply."""
        return float(self.result.stages[self.stage][key] or 0.0)

    def number(self, key: str) -> float:
        """A figure of the site; 0 where it does not apply."""
        return float(self.result.site[key] or 0.0)

    def count(self, key: str) -> int:
        """A number of times."""
        return int(self.number(key))

    @property
    def washes(self) -> int:
        """Of its stage; RequestError where there is none to tell anything by."""
        if not (washes := self.of_stage("washes")):
            days = self.result.days
            raise RequestError(f"no wash of {self.stage} within {days:g} days, and this lesson is about its washes")
        return int(washes)


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
    """The answer of a lesson in the units of one system: a table, two or three sentences, the figure.

    `tried`: what came of what is to be tried now; `right`: the place of the option that turned out so; `foot`: whose
    plant it is.
    """

    table: Listing
    sentences: tuple[Sentence, ...]
    tried: tuple[Sentence, ...]
    wall: Wall
    options: tuple[str, ...]
    right: int
    foot: Sentence


@record
class Guess:
    """What is asked before the runs, what there is to choose from, and which of it the figures bear out.

    `or_none`: they may bear out none of it, which is then the last thing to choose.
    """

    asks: Callable[[], Sentence]
    options: "Callable[[Lesson, Case, Display], Sequence[str]]"
    right: "Callable[[Studied], int | None]"
    or_none: bool = False


@record
class Lesson:
    """A lesson: `situation` in two lines, the `question` and a `guess` come before the runs of every way; after them
    the `sentences`, on what they `depend`, and what to try `now`.

    `files` are the names of the case file, first, and of the data that it reads; `again` is the command, with {case}
    for the file, that runs it the same way; `where` is the page on which to go on. Of each run `figures` gives the
    row, `drawn` what beside it a sentence or the picture needs, and `read` the figures that come of that; `common`
    are figures of the case that stand in every row of the table. `tries` are the runs of what is to be tried now, and
    `tried` says what came of them. `own` makes the same of somebody's own plant, or says
    why it does not apply there; it is then about `stage`.
    """

    name: str
    files: tuple[str, ...]
    situation: Callable[[Case, Display], tuple[Sentence, Sentence]]
    question: Callable[[], Sentence]
    guess: Guess
    now: Callable[[], Sentence]
    tries: "Callable[[Lesson, Case], Sequence[Way]]"
    tried: "Callable[[Studied, Display], Iterator[Sentence]]"
    where: Literal["start", "rinse", "plant"]
    again: str
    ways: tuple[Way, ...]
    figures: Callable[[Ran], Row]
    drawn: Callable[[Ran], Any]
    read: Callable[[Any], Row] = lambda drawn: {}
    common: "Callable[[Studied], Row]" = lambda studied: {}
    columns: tuple[Shown, ...]
    sentences: "Callable[[Studied, Display], Iterator[Sentence]]"
    depends: Callable[[], Sentence]
    picture: "Callable[[Studied, Display], Wall]"
    own: "Callable[[Case], Lesson | Sentence]"
    stage: str | None = None

    @property
    def path(self) -> Path:
        """The case file."""
        return FOLDER / self.files[0]

    def texts(self) -> dict[str, str]:
        """The case file, and the data that it reads, by name."""
        return {name: (FOLDER / name).read_text(encoding="utf-8") for name in self.files}

    def load(self, settings: Mapping[str, Setting]) -> Case:
        """Its own case."""
        return load_case(self.path, settings)

    def situated(self, system: System, case: Case | None = None) -> tuple[Sentence, ...]:
        """What is run, in two lines; on somebody's own plant, whose."""
        if case is None:
            return self.situation(self.load({}), Display(system))
        stage = self.about(case)
        days = in_days(first_days(case, stage).run.length / DAY)
        return say("lesson.own_plant", title=Name(case.title), days=days), *_filter_words(case, stage, system)

    def about(self, case: Case) -> Stage:
        """The filter of a case that it is about."""
        return next(each for each in case.stages if self.stage in (None, each.name))

    def options(self, system: System, case: Case | None = None) -> tuple[str, ...]:
        """What there is to guess; on somebody's own plant, there."""
        options = self.guess.options(self, case or self.load({}), Display(system))
        return (*options, label("lesson.none")) if self.guess.or_none else tuple(options)

    def study(self, progress: Progress | None = None, load: Load | None = None) -> "Studied":
        """Run every way, of its own case or of the first days of that which `load` loads."""

        def load_it(settings: Mapping[str, Setting]) -> Case:
            if load is None:
                return self.load(settings)
            case = load(settings)
            return first_days(case, self.about(case))

        own = load_it({})
        rows, drawn = list[Row](), list[Any]()
        ways = (*self.ways, *self.tries(self, own))
        for place, way in enumerate(ways):
            if progress is not None:
                progress(way.name, place, len(ways))
            case = load_it(way.settings)
            result = simulate(case, way.policy or case.policies[0].name, seed=SEED)
            ran = Ran(way=way, case=case, result=result, stage=self.about(case).name)
            row = self.figures(ran)
            if place < len(self.ways):
                drawn.append(self.drawn(ran))
                row = {**row, **self.read(drawn[-1])}
            rows.append(row)
        count = len(self.ways)
        return Studied(
            lesson=self, case=own, rows=tuple(rows[:count]), drawn=tuple(drawn), tries=tuple(rows[count:]),
            invented=load is None,
        )  # fmt: skip


@record
class Studied:
    """What the runs of a lesson gave: a row and what is drawn for each way, a row for each that is to be tried now.

    `case` is as its file has it.
    """

    lesson: Lesson
    case: Case
    rows: tuple[Row, ...]
    drawn: tuple[Any, ...]
    tries: tuple[Row, ...]
    invented: bool = True

    @property
    def plant(self) -> Term:
        """Where it is so."""
        return term("lesson_plant", "invented" if self.invented else "own")

    @property
    def stage(self) -> Stage:
        """What it is about."""
        return self.lesson.about(self.case)

    def told(self, system: System) -> Told:
        """The answer, built from the figures and from nothing else."""
        lesson, display = self.lesson, Display(system)
        rows = [{**row, **lesson.common(self)} for row in self.rows]
        texts = [each.texts(rows, display) for each in lesson.columns]
        heads = tuple(each.column(display) for each in lesson.columns)
        depends = (lesson.depends(),) if self.invented else ()
        options, right = lesson.options(system, self.case), lesson.guess.right(self)
        return Told(
            table=Listing(columns=heads, rows=tuple(zip(*texts, strict=True))),
            sentences=(*lesson.sentences(self, display), *depends),
            tried=tuple(lesson.tried(self, display)),
            wall=lesson.picture(self, display),
            options=options,
            right=len(options) - 1 if right is None else right,
            foot=not_for_a_plant() if self.invented else say("lesson.own_depends"),
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


def first_days(case: Case, stage: Stage) -> Case:
    """The first days of a plant: as many as a lesson about that filter runs."""
    often = stage.longest_run is not None and stage.longest_run <= OFTEN
    length = min(SHORT if often else LONG, case.run.length)
    faults = tuple(each for each in case.faults if each.start < length)
    return replace(case, run=replace(case.run, length=length), faults=faults)


def _filter_words(case: Case, stage: Stage, system: System) -> Iterator[Sentence]:
    """A filter of somebody's own: its bed, its wash, its limit."""
    depths = [(set_amount(each.depth, "length", system), term("medium", each.medium)) for each in stage.layers]
    layers = [label("lesson.layer", depth=depth, medium=medium) for depth, medium in depths]
    yield say("lesson.own_filter", stage=Name(stage.name), layers=items(layers))
    steps = [label("lesson.step", step=term("step", each.do), minutes=minutes_of(each.seconds),
                   flow=set_amount(each.flow, "flow", system)) if each.flow
             else label("lesson.step_still", step=term("step", each.do), minutes=minutes_of(each.seconds))
             for each in stage.steps]  # fmt: skip
    yield say("lesson.own_wash", steps=items(steps))
    if stage.limit is not None:
        unit = solids_unit(case.feed.turbidity_ratio, system)
        limit = localised(f"{stage.limit * unit.per_result_unit:.3g}")
        yield say("lesson.own_limit", limit=amount(limit, unit.symbol))


def of_each(total: float | int | None, count: float | int | None) -> float:
    """A total shared out, as over washes."""
    assert total is not None
    assert count
    return total / count


def least(values: Sequence[float]) -> int:
    """The place of the least of several figures; of equals the first."""
    return min(range(len(values)), key=lambda place: values[place])


def first(values: Sequence[bool]) -> int | None:
    """The place of the first that holds, None where none does."""
    return next((place for place, value in enumerate(values) if value), None)


def by_compare(case: Case) -> Sentence:
    """Why a lesson that compares its own ways to start a wash is not told of another plant."""
    return say("lesson.own_compare")
