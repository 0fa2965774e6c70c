"""What the figures and the report of a decision are made from: numbers in display units, and text."""

from dataclasses import dataclass

from plots.inputs import Answer, Measure, TextTable
from plots.words import Term

Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class TradeoffLine:
    """The settings of one policy that were tried, as points of two figures; the present and the best of them.

    `steps`: nothing can be set between two of them, as between whole days, so no line joins them.
    """

    policy: str
    points: tuple[Point, ...]
    present: Point
    best: Point | None
    steps: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Tradeoff:
    """One figure of every setting against another; `limit` is the most that is allowed of the second."""

    x: Measure
    y: Measure
    lines: tuple[TradeoffLine, ...]
    limit: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class StackedBars:
    """Bars that are made of parts: `values` by bar, then by part; `texts` stand at their ends.

    `ends`: for each bar from where to where its whole may lie, None where that is one value.
    """

    measure: Measure
    bars: tuple[str, ...]
    parts: tuple[str, ...]
    values: tuple[tuple[float, ...], ...]
    texts: tuple[str, ...]
    ends: tuple[tuple[float, float] | None, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tornado:
    """A figure with one price after the other at the ends of its range: label, figure at low and at high, texts."""

    device: Term
    measure: Measure
    base: float
    rows: tuple[tuple[str, float, float, str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """All that is drawn of a decision, the figure that answers first."""

    tradeoff: Tradeoff
    bars: StackedBars | None = None
    tornados: tuple[Tornado, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class DecisionReport:
    """The text of a report on a decision. `order` says whether the answer rests on what is assumed, `spread` how
    far the figures spread then."""

    title: str
    simulated: str
    facts: tuple[tuple[str, str], ...]
    answer: Answer
    given: TextTable
    sentences: tuple[str, ...]
    tables: tuple[TextTable, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    order: tuple[str, ...]
    spread: TextTable | None
    assumed: str
    assumptions: TextTable | None
    sources: tuple[str, ...]

    @property
    def is_compared(self) -> bool:
        """Settings always stand beside others."""
        return True
