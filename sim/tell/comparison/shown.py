"""The figures of a comparison as its first screen shows them."""

from collections.abc import Sequence
from dataclasses import dataclass

from plots.words import Amount, Code, Label, Name, Number, Term, amount, in_days, span
from sim.case.quantities import System
from sim.study.choice import Choice
from sim.study.many.arrays import SITE
from sim.tell.comparison.leading import named
from sim.tell.kpis import KPIS
from sim.tell.present import UNITS, row, with_unit, written


@dataclass(frozen=True)
class Shown:
    """What all runs of a comparison speak for, in display units."""

    choice: Choice
    system: System

    def texts(self, key: str, ways: Sequence[str], place: str = SITE) -> tuple[Number, ...]:
        """A figure of these ways, all with the same decimals."""
        means = [{key: self.mean(key, way, place)} for way in ways]
        return row(KPIS[key], means, self.system).texts

    def amount(self, key: str, way: str) -> Amount:
        """A figure of one way, with its unit."""
        return amount(self.texts(key, [way])[0], self.unit(key))

    def mean(self, key: str, way: str, place: str = SITE) -> float | None:
        """The mean of the runs; None where the figure does not apply."""
        found = self.choice.repeated.mean(way, key, place)
        return None if found is None else found.mean

    def unit(self, key: str) -> Code | Name:
        """The unit of a figure, of money the case's own."""
        prices = self.choice.repeated.case.prices
        return Name(prices.currency) if key == "cost" and prices else UNITS[self.system][KPIS[key].quantity].symbol

    def row_head(self, key: str) -> Label | Term:
        """What the row of a figure is called."""
        return with_unit(named(key), self.unit(key))

    def volume(self, low: float, high: float) -> Amount:
        """From one volume [m3] to another."""
        unit = UNITS[self.system]["volume"]
        texts = [written([each * unit.per_result_unit])[0] for each in (low, high)]
        return span(texts[0], texts[1], unit.symbol)

    @property
    def length(self) -> Amount:
        """Of each run."""
        return in_days(self.choice.repeated.days)

    @property
    def way(self) -> Name:
        """The way that the answer is about."""
        return Name(self.choice.way)

    @property
    def today(self) -> Name:
        """Today's way, or the one taken for it."""
        return Name(self.choice.today)
