"""What to measure on a plant so that an assumed constant need not be assumed; common practice, from memory."""

from collections.abc import Sequence
from typing import Final

from sim.study.over_ranges import Move

TOLD = 3  # constants, and measurements, that are named at most

FLOC = "laboratory samples of suspended solids behind the dosing point beside those ahead of it"
SOLIDS = "a few laboratory samples of suspended solids beside the turbidity, in fair weather and after rain"
OUTLET = "outlet turbidity through one or two filter runs, up to breakthrough or the longest run"
PRESSURE = "readings of pressure drop, flow and hours since the wash over two weeks"
CLEAN = "the pressure drop of the clean filter after each wash, over some months"
GRAINS = "the supplier's data sheet or sieve analysis"
FIRST_HOUR = "outlet turbidity in the first hour after a wash"
EMPTY = "the pressure drop of the clean filter at two flows"
REACHED = "the flow that a wash reaches, read at a meter or by a tank and a stopwatch"
RECORD = "a record of the plant's own, of a year or more"
PUMP = "the electricity that the pump draws, beside its flow and pressure"

_BY: Final = {
    FLOC: ("solids",),
    SOLIDS: ("solids_per_turbidity",),
    OUTLET: (
        "ultimate_deposit", "typical_coefficient", "attachment", "hamaker", "particle_size", "velocity_exponent",
        "viscosity_exponent", "size_exponent", "reference_rate", "exponent", "unfilterable", "coagulated",
    ),
    PRESSURE: (
        "deposit_density", "head_loss_gain", "gain_size_exponent", "growth", "porosity_floor", "resistance",
        "reference_temperature",
    ),
    CLEAN: ("loose_rate", "firm_rate", "firm_share", "air_factor"),
    GRAINS: ("size", "uniformity", "sphericity", "porosity", "grain_density"),
    FIRST_HOUR: ("share", "volume", "tanks"),
    EMPTY: ("law", "valve"),
    REACHED: ("roughness", "fittings", "discharge"),
    RECORD: ("spread", "memory", "slow_spread", "slow_memory", "per_year", "height", "length"),
    PUMP: ("pump_efficiency",),
}  # fmt: skip
_MEASUREMENTS: Final = {name: what for what, names in _BY.items() for name in names}


def measurement(key: str) -> str:
    """The measurement that narrows the constant under a dotted key."""
    return _MEASUREMENTS[key.rpartition(".")[2]]


def settling(moves: Sequence[Move]) -> tuple[str, ...]:
    """The few measurements that narrow what moves the answer most, each once."""
    return tuple(dict.fromkeys(measurement(each.key) for each in moves))[:TOLD]
