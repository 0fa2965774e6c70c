"""Figures as a case file has them: a number of few digits and its unit, in the system that was asked for."""

from collections.abc import Mapping

from sim.case import units
from sim.case.stage.longest_run import Usual
from sim.case.units import Kind
from sim.write.questions import System

DIGITS = 4

SYMBOLS: Mapping[Kind, Mapping[System, str]] = {
    kind: {"si": si, "us": us}
    for kind, si, us in (
        (units.DURATION, "d", "d"),
        (units.LENGTH, "m", "in"),
        (units.FLOW, "m3/h", "gpm"),
        (units.RATE, "m/h", "gpm/ft2"),
        (units.VOLUME, "m3", "gal"),
        (units.PRESSURE, "kPa", "psi"),
        (units.TEMPERATURE, "degC", "degF"),
        (units.DENSITY, "kg/m3", "lb/ft3"),
        (units.HEAD_LOSS_GAIN, "Pa/m per g/m3", "psi/ft per lb/ft3"),
        (units.PER_LENGTH, "1/m", "1/ft"),
        (units.LOADING, "m", "gal/ft2"),
        (units.DEPOSIT, "kg/m3", "lb/ft3"),
        (units.PER_TIME, "1/min", "1/min"),
        (units.SOLIDS_PER_TURBIDITY, "mg/L per NTU", "mg/L per NTU"),
    )
}
"""The unit of each kind of quantity in a new case."""


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


def plain(value: float, kind: Kind, system: System, digits: int = DIGITS) -> str:
    """A value [SI] in the unit that a system has for its kind.

    >>> plain(50e3, units.PRESSURE, "si")
    '50 kPa'
    """
    symbol = SYMBOLS[kind][system]
    return f"{in_unit(value, symbol, kind, digits)} {symbol}"


def quantity(value: float, kind: Kind, system: System, digits: int = DIGITS) -> str:
    """The same in quotes, as a file has it.

    >>> quantity(0.762, units.LENGTH, "us")
    '"30 in"'
    """
    return f'"{plain(value, kind, system, digits)}"'


def span(usual: Usual, kind: Kind, system: System, factor: float = 1.0) -> str:
    """Low / typical / high of a usual figure times a factor, with unit and source, as a comment says it."""
    symbol = SYMBOLS[kind][system]
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
