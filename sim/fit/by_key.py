"""A fitted constant as a case holds one: dotted key, value and range in the unit of the key [SI]."""

from collections.abc import Mapping
from typing import Final

from hydraulics.media import VALVE_RATE
from sim.case.records import Assumption
from sim.case.stage.records import Stage
from sim.fit.records import Fitted

UNITS: Final[Mapping[str, str]] = {
    "valve": "Pa", "deposit_density": "g/m3", "head_loss_gain": "Pa/m per g/m3", "typical_coefficient": "1/m",
    "filter_coefficient": "1/m", "cleaning_rate": "1/s", "loose_rate": "1/s", "firm_rate": "1/s",
    "solids_per_turbidity": "g/m3 per NTU", "half_length": "m", "combined_half_length": "m",
}  # fmt: skip
"""Units of keys by their last part; "-" of all others."""


def valve_flow(stage: Stage) -> float:
    """The flow [m3/s] at which the loss of a fitted valve is told: that of its typical loss."""
    return VALVE_RATE * stage.vessel.area


def as_case_has_it(fitted: Fitted, stage: Stage, *, before: bool = False) -> Assumption:
    """Value and range of the first key, or those that the case had `before`; a valve's as its loss [Pa] at
    `valve_flow`."""
    name = fitted.key[0].rpartition(".")[2]
    factor = valve_flow(stage) ** 2 if name == "valve" else 1.0
    told = fitted.before if before else (fitted.low, fitted.value, fitted.high)
    low, value, high = (factor * each for each in told)
    return Assumption(key=fitted.key[0], value=value, low=low, high=high, unit=UNITS.get(name, "-"), source="")
