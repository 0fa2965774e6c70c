"""A plant laid out as arrays: one value per cell, one per entry of the series, one per step."""

from __future__ import annotations

from math import exp, inf
from typing import NamedTuple

import numpy as np

from .spec import POLICIES, Floats, Layer, Plant, density, viscosity

CALENDAR, VOLUME, RESERVE, PRESSURE, NEVER = range(5)
BACKWASH, SETTLE, RINSE = range(3)


class Cells(NamedTuple):
    """Constants of every cell from the top down; a cell's state is its load, g/m2 (deposit x depth)."""

    strength: Floats  # filter coefficient x depth, clean and ripened, in the reference water
    water_exponent: Floats  # of the viscosity in it
    capacity: Floats  # g/m2, ultimate deposit x depth
    porosity: Floats
    narrowing: Floats  # porosity lost per g/m2; 0 under linear growth
    viscous: Floats  # times mu v (1-e)^2/e^3 gives Pa
    inertial: Floats  # times rho v^2 (1-e)/e^3 gives Pa
    linear: Floats  # times mu v load gives Pa; 0 under pore-narrowing
    firm_share: Floats
    cleaning: Floats  # factor on the cleaning rates


class Series(NamedTuple):
    """Forcing, one value per `series_seconds`."""

    flow: Floats  # m3/s
    solids: Floats  # g/m3
    viscosity: Floats  # Pa s
    density: Floats  # kg/m3
    dosed: Floats  # g/m3, all of it floc that a bed can stop


class Bed(NamedTuple):
    """Vessel and bed as one set of numbers."""

    area: float
    vessel: float  # m3 of water in the vessel
    pores: float  # m3 of it in and below the bed
    limit: float  # g/m3
    unfilterable: float
    floor: float
    valve: float
    seen: float  # 1 where the gauge sees the valve, else 0
    reference_rate: float
    reference_viscosity: float
    exponent: float
    ripening_share: float
    ripening_volume: float
    tanks: int
    per_layer: int  # cells


class Wash(NamedTuple):
    """The steps of the wash, one entry each."""

    do: np.ndarray
    ticks: np.ndarray
    flow: Floats
    kept: Floats  # share of the loose deposit that a tick leaves in place
    firm_kept: Floats  # and of the firm
    solids: Floats  # g/m3 of the washwater, -1 for raw


class Rule(NamedTuple):
    """The trigger; `at` and `longest_at` below zero where no hour is set."""

    kind: int
    every: float
    at: float
    volume: float
    reserve: float
    above: float
    hold: float
    longest: float
    longest_at: float
    start_of_day: float


def layer_cells(plant: Plant, layer: Layer) -> Cells:
    """The cells of one layer."""
    count = plant.cells_per_layer
    if count % len(layer.sizes) or count % len(layer.coefficients) or count % len(layer.cleaning):
        raise ValueError(f"{count} cells cannot share {layer.sizes}, {layer.coefficients}, {layer.cleaning} evenly")
    depth, ones = layer.depth / count, np.ones(count)
    grain = layer.sphericity * np.repeat(layer.sizes, count // len(layer.sizes))
    linear = plant.growth == "linear"
    unit_drag = plant.reference_rate * float(viscosity(np.array(plant.reference_temperature)))
    return Cells(
        strength=depth * np.repeat(layer.coefficients, count // len(layer.coefficients)),
        water_exponent=layer.water_exponent * ones,
        capacity=layer.ultimate * depth * ones,
        porosity=layer.porosity * ones,
        narrowing=0.0 * ones if linear else ones / (layer.deposit_density * depth),
        viscous=plant.viscous * depth / grain**2,
        inertial=plant.inertial * depth / grain,
        linear=layer.linear_gain / unit_drag * ones if linear else 0.0 * ones,
        firm_share=layer.firm_share * ones,
        cleaning=np.repeat(layer.cleaning, count // len(layer.cleaning)),
    )


def all_cells(plant: Plant) -> Cells:
    """The cells of the whole bed."""
    parts = [layer_cells(plant, layer) for layer in plant.layers]
    return Cells(*(np.concatenate(columns) for columns in zip(*parts, strict=True)))


def all_series(plant: Plant) -> Series:
    """Forcing arrays, with the water's own properties looked up once."""
    needed = int(np.ceil(plant.length / plant.series_seconds - 1e-9))
    for name in ("flow", "solids", "temperature", *(["dosed"] if plant.dosed is not None else [])):
        if len(getattr(plant, name)) < needed:
            raise ValueError(f"{name} has {len(getattr(plant, name))} values, the run needs {needed}")
    warmth = np.asarray(plant.temperature, dtype=float)
    flow, solids = np.asarray(plant.flow, dtype=float), np.asarray(plant.solids, dtype=float)
    dosed = np.zeros_like(solids) if plant.dosed is None else np.asarray(plant.dosed, dtype=float)
    return Series(flow, solids, viscosity(warmth), density(warmth), dosed)


def whole_ticks(seconds: float, tick: float, what: str) -> int:
    """How many ticks `seconds` are; a twin that rounded them would change volumes, so it refuses."""
    count = round(seconds / tick)
    if count < 1 or abs(count * tick - seconds) > 1e-6:
        raise ValueError(f"{what} of {seconds} s is not a whole number of {tick} s ticks")
    return count


def bed_of(plant: Plant) -> Bed:
    """The plant's vessel and bed for the loop."""
    return Bed(
        area=plant.area,
        vessel=plant.water_volume,
        pores=plant.pore_volume,
        limit=plant.limit,
        unfilterable=plant.unfilterable,
        floor=plant.porosity_floor,
        valve=plant.valve_constant,
        seen=1.0 if plant.valve_seen else 0.0,
        reference_rate=plant.reference_rate,
        reference_viscosity=float(viscosity(np.array(plant.reference_temperature))),
        exponent=plant.velocity_exponent,
        ripening_share=plant.ripening_share,
        ripening_volume=plant.ripening_volume,
        tanks=plant.tanks,
        per_layer=plant.cells_per_layer,
    )


def wash_of(plant: Plant, tick: float) -> Wash:
    """The plant's wash for the loop."""
    steps = plant.steps
    return Wash(
        do=np.array([("backwash", "settle", "rinse").index(step.do) for step in steps]),
        ticks=np.array([whole_ticks(step.seconds, tick, step.do) for step in steps]),
        flow=np.array([step.flow for step in steps], dtype=float),
        kept=np.array([exp(-step.cleaning_rate * tick) for step in steps]),
        firm_kept=np.array([exp(-step.firm_rate * tick) for step in steps]),
        solids=np.array([-1.0 if step.water_solids is None else float(step.water_solids) for step in steps]),
    )


def rule_of(plant: Plant) -> Rule:
    """The plant's trigger for the loop."""
    trigger = plant.trigger
    return Rule(
        kind=(*POLICIES, "never").index(trigger.kind),
        every=float(trigger.every),
        at=-1.0 if trigger.at is None else float(trigger.at),
        volume=float(trigger.volume),
        reserve=float(trigger.reserve),
        above=float(trigger.above),
        hold=float(trigger.hold),
        longest=inf if trigger.longest_run is None else float(trigger.longest_run),
        longest_at=next((float(at) for at in (trigger.longest_run_at, trigger.at) if at is not None), -1.0),
        start_of_day=float(plant.start_of_day),
    )
