"""Prices: from the table of a case file to records."""

from hydraulics.constants import GRAMS_PER_KILOGRAM
from hydraulics.media import DEFAULTS
from sim.case.assumptions import Book, Page
from sim.case.price.records import NO_PRICES, Device, Meter, Prices
from sim.case.price.schema import MeterTable, PricesTable, SwitchPriceTable


def prices_of(table: PricesTable | None, book: Book) -> Prices | None:
    """The prices of a case; None where it has no such table.

    The pump's efficiency is among what `book` keeps where energy has a price.
    """
    if table is None:
        return None
    usual, page = NO_PRICES, Page(table, "prices", book)
    wash = table.wash_pressure or 0.0
    return Prices(
        currency=table.currency or usual.currency,
        water=table.water,
        sewer=table.sewer,
        pumping=table.pumping,
        energy=table.energy,
        wash_pressure=wash,
        rinse_pressure=wash if table.rinse_pressure is None else table.rinse_pressure,
        pump_efficiency=page.take(
            "pump_efficiency", DEFAULTS["pump_efficiency"], used=table.energy is not None
        ),
        salt=table.salt,
        salt_per_wash=(table.salt_per_wash or 0.0) / GRAMS_PER_KILOGRAM,
        labour=table.labour,
        cartridge=table.cartridge,
        lost_production=table.lost_production,
        meter=_meter(table.meter),
        switch=_device(table.switch),
        discount_rate=usual.discount_rate if table.discount_rate is None else table.discount_rate,
        years=table.years or usual.years,
        payback_within=table.payback_within or usual.payback_within,
    )


def _device(table: SwitchPriceTable | MeterTable | None) -> Device:
    return Device() if table is None else Device(price=table.price, life=table.life, upkeep=table.upkeep)


def _meter(table: MeterTable | None) -> Meter:
    if table is None:
        return Meter()
    return Meter(device=_device(table), error=table.error, least_flow=table.least_flow)
