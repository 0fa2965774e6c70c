"""What stands in for each key that may be assumed: one constant, or one for each medium, water or product."""

from collections.abc import Mapping
from typing import Final

from hydraulics.coagulant import PRODUCTS, typical_solids
from hydraulics.media import CATALOGUE, DEFAULTS, UPTAKE, Constant
from sim.case.chemistry.uptake import LEAKAGE, combined
from sim.case.series.variation import (
    DAILY_DEMAND,
    DAILY_TEMPERATURE,
    DEMAND_MEMORY,
    FAST_MEMORY,
    SLOW_MEMORY,
    SPREAD,
    STORMS,
    TEMPERATURE_MEMORY,
)
from sim.case.series.waters import WATERS
from sim.case.stage.stages import ERGUN, LINEAR, UNTREATED

Assumed = Mapping[str, Constant]
"""Constants by what decides between them; under "" where nothing does."""


def _one(constant: Constant) -> Assumed:
    return {"": constant}


def _by_coagulant(name: str) -> Assumed:
    return {"coagulated": DEFAULTS[name], "untreated": DEFAULTS[f"{name}_untreated"]}


def _by_medium(name: str) -> Assumed:
    return {medium: getattr(each, name) for medium, each in CATALOGUE.items()}


def _by_water(name: str, otherwise: Constant | None = None) -> Assumed:
    found = {} if otherwise is None else {"no water named": otherwise}
    return found | {f"{kind} water": getattr(each, name) for kind, each in WATERS.items()}


_STAGE: Final = (
    "velocity_exponent", "viscosity_exponent", "size_exponent", "gain_size_exponent", "reference_rate",
    "reference_temperature", "tanks", "porosity_floor", "loose_rate", "firm_rate", "air_factor",
)  # fmt: skip
_LAYER: Final = ("size", "uniformity", "sphericity", "porosity", "grain_density", "ultimate_deposit", "firm_share")

ASSUMED: Final[Mapping[str, Assumed]] = {
    "feed.temperature.variation.spread": _one(DAILY_TEMPERATURE),
    "feed.temperature.variation.memory": _one(TEMPERATURE_MEMORY),
    "feed.suspended_solids.spread": _one(SPREAD),
    "feed.suspended_solids.memory": _one(FAST_MEMORY),
    "feed.suspended_solids.slow_memory": _one(SLOW_MEMORY),
    "feed.suspended_solids.storms.per_year": _by_water("storms_a_year", STORMS["per_year"]),
    "feed.suspended_solids.storms.height": _by_water("storm_strength", STORMS["height"]),
    "feed.suspended_solids.storms.length": _by_water("storm_length", STORMS["length"]),
    "feed.coagulant.solids": {product: typical_solids(product) for product in PRODUCTS},
    "feed.solids_per_turbidity": _by_water("solids_per_turbidity"),
    "demand.variation.spread": _one(DAILY_DEMAND),
    "demand.variation.memory": _one(DEMAND_MEMORY),
    "supply.pipe.roughness": _one(DEFAULTS["pipe_roughness"]),
    "supply.pipe.fittings": _one(DEFAULTS["pipe_fittings"]),
    "prices.pump_efficiency": _one(DEFAULTS["pump_efficiency"]),
    "stage.head_loss.law": _one(ERGUN),
    "stage.head_loss.growth": _one(LINEAR),
    "stage.head_loss.valve": _one(DEFAULTS["valve_loss"]),
    "stage.coagulated": _one(UNTREATED),
    "stage.ripening.share": _by_coagulant("ripening_share"),
    "stage.ripening.volume": _one(DEFAULTS["ripening_volume"]),
    "stage.sloughing.exponent": _one(DEFAULTS["slough_exponent"]),
    "stage.mat.resistance": _one(DEFAULTS["mat_resistance"]),
    "stage.unfilterable": _by_coagulant("unfilterable"),
    **{f"stage.{name}": _one(DEFAULTS[name]) for name in _STAGE},
    "stage.restrictor.discharge": _one(DEFAULTS["discharge"]),
    **{f"stage.layer.{name}": _by_medium(name) for name in _LAYER},
    "stage.layer.typical_coefficient": {
        f"{medium}, {name}": constant
        for medium, each in CATALOGUE.items()
        for name, constant in (
            ("coagulated", each.filter_coefficient), ("untreated", each.filter_coefficient_untreated)
        )
    },
    "stage.layer.deposit_density": _by_water("deposit_density", DEFAULTS["deposit_density"]),
    "stage.layer.head_loss_gain": _one(DEFAULTS["head_loss_gain"]),
    "stage.layer.filter_coefficient.particle_size": {
        "coagulated": DEFAULTS["floc_size"], **_by_water("particle_size")
    },
    "stage.layer.filter_coefficient.attachment": _by_coagulant("attachment"),
    "stage.layer.filter_coefficient.hamaker": _one(DEFAULTS["hamaker"]),
    "stage.layer.capacity": {
        "oxidising media": UPTAKE["oxidising_capacity"], "carbon": UPTAKE["carbon_capacity"]
    },
    "stage.layer.capacity_factor": _one(UPTAKE["resin_capacity_factor"]),
    "stage.layer.half_length": {
        "resin": UPTAKE["resin_half_length"],
        "oxidising media": UPTAKE["oxidising_half_length"],
        "carbon": UPTAKE["carbon_half_length"],
    },
    "stage.layer.combined_half_length": _one(combined(UPTAKE["carbon_half_length"].value)),
    "stage.layer.half_length_rate": _one(UPTAKE["uptake_reference_rate"]),
    "stage.layer.leakage": LEAKAGE,
    "stage.layer.fouling": _one(UPTAKE["resin_fouling"]),
    "stage.oxidant.unfilterable": _one(UPTAKE["floc_unfilterable"]),
    "stage.store.solubility": _one(UPTAKE["salt_solubility"]),
    "stage.store.dissolving": _one(UPTAKE["salt_dissolving"]),
}  # fmt: skip
"""By the path under which a key is listed. Some are scaled to the grains, or lowered to what the pores hold."""
