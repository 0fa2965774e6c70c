"""Quantities with units: a closed table and a strict parser.

A quantity is one plain decimal number and one unit of the table, nothing else: no sums, no powers, no
prefixes that the table does not list. Factors are built from the exact definitions of the inch, the foot, the
pound (international yard and pound agreement, 1959) and the US gallon (231 cubic inches).
"""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from hydraulics.constants import GRAMS_PER_KILOGRAM as GRAMS_PER_KILOGRAM
from hydraulics.constants import STANDARD_GRAVITY
from hydraulics.stoichiometry import CALCIUM_CARBONATE, CALCIUM_OXIDE
from sim.case.spelling import listed, nearest_or, shown
from sim.errors import RefusedValue

LONGEST_QUANTITY: Final = 60
NUMBER_PATTERN: Final = r"[+-]?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?"
_NUMBER_THEN_UNIT: Final = re.compile(f"({NUMBER_PATTERN}) *")

MINUTE, HOUR, DAY = 60.0, 3_600.0, 86_400.0  # s
LITRE: Final = 1e-3  # m3
INCH: Final = 0.0254  # m
FOOT: Final = 0.3048  # m
GALLON: Final = 231 * INCH**3  # m3
POUND: Final = 0.45359237  # kg
GRAIN: Final = POUND * GRAMS_PER_KILOGRAM / 7000.0  # g
EQUIVALENT: Final = CALCIUM_CARBONATE / 2.0  # g CaCO3 per equivalent of hardness
PA_PER_KPA: Final = 1e3
PSI: Final = POUND * STANDARD_GRAVITY / INCH**2  # Pa
WATER_COLUMN: Final = 1000.0 * STANDARD_GRAVITY  # Pa per m of the conventional column, 1000 kg/m3
FAHRENHEIT: Final = 5.0 / 9.0  # degC per degF


@dataclass(frozen=True, slots=True)
class Unit:
    """SI value = (number - zero) * factor; `zero` is what the unit reads at the SI zero, 0 but for degF."""

    factor: float
    zero: float = 0.0

    def to_si(self, number: float) -> float:
        """The SI value of a number of this unit."""
        return (number - self.zero) * self.factor

    def from_si(self, value: float) -> float:
        """The number of this unit that an SI value is."""
        return value / self.factor + self.zero


@dataclass(frozen=True, slots=True, eq=False)
class Kind:
    """A kind of quantity: its name in a sentence, the SI unit of the records, the units a file may use, one
    quantity as an example."""

    name: str
    si: str
    units: Mapping[str, Unit]
    example: str

    @property
    def allowed(self) -> str:
        """The part of a sentence that says what may be written.

        >>> TURBIDITY.allowed, PER_TIME.allowed
        ('a turbidity in NTU', 'a rate of cleaning in 1/s, 1/min or 1/h')
        """
        return f"a {self.name} in {listed(self.units)}"


def kind_of(name: str, example: str, si: str, factors: dict[str, float]) -> Kind:
    return Kind(name, si, {symbol: Unit(factor) for symbol, factor in factors.items()}, example)


