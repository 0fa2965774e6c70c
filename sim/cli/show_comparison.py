"""The comparison on the screen: a table read at a glance, a sentence per policy, what is assumed."""

from collections.abc import Sequence
from functools import partial

from rich.console import Console

from sim.case.quantities import System
from sim.cli import show_first
from sim.cli.screen import GAP, Cell, bold, say, table
from sim.cli.show_assumed import say_assumed
from sim.cli.show_ranges import say_ranges
from sim.study.choice import Choice, once
from sim.study.compare import Comparison
from sim.study.doubts import doubts, without_verdict
from sim.study.ranking import RangeTest
from sim.tell.comparison.doubt_words import other_words
from sim.tell.comparison.first_screen import first_screen
from sim.tell.comparison.range_words import ranges_told
from sim.tell.comparison.remarks import earlier_stage
from sim.tell.comparison.spread_words import NO_RANGES, RangesTold
from sim.tell.comparison.verdict import verdicts
from sim.tell.listing import Column
from sim.tell.present import Row, applying, in_currency, rows, unranked
from sim.tell.sentences import MARK_LEGEND, simulated

HEAD = "what starts a wash:"
MARK = "*"


def show(
    console: Console, comparison: Comparison, system: System, *, test: RangeTest | None = None, stages: bool = False,
    everything: bool = False,
) -> None:  # fmt: skip
    """Print the first screen or, if asked for, all there is; `test` knows the ranges of what is assumed."""
    case, results = comparison.case, comparison.results
    found, ranges = doubts(case, results), ranges_told(test, case, system) if test else NO_RANGES
    show_first.show(
        console, simulated(case, comparison.days),
        first_screen(
            Choice(once(case, comparison.seed, results)), found, system, stages=stages, test=test, ranges=ranges,
            earlier=earlier_stage(case, results, system),
        ),
        more=partial(_show_all, console, comparison, system, ranges) if everything else None,
    )  # fmt: skip


def _show_all(console: Console, comparison: Comparison, system: System, ranges: RangesTold) -> None:
    """Every figure, a sentence per policy, what is assumed and what its ranges do."""
    case, results = comparison.case, comparison.results
    names = [result.policy for result in results]
    say(console)
    show_rows(console, names, in_currency(rows(results, system), case))
    if len(case.stages) > 1:
        for stage in case.stages:
            say(console, f"Stage {stage.name}", strong=True)
            say(console)
            groups = applying(rows(results, system, stage.name))
            show_rows(console, names, unranked(groups) if stage.name in without_verdict(case) else groups)
    if len(names) > 1:
        say(console, MARK_LEGEND)
        say(console)
    for sentence in (*verdicts(case, results, system), *other_words(doubts(case, results), system)):
        say(console, sentence)
    say(console)
    say_assumed(console, case, system)
    say_ranges(console, ranges)


def show_rows(console: Console, names: Sequence[str], groups: Sequence[Sequence[Row]]) -> None:
    """The rows of every policy, in as many tables one below the other as the screen's width asks for."""
    labels = max(len(HEAD), *(len(row.label) for group in groups for row in group))
    together = max((console.width - labels) // (_width(names, groups) + GAP), 1)
    for first in range(0, len(names), together):
        places = range(first, min(first + together, len(names)))
        heads = [Column(HEAD, "words")]
        for place in places:
            heads += [Column(names[place], "numbers"), Column("", "words")]
        table(console, heads, _lines(groups, places))
        say(console)


def _width(names: Sequence[str], groups: Sequence[Sequence[Row]]) -> int:
    """Of one policy's figures and its marks."""
    words = [word for name in names for word in name.split()]
    texts = [text for group in groups for row in group for text in row.texts]
    return max(len(text) for text in [*words, *texts]) + GAP + len(MARK)


def _lines(groups: Sequence[Sequence[Row]], places: range) -> list[list[Cell]]:
    lines: list[list[Cell]] = []
    for group in groups:
        if lines and group:
            lines.append([])
        lines += [[row.label, *(cell for place in places for cell in _cells(row, place))] for row in group]
    return lines


def _cells(row: Row, place: int) -> tuple[Cell, Cell]:
    """A figure and the mark to its right, which leaves the figures of a column flush."""
    text = row.texts[place]
    return (bold(text), bold(MARK)) if place in row.best else (text, "")
