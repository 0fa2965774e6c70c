"""The quantity parser: the table against an outside one, round trips, hostile texts."""

import math
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.case import units
from sim.case.units import KINDS, Kind, parse_any, parse_quantity
from sim.errors import RefusedValue

# The outside table writes these otherwise. gpm is US gallons a minute, 1 mg/L is 1 g/m3, a column of water
# weighs 1000 kg/m3 at standard gravity: plain words of the trade.
OUTSIDE = {
    "gpm": "gallon / minute",
    "gpm/ft2": "gallon / minute / foot**2",
    "mH2O": "meter * 1000 * kilogram / meter**3 * standard_gravity",
    "inH2O": "inch * 1000 * kilogram / meter**3 * standard_gravity",
    "ftH2O": "foot * 1000 * kilogram / meter**3 * standard_gravity",
    "gal": "gallon",
    "gal/min": "gallon / minute",
    "gal/h": "gallon / hour",
    "gal/d": "gallon / day",
    "gal/ft2": "gallon / foot**2",
    "in": "inch",
    "1/in": "1 / inch",
    "d": "day",
    "m3/d": "meter**3 / day",
    "L/d": "liter / day",
    "m/d": "meter / day",
    "um": "micrometer",
    "lb/ft3": "pound / foot**3",
    "gpg": "grain / gallon",
    "kgr/ft3": "1000 * grain / foot**3",
    "ft3": "foot**3",
    "m3": "meter**3",
    "m3/s": "meter**3 / second",
    "m3/h": "meter**3 / hour",
    "m3/m2": "meter**3 / meter**2",
    "g/m3": "gram / meter**3",
    "kg/m3": "kilogram / meter**3",
    "m2": "meter**2",
    "cm2": "centimeter**2",
    "ft2": "foot**2",
    "lb": "pound",
    "g/m2": "gram / meter**2",
    "kg/m2": "kilogram / meter**2",
    "lb/ft2": "pound / foot**2",
    "g/cm3": "gram / centimeter**3",
    "ug/L": "microgram / liter",
    "Pa/m per g/m3": "pascal / meter / (gram / meter**3)",
    "Pa/m per mg/L": "pascal / meter / (milligram / liter)",
    "psi/ft per lb/ft3": "psi / foot / (pound / foot**3)",
    "kPa/m per kg/m3": "kilopascal / meter / (kilogram / meter**3)",
}
UNKNOWN_OUTSIDE = {
    *("NTU", "mg/L per NTU", "g/m3 per NTU"),  # turbidity is a reading on a scale of its own
    *("meq/L", "dH", "fH", "eq/L", "eq/m3"),  # hardness depends on what it counts as, here CaCO3
}
ALL_UNITS = [(kind, symbol) for kind in KINDS for symbol in kind.units]


def ids(pairs: list[tuple[Kind, str]]) -> list[str]:
    return [f"{kind.name}: {symbol}" for kind, symbol in pairs]


CHECKED = [(kind, symbol) for kind, symbol in ALL_UNITS if symbol not in UNKNOWN_OUTSIDE]


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@pytest.mark.parametrize(("kind", "symbol"), CHECKED, ids=ids(CHECKED))
def test_every_unit_agrees_with_an_outside_table(kind: Kind, symbol: str, registry: pint.UnitRegistry) -> None:
    """Source: the public library pint, its default definitions."""
    if kind in (units.TEMPERATURE, units.TEMPERATURE_SWING):
        prefix = "" if kind is units.TEMPERATURE else "delta_"
        outside = registry.Quantity(70.0, f"{prefix}{symbol}").to(f"{prefix}degC").magnitude
    else:
        outside = (70.0 * registry(OUTSIDE.get(symbol, symbol))).to(OUTSIDE.get(kind.si, kind.si)).magnitude
    assert parse_quantity(f"70 {symbol}", kind) == pytest.approx(outside, rel=1e-12)


def test_turbidity_and_its_ratio_to_solids() -> None:
    """NTU is kept as read; 1 mg/L is 1 g/m3 by definition of the litre."""
    assert parse_quantity("4.2 NTU", units.TURBIDITY) == 4.2
    assert parse_quantity("1.2 mg/L per NTU", units.SOLIDS_PER_TURBIDITY) == 1.2
    assert parse_quantity("1.2 g/m3 per NTU", units.SOLIDS_PER_TURBIDITY) == 1.2


def test_hardness_and_capacities() -> None:
    """By hand, of CaCO3 (100.09 g/mol, two charges) and CaO (56.08): 1 gr/gal is 17.118 mg/L and 20,000 gr/ft3 are
    0.9146 eq/L; a German degree is 10 mg/L of CaO, a French one 10 mg/L of CaCO3: definitions, from memory."""
    for text, hardness in (("1 gpg", 17.118), ("1 meq/L", 50.043), ("1 dH", 17.848), ("1 fH", 10.0)):
        assert parse_quantity(text, units.HARDNESS) == pytest.approx(hardness, abs=5e-4)
    capacity = units.HARDNESS_CAPACITY
    assert parse_quantity("0.9146 eq/L", capacity) == pytest.approx(parse_quantity("20 kgr/ft3", capacity), rel=1e-4)
    assert parse_quantity("914.6 eq/m3", capacity) == pytest.approx(914.6 * 50.043, rel=1e-15)
    for text in ("30 eq/m3", "0.03 eq/L"):
        assert parse_quantity(text, units.OXIDANT_CAPACITY) == pytest.approx(30.0, rel=1e-15)


def test_kinds_are_listed_once_and_with_a_readable_example() -> None:
    assert len({kind.name for kind in KINDS}) == len(KINDS)
    declared = [value for value in vars(units).values() if isinstance(value, Kind)]
    assert set(declared) == set(KINDS)
    for kind in KINDS:
        assert parse_quantity(kind.example, kind) > 0.0
        assert kind.units[kind.si].factor == 1.0


