"""One run on the screen: its events, its filter runs, and where water and solids went."""

from rich.console import Console

from sim.cli.screen import list_out, say
from sim.cli.show_assumed import say_assumed
from sim.study.kpis import System
from sim.study.listing import ledger_listing, log_listing, run_listing
from sim.study.single import SingleRun
from sim.study.wording import CAUTION, LEDGER_CLOSES, simulated


def show(console: Console, single: SingleRun, system: System) -> None:
    """Print the whole run."""
    say(console, simulated(single.case, single.result.days), strong=True)
    say(console, f"what starts a wash: {single.result.policy}")
    say(console)
    list_out(console, log_listing(single, system))
    for stage in single.case.stages:
        say(console, f"Filter runs of {stage.name}", strong=True)
        say(console)
        list_out(console, run_listing(single, stage.name, system))
    say(console, "Where water and solids went", strong=True)
    say(console)
    list_out(console, ledger_listing(single, system))
    say(console, LEDGER_CLOSES)
    say(console)
    say_assumed(console, single.case, system)
    say(console, CAUTION)
