"""Figures as a case file has them: a number of few digits and its unit, in the system that was asked for."""

from collections.abc import Mapping

from sim.case import units
from sim.case.stage.longest_run import Usual
from sim.case.units import Kind
from sim.write.questions import System

DIGITS = 4

SYMBOLS: Mapping[System, Mapping[str, tuple[str, Kind]]] = {
    "si": {
        "length": ("m", units.LENGTH),
        "flow": ("m3/h", units.FLOW),
        "rate": ("m/h", units.RATE),
        "volume": ("m3", units.VOLUME),
        "pressure": ("kPa", units.PRESSURE),
        "temperature": ("degC", units.TEMPERATURE),
        "density": ("kg/m3", units.DENSITY),
        "gain": ("Pa/m per g/m3", units.HEAD_LOSS_GAIN),
        "per length": ("1/m", units.PER_LENGTH),
        "loading": ("m", units.LOADING),
        "deposit": ("kg/m3", units.DEPOSIT),
    },
    "us": {
        "length": ("in", units.LENGTH),
        "flow": ("gpm", units.FLOW),
        "rate": ("gpm/ft2", units.RATE),
        "volume": ("gal", units.VOLUME),
        "pressure": ("psi", units.PRESSURE),
        "temperature": ("degF", units.TEMPERATURE),
        "density": ("lb/ft3", units.DENSITY),
        "gain": ("psi/ft per lb/ft3", units.HEAD_LOSS_GAIN),
        "per length": ("1/ft", units.PER_LENGTH),
        "loading": ("gal/ft2", units.LOADING),
        "deposit": ("lb/ft3", units.DEPOSIT),
    },
}
"""Unit and kind of each quantity of a new case."""


def number(value: float, digits: int = DIGITS) -> str:
    """A number to so many significant figures, without a trailing point.

    >>> number(0.123456), number(1234.5678), number(60.0)
    ('0.1235', '1235', '60')
    """
    return f"{float(f'{value:.{digits}g}'):.10g}"


def in_unit(value: float, symbol: str, kind: Kind, digits: int = DIGITS) -> str:
    """The number of a value [SI] in a unit."""
    unit = kind.units[symbol]
    return number(value / unit.factor + unit.zero, digits)


def quantity(value: float, name: str, system: System, digits: int = DIGITS) -> str:
    """A value [SI] with the unit that a system has for such a quantity, in quotes.

    >>> quantity(0.762, "length", "us"), quantity(50e3, "pressure", "si")
    ('"30 in"', '"50 kPa"')
    """
    symbol, kind = SYMBOLS[system][name]
    return f'"{in_unit(value, symbol, kind, digits)} {symbol}"'


def span(usual: Usual, name: str, system: System, factor: float = 1.0) -> str:
    """Low / typical / high of a usual figure times a factor, with unit and source, as a comment says it."""
    symbol, kind = SYMBOLS[system][name]
    low, typical, high = (in_unit(factor * each, symbol, kind, 3) for each in (usual.low, usual.typical, usual.high))
    return f"assumed: {low} / {typical} / {high} {symbol}, {usual.source}"


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


def plain(value: float, name: str, system: System, digits: int = DIGITS) -> str:
    """As `quantity`, for a sentence: without quotes.

    >>> plain(50e3, "pressure", "si")
    '50 kPa'
    """
    return quantity(value, name, system, digits).strip('"')
