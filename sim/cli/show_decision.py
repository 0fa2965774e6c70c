"""A decision on the screen: the answer first, then tables, then what a reader is to know."""

from collections.abc import Sequence

from rich.console import Console

from plots.inputs import TextTable
from sim.case.quantities import System
from sim.cli.screen import say, table
from sim.cli.show_assumed import say_assumed
from sim.cli.show_ranges import say_ranges
from sim.study.decide.advice import Advice
from sim.study.decide.ends import Ends
from sim.study.decide.payback import Payback
from sim.study.decide.seasons import Seasons
from sim.tell.decision import advice_words, payback_words
from sim.tell.decision.decision_tables import a_year, advice_tables, bars_tables, what_if_table, worth_table
from sim.tell.decision.sure_words import advice_ranges, payback_ranges
from sim.tell.listing import Column
from sim.tell.sentences import AT_THE_PLANT, CAUTION


def show_advice(console: Console, advice: Advice, seasons: Seasons | None, system: System, ends: Ends | None) -> None:
    """Print the best settings."""
    say(console, advice.case.title, strong=True)
    _list(console, advice_words.statements(advice, system, ends))
    for data in advice_tables(advice, system):
        _show(console, data)
    say_ranges(console, advice_ranges(advice, ends, system))
    _list(console, [a_year(advice), *advice_words.sentences(advice, system)])
    _list(console, advice_words.season_words(advice, seasons, system))
    _end(console, advice, system, [*advice_words.remarks(advice, system), *advice_words.cautions(advice)])


def show_payback(console: Console, found: Payback, system: System, ends: Ends | None) -> None:
    """Print what devices are worth."""
    say(console, found.case.title, strong=True)
    _list(console, advice_words.foremost(found.advice))
    _list(console, payback_words.statements(found, system, ends))
    for data in bars_tables(found, system):
        _show(console, data)
    if found.decided:
        _show(console, worth_table(found, system))
    for each in found.decided:
        _show(console, what_if_table(found, each, system))
    say_ranges(console, payback_ranges(found, ends, system))
    _list(console, [a_year(found.advice), *payback_words.sentences(found, system)])
    remarks = [*advice_words.remarks(found.advice, system), *payback_words.remarks(found)]
    _end(console, found.advice, system, remarks)


def _show(console: Console, data: TextTable) -> None:
    say(console, data.caption, strong=True)
    columns = [Column(each.head, "numbers" if each.holds == "numbers" else "long words") for each in data.columns]
    table(console, columns, data.rows)
    say(console)


def _list(console: Console, sentences: Sequence[str]) -> None:
    known = [each for each in sentences if each]
    for each in known:
        say(console, each)
    if known:
        say(console)


def _end(console: Console, advice: Advice, system: System, remarks: Sequence[str]) -> None:
    _list(console, remarks)
    say_assumed(console, advice.case, system)
    say(console, AT_THE_PLANT)
    say(console, CAUTION)