LENGTH: Final = kind_of(
    "length", "0.75 m", "m", {"m": 1.0, "cm": 1e-2, "mm": 1e-3, "um": 1e-6, "in": INCH, "ft": FOOT}
)
VOLUME: Final = kind_of("volume", "250 m3", "m3", {"m3": 1.0, "L": LITRE, "gal": GALLON, "ft3": FOOT**3})
DURATION: Final = kind_of("duration", "4 d", "s", {"s": 1.0, "min": MINUTE, "h": HOUR, "d": DAY})
DRIFT: Final = kind_of("drift of a clock", "12 s/d", "s/d", {"s/d": 1.0, "min/d": MINUTE})
FLOW: Final = kind_of(
    "flow",
    "5.5 m3/h",
    "m3/s",
    {
        "m3/s": 1.0,
        "m3/h": 1.0 / HOUR,
        "m3/d": 1.0 / DAY,
        "L/s": LITRE,
        "L/min": LITRE / MINUTE,
        "L/h": LITRE / HOUR,
        "L/d": LITRE / DAY,
        "gpm": GALLON / MINUTE,
        "gal/min": GALLON / MINUTE,
        "gal/h": GALLON / HOUR,
        "gal/d": GALLON / DAY,
    },
)
PRESSURE: Final = kind_of(
    "pressure",
    "14 kPa",
    "Pa",
    {
        "Pa": 1.0,
        "kPa": PA_PER_KPA,
        "MPa": 1e6,
        "mbar": 1e2,
        "bar": 1e5,
        "psi": PSI,
        "mH2O": WATER_COLUMN,
        "inH2O": WATER_COLUMN * INCH,
        "ftH2O": WATER_COLUMN * FOOT,
    },
)
CONCENTRATION: Final = kind_of(
    "concentration", "5 mg/L", "g/m3", {"mg/L": 1.0, "g/m3": 1.0, "ug/L": 1e-3, "g/L": 1e3, "kg/m3": 1e3}
)
TURBIDITY: Final = kind_of("turbidity", "4 NTU", "NTU", {"NTU": 1.0})
SOLIDS_PER_TURBIDITY: Final = kind_of(
    "ratio of solids to turbidity",
    "1.2 mg/L per NTU",
    "g/m3 per NTU",
    {"mg/L per NTU": 1.0, "g/m3 per NTU": 1.0},
)
DOSE_PER_TURBIDITY: Final = kind_of(
    "dose that follows turbidity",
    "1.4 mg/L per NTU",
    "g/m3 per NTU",
    {"mg/L per NTU": 1.0, "g/m3 per NTU": 1.0},
)
DEPOSIT: Final = kind_of(
    "mass of dry solids per volume",
    "12 kg/m3",
    "g/m3",
    {"kg/m3": 1e3, "g/L": 1e3, "g/m3": 1.0, "lb/ft3": POUND * GRAMS_PER_KILOGRAM / FOOT**3},
)
DENSITY: Final = kind_of("density", "1050 kg/m3", "kg/m3", {"kg/m3": 1.0, "g/cm3": 1e3, "lb/ft3": POUND / FOOT**3})
TEMPERATURE: Final = Kind(
    "temperature",
    "degC",
    {"degC": Unit(1.0), "degF": Unit(FAHRENHEIT, zero=32.0)},
    "15 degC",
)
TEMPERATURE_SWING: Final = kind_of("difference of temperature", "6 degC", "degC", {"degC": 1.0, "degF": FAHRENHEIT})
RATE: Final = kind_of(
    "filtration rate",
    "12 m/h",
    "m/s",
    {"m/s": 1.0, "mm/s": 1e-3, "m/h": 1.0 / HOUR, "m/d": 1.0 / DAY, "gpm/ft2": GALLON / MINUTE / FOOT**2},
)
LOADING: Final = kind_of(
    "volume per area", "2 m", "m", {"m": 1.0, "m3/m2": 1.0, "ft": FOOT, "gal/ft2": GALLON / FOOT**2}
)
PER_LENGTH: Final = kind_of(
    "filter coefficient", "4 1/m", "1/m", {"1/m": 1.0, "1/cm": 1e2, "1/ft": 1.0 / FOOT, "1/in": 1.0 / INCH}
)
PER_TIME: Final = kind_of(
    "rate of cleaning", "0.8 1/min", "1/s", {"1/s": 1.0, "1/min": 1.0 / MINUTE, "1/h": 1.0 / HOUR}
)
HEAD_LOSS_GAIN: Final = kind_of(
    "gain of head loss",
    "5 Pa/m per g/m3",
    "Pa/m per g/m3",
    {
        "Pa/m per g/m3": 1.0,
        "Pa/m per mg/L": 1.0,
        "kPa/m per kg/m3": 1.0,
        "psi/ft per lb/ft3": PSI * FOOT**2 / (POUND * GRAMS_PER_KILOGRAM),
    },
)
MAT_RESISTANCE: Final = kind_of("mat resistance", "1e10 m/kg", "m/kg", {"m/kg": 1.0})
MASS: Final = kind_of("mass", "0.8 kg", "g", {"kg": 1e3, "g": 1.0, "lb": POUND * GRAMS_PER_KILOGRAM})
AREA: Final = kind_of("area", "6 m2", "m2", {"m2": 1.0, "cm2": 1e-4, "ft2": FOOT**2})
MASS_PER_AREA: Final = kind_of(
    "mass per area",
    "150 g/m2",
    "g/m2",
    {"g/m2": 1.0, "kg/m2": 1e3, "lb/ft2": POUND * GRAMS_PER_KILOGRAM / FOOT**2},
)
# As CaCO3. A French degree is 10 mg/L of it, a German one 10 mg/L of CaO: definitions, from memory.
HARDNESS: Final = kind_of(
    "hardness as CaCO3",
    "250 mg/L",
    "g/m3",
    {
        "mg/L": 1.0,
        "g/m3": 1.0,
        "gpg": GRAIN / GALLON,
        "meq/L": EQUIVALENT,
        "dH": 10.0 * CALCIUM_CARBONATE / CALCIUM_OXIDE,
        "fH": 10.0,
    },
)
HARDNESS_CAPACITY: Final = kind_of(
    "capacity for hardness as CaCO3",
    "50 kg/m3",
    "g/m3",
    {
        "kg/m3": 1e3,
        "g/L": 1e3,
        "g/m3": 1.0,
        "kgr/ft3": 1e3 * GRAIN / FOOT**3,
        "eq/L": EQUIVALENT / LITRE,
        "eq/m3": EQUIVALENT,
    },
)
OXIDANT_CAPACITY: Final = kind_of("capacity in equivalents", "30 eq/m3", "eq/m3", {"eq/m3": 1.0, "eq/L": 1.0 / LITRE})
MEDIA_DOSE: Final = kind_of(
    "mass per volume of media",
    "130 kg/m3",
    "g/m3",
    {"kg/m3": 1e3, "g/L": 1e3, "g/m3": 1.0, "lb/ft3": POUND * GRAMS_PER_KILOGRAM / FOOT**3},
)
ENERGY: Final = kind_of("Hamaker constant", "1e-20 J", "J", {"J": 1.0})

