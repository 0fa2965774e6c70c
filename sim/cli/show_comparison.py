"""A comparison on the screen, of one run or of many: the first screen, then every figure, and what is assumed."""

from collections.abc import Mapping, Sequence
from functools import partial

from rich.console import Console

from plots.words import label
from sim.case.quantities import System
from sim.cli import show_first
from sim.cli.screen import GAP, Cell, bold, list_out, table, write
from sim.cli.show_assumed import say_assumed
from sim.cli.show_ranges import say_ranges
from sim.study.compare import Comparison
from sim.study.many.repeat import Repeated
from sim.study.ranking import RangeTest
from sim.tell.comparison.first_screen import hint, screen_of_many, screen_of_one
from sim.tell.comparison.many_rows import headline, spread_listing
from sim.tell.comparison.range_words import ranges_told
from sim.tell.comparison.tables import Groups, groups_of_many, groups_of_one, marks
from sim.tell.listing import Column
from sim.tell.present import Row

MARK = "*"


def show(
    console: Console, comparison: Comparison, system: System, *, test: RangeTest | None = None, stages: bool = False,
    everything: bool = False,
) -> None:  # fmt: skip
    """Print the first screen or, if asked for, all there is; `test` knows the ranges of what is assumed."""
    told = screen_of_one(comparison, system, test=test, stages=stages, whole=everything)
    more = partial(_show_all, console, comparison, system, test) if everything else None
    show_first.show(console, told, hint=hint(), more=more)


def show_many(
    console: Console, repeated: Repeated, system: System, *, stages: bool = False, everything: bool = False
) -> None:
    """Print the first screen of many runs or, if asked for, means, spread and what is assumed too."""
    more = partial(_show_all_of_many, console, repeated, system) if everything else None
    show_first.show(console, screen_of_many(repeated, system, stages=stages), hint=hint(), more=more)


def _show_all(console: Console, comparison: Comparison, system: System, test: RangeTest | None) -> None:
    names = [result.policy for result in comparison.results]
    _show_groups(console, names, groups_of_one(comparison, system), marks(many=False))
    say_assumed(console, comparison.case, system)
    say_ranges(console, ranges_told(test, comparison.case, system))


def _show_all_of_many(console: Console, repeated: Repeated, system: System) -> None:
    _show_groups(console, repeated.figures.policies, groups_of_many(repeated, system), marks(many=True))
    write(console, label("compare.spread"), strong=True)
    write(console)
    list_out(console, spread_listing(repeated, headline(repeated), system))
    say_assumed(console, repeated.case, system)


def _show_groups(console: Console, names: Sequence[str], groups: Mapping[str, Groups], legend: str) -> None:
    """Every figure of the site and of each of several stages."""
    for caption, own in groups.items():
        write(console)
        write(console, caption, strong=True)
        write(console)
        _show_rows(console, names, own)
    if len(names) > 1:
        write(console, legend)
        write(console)


def _show_rows(console: Console, names: Sequence[str], groups: Groups) -> None:
    """The rows of every policy, in as many tables one below the other as the screen's width asks for."""
    head = label("compare.way")
    labels = max(len(head), *(len(_label(row)) for group in groups for row in group))
    together = max((console.width - labels) // (_width(names, groups) + GAP), 1)
    for first in range(0, len(names), together):
        places = range(first, min(first + together, len(names)))
        heads = [Column(head, "words")]
        for place in places:
            heads += [Column(names[place], "numbers"), Column("", "words")]
        table(console, heads, _lines(groups, places))
        write(console)


def _width(names: Sequence[str], groups: Groups) -> int:
    """Of one policy's figures and its marks."""
    words = [word for name in names for word in name.split()]
    texts = [text for group in groups for row in group for text in row.texts]
    return max(len(text) for text in [*words, *texts]) + GAP + len(MARK)


def _lines(groups: Groups, places: range) -> list[list[Cell]]:
    lines: list[list[Cell]] = []
    for group in groups:
        if lines and group:
            lines.append([])
        lines += [[_label(row), *(cell for place in places for cell in _cells(row, place))] for row in group]
    return lines


def _label(row: Row) -> str:
    """Set in where it is a part of the row above."""
    return f"  {row.label}" if row.kpi.under else row.label


def _cells(row: Row, place: int) -> tuple[Cell, Cell]:
    """A figure and the mark to its right, which leaves the figures of a column flush."""
    text = row.texts[place]
    return (bold(text), bold(MARK)) if place in row.best else (text, "")
