"""What a failure does, on the screen."""

from rich.console import Console

from plots.words import paragraph, say
from sim.case.quantities import System
from sim.cli.screen import fitting, table, write
from sim.study.faults import FaultStudy
from sim.tell.faults.fault_screen import fault_screen
from sim.tell.sentences import caution


def show(console: Console, study: FaultStudy, system: System, *, everything: bool = False) -> None:
    """The answer, the worst of each kind of fault or, if wanted, every row, and what limits the loss."""
    told = fault_screen(study, system, whole=everything)

    def draw(most: int) -> None:
        write(console, told.title, strong=True)
        for place, sentence in enumerate(told.answer):
            write(console, sentence, strong=not place)
        write(console)
        listing = told.table(most)
        table(console, listing.columns, listing.rows, roomy=True)
        write(console)
        hidden = [say("fault.hidden", count=told.kinds - most)] if most < told.kinds else []
        write(console, paragraph(told.foot, *([] if everything else [say("fault.once"), *hidden, say("fault.more")])))
        write(console, caution())

    draw(told.kinds if everything else fitting(console, draw, told.kinds))
