"""The limits of what a key of a case takes, in the units of the reader."""

import math

from plots.words import Code
from sim.case import units
from sim.case.quantities import QUANTITIES, System
from sim.case.units import Kind, parse_quantity
from sim.case.values import Quantity

SMALL, MIDDLE = 0.005, 1.0  # m: shorter lengths stay in mm as grains are sieved, up to the second they are in inches
FIGURES = 3
US: dict[Kind, str] = {each.kind: each.us for each in QUANTITIES.values() if each.us != each.si}


def limits_in(system: System, rule: Quantity) -> tuple[Code, Code]:
    """The least and the most that a rule takes, as it has them or, in US units, as the trade does.

    >>> limits_in("us", Quantity(units.LENGTH, "1 cm", "20 m"))
    ('0.394 in', '65.6 ft')
    """
    if system == "si":
        return Code(rule.low), Code(rule.high)
    return Code(_in_us(rule.low, rule.kind, up=True)), Code(_in_us(rule.high, rule.kind, up=False))


def _in_us(text: str, kind: Kind, *, up: bool) -> str:
    """A limit in the unit of the trade, rounded to the allowed side; as it is where there is no other."""
    value = parse_quantity(text, kind)
    symbol = US.get(kind)
    if kind is units.LENGTH and abs(value) >= MIDDLE:
        symbol = "ft"
    if symbol is None or (kind is units.LENGTH and 0.0 < abs(value) < SMALL):
        return text
    return f"{_rounded(kind.units[symbol].from_si(value), up=up):g} {symbol}"


def _rounded(value: float, *, up: bool) -> float:
    if value == 0.0:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(abs(value))) - FIGURES + 1)
    whole = value / step
    return step * (math.ceil(whole - 1e-6) if up else math.floor(whole + 1e-6))
