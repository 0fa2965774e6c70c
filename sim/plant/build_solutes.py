"""From the records of a case to the rows of what is dissolved: what the feed brings, doses, limits, uptakes."""

import math
from collections.abc import Iterator
from typing import Any, TypeAlias, assert_never

import numpy as np

from hydraulics.oxidation import air_rate
from hydraulics.salt import capacity_at
from hydraulics.stoichiometry import (
    EQUIVALENTS,
    FREE_PER_PERMANGANATE,
    HARDNESS_PER_IRON,
    HARDNESS_PER_MANGANESE,
    IRON_FLOC,
    MANGANESE_FLOC,
    PERMANGANATE_FLOC,
    SULPHUR_FLOC,
)
from sim.case.chemistry.records import SOLUTES, Carbon, Oxidising, Product, Resin, Solute
from sim.case.records import Case
from sim.case.stage.records import Layer, Stage
from sim.plant.layout import AIR, BROUGHT, CHLORINE, NO_DOSE, PERMANGANATE_DOSE, SOLUTE_COUNT
from sim.wash.regeneration import resin_volume, salt_brought
from sim.weather import Forcing

Array: TypeAlias = np.ndarray[Any, np.dtype[Any]]
Row: TypeAlias = dict[str, float]

YEAR = 365.25 * 86_400.0
DOSED: dict[Product, int] = {"chlorine": CHLORINE, "permanganate": PERMANGANATE_DOSE, "air": AIR}
METALS: tuple[Solute, ...] = ("iron", "manganese", "sulphide", "ammonia")
OXIDANTS: tuple[Solute, ...] = ("free_chlorine", "combined_chlorine")


def follows(case: Case) -> bool:
    """Whether a run of this case has anything dissolved to follow."""
    brings = any(step.salt or step.permanganate or stage.store for stage in case.stages for step in stage.steps)
    return bool(case.feed.solutes) or brings or any(stage.dosing for stage in case.stages)


def may_fall(case: Case) -> bool:
    """Whether what a stage lets through may fall within a piece: where an oxidant meets what it oxidises."""
    names = {name for name, _ in case.feed.solutes}
    oxidant = names & set(OXIDANTS) or any(stage.dosing or _batch(stage) for stage in case.stages)
    return bool(names & set(METALS)) and bool(oxidant)


def _batch(stage: Stage) -> bool:
    return any(step.permanganate for step in stage.steps)


def brought(case: Case, given: Forcing) -> Array:
    """What the raw water carries: a row a solute for each stretch of the weather; none where nothing is followed."""
    if not follows(case):
        return np.zeros(0, BROUGHT)
    array = np.zeros((len(given.end), SOLUTE_COUNT), BROUGHT)
    for name, values in given.solutes.items():
        array["conc"][:, SOLUTES.index(name)] = values
    return array.reshape(-1)


def air_rates(case: Case, given: Forcing) -> Array:
    """How fast air oxidises iron over each stretch [1/s]; 0 where no stage is aerated or the pH is unknown."""
    aerated = any(stage.dosing is not None and stage.dosing.product == "air" for stage in case.stages)
    if not aerated or given.acidity is None:
        return np.zeros(len(given.end))
    pairs = zip(given.acidity.tolist(), given.temperature.tolist(), strict=True)
    return np.array([air_rate(acidity, temperature) for acidity, temperature in pairs])


def dosing_row(stage: Stage) -> Row:
    """What is dosed ahead of a stage, and what goes round it; its solids pass it all."""
    dosing = stage.dosing
    if dosing is None:
        return {"product": NO_DOSE, "floc_fine": stage.unfilterable, "blend": stage.blend}
    return {
        "product": DOSED[dosing.product],
        "dose": dosing.dose,
        "contact": dosing.contact,
        "floc_fine": dosing.unfilterable,
        "to_sulphate": dosing.sulphide_to == "sulphate",
        "blend": stage.blend,
    }


