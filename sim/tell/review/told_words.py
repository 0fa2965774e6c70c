"""What the case told beyond its keys, in words: known runs, and what was mended in its files."""

from collections.abc import Sequence

from sim.case.quantities import System
from sim.case.records import Case
from sim.case.series.records import Remedy
from sim.case.spelling import plain_duration
from sim.tell.present import constant


def solved_words(case: Case, system: System) -> tuple[str, ...]:
    """A sentence for each stage with a known run: the constant, its value, and what is usual."""
    told = {}
    for each in case.solved:
        stage, name = each.key.split(".")[1], each.key.rpartition(".")[2]
        unit, value, low, high = constant(each, system)
        told[stage, name] = (
            f"{stage}: {name} solved from the known run ({each.known}): {value} {unit}; usual {low} to {high}"
        )
    return tuple(told.values())


def remedy_words(remedies: Sequence[Remedy]) -> tuple[str, ...]:
    """A sentence for each remedy that a series from a file needed."""
    return tuple(
        f"{each.key}: {each.count:,} of {each.of:,} values {each.what}, "
        f"the longest stretch {plain_duration(each.longest)}"
        for each in remedies
    )
