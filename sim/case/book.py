"""The record of what a run assumes."""

from dataclasses import dataclass, replace

from hydraulics.media import Constant
from sim.case.records import Assumption
from sim.case.schema import Table


@dataclass(frozen=True, slots=True)
class Page:
    """Takes the constants of one table from the file or from the typical values, and keeps what was assumed.

    `key` is the table's dotted path; `assumptions` is the list that all pages of a case write to.
    """

    table: Table
    key: str
    assumptions: list[Assumption]

    def take(self, name: str, typical: Constant, *, used: bool = True) -> float:
        """The value given under a key or the typical one; the latter goes on record if the run uses it."""
        given = getattr(self.table, name)
        if given is not None:
            return float(given)
        if used:
            self.assume(name, typical)
        return typical.value

    def assume(self, name: str, typical: Constant) -> None:
        assumption = Assumption(
            key=f"{self.key}.{name}",
            value=typical.value,
            low=typical.low,
            high=typical.high,
            unit=typical.unit,
            source=typical.source,
        )
        self.assumptions.append(assumption)

    def inner(self, table: Table, name: str | int) -> "Page":
        """The page of a table inside this one."""
        return Page(table, f"{self.key}.{name}", self.assumptions)


def lowered(typical: Constant, most: float, why: str) -> Constant:
    """The typical value, or the most that can be where that is less; its source then says so."""
    if typical.value <= most:
        return typical
    less = replace(typical, value=most, low=min(typical.low, most), high=min(typical.high, most))
    unit = "" if typical.unit == "-" else f" {typical.unit}"
    return noted(less, f"lowered from {typical.value:g}{unit} {why}")


def scaled(typical: Constant, factor: float) -> Constant:
    """The typical value and its range, times a factor."""
    return replace(typical, value=factor * typical.value, low=factor * typical.low, high=factor * typical.high)


def noted(typical: Constant, remark: str) -> Constant:
    """The same constant with a remark behind its source."""
    return replace(typical, source=f"{typical.source}; {remark}")
