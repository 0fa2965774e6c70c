"""What is wrong in a CSV file: each kind of fault once, with the lines where it stands."""

from collections.abc import Sequence

from sim.case.spelling import shown
from sim.errors import CaseError, Problem

MOST_LINES = 3
"""Lines named in a message; the rest is counted."""


class Complaints:
    """Collects the faults of one file for one key of the case; `file` is the file's name as shown."""

    def __init__(self, file: str, key: str) -> None:
        self.file, self.key = file, key
        self.problems: list[Problem] = []

    def stop(self) -> None:
        """Raise CaseError with all that was told so far, if anything was."""
        if self.problems:
            raise CaseError(tuple(self.problems))

    def add(self, lines: Sequence[int], given: str, allowed: str, try_: str) -> None:
        """One kind of fault, of which `given` tells the first; it starts in these lines."""
        count = "" if len(lines) == 1 else f"; {len(lines):,} such places, {lines_named(lines)}"
        self.problems.append(Problem(self.file, lines[0], self.key, given + count, allowed, try_))

    def add_cells(self, cells: Sequence[tuple[int, str]], allowed: str, try_: str) -> None:
        """One kind of fault in these cells, each with its line; no cells, no fault."""
        if cells:
            self.add([line for line, _ in cells], shown(cells[0][1]), allowed, try_)


def lines_named(lines: Sequence[int]) -> str:
    """The first few lines by number, the rest counted.

    >>> lines_named([2]), lines_named([2, 3]), lines_named(range(2, 1802))
    ('line 2', 'lines 2 and 3', 'lines 2, 3, 4 and 1,797 more')
    """
    if len(lines) == 1:
        return f"line {lines[0]}"
    named, more = [f"{line}" for line in lines[:MOST_LINES]], len(lines) - MOST_LINES
    last = f"{more:,} more" if more > 0 else named.pop()
    return f"lines {', '.join(named)} and {last}"
