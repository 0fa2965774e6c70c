"""What became of a case with keys of before: what was rewritten, and the figures that move by what it now means."""

from collections.abc import Iterator

from plots.words import Label, Name, Sentence, amount, label, say
from sim.case.quantities import System
from sim.plant.records import RunResult
from sim.study.upgrade import Upgrade
from sim.tell.present import rows


def upgrade_words(found: Upgrade, system: System) -> tuple[str, ...]:
    """Every change, every figure that moves, and the ways to start a wash of which none does."""
    moved = [line for before, after in found.obeying for line in _moved(before, after, system)]
    same = [
        say("upgrade.same", way=Name(after.policy))
        for before, after in found.obeying if not any(_moved(before, after, system))
    ]  # fmt: skip
    return (*found.changes, *moved, *same)


def meanings(found: Upgrade) -> tuple[Sentence, ...]:
    """What else is meant now than before."""
    if not any("longest_run" in each for each in found.changes):
        return ()
    return say("upgrade.longest_run"), say("upgrade.without_hour")


def _moved(before: RunResult, after: RunResult, system: System) -> Iterator[Label]:
    for group in rows((before, after), system):
        for row in group:
            old, new = (amount(text, row.unit) for text in row.texts)
            if old != new:
                yield label("upgrade.moved", way=Name(after.policy), figure=row.kpi.words, old=old, new=new)