@pytest.mark.parametrize(
    ("text", "celsius"), [("32 degF", 0.0), ("122 degF", 50.0), ("-40 degF", -40.0), ("59 degF", 15.0)]
)
def test_fixed_points_of_the_fahrenheit_scale_are_met_exactly(text: str, celsius: float) -> None:
    """Source: definition of the scale, C = (F - 32) 5/9. The ends of the range may not miss by rounding."""
    assert parse_quantity(text, units.TEMPERATURE) == celsius


finite = st.floats(allow_nan=False, allow_infinity=False, min_value=-1e100, max_value=1e100)
number_and_unit = st.tuples(finite, st.sampled_from(ALL_UNITS))


@given(number_and_unit, st.sampled_from(["", " ", "   "]))
def test_a_written_quantity_reads_as_its_number_times_its_unit(
    written: tuple[float, tuple[Kind, str]], gap: str
) -> None:
    number, (kind, symbol) = written
    unit = kind.units[symbol]
    if gap == "" and symbol[0].isdigit():
        gap = " "  # "5 1/m" without its gap is another number
    exact = (Fraction(number) - Fraction(unit.zero)) * Fraction(unit.factor)
    assert parse_quantity(f"{number!r}{gap}{symbol}", kind) == pytest.approx(float(exact), rel=1e-15, abs=1e-30)


def read_or_refused(text: str, kind: Kind) -> float | RefusedValue:
    try:
        return parse_quantity(text, kind)
    except RefusedValue as refused:
        return refused


@given(st.text(max_size=80), st.sampled_from(KINDS))
def test_any_text_is_read_or_refused_with_advice(text: str, kind: Kind) -> None:
    outcome = read_or_refused(text, kind)
    if isinstance(outcome, float):
        assert math.isfinite(outcome)
    else:
        assert (bool(outcome.given), outcome.allowed, bool(outcome.try_)) == (True, kind.allowed, True)
        assert str(outcome).isprintable()


HOSTILE = [
    "9**9**9 gal",
    "9" * 60_000 + " gal",
    "1" + "0" * 60_000,
    "e" * 60_000,
    "1e400 gal",
    "1e999999999 gal",
    "nan gal",
    "inf gal",
    "-inf gal",
    "infinity gal",
    "NaN",
    "",
    " ",
    "gal",
    "5",
    "5 ",
    "5 gal + 1 L",
    "5 gal gal",
    "5 gal; 6 gal",
    "5gal/0",
    "1_000 gal",
    "1,000 gal",
    "1.000,5 gal",
    "0x10 gal",
    ".5 gal",
    "5. gal",
    "+-5 gal",
    "--5 gal",
    "1e gal",
    "1e+ gal",
    "\u0665 gal",
    "\uff15 gal",
    "5\u00a0gal",
    "5\tgal",
    "5\ngal",
    "5 gal\n",
    "5 GAL",
    "5 m³",
    "5 \u202egal",
    "5 m^3",
    "5 m3.0",
    "__import__('os') gal",
    "{0} gal",
    "5 %s",
    "5 gal\x00",
    "½ gal",
    "- 5 gal",
]


@pytest.mark.parametrize("text", HOSTILE, ids=lambda text: ascii(text[:20]))
def test_hostile_texts_are_refused(text: str) -> None:
    with pytest.raises(RefusedValue) as caught:
        parse_quantity(text, units.VOLUME)
    assert len(str(caught.value)) < 400
    assert str(caught.value).isprintable()


@pytest.mark.parametrize(
    ("text", "value"),
    [("5gal", 5 * 0.003785411784), (" 5 gal ", 5 * 0.003785411784), ("+1e-3 m3", 1e-3), ("2.50 L", 2.5e-3)],
)
def test_spaces_sign_and_exponent_are_free(text: str, value: float) -> None:
    """US gallon 3.785411784 L exactly: 231 cubic inches of 2.54 cm."""
    assert parse_quantity(text, units.VOLUME) == pytest.approx(value, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "kind", "try_"),
    [
        ("5 psi", units.FLOW, 'another unit: "psi" measures a pressure'),
        ("5 mg/L", units.DEPOSIT, 'another unit: "mg/L" measures a concentration or hardness as CaCO3'),
        ("5 m", units.VOLUME, 'another unit: "m" measures a length or volume per area'),
        ("5 M3/H", units.FLOW, '"m3/h", "m3/s" or "m3/d", the nearest by name'),
        ("5 m³", units.VOLUME, '"m3", the nearest by name'),
        ("5 ltr", units.VOLUME, 'one number and one unit, as in "250 m3"'),
        ("5", units.FLOW, 'the unit after the number, as in "5.5 m3/h"'),
        ("5,5 m3/h", units.FLOW, "a point for decimals and no mark between thousands"),
        ("1e999 m", units.LENGTH, "a finite number"),
    ],
)
def test_advice_fits_the_mistake(text: str, kind: Kind, try_: str) -> None:
    with pytest.raises(RefusedValue) as caught:
        parse_quantity(text, kind)
    assert caught.value.try_ == try_


def test_one_of_two_kinds_is_told_by_its_unit() -> None:
    kinds = (units.CONCENTRATION, units.TURBIDITY)
    assert parse_any("0.5 mg/L", kinds) == (0.5, units.CONCENTRATION)
    assert parse_any("0.5 NTU", kinds) == (0.5, units.TURBIDITY)
    with pytest.raises(RefusedValue, match=r"a concentration in .* or a turbidity in NTU"):
        parse_any("0.5 m", kinds)
