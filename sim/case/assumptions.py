"""The record of what a run assumes, and of what it is given with a range."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from hydraulics.media import DEFAULTS, Constant
from sim.case.records import Assumption
from sim.case.table import Table


@dataclass(slots=True)
class Book:
    """What a case assumes, how many constants it gives itself, and those of them with a range.

    `ranges`: low and high [SI, as the table has them] that the case states, by dotted key.
    """

    ranges: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    assumptions: list[Assumption] = field(default_factory=list)
    stated: list[Assumption] = field(default_factory=list)
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
            if used:
                self.count(name, float(given), typical.unit)
            return float(given)
        if used:
            self.assume(name, typical)
        return typical.value

    def note(self, name: str, typical: Constant | None = None, *, factor: float = 1.0) -> None:
        """Put into the book whether a constant that is read elsewhere was given or is assumed.

        `factor` makes what the table gives what the typical value is.
        """
        typical, given = typical or DEFAULTS[name], getattr(self.table, name)
        if given is None:
            self.assume(name, typical)
        else:
            self.count(name, given, typical.unit, factor)

    def count(self, name: str, given: float, unit: str, factor: float = 1.0) -> None:
        """Put a constant into the book that the file gives, with its range if the case states one."""
        self.book.given += 1
        key = f"{self.key}.{name}"
        if key in self.book.ranges:
            value, low, high = (factor * each for each in (given, *self.book.ranges[key]))
            self.book.stated.append(Assumption(key=key, value=value, low=low, high=high, unit=unit, source=""))

    def state(self, name: str, unit: str) -> None:
        """The same of a constant that is never assumed: only where the case states its range."""
        given = getattr(self.table, name)
        if given is not None and f"{self.key}.{name}" in self.book.ranges:
            self.count(name, given, unit)

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
