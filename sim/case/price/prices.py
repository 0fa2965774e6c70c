"""Prices: from the table of a case file to records."""

from hydraulics.constants import GRAMS_PER_KILOGRAM
from sim.case.assumptions import Book, Page
from sim.case.price.records import Device, Meter, Prices
from sim.case.price.schema import PricesTable
from sim.case.table import record_of


def prices_of(table: PricesTable | None, book: Book) -> Prices | None:
    """The prices of a case; None where it has no such table.

    The pump's efficiency is among what `book` keeps where energy has a price.
    """
    if table is None:
        return None
    page = Page(table, "prices", book)
    return record_of(
        Prices,
        table,
        rinse_pressure=(table.wash_pressure if table.rinse_pressure is None else table.rinse_pressure) or 0.0,
        pump_efficiency=page.take(
            "pump_efficiency", used=table.energy is not None
        ),
        salt_per_wash=(table.salt_per_wash or 0.0) / GRAMS_PER_KILOGRAM,
        meter=record_of(Meter, table.meter, device=record_of(Device, table.meter)) or Meter(),
        switch=record_of(Device, table.switch) or Device(),
    )