def met_rows(stage: Stage) -> list[Row]:
    """A row a solute with the limit on what the stage sends on; that on chlorine stands at the free chlorine."""
    limits = {
        "hardness": stage.limits.hardness,
        "iron": stage.limits.iron,
        "manganese": stage.limits.manganese,
        "free_chlorine": stage.limits.chlorine,
    }
    found = [limits.get(name) for name in SOLUTES]
    return [{"limit": math.nan if limit is None else limit} for limit in found]


def uptakes_of(stage: Stage) -> Iterator[tuple[Row, list[Row]]]:
    """What takes up solutes in a vessel of a stage, layer by layer: its row, and a row a solute."""
    for place, layer in enumerate(stage.layers):
        match layer.uptake:
            case None:
                pass
            case Resin():
                yield _resin(stage, place, layer, layer.uptake)
            case Oxidising():
                yield _oxidising(place, layer, layer.uptake)
            case Carbon():
                yield from _carbon(place, layer, layer.uptake)
            case _:
                assert_never(layer.uptake)


def _resin(stage: Stage, place: int, layer: Layer, resin: Resin) -> tuple[Row, list[Row]]:
    """As a regeneration with the salt of its steps leaves a spent bed."""
    most = capacity_at(resin.doses[-1], resin.doses, resin.capacities)
    free = capacity_at(salt_brought(stage) / resin_volume(stage), resin.doses, resin.capacities)
    used = max(most - free, 0.0) * layer.depth
    row = {
        "layer": place,
        "restorable": 1,
        "holds": 1,
        "depth": layer.depth,
        "capacity": most,
        "coefficient": math.log(2.0) / resin.half_length,
        "reference_rate": resin.reference_rate,
        "leakage": resin.leakage,
        "fouling": resin.fouling,
        "fading": 1.0,
        "used": used,
        "fresh": used,
    }
    taken = _taken(
        hardness={"weight": 1.0, "held": used, "first": used},
        iron={"weight": HARDNESS_PER_IRON, "fouls": 1},
        manganese={"weight": HARDNESS_PER_MANGANESE, "fouls": 1},
    )
    return row, taken


def _oxidising(place: int, layer: Layer, medium: Oxidising) -> tuple[Row, list[Row]]:
    """With its whole capacity."""
    row = {
        "layer": place,
        "restorable": 1,
        "depth": layer.depth,
        "capacity": medium.capacity,
        "coefficient": math.log(2.0) / medium.half_length,
        "reference_rate": medium.reference_rate,
        "fading": 1.0,
    }
    sulphur = SULPHUR_FLOC if medium.sulphide_to == "sulphur" else 0.0
    taken = _taken(
        iron={"weight": EQUIVALENTS["iron"], "floc": IRON_FLOC},
        manganese={"weight": EQUIVALENTS["manganese"], "floc": MANGANESE_FLOC},
        sulphide={"weight": EQUIVALENTS[f"sulphide to {medium.sulphide_to}"], "floc": sulphur},
        free_chlorine={"weight": -EQUIVALENTS["free_chlorine"]},
        permanganate={"weight": -EQUIVALENTS["permanganate"], "floc": PERMANGANATE_FLOC},
    )
    return row, taken


def _carbon(place: int, layer: Layer, carbon: Carbon) -> Iterator[tuple[Row, list[Row]]]:
    """New carbon: both kinds of chlorine use one capacity; permanganate goes as free chlorine."""
    for solute, half_length, partner in (
        ("free_chlorine", carbon.half_length, 1),
        ("combined_chlorine", carbon.combined_half_length, -1),
    ):
        row = {
            "layer": place,
            "partner": partner,  # rows further on
            "depth": layer.depth,
            "capacity": carbon.capacity,
            "coefficient": math.log(2.0) / half_length,
            "reference_rate": carbon.reference_rate,
            "growth": math.log1p(carbon.growth or 0.0) / YEAR,
            "fading": 1.0,
        }
        taken: dict[str, Row] = {solute: {"weight": 1.0}}
        if solute == "free_chlorine":
            taken["permanganate"] = {"weight": FREE_PER_PERMANGANATE, "floc": PERMANGANATE_FLOC}
        yield row, _taken(**taken)


def _taken(**given: Row) -> list[Row]:
    return [given.get(name, {}) for name in SOLUTES]
