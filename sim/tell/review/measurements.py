"""What to measure on a plant so that an assumed constant need not be assumed; common practice, from memory."""

from collections.abc import Sequence
from typing import Final

from plots.words import Term, term
from sim.study.over_ranges import Move

TOLD = 3  # constants, and measurements, that are named at most

_BY: Final = {
    "floc": ("solids",),
    "solids": ("solids_per_turbidity",),
    "outlet": (
        "ultimate_deposit", "typical_coefficient", "filter_coefficient", "attachment", "hamaker", "particle_size",
        "velocity_exponent", "viscosity_exponent", "size_exponent", "reference_rate", "exponent", "unfilterable",
        "coagulated",
    ),
    "pressure": (
        "deposit_density", "head_loss_gain", "gain_size_exponent", "growth", "porosity_floor", "resistance",
        "reference_temperature",
    ),
    "clean": ("loose_rate", "firm_rate", "firm_share", "air_factor", "cleaning_rate"),
    "grains": ("size", "uniformity", "sphericity", "porosity", "grain_density"),
    "first_hour": ("share", "volume", "tanks"),
    "empty": ("law", "valve", "viscous", "inertial"),
    "reached": ("roughness", "fittings", "discharge"),
    "record": ("spread", "memory", "slow_spread", "slow_memory", "per_year", "height", "length"),
    "uptake": (
        "capacity", "capacity_factor", "half_length", "combined_half_length", "half_length_rate", "leakage",
        "fouling",
    ),
    "brine": ("solubility", "dissolving"),
    "pump": ("pump_efficiency",),
}  # fmt: skip
_MEASUREMENTS: Final = {name: what for what, names in _BY.items() for name in names}


def measurement(key: str) -> Term:
    """The measurement that narrows the constant under a dotted key."""
    return term("measurement", _MEASUREMENTS[key.rpartition(".")[2]])


def settling(moves: Sequence[Move]) -> tuple[Term, ...]:
    """The few measurements that narrow what moves the answer most, each once."""
    return tuple(dict.fromkeys(measurement(each.key) for each in moves))[:TOLD]
