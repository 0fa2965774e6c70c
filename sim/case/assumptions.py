"""The record of what a run assumes."""

from dataclasses import dataclass, field, replace

from hydraulics.media import DEFAULTS, Constant
from sim.case.records import Assumption
from sim.case.table import Table


@dataclass(slots=True)
class Book:
    """What a case assumes, and how many constants it gives itself."""

    assumptions: list[Assumption] = field(default_factory=list)
    given: int = 0


@dataclass(frozen=True, slots=True)
class Page:
    """Takes the constants of one table from the file or from the typical values, and keeps book of them.

    `key` is the table's dotted path; all pages of a case share one book.
    """

    table: Table
    key: str
    book: Book

    def take(self, name: str, typical: Constant | None = None, *, used: bool = True) -> float:
        """The value given under a key or the typical one; either goes into the book if the run uses it.

        Where no typical value is told, it is that of the default of this name.
        """
        typical = typical or DEFAULTS[name]
        given = getattr(self.table, name)
        if given is not None:
            self.book.given += used
            return float(given)
        if used:
            self.assume(name, typical)
        return typical.value

    def note(self, name: str, typical: Constant | None = None) -> None:
        """Put into the book whether a constant that is read elsewhere was given or is assumed."""
        if getattr(self.table, name) is None:
            self.assume(name, typical or DEFAULTS[name])
        else:
            self.book.given += 1

    def assume(self, name: str, typical: Constant) -> None:
        assumption = Assumption(
            key=f"{self.key}.{name}",
            value=typical.value,
            low=typical.low,
            high=typical.high,
            unit=typical.unit,
            source=typical.source,
        )
        self.book.assumptions.append(assumption)

    def inner(self, table: Table, name: str | int) -> "Page":
        """The page of a table inside this one."""
        return Page(table, f"{self.key}.{name}", self.book)


def lowered(typical: Constant, most: float, why: str) -> Constant:
    """The typical value, or the most that can be where that is less; its source then says so."""
    if typical.value <= most:
        return typical
    less = replace(typical, value=most, low=min(typical.low, most), high=min(typical.high, most))
    return noted(less, f"lowered {why}")


def scaled(typical: Constant, factor: float) -> Constant:
    """The typical value and its range, times a factor."""
    return replace(typical, value=factor * typical.value, low=factor * typical.low, high=factor * typical.high)


def noted(typical: Constant, remark: str) -> Constant:
    """The same constant with a remark behind its source."""
    return replace(typical, source=f"{typical.source}; {remark}")
