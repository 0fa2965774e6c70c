"""Constants that a case leaves out, as lines that a file can hold without giving them."""

from collections.abc import Mapping

from sim.case import units
from sim.case.records import CHOICES, Assumption
from sim.case.units import Kind
from sim.write.questions import System
from sim.write.written import SYMBOLS, in_unit, number, quantity

DIGITS = 3

_OWN: Mapping[str, tuple[str, Kind]] = {
    "solids_per_turbidity": ("mg/L per NTU", units.SOLIDS_PER_TURBIDITY),
    "size": ("mm", units.LENGTH),  # as the trade has it everywhere
    "loose_rate": ("1/min", units.PER_TIME),
    "firm_rate": ("1/min", units.PER_TIME),
}
_BY_SYSTEM: Mapping[str, str] = {
    "typical_coefficient": "per length",
    "ultimate_deposit": "deposit",
    "deposit_density": "deposit",
    "reference_rate": "rate",
    "volume": "loading",
    "valve": "pressure",
    "reference_temperature": "temperature",
    "grain_density": "density",
    "head_loss_gain": "gain",
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
        at = quantity(flow, "flow", system).strip('"')
        value = f'"{value} {unit} at {at}"'
    elif unit:
        value = f'"{value} {unit}"'
    spread = " / ".join(numbers) + (f" {unit}" if unit else "")
    return f"{name} = {value}", f"assumed: {spread}, {assumption.source}"


def _numbers(name: str, assumption: Assumption, system: System) -> tuple[list[str], str]:
    """Low, typical and high as texts, and their unit, if they have one."""
    values = (assumption.low, assumption.value, assumption.high)
    if name in CHOICES:
        return [CHOICES[name][round(value)] for value in values], ""
    if assumption.unit == "-":
        return [number(value, DIGITS) for value in values], ""
    symbol, kind = _OWN.get(name) or SYMBOLS[system][_BY_SYSTEM[name]]
    return [in_unit(value, symbol, kind, DIGITS) for value in values], symbol
