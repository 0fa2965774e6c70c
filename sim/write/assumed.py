"""Constants that a case leaves out, as lines that a file can hold without giving them."""

from sim.case.quantities import QUANTITIES, System, constant_quantity
from sim.case.records import CHOICES, Assumption
from sim.write.written import number, quantity

DIGITS = 3


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
    known = constant_quantity(name, assumption.unit)
    if known is None or known == "share":
        return [number(value, DIGITS) for value in values], assumption.unit.removeprefix("-")
    shown = QUANTITIES[known]
    return [number(shown.shown(value, system), DIGITS) for value in values], shown.symbol(system)
