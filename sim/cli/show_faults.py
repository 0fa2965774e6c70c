"""What a failure does, on the screen."""

from rich.console import Console

from plots.words import items, paragraph, say
from sim.case.quantities import System
from sim.cli.screen import fitting, table, write
from sim.study.faults import FaultStudy
from sim.tell.faults.fault_screen import fault_screen
from sim.tell.sentences import caution


def show(console: Console, study: FaultStudy, system: System, *, everything: bool = False) -> None:
    """The answer, the worst of each kind of fault or, if wanted, every row, and what limits the loss."""
    told = fault_screen(study, system, whole=everything)
    rows = told.table.rows

    def draw(most: int) -> None:
        write(console, told.title, strong=True)
        for place, sentence in enumerate(told.answer):
            write(console, sentence, strong=not place)
        write(console)
        table(console, told.table.columns, rows[: told.usual + most])
        write(console)
        for sentence in told.foot:
            write(console, sentence)
        if not everything:
            left = [say("fault.rest", faults=items(told.faults[most:]))] if most < len(told.faults) else []
            write(console, paragraph(*left, say("fault.more")))
        write(console, caution())

    draw(len(rows) if everything else fitting(console, draw, told.harmful))
