"""Figures as a case file has them: a number of few digits and its unit, in the system that was asked for."""

from sim.case import units
from sim.case.quantities import QUANTITIES, Quantity, System
from sim.case.stage.longest_run import Usual
from sim.case.units import Kind

DIGITS = 4


def number(value: float, digits: int = DIGITS) -> str:
    """A number to so many significant figures, without a trailing point.

    >>> number(0.123456), number(1234.5678), number(60.0)
    ('0.1235', '1235', '60')
    """
    return f"{float(f'{value:.{digits}g}'):.10g}"


def in_unit(value: float, symbol: str, kind: Kind, digits: int = DIGITS) -> str:
    """The number of a value [SI] in a unit."""
    return number(kind.units[symbol].from_si(value), digits)


def quantity(value: float, name: Quantity, system: System, digits: int = DIGITS) -> str:
    """A value [SI] with the unit that a system has for such a quantity, in quotes.

    >>> quantity(0.762, "length", "us"), quantity(50e3, "pressure", "si")
    ('"30 in"', '"50 kPa"')
    """
    shown = QUANTITIES[name]
    return f'"{number(shown.shown(value, system), digits)} {shown.symbol(system)}"'


def span(usual: Usual, name: Quantity, system: System, factor: float = 1.0) -> str:
    """Low / typical / high of a usual figure times a factor, with unit and source, as a comment says it."""
    shown = QUANTITIES[name]
    low, typical, high = (
        number(shown.shown(factor * each, system), 3) for each in (usual.low, usual.typical, usual.high)
    )
    return f"assumed: {low} / {typical} / {high} {shown.symbol(system)}, {usual.source}"


def plain_span(usual: Usual, unit: str = "") -> str:
    """The same of a figure without a unit of its own."""
    low, typical, high = (number(each, 3) for each in (usual.low, usual.typical, usual.high))
    return f"assumed: {low} / {typical} / {high}{f' {unit}' if unit else ''}, {usual.source}"


def up_to(value: float, digits: int = 2) -> float:
    """The value rounded to few significant figures.

    >>> up_to(1234.0), up_to(0.0567)
    (1200.0, 0.057)
    """
    return float(f"{value:.{digits}g}")


def clock(seconds: float) -> str:
    """A time of day as TOML has it.

    >>> clock(8400.0)
    '02:20:00'
    """
    hours, rest = divmod(int(seconds), int(units.HOUR))
    return f"{hours:02d}:{rest // int(units.MINUTE):02d}:00"


def plain(value: float, name: Quantity, system: System, digits: int = DIGITS) -> str:
    """As `quantity`, for a sentence: without quotes.

    >>> plain(50e3, "pressure", "si")
    '50 kPa'
    """
    return quantity(value, name, system, digits).strip('"')
