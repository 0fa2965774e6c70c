"""A decision on the screen: the first screen or, if asked for, all that a report of it says."""

from functools import partial

from rich.console import Console

from plots.decision_inputs import DecisionReport
from plots.inputs import TextTable
from sim.case.quantities import System
from sim.case.records import Case
from sim.cli import show_first
from sim.cli.screen import table, write
from sim.cli.show_assumed import say_assumed
from sim.study.decide.advice import Advice
from sim.study.decide.ends import Ends
from sim.study.decide.payback import Payback
from sim.study.decide.seasons import Seasons
from sim.tell.comparison.first_screen import FirstScreen
from sim.tell.decision.decision_report import advice_report, payback_report
from sim.tell.decision.decision_screens import advice_screen, hint
from sim.tell.decision.payback_screen import payback_screen
from sim.tell.listing import Column
from sim.tell.sentences import at_the_plant


def show_advice(
    console: Console, advice: Advice, seasons: Seasons | None, system: System, ends: Ends | None, *,
    everything: bool = False,
) -> None:  # fmt: skip
    """Print the best settings."""
    report = advice_report(advice, seasons, system, ends) if everything else None
    _show(console, advice_screen(advice, system, ends, whole=everything), report, advice.case, system)


def show_payback(
    console: Console, found: Payback, system: System, ends: Ends | None, *, everything: bool = False
) -> None:
    """Print what devices are worth."""
    report = payback_report(found, system, ends) if everything else None
    _show(console, payback_screen(found, system, ends, whole=everything), report, found.case, system)


def _show(console: Console, screen: FirstScreen, report: DecisionReport | None, case: Case, system: System) -> None:
    more = None if report is None else partial(_show_all, console, report, case, system)
    show_first.show(console, screen, hint=hint(), more=more)


def _show_all(console: Console, report: DecisionReport, case: Case, system: System) -> None:
    """What stands in the report behind its answer."""
    for sentence in report.sentences:
        write(console, sentence)
    for data in (*report.tables, *([report.spread] if report.spread else [])):
        _show_table(console, data)
    for sentence in (*report.order, *report.notes, *report.cautions):
        write(console, sentence)
    write(console)
    say_assumed(console, case, system)
    write(console, at_the_plant())


def _show_table(console: Console, data: TextTable) -> None:
    write(console)
    write(console, data.caption, strong=True)
    columns = [Column(each.head, "numbers" if each.holds == "numbers" else "long words") for each in data.columns]
    table(console, columns, data.rows)
    write(console)