KINDS: Final = tuple(each for each in list(globals().values()) if isinstance(each, Kind))


def parse_quantity(text: str, kind: Kind) -> float:
    """The SI value of a number with a unit of the wanted kind; RefusedValue says what is wrong otherwise.

    >>> parse_quantity("30 in", LENGTH), parse_quantity("50 degF", TEMPERATURE)
    (0.762, 10.0)
    """
    return parse_any(text, (kind,))[0]


def parse_any(text: str, kinds: tuple[Kind, ...]) -> tuple[float, Kind]:
    """As `parse_quantity` where several kinds may be given; says which it was."""
    if len(text) > LONGEST_QUANTITY:
        raise _refused(text, kinds, f"one number and one unit, at most {LONGEST_QUANTITY} characters")
    found = _NUMBER_THEN_UNIT.match(text.strip(" "))
    if found is None:
        raise _refused(text, kinds, "a plain number first, with a point for decimals, then its unit")
    number, symbol = float(found[1]), found.string[found.end() :]
    for kind in kinds:
        if symbol in kind.units:
            value = kind.units[symbol].to_si(number)
            if not math.isfinite(value):
                raise _refused(text, kinds, "a finite number")
            return value, kind
    raise _refused(text, kinds, _about_unit(symbol, kinds))


def _refused(text: str, kinds: tuple[Kind, ...], try_: str) -> RefusedValue:
    return RefusedValue(shown(text), " or ".join(kind.allowed for kind in kinds), try_)


SAME_IN_WATER: Final = {"ppm": "mg/L", "ppb": "ug/L"}
"""Other words for a unit, where the water weighs a kilogram a litre."""


def _about_unit(symbol: str, kinds: tuple[Kind, ...]) -> str:
    """What to try when the unit is missing, of another kind or unknown."""
    if not symbol:
        return f'the unit after the number, as in "{kinds[0].example}"'
    if symbol.startswith(","):
        return "a point for decimals and no mark between thousands"
    same = SAME_IN_WATER.get(symbol)
    if any(same in kind.units for kind in kinds):
        return f'"{same}" in place of "{symbol}", which is the same in water'
    others = [kind.name for kind in KINDS if symbol in kind.units]
    if others:
        return f'another unit: "{symbol}" measures a {listed(others)}'
    known = [each for kind in kinds for each in kind.units]
    return nearest_or(symbol, known, f'one number and one unit, as in "{kinds[0].example}"')
