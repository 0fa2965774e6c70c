"""Constants that a case leaves out, as lines that a file can hold without giving them."""

from collections.abc import Mapping

from sim.case import units
from sim.case.records import CHOICES, Assumption
from sim.case.units import Kind
from sim.write.questions import System
from sim.write.written import SYMBOLS, in_unit, number, plain

DIGITS = 3

_KINDS: Mapping[str, Kind] = {
    "solids_per_turbidity": units.SOLIDS_PER_TURBIDITY,
    "size": units.LENGTH,
    "loose_rate": units.PER_TIME,
    "firm_rate": units.PER_TIME,
    "typical_coefficient": units.PER_LENGTH,
    "ultimate_deposit": units.DEPOSIT,
    "deposit_density": units.DEPOSIT,
    "reference_rate": units.RATE,
    "volume": units.LOADING,
    "valve": units.PRESSURE,
    "reference_temperature": units.TEMPERATURE,
    "grain_density": units.DENSITY,
    "head_loss_gain": units.HEAD_LOSS_GAIN,
}


def assumed_line(assumption: Assumption, flow: float, system: System) -> tuple[str, str]:
    """The key with its typical value, and the comment behind it: low / typical / high and the source.

    `flow` [m3/s] is the one at which the loss of the valve is meant.
    """
    name = assumption.key.rpartition(".")[2]
    numbers, unit = _numbers(name, assumption, system)
    value = numbers[1]
    if name in CHOICES and value not in ("false", "true"):
        value = f'"{value}"'
    elif name == "valve":
        value = f'"{value} {unit} at {plain(flow, units.FLOW, system)}"'
    elif unit:
        value = f'"{value} {unit}"'
    spread = " / ".join(numbers) + (f" {unit}" if unit else "")
    return f"# {name} = {value}", f"assumed: {spread}, {assumption.source}"


def _numbers(name: str, assumption: Assumption, system: System) -> tuple[list[str], str]:
    """Low, typical and high as texts, and their unit, if they have one."""
    values = (assumption.low, assumption.value, assumption.high)
    if name in CHOICES:
        return [CHOICES[name][round(value)] for value in values], ""
    if assumption.unit == "-":
        return [number(value, DIGITS) for value in values], ""
    kind = _KINDS[name]
    symbol = "mm" if name == "size" else SYMBOLS[kind][system]  # grains are in mm everywhere in the trade
    return [in_unit(value, symbol, kind, DIGITS) for value in values], symbol
