"""What amounts are shown in: one table of quantities in SI and in US units, and the one converter.

Records, findings and constants hold the SI unit of the kind. The figures of a run hold what their keys say, which is
the unit shown in SI but for shares and small masses.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from sim.case import units
from sim.case.units import FOOT, Kind, Unit

System = Literal["si", "us"]
Better = Literal["less", "more"]
Quantity = Literal[
    "count", "number", "share", "money", "hours", "minutes", "days", "volume", "flow", "mass", "small mass",
    "pressure", "solids", "turbidity", "solids per turbidity", "length", "gap", "grain", "particle", "area",
    "deposit", "density", "mass per area", "rate", "speed", "loading", "gain", "per length", "per time",
    "temperature", "temperature swing", "hardness", "dissolved", "hardness capacity", "oxidant capacity",
    "brine", "media dose", "exposure", "years", "small volume",
]  # fmt: skip

MOST_DECIMALS: Final = 3
NUMBER: Final = Kind("number", "-", {"": Unit(1.0), "%": Unit(0.01)}, "2")
EXPOSURE: Final = Kind("exposure", "g h/m3", {"mg/L h": Unit(1.0)}, "2 mg/L h")
YEARS: Final = Kind("number of years", "years", {"years": Unit(1.0)}, "2 years")
SPEED: Final = Kind("speed", "m/s", {"m/s": Unit(1.0), "ft/s": Unit(FOOT)}, "2 m/s")


@dataclass(frozen=True, slots=True)
class Units:
    """The units of a quantity: its kind, the symbols shown, how many decimals at most in a row of figures, and the
    symbol of what the figures of a run hold where that is not the one in SI."""

    kind: Kind
    si: str
    us: str
    most_decimals: int = MOST_DECIMALS
    figure: str | None = None

    def symbol(self, system: System) -> str:
        """The symbol in a system of units."""
        return self.si if system == "si" else self.us

    def unit(self, system: System) -> Unit:
        """The unit in a system."""
        return self.kind.units[self.symbol(system)]

    def shown(self, value: float, system: System) -> float:
        """A value [SI of the kind] in the unit of a system.

        >>> QUANTITIES["temperature"].shown(5.0, "us"), QUANTITIES["length"].shown(0.762, "us")
        (41.0, 30.0)
        """
        return self.unit(system).from_si(value)

    def per_figure(self, system: System) -> float:
        """How many of the unit of a system make one unit of a run's figures.

        >>> QUANTITIES["share"].per_figure("us"), QUANTITIES["pressure"].per_figure("si")
        (100.0, 1.0)
        """
        held = self.si if self.figure is None else self.figure
        return self.kind.units[held].factor / self.unit(system).factor


QUANTITIES: Mapping[Quantity, Units] = MappingProxyType(
    {
        "count": Units(NUMBER, "", "", 1),
        "number": Units(NUMBER, "", ""),
        "share": Units(NUMBER, "%", "%", figure=""),
        "money": Units(NUMBER, "", ""),
        "hours": Units(units.DURATION, "h", "h"),
        "minutes": Units(units.DURATION, "min", "min", 1),
        "days": Units(units.DURATION, "d", "d"),
        "volume": Units(units.VOLUME, "m3", "gal"),
        "small volume": Units(units.VOLUME, "L", "gal"),
        "flow": Units(units.FLOW, "m3/h", "gpm"),
        "mass": Units(units.MASS, "kg", "lb"),
        "small mass": Units(units.MASS, "g", "g", figure="kg"),
        "pressure": Units(units.PRESSURE, "kPa", "psi"),
        "solids": Units(units.CONCENTRATION, "mg/L", "mg/L"),
        "turbidity": Units(units.TURBIDITY, "NTU", "NTU"),
        "length": Units(units.LENGTH, "m", "in"),
        "gap": Units(units.LENGTH, "mm", "in"),
        "grain": Units(units.LENGTH, "mm", "mm"),  # as the trade has it everywhere
        "particle": Units(units.LENGTH, "um", "um"),
        "area": Units(units.AREA, "m2", "ft2"),
        "deposit": Units(units.DEPOSIT, "kg/m3", "lb/ft3"),
        "density": Units(units.DENSITY, "kg/m3", "lb/ft3"),
        "mass per area": Units(units.MASS_PER_AREA, "kg/m2", "lb/ft2"),
        "rate": Units(units.RATE, "m/h", "gpm/ft2"),
        "speed": Units(SPEED, "m/s", "ft/s"),
        "loading": Units(units.LOADING, "m3/m2", "gal/ft2"),
        "gain": Units(units.HEAD_LOSS_GAIN, "Pa/m per g/m3", "psi/ft per lb/ft3"),
        "per length": Units(units.PER_LENGTH, "1/m", "1/ft"),
        "per time": Units(units.PER_TIME, "1/min", "1/min"),
        "temperature": Units(units.TEMPERATURE, "degC", "degF"),
        "temperature swing": Units(units.TEMPERATURE_SWING, "degC", "degF"),
        "exposure": Units(EXPOSURE, "mg/L h", "mg/L h"),
        "years": Units(YEARS, "years", "years"),
        "solids per turbidity": Units(units.SOLIDS_PER_TURBIDITY, "mg/L per NTU", "mg/L per NTU"),
        "hardness": Units(units.HARDNESS, "mg/L", "gpg"),
        "dissolved": Units(units.CONCENTRATION, "mg/L", "mg/L"),
        "brine": Units(units.CONCENTRATION, "g/L", "g/L"),
        "hardness capacity": Units(units.HARDNESS_CAPACITY, "kg/m3", "kgr/ft3"),
        "oxidant capacity": Units(units.OXIDANT_CAPACITY, "eq/m3", "eq/m3"),
        "media dose": Units(units.MEDIA_DOSE, "kg/m3", "lb/ft3"),
    }
)

_OF_CONSTANT: Mapping[str, Quantity] = {
    "size": "grain",
    "particle_size": "particle",
    "roughness": "gap",
    "volume": "loading",
    "half_length": "gap",
    "combined_half_length": "gap",
    "capacity_factor": "share",
    "leakage": "share",
    "fouling": "share",
    "dissolving": "minutes",
    "solubility": "brine",
    "eq/m3": "oxidant capacity",
    "1/s": "per time",
    "g/m3 per NTU": "solids per turbidity",
    "m/s": "rate",
    "g/m3": "deposit",
    "Pa": "pressure",
    "kg/m3": "density",
    "1/m": "per length",
    "Pa/m per g/m3": "gain",
    "degC": "temperature",
}


def constant_quantity(key: str, unit: str) -> Quantity | None:
    """What the assumed constant of a dotted key is, held in this SI unit; None where it is shown as it is held.

    >>> constant_quantity("stage.a.layer.0.size", "m"), constant_quantity("stage.a.ripening.share", "-")
    ('grain', None)
    """
    return _OF_CONSTANT.get(key.rpartition(".")[2]) or _OF_CONSTANT.get(unit)
