"""One run on the screen: its events, its filter runs, and where water and solids went."""

from dataclasses import replace

from rich.console import Console

from sim.case.quantities import System
from sim.cli.screen import fitting, list_out, say
from sim.cli.show_assumed import say_assumed
from sim.study.single import SingleRun
from sim.study.weeks import in_week
from sim.tell.listing import Listing, ledger_listing, run_listing
from sim.tell.run.log_words import log_listing
from sim.tell.run.run_words import MORE, answer, causes
from sim.tell.sentences import CAUTION, LEDGER_CLOSES, assumed_count, simulated

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
            say(console, assumed_count(single.case.assumptions))
            say(console, MORE)
        say(console, CAUTION)

    draw(0 if everything or week is not None else fitting(console, draw, LAST_RUNS))


def _show_first(console: Console, single: SingleRun, system: System, most: int) -> None:
    """What the run took, what started its washes, and so many of its last filter runs."""
    say(console, simulated(single.case, single.result.days), strong=True)
    say(console)
    for place, sentence in enumerate(answer(single, system)):
        say(console, sentence, strong=not place)
    say(console)
    list_out(console, causes(single))
    washed = sorted((run for run in single.result.runs if run.cause is not None), key=lambda each: each.end_s)
    if most and washed:
        say(console, "The last filter runs that a wash ended", strong=True)
        list_out(console, run_listing(single, washed[-most:], system))


def _show_all(console: Console, single: SingleRun, system: System) -> None:
    for stage in single.case.stages:
        say(console, f"Filter runs of {stage.name}", strong=True)
        say(console)
        list_out(console, run_listing(single, [run for run in single.result.runs if run.stage == stage.name], system))
    say(console, "Where water and solids went", strong=True)
    say(console)
    list_out(console, ledger_listing(single, system))
    say(console, LEDGER_CLOSES)
    say(console)
    say_assumed(console, single.case, system)


def _show_events(console: Console, single: SingleRun, system: System, week: int | None) -> None:
    if week is not None:
        log = tuple(entry for entry in single.result.log if in_week(entry.time_s, week))
        say(console, f"Events of week {week}", strong=True)
        say(console)
        list_out(console, log_listing(replace(single, result=replace(single.result, log=log)), system))
        return
    listing = log_listing(single, system)
    more = len(listing.rows) - FIRST - LAST
    list_out(console, listing if more <= 0 else _shortened(listing, more))
    if more > 0:
        say(console, f"{more:,} events are not shown: --out DIR writes all of them (log.csv), --week N shows a week.")
        say(console)


def _shortened(listing: Listing, more: int) -> Listing:
    """The first and the last rows, and between them how many more there are."""
    gap = ("...", "", f"{more:,} more", *[""] * (len(listing.columns) - 3))
    return replace(listing, rows=(*listing.rows[:FIRST], gap, *listing.rows[-LAST:]))
