"""Frozen records of what water, work and devices cost, as a case tells it.

Money is in the case's own currency, a plain word; volumes m3, energy J, mass kg inside a price.
"""

from hydraulics.media import DEFAULTS
from sim.case.record import record


@record
class Price:
    """A price with the range in which it may lie; low <= value <= high."""

    value: float
    low: float
    high: float

    @property
    def is_range(self) -> bool:
        """Whether the ends differ."""
        return self.low < self.high


@record
class Device:
    """A meter or a pressure switch: its price, None where it is blank, its life [years], its upkeep a year."""

    price: Price | None = None
    life: float | None = None
    upkeep: Price | None = None


@record
class Meter:
    """A water meter. `error`: by which share it may read too much or too little. Below `least_flow` [m3/s] it stands
    still."""

    device: Device = Device()
    error: float | None = None
    least_flow: float | None = None


@record
class Prices:
    """What a case says of prices; None where one is blank.

    water, sewer and pumping per m3 to drain; energy per J of pumping it, at `wash_pressure` and `rinse_pressure` [Pa]
    over `pump_efficiency`; salt per kg, of regenerations and, where no step has it, `salt_per_wash` [kg];
    permanganate per kg; labour per wash; cartridge each; lost_production per m3
    of demand not met. `discount_rate` a year, over `years`; `payback_within` [years] is what the break-even asks for.
    """

    currency: str = "money"
    water: Price | None = None
    sewer: Price | None = None
    pumping: Price | None = None
    energy: Price | None = None
    wash_pressure: float = 0.0
    rinse_pressure: float = 0.0
    pump_efficiency: float = DEFAULTS["pump_efficiency"].value
    salt: Price | None = None
    permanganate: Price | None = None
    salt_per_wash: float = 0.0
    labour: Price | None = None
    cartridge: Price | None = None
    lost_production: Price | None = None
    meter: Meter = Meter()
    switch: Device = Device()
    discount_rate: float = 0.05
    years: int = 10
    payback_within: float = 3.0


NO_PRICES = Prices()
