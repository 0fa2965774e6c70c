"""The prices that a decision was given, in a table."""

from collections.abc import Iterator

from plots.inputs import Column, TextTable
from sim.case.price.records import Device, Price, Prices
from sim.case.quantities import System
from sim.case.records import Case
from sim.study.decide.money import PRICED_KEYS
from sim.tell.decision.payback_words import PRICE_WORDS
from sim.tell.decision.told import volume_price
from sim.tell.present import measured

KWH = 3.6e6  # J
BLANK = "blank"


def prices_table(case: Case, system: System) -> TextTable:
    """The prices as the case has them; a typical value that stands in for one is called assumed."""
    prices = case.prices
    rows = [("all prices", BLANK)] if prices is None else _priced(case, prices, system)
    return TextTable(
        caption=f"Prices given, {prices.currency}" if prices else "Prices given",
        columns=(Column("of", "words"), Column("given", "words")),
        rows=tuple(rows),
    )


def _priced(case: Case, prices: Prices, system: System) -> Iterator[tuple[str, str]]:
    unit, volume = volume_price(system)
    units = dict.fromkeys(("water", "sewer", "pumping", "lost_production"), (f" a {unit}", volume))
    units |= {"energy": (" a kWh", KWH), "salt": (" a kg", 1.0), "labour": (" a wash", 1.0), "cartridge": ("", 1.0)}
    known = [key for key in PRICED_KEYS if getattr(prices, key) is not None]
    for key in known:
        symbol, factor = units[key]
        yield PRICE_WORDS[key], f"{_price_text(getattr(prices, key), factor)}{symbol}"
    if prices.energy is not None:
        yield "pump", _pump(case, prices, system)
    for name, device in (("meter", prices.meter.device), ("pressure switch", prices.switch)):
        yield name, _device(device)
    yield "interest", f"{100.0 * prices.discount_rate:g} % a year over {prices.years} years"
    yield "asked to pay within", f"{prices.payback_within:g} years"
    either = {"pumping": "energy", "energy": "pumping"}
    if blank := [PRICE_WORDS[key] for key in PRICED_KEYS if key not in known and either.get(key) not in known]:
        yield "blank, so not counted", ", ".join(blank)


def _pump(case: Case, prices: Prices, system: System) -> str:
    """What moves the wash water; an efficiency that nobody gave is assumed."""
    pressures = (prices.wash_pressure, prices.rinse_pressure)
    wash, rinse = (" ".join(measured(each, "pressure", system)) for each in pressures)
    assumed = next((each for each in case.assumptions if each.key == "prices.pump_efficiency"), None)
    usual = "" if assumed is None else f", assumed; usual {100.0 * assumed.low:g} to {100.0 * assumed.high:g} %"
    return f"backwash at {wash}, rinse at {rinse}; efficiency {100.0 * prices.pump_efficiency:g} %{usual}"


def _price_text(price: Price, factor: float = 1.0) -> str:
    value, low, high = (f"{each * factor:,.4g}" for each in (price.value, price.low, price.high))
    return f"{value} ({low} to {high})" if price.is_range else value


def _device(device: Device) -> str:
    if device.price is None and device.upkeep is None and device.life is None:
        return BLANK
    price = BLANK if device.price is None else _price_text(device.price)
    upkeep = "" if device.upkeep is None else f", upkeep {_price_text(device.upkeep)} a year"
    return f"{price}{upkeep}{'' if device.life is None else f', lasts {device.life:g} years'}"
