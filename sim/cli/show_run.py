"""One run on the screen: its events, its filter runs, and where water and solids went."""

from dataclasses import replace

from rich.console import Console

from plots.words import Name, count, label, say
from sim.case.quantities import System
from sim.cli.screen import GAP, fitting, list_out, table, write
from sim.cli.show_assumed import say_assumed
from sim.study.single import SingleRun
from sim.study.weeks import in_week
from sim.tell.listing import Listing, ledger_listing, run_listing, solute_listing
from sim.tell.run.log_words import log_listing
from sim.tell.run.run_words import answer, causes
from sim.tell.sentences import assumed_count, caution, ledger_closes, simulated

LAST_RUNS = 5
FIRST, LAST = 40, 10  # events shown of more than both together


def show(
    console: Console, single: SingleRun, system: System, week: int | None = None, *, everything: bool = False
) -> None:
    """Print what the run took and its last washes; if asked for, the events of `week`, or all there is."""

    def draw(most: int) -> None:
        _show_first(console, single, system, most)
        if everything or week is not None:
            _show_events(console, single, system, week)
        if everything:
            _show_all(console, single, system)
        else:
            write(console, assumed_count(single.case.assumptions))
            write(console, say("run.more"))
        write(console, say("run.mean_run"))
        write(console, caution())

    draw(0 if everything or week is not None else fitting(console, draw, LAST_RUNS))


def _show_first(console: Console, single: SingleRun, system: System, most: int) -> None:
    """What the run took, what started its washes, and so many of its last filter runs."""
    write(console, simulated(single.case, single.result.days), strong=True)
    write(console)
    for place, sentence in enumerate(answer(single, system)):
        write(console, sentence, strong=not place)
    write(console)
    washes = causes(single, system)
    table(console, washes.columns, washes.rows, GAP, roomy=True)
    write(console)
    washed = sorted((run for run in single.result.runs if run.cause is not None), key=lambda each: each.end_s)
    if most and washed:
        write(console, label("run.last_runs"), strong=True)
        list_out(console, run_listing(single, washed[-most:], system))


def _show_all(console: Console, single: SingleRun, system: System) -> None:
    for stage in single.case.stages:
        write(console, label("run.runs_of", stage=Name(stage.name)), strong=True)
        write(console)
        list_out(console, run_listing(single, [run for run in single.result.runs if run.stage == stage.name], system))
    write(console, label("run.ledger"), strong=True)
    write(console)
    list_out(console, ledger_listing(single, system))
    if single.result.solutes:
        write(console, label("run.solutes"), strong=True)
        write(console)
        list_out(console, solute_listing(single, system))
    write(console, ledger_closes())
    write(console)
    say_assumed(console, single.case, system)


def _show_events(console: Console, single: SingleRun, system: System, week: int | None) -> None:
    if week is not None:
        log = tuple(entry for entry in single.result.log if in_week(entry.time_s, week))
        write(console, label("run.week", week=week), strong=True)
        write(console)
        list_out(console, log_listing(replace(single, result=replace(single.result, log=log)), system))
        return
    listing = log_listing(single, system)
    more = len(listing.rows) - FIRST - LAST
    list_out(console, listing if more <= 0 else _shortened(listing, more))
    if more > 0:
        write(console, say("run.left_out", events=count(more)))
        write(console)


def _shortened(listing: Listing, more: int) -> Listing:
    """The first and the last rows, and between them how many more there are."""
    gap = ("...", "", label("run.gap", events=count(more)), *[""] * (len(listing.columns) - 3))
    return replace(listing, rows=(*listing.rows[:FIRST], gap, *listing.rows[-LAST:]))
