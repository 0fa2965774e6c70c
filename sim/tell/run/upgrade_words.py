"""What became of a case with keys of before: what was rewritten, and the figures that move by what it now means."""

from collections.abc import Iterator

from sim.case.quantities import System
from sim.plant.records import RunResult
from sim.study.upgrade import Upgrade
from sim.tell.present import rows

MEANINGS = (
    "The longest run now counts from the start of the last wash, also of one that had to wait, and ends at the last "
    "of its hours before it has passed: washes that came at the latest come up to a day earlier, at the hour of "
    "their policy. The old meaning can no longer be run, so those figures are not compared.",
    "Without an hour it ends the moment it has passed; longest_run_at in [[stage]] gives it one.",
)


def upgrade_words(found: Upgrade, system: System) -> tuple[str, ...]:
    """Every change, every figure that moves, and the policies of which none does."""
    moved = [line for before, after in found.obeying for line in _moved(before, after, system)]
    same = [
        f"{after.policy}: obeys the longest run now, and no figure changes"
        for before, after in found.obeying if not any(_moved(before, after, system))
    ]  # fmt: skip
    return (*found.changes, *moved, *same)


def meanings(found: Upgrade) -> tuple[str, ...]:
    """What else is meant now than before."""
    return MEANINGS if any("longest_run" in each for each in found.changes) else ()


def _moved(before: RunResult, after: RunResult, system: System) -> Iterator[str]:
    for group in rows((before, after), system):
        for row in group:
            old, new = row.texts
            if old != new:
                yield f"{after.policy}: {row.label}: {old} before, {new} now"
