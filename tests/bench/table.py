"""One line of text for each thing measured."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

COUNTS = ("pieces", "kernel_calls", "bed_readings", "bed_settlings", "events", "longest_queue")


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A ratio, its two sides as text, and what it has to be; None where nothing is required."""

    what: str
    ratio: float
    sides: str
    least: float | None = None

    @property
    def met(self) -> bool:
        """Whether it is what it has to be."""
        return self.least is None or self.ratio >= self.least

    def __str__(self) -> str:
        wanted = "" if self.least is None else f"at least {self.least:g}: {'yes' if self.met else 'NOT MET'}"
        return f"  {self.what:<46}{self.ratio:>8.1f}  {wanted:<22}{self.sides}"


def counts_line(counts: Mapping[str, int]) -> str:
    """The counts of a run, by name."""
    return ", ".join(f"{counts[name]} {name.replace('_', ' ')}" for name in COUNTS)


def duration(seconds: float) -> str:
    """A time in the unit that suits it."""
    if seconds >= 1.0:
        return f"{seconds:.2f} s"
    return f"{seconds * 1e3:.2f} ms" if seconds >= 1e-3 else f"{seconds * 1e6:.2f} us"
