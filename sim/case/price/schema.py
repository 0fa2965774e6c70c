"""The table of prices of a case file, as the user writes it; every key may be left out."""

from dataclasses import dataclass
from typing import Annotated, Any

from sim.case import units
from sim.case.limits import Flow, Pressure
from sim.case.price.records import Price
from sim.case.spelling import listed, shown
from sim.case.table import Table
from sim.case.units import GALLON, LITRE, kind_of
from sim.case.values import Number, Percentage, Quantity, Rule, Text, Whole
from sim.errors import RefusedValue

KWH = 3.6e6  # J


PER_VOLUME = kind_of(
    "price of water",
    "2.4 per m3",
    "per m3",
    {"per m3": 1.0, "per L": 1.0 / LITRE, "per gal": 1.0 / GALLON, "per 1000 gal": 1e-3 / GALLON},
)
PER_ENERGY = kind_of("price of energy", "0.2 per kWh", "per J", {"per kWh": 1.0 / KWH, "per MJ": 1e-6})
MASSES = {"per kg": 1.0, "per lb": 1.0 / units.POUND}
PER_MASS = kind_of("price of salt", "0.4 per kg", "per kg", MASSES)
PER_MASS_OF_OXIDANT = kind_of("price of permanganate", "8 per kg", "per kg", MASSES)
PER_WASH = kind_of("price of labour", "6 per wash", "per wash", {"per wash": 1.0, "per visit": 1.0})
EACH = kind_of("price of a piece", "85 each", "each", {"each": 1.0})
PER_YEAR = kind_of("price of upkeep", "40 per year", "per year", {"per year": 1.0})
TIME_IN_YEARS = kind_of("number of years", "10 years", "years", {"years": 1.0, "year": 1.0})


@dataclass(frozen=True)
class Priced(Rule):
    """A price, or a table with its typical value and the low and the high end of its range."""

    price: Quantity

    @property
    def allowed(self) -> str:
        one = self.price
        form = f"a {one.kind.name}, a number followed by {listed(one.kind.units)}, from {one.low} to {one.high}"
        return f"{form}; or a table of three of them, typical, low and high"

    @property
    def example(self) -> str:
        return self.price.example

    def read(self, raw: object) -> Any:
        return self._range(raw) if isinstance(raw, dict) else super().read(raw)

    def parse(self, raw: object) -> Price:
        value = self.price.parse(raw)
        return Price(value=value, low=value, high=value)

    def _range(self, raw: dict[str, object]) -> Price:
        like = self.price.example
        form = f"{{ typical = {like}, low = {like}, high = {like} }}"
        if set(raw) != {"typical", "low", "high"}:
            raise self.refuse(raw, f"the three keys, as in {form}")
        try:
            value, low, high = (self.price.read(raw[key]) for key in ("typical", "low", "high"))
        except RefusedValue as refused:
            raise RefusedValue(refused.given, self.allowed, refused.try_) from None
        if not low <= value <= high:
            given = f"low {shown(raw['low'])}, typical {shown(raw['typical'])}, high {shown(raw['high'])}"
            raise RefusedValue(given, self.allowed, "the three in rising order")
        return Price(value=value, low=low, high=high)

    def json_schema(self) -> dict[str, Any]:
        one = self.price.json_schema()
        ends = {
            "type": "object",
            "properties": {"typical": one, "low": one, "high": one},
            "required": ["typical", "low", "high"],
            "additionalProperties": False,
        }
        return {"anyOf": [one, ends]}


WATER_PRICE = Priced(Quantity(PER_VOLUME, "0 per m3", "100000 per m3"))
PIECE = Priced(Quantity(EACH, "0 each", "1000000000 each"))
UPKEEP = Priced(Quantity(PER_YEAR, "0 per year", "1000000000 per year"))
LIFE = Quantity(TIME_IN_YEARS, "0.25 years", "100 years")


INTEREST = Percentage(0.0, 1.0, like=0.12)


class SwitchPriceTable(Table):
    """A pressure switch."""

    price: Annotated[Price, PIECE] | None = None
    life: Annotated[float, LIFE] | None = None
    upkeep: Annotated[Price, UPKEEP] | None = None


class MeterTable(SwitchPriceTable):
    """A water meter."""

    error: Annotated[float, Number(0.0, 0.5, like=0.02)] | None = None
    least_flow: Flow | None = None


class PricesTable(Table):
    """What water, work and devices cost, each a price or a price with its range."""

    currency: Annotated[str, Text(20, like="shells")] | None = None
    water: Annotated[Price, WATER_PRICE] | None = None
    sewer: Annotated[Price, WATER_PRICE] | None = None
    pumping: Annotated[Price, WATER_PRICE] | None = None
    energy: Annotated[Price, Priced(Quantity(PER_ENERGY, "0 per kWh", "10000 per kWh"))] | None = None
    wash_pressure: Pressure | None = None
    rinse_pressure: Pressure | None = None
    pump_efficiency: Annotated[float, Number(0.05, 1.0, like=0.6)] | None = None
    salt: Annotated[Price, Priced(Quantity(PER_MASS, "0 per kg", "100000 per kg"))] | None = None
    salt_per_wash: Annotated[float, Quantity(units.MASS, "0 kg", "10000 kg")] | None = None
    permanganate: Annotated[Price, Priced(Quantity(PER_MASS_OF_OXIDANT, "0 per kg", "100000 per kg"))] | None = None
    labour: Annotated[Price, Priced(Quantity(PER_WASH, "0 per wash", "1000000 per wash"))] | None = None
    cartridge: Annotated[Price, PIECE] | None = None
    lost_production: Annotated[Price, WATER_PRICE] | None = None
    meter: MeterTable | None = None
    switch: SwitchPriceTable | None = None
    discount_rate: Annotated[float, INTEREST] | None = None
    years: Annotated[int, Whole(1, 50)] | None = None
    payback_within: Annotated[float, Quantity(TIME_IN_YEARS, "0.25 years", "50 years")] | None = None
