"""What a key of the case file takes, its limits in the units of the reader."""

import math
from collections.abc import Iterator
from dataclasses import fields, is_dataclass

from sim.case import units
from sim.case.quantities import QUANTITIES, System
from sim.case.units import Kind, parse_quantity
from sim.case.values import Quantity, Rule

SMALL, MIDDLE = 0.005, 1.0  # m: shorter lengths stay in mm as grains are sieved, up to the second they are in inches
FIGURES = 3
US: dict[Kind, str] = {each.kind: each.us for each in QUANTITIES.values() if each.us != each.si}


def limits_shown(allowed: str, rule: Rule | None, system: System) -> str:
    """The words of a rule, its limits turned into the units of the page.

    >>> rule = Quantity(units.LENGTH, "1 cm", "20 m")
    >>> limits_shown(rule.allowed, rule, "us")
    'a length in m, cm, mm, um, in or ft, from 0.394 in to 65.6 ft'
    """
    if system == "us" and rule is not None:
        for each in _quantities(rule):
            low, high = (_in_us(text, each.kind, up=up) for text, up in ((each.low, True), (each.high, False)))
            allowed = allowed.replace(f"from {each.low} to {each.high}", f"from {low} to {high}")
    return allowed


def _quantities(rule: object) -> Iterator[Quantity]:
    if isinstance(rule, Quantity):
        yield rule
    elif isinstance(rule, Rule) and is_dataclass(rule):
        for part in fields(rule):
            yield from _quantities(getattr(rule, part.name))


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
