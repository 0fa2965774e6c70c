"""What figures, report and sheets are made from: numbers already in display units, pandas tables, text.

A missing number in a table is nan. Times are local dates and times without a zone.
"""

import json
from dataclasses import dataclass, fields
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from plots.words import Amount, Label, Moment, Term, typeset

if TYPE_CHECKING:  # loaded where a table is made
    import pandas as pd


@dataclass(frozen=True, slots=True)
class Measure:
    """What an axis shows, and its unit ("" for a plain number)."""

    words: str
    unit: str

    @property
    def label(self) -> str:
        """Words and unit.

        >>> Measure("water to drain", "gal").label
        'water to drain, gal'
        """
        return f"{self.words}, {typeset(self.unit)}" if self.unit else self.words

    @property
    def term(self) -> Term:
        """The same without its unit, as a sentence has it."""
        return Term(self.words)


@dataclass(frozen=True, slots=True, kw_only=True)
class LogSheet:
    """A page for the log of one stage, by its name: the heads of its columns, the first of days."""

    name: str
    columns: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """One stage through time under one policy.

    `table`: time, pressure, solids, one row a sample, nan where the stage is not in service, and a column for each of
    `dissolved`, named by its words: what its stage sends on. `washes` are the starts of its washes. `set_point` and
    `limit` are in the units of the two measures, None where there is none. `days` are those shown and those of the
    whole run; `over_h` the hours over the limit in either. `place` is that of the policy in the case, which gives it
    its look everywhere.
    """

    policy: str
    place: int
    stage: str
    table: "pd.DataFrame"
    pressure: Measure
    solids: Measure
    set_point: float | None
    limit: float | None
    washes: tuple[datetime, ...]
    days: tuple[float, float]
    over_h: tuple[float, float]
    dissolved: tuple[Measure, ...] = ()

    @property
    def whole(self) -> bool:
        """Whether all of the run is shown."""
        return self.days[0] >= self.days[1]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunBars:
    """The filter runs of one stage under several policies.

    `table`: policy, start, end, cause, length, over, one row a filter run; length and time over the limit (nan where
    there is no limit) in the unit of `length`. `causes` fixes the order of the legend; the last of them stands for
    runs that no wash ended.
    """

    stage: str
    policies: tuple[str, ...]
    causes: tuple[str, ...]
    table: "pd.DataFrame"
    length: Measure


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """One figure of every policy: its number (nan where it does not apply) and the text that a table shows."""

    measure: Measure
    values: tuple[float, ...]
    texts: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """One figure of every run of every policy, with each policy's mean and the interval around it.

    `values`: for each policy the figures of its runs, nan where it does not apply. `low` and `high` are nan where
    there is no interval.
    """

    measure: Measure
    values: tuple[tuple[float, ...], ...]
    means: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    texts: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bed:
    """The deposit in one stage's bed at the end of a filter run of each policy.

    `layers`: medium, top, bottom, most (the deposit at which capture ends), one row a layer, top first; `holds`
    is the most of any of them.
    `slices`: policy, top, bottom, deposit, one row a cell. Depths are below the bed's surface. `shown` is the policy
    whose deposit the section shows; `ends` says when each policy's run ended, `places` where each stands in the case.
    `used`: policy, top, bottom, used (% of the capacity of what takes up something dissolved); None without any.
    """

    stage: str
    layers: "pd.DataFrame"
    slices: "pd.DataFrame"
    depth: Measure
    deposit: Measure
    holds: float
    shown: str
    ends: dict[str, datetime]
    places: dict[str, int]
    used: "pd.DataFrame | None"


class Span(NamedTuple):
    """A stretch of time."""

    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class VesselSignal:
    """What the gauge of one vessel shows.

    `table`: time, pressure, nan where the vessel is not in service. `set_point` None: no switch starts its washes.
    `early`: washes that a spike alone set off; `missed`: the set point passed and no wash came of it.
    """

    name: str
    table: "pd.DataFrame"
    pressure: Measure
    set_point: float | None
    early: tuple[datetime, ...]
    missed: tuple[datetime, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DissolvedSignal:
    """What a stage sends on of one thing dissolved, against its limit (None where there is none).

    `table`: time, dissolved, nan where the stage sends nothing on. `regenerated`: when a regeneration of the stage
    began; `unrestored`: those that restored nothing.
    """

    measure: Measure
    table: "pd.DataFrame"
    limit: float | None
    regenerated: tuple[datetime, ...]
    unrestored: tuple[datetime, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WashBars:
    """The steps of every wash. `table`: vessel, step, start, end; `vessels`: all, in the order of the train."""

    vessels: tuple[str, ...]
    table: "pd.DataFrame"


class FaultSpan(NamedTuple):
    """Something that fails, by its words, from one time to another."""

    words: str
    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekPicture:
    """One week of one policy.

    `table`: time, flow, level. Without a tank `level` and `marks`, the levels at which the unit starts and stops, are
    None. `held`: the unit is held while something washes; `raw`: raw water goes on to service; `starved`: the unit
    asks for water and gets none. `faults`: what fails meanwhile. `place` is that of the policy in the case.
    """

    policy: str
    place: int
    number: int
    start: datetime
    end: datetime
    table: "pd.DataFrame"
    flow: Measure
    level: Measure | None
    marks: tuple[float, float] | None
    signals: tuple[VesselSignal, ...]
    dissolved: tuple[DissolvedSignal, ...]
    washes: WashBars
    held: tuple[Span, ...]
    raw: tuple[Span, ...]
    starved: tuple[Span, ...]
    faults: tuple[FaultSpan, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A vessel at one moment, all of it to scale in height.

    `slices`: top, bottom, deposit; `layers`: medium, top, bottom; depths below the bed's surface. `above` is the
    height of the water over the bed, `water` the solids in that water; the amounts are what water and bed hold.
    """

    when: Term
    slices: "pd.DataFrame"
    layers: "pd.DataFrame"
    above: float
    water: float
    water_holds: Amount
    bed_holds: Amount


@dataclass(frozen=True, slots=True, kw_only=True)
class Rinsed:
    """The filtered water after one wash, and the vessel before and after it.

    `jars`: minutes, solids, text, nan where no water flows; `outlet`: minutes, solids. `limit` is in the unit of
    `solids`, None where there is none. `earlier`: the outlet before a move, in grey; `top`: its scale
    goes as far.
    """

    stage: str
    jars: "pd.DataFrame"
    outlet: "pd.DataFrame"
    solids: Measure
    limit: float | None
    sections: tuple[Section, ...]
    earlier: "pd.DataFrame | None" = None
    top: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Pictures:
    """All that is drawn of one study.

    `compared` are of all `policies`; the rest shows those of them that are drawn. `week` is the one told in detail,
    from and to, and `in_week` what happened in it. Of many runs `spread` stands in place of `compared`, and `example`
    says which run the rest shows, `week_why` why this week, and `left_out` the policies that some of it leaves out.
    """

    policies: tuple[str, ...]
    compared: tuple[Compared, ...]
    courses: tuple[Course, ...]
    runs: tuple[RunBars, ...]
    beds: tuple[Bed, ...]
    week: tuple[datetime, datetime]
    in_week: WeekPicture
    spread: tuple[Spread, ...] = ()
    example: str = ""
    week_why: Literal["asked", "over", "stages", "washes"] = "asked"
    left_out: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """A setting that is varied: its name, its values as texts, and as numbers in `unit` where they lie on a scale."""

    name: str
    unit: str
    texts: tuple[str, ...]
    numbers: tuple[float, ...] | None

    @property
    def label(self) -> str:
        """Name and unit."""
        return Measure(self.name, self.unit).label

    @property
    def ticks(self) -> tuple[str, ...]:
        """What stands at each value of the axis: its number, whose unit the label has, or its words."""
        return self.texts if self.numbers is None else tuple(f"{each:.6g}" for each in self.numbers)


@dataclass(frozen=True, slots=True, kw_only=True)
class Swept:
    """One figure of the results at every value of one setting or two.

    `name` is that of its files. `table`: policy, value (nan where the figure does not apply) and text, one row a run:
    by policy within each combination of values, the last axis fastest. `places`: of the policies in the case.
    """

    name: str
    measure: Measure
    axes: tuple[Axis, ...]
    policies: tuple[str, ...]
    places: tuple[int, ...]
    table: "pd.DataFrame"


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table of text: its head, and whether its cells are numbers or words."""

    head: str
    holds: Literal["numbers", "words"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TextTable:
    """A table of text. The first column names its row; `strong` are the (row, column) places of the best figures.

    `starts` are rows with which a group begins, `indented` rows that belong to the one above; `even`
    gives all columns but the first the same width.
    """

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    strong: frozenset[tuple[int, int]] = frozenset()
    starts: frozenset[int] = frozenset()
    indented: frozenset[int] = frozenset()
    even: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """The beginning of a report: the answer in sentences, its few figures, their notes, what would change it."""

    sentences: tuple[str, ...]
    table: TextTable
    notes: tuple[str, ...]
    change: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """What the head of a report names: the case's file, the program with its version, the day it was made, who
    prepared it and for whom, either empty where that is not said. `whole`: with every figure, however many."""

    case: str
    program: str
    made: date
    prepared_by: str = ""
    prepared_for: str = ""
    whole: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """The text of a report, top to bottom. Every text is plain: what looks like markup is shown as it stands.

    `given` is what the case says of plant, water and prices; `dissolved` where what is dissolved came from and went.
    `facts` are what the study was run with, name and value. `known` says what known runs told, `order` whether the
    order of the policies rests on what is assumed, `spread` how far figures spread then. An empty text or list leaves
    its place out.
    """

    title: str
    simulated: str
    facts: tuple[tuple[str, str], ...]
    answer: Answer
    given: TextTable
    settings: tuple[TextTable, ...]
    comparison: tuple[TextTable, ...]
    comparison_notes: tuple[str, ...]
    dissolved: TextTable | None
    drawn_note: str
    week: str
    events: TextTable
    events_note: str
    assumed: str
    known: tuple[str, ...]
    order: tuple[str, ...]
    spread: TextTable | None
    assumptions: TextTable | None
    sources: tuple[str, ...]

    @property
    def is_compared(self) -> bool:
        """Whether several ways to start a wash stand side by side."""
        return len(self.comparison[0].columns) > 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One sheet of the workbook: its name, and a table whose column names carry the units."""

    name: str
    table: "pd.DataFrame"


@dataclass(frozen=True, slots=True, kw_only=True)
class WeatherPicture:
    """A record and what was fitted to it.

    `course`: time, record, made (one realisation), nan in gaps. `above`: value, then the share of time above it in
    the record, and mean, low and high of the realisations. `alike`: lag, then the autocorrelation in the same
    columns; `alike_words` says of what. `logarithmic` tells whether values are drawn by their logarithm.
    """

    measure: Measure
    lag: Measure
    lag_ticks: tuple[float, ...]
    alike_words: str
    logarithmic: bool
    course: "pd.DataFrame"
    above: "pd.DataFrame"
    alike: "pd.DataFrame"
    realisations: int


THOUSANDTHS = 1000
Signal = tuple[float | None, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameWash:
    """One wash of the vessel at a place of the train [h from the first moment], what started it, its steps."""

    bed: int
    start: float
    end: float
    why: Term
    steps: tuple[tuple[Term | Label, float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BedFrames:
    """One vessel. `media` with the depth of their bottoms, `bottoms` of the bands, in one display unit.

    `deposit` of each band at each moment, in thousandths of what the bed `holds` at most; signals are None out of
    service, the marks None where there is none. `judged`: a verdict goes by the water of its stage.
    """

    name: str
    judged: bool
    media: tuple[tuple[str, float], ...]
    bottoms: tuple[float, ...]
    holds: float
    deposit: tuple[tuple[int, ...], ...]
    pressure: Signal
    outlet: Signal
    set_point: float | None
    limit: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Frames:
    """Moments `t` [h] of one way to start a wash, in display units; the tank's level has its top in `full`.

    `clock` are the same as dates, `days` the midnights; `words` what signals and states are called.
    """

    way: str
    title: Label
    t: tuple[float, ...]
    clock: tuple[Moment, ...]
    days: tuple[tuple[float, Moment], ...]
    feed: Signal
    level: Signal | None
    full: float | None
    beds: tuple[BedFrames, ...]
    washes: tuple[FrameWash, ...]
    words: dict[str, str]

    @property
    def as_json(self) -> str:
        """All of it as one JSON object, which may also stand in a page."""
        return json.dumps(self, default=_by_name, allow_nan=False, separators=(",", ":")).replace("<", "\\u003c")


def _by_name(each: Any) -> dict[str, Any]:
    return {field.name: getattr(each, field.name) for field in fields(each)}
