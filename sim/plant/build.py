"""From the records of a case to the rows of the line."""

import math
from dataclasses import dataclass, field
from functools import cache, lru_cache
from typing import Any, TypeAlias

import numpy as np
from numpy.polynomial import Chebyshev
from scipy.special import gammainccinv

from hydraulics.capture import ripening_mean
from hydraulics.constants import ERGUN_INERTIAL, ERGUN_VISCOUS
from hydraulics.water import COLDEST, HOTTEST, density, viscosity
from sim.case.records import Case
from sim.case.stage.records import Layer, Stage
from sim.plant.bed import QUICK_LOAD
from sim.plant.build_solutes import air_rates, brought, dosing_row, follows, may_fall, met_rows, uptakes_of
from sim.plant.layout import (
    CELL,
    CONTROL,
    DISSOLVED,
    EDGE,
    FORCING,
    JOLT,
    LAYER,
    LEG,
    MET,
    NOISE,
    PART,
    PORTION,
    PUMP,
    SOLUTE_COUNT,
    STAGE,
    STANDBY,
    TAKEN,
    UNIT,
    UPTAKE,
    VESSEL,
    WATER,
    Tables,
    rows,
)
from sim.plant.switch import READINGS
from sim.weather import Forcing, build_forcing
from sim.weather.jolts import jolts
from sim.weather.streams import stream

REMNANT_SHARE = 1e-6  # of what a wash left in the vessel's water: less than this is no longer followed
DISPLACEMENT_VOLUMES = (0.3, 0.6, 1.0, 1.5, 2.0, 3.0, 4.5)  # vessel volumes at which displacement is cut
FIT_DEGREE = 18  # of the water's properties over their range
RIPENED_AT = 10.0  # ripening volumes after which a bed counts as ripe
RIPENING_PIECES, RIPENING_DECADE = 40, 21  # back from there, so many to a tenth: dirty water sent on to about 3 %
ANY_NUMBER = np.iinfo(np.int64).max  # of pieces
SHARE_LIMIT = 1e-3  # most by which the flow of a vessel may change within a piece

Array: TypeAlias = np.ndarray[Any, np.dtype[Any]]
Row: TypeAlias = dict[str, float]


@dataclass(slots=True)
class _Beds:
    """The rows of all vessels, as they are collected."""

    vessels: list[Row] = field(default_factory=list)
    layers: list[Row] = field(default_factory=list)
    parts: list[Row] = field(default_factory=list)
    cells: list[Row] = field(default_factory=list)
    edges: list[Row] = field(default_factory=list)
    uptakes: list[Row] = field(default_factory=list)
    taken: list[Row] = field(default_factory=list)

    def add(self, k: int, stage: Stage) -> None:
        """One more vessel of stage k."""
        places: Row = {
            "stage": k,
            "first_layer": len(self.layers),
            "first_part": len(self.parts),
            "first_edge": len(self.edges),
            "first_uptake": len(self.uptakes),
        }
        for layer in stage.layers:
            first_row, first_cell = len(self.layers), len(self.cells)
            _add_layer(stage, layer, self.layers, self.cells)
            self.parts += _parts(stage, layer, first_row, first_cell, first_part=len(self.parts))
        self.edges += _edges(stage)
        for uptake, taken in uptakes_of(stage):
            row = len(self.uptakes)
            own = {"vessel": len(self.vessels), "partner": row + uptake.get("partner", 0), "capacity_left": 1.0}
            self.uptakes.append(uptake | own)
            self.taken += taken
        places |= {"end_layer": len(self.layers), "end_part": len(self.parts)}
        places |= {"end_edge": len(self.edges), "edge": len(self.edges), "end_uptake": len(self.uptakes)}
        self.vessels.append(_constants(stage) | places | _state(stage, self.edges[-1]["filtered"]))


def build_tables(case: Case, *, seed: int = 1, replicate: int = 0) -> Tables:
    """The line of a case, its beds clean and its vessels full of clean water, under the weather of one replicate."""
    return build_rows(case, seed, replicate).copy()


@lru_cache(maxsize=4)
def build_rows(case: Case, seed: int, replicate: int) -> Tables:
    """Kept for the next caller, since every policy of a case starts with the same rows; not to be written to."""
    beds, stages, fine_before, errors = _Beds(), [], 1.0, 0
    given = build_forcing(case.run, case.feed, case.demand, seed=seed, replicate=replicate)
    for k, stage in enumerate(case.stages):
        first = len(beds.vessels)
        for _ in range(stage.vessels.count):
            beds.add(k, stage)
        fine = stage.unfilterable / fine_before if fine_before > 0.0 else 0.0
        fine_before = stage.unfilterable
        places = {"first_vessel": first, "end_vessel": len(beds.vessels)}
        stages.append(_stage(stage, errors) | places | {"fine_share": fine})
        errors += READINGS if stage.switch else 0
    return Tables(
        forcing=_forcing(case, given),
        jolt=rows(JOLT, jolts(case, seed=seed, replicate=replicate)),
        noise=_noise(case, seed, replicate),
        pump=_pump(case),
        control=rows(CONTROL, [_control(case)]),
        unit=rows(UNIT, [_unit(case)]),
        stage=rows(STAGE, stages),
        vessel=rows(VESSEL, beds.vessels),
        layer=rows(LAYER, beds.layers),
        part=rows(PART, beds.parts),
        cell=rows(CELL, beds.cells),
        edge=rows(EDGE, beds.edges),
        leg=np.zeros(len(beds.vessels), LEG),
        water=np.zeros(len(stages) + 1, WATER),
        probe=np.zeros(len(beds.vessels), LEG),
        trial=np.zeros(len(stages) + 1, WATER),
        brought=brought(case, given),
        uptake=rows(UPTAKE, beds.uptakes),
        taken=rows(TAKEN, beds.taken),
        met=rows(MET, [row for stage in case.stages for row in met_rows(stage)]),
        portion=np.zeros(SOLUTE_COUNT * len(beds.vessels), PORTION),
        dissolved=np.zeros(SOLUTE_COUNT * (len(stages) + 1 + len(beds.vessels)), DISSOLVED),
        tried=np.zeros(SOLUTE_COUNT * (len(stages) + 1 + len(beds.vessels)), DISSOLVED),
    )


def _stage(stage: Stage, first_error: int) -> Row:
    start, jolt, switch = stage.start_spike, stage.valve_spike, stage.switch
    return {
        "sample": switch.sample if switch else 0.0,
        "error": switch.error if switch else 0.0,
        "reset": switch.reset_difference if switch else 0.0,
        "first_error": first_error,
        "limit": math.nan if stage.limit is None else stage.limit,
        "start_height": start.height if start else 0.0,
        "start_length": start.length if start else 0.0,
        "jolt_height": jolt.height if jolt else 0.0,
        "jolt_length": jolt.length if jolt else 0.0,
        "passes_raw": stage.while_washing == "passes raw",
        "inhibit": stage.vessels.inhibit_while_sister_washes,
        "dose_factor": 1.0,
        "sharing": stage.vessels.sharing,
    } | dosing_row(stage)


def _control(case: Case) -> Row:
    pump = case.pump
    return {
        "dissolves": follows(case),
        "power": 1,
        "falls": may_fall(case),
        "share_limit": SHARE_LIMIT,
        "most_pieces": ANY_NUMBER,
        "shared": any(stage.vessels.sharing > 1 for stage in case.stages),
        "delivery": pump.delivery if pump else 0.0,
        "other_loss": pump.other_loss if pump else 0.0,
    }


def _pump(case: Case) -> Array:
    if case.pump is None:
        return rows(PUMP, [])
    points = zip(case.pump.flows, case.pump.pressures, strict=True)
    return rows(PUMP, [{"flow": flow, "pressure": pressure} for flow, pressure in points])


def _noise(case: Case, seed: int, replicate: int) -> Array:
    """The errors of every switch, each stage's from a stream of its own."""
    names = [stage.name for stage in case.stages if stage.switch]
    array = np.zeros(READINGS * len(names), NOISE)
    for place, name in enumerate(names):
        draws = stream(f"switch {name}", seed=seed, replicate=replicate).standard_normal(READINGS)
        array["error"][place * READINGS : (place + 1) * READINGS] = draws
    return array


def _unit(case: Case) -> Row:
    """The unit with its tank at the first level; it runs from the start unless the tank is full enough to stop."""
    below = case.downstream
    limit = math.nan if below is None or below.feed_limit is None else below.feed_limit
    if below is None or below.unit is None:
        return {"feed_limit": limit}
    unit, tank = below.unit, below.unit.tank
    return {
        "exists": 1,
        "feed_limit": limit,
        "feed_flow": unit.feed_flow,
        "recovery": unit.recovery,
        "volume": tank.volume,
        "start_below": tank.start_below,
        "stop_above": tank.stop_above,
        "level": tank.level,
        "running": tank.level < tank.stop_above,
    }


def water_volumes(stage: Stage) -> tuple[float, float]:
    """Water in the whole vessel, and in the bed's pores with the underdrain [m3]."""
    area = stage.vessel.area
    pores = sum(layer.depth * layer.porosity for layer in stage.layers)
    grains = sum(layer.depth * (1.0 - layer.porosity) for layer in stage.layers)
    whole = area * (stage.vessel.height - grains) + stage.underdrain_volume
    return whole, area * pores + stage.underdrain_volume


def _forcing(case: Case, given: Forcing) -> Array:
    array = np.zeros(len(given.end), FORCING)
    array["end"], array["flow"], array["solids"] = given.end, given.flow, given.solids
    array["temperature"] = given.temperature
    if (coagulant := case.feed.coagulant) is not None:
        array["dosed"] = coagulant.adds + coagulant.adds_per_solids * given.solids
    array["air_rate"] = air_rates(case, given)
    known, place = np.unique(given.temperature, return_inverse=True)
    array["viscosity"], array["density"] = (values[place] for values in _water(known))
    return array


def _water(temperatures: Array) -> tuple[Array, Array]:
    """Viscosity [Pa s] and density [kg/m3] at many temperatures [degC]; above a few by a fit good to 1e-12."""
    laws = (viscosity, density)
    if len(temperatures) <= FIT_DEGREE:
        mu, rho = (np.array([law(float(t)) for t in temperatures]) for law in laws)
    else:
        mu, rho = (fit(temperatures) for fit in _water_fits())
    return mu, rho


@cache
def _water_fits() -> tuple[Chebyshev, Chebyshev]:
    """Both laws over their whole range, interpolated at Chebyshev points: a year of days in one call."""
    mu, rho = (
        Chebyshev.interpolate(np.vectorize(law), FIT_DEGREE, domain=[COLDEST, HOTTEST])
        for law in (viscosity, density)
    )
    return mu, rho


def _constants(stage: Stage) -> Row:
    whole, pores = water_volumes(stage)
    head_loss = stage.head_loss
    return {
        "whole_area": stage.vessel.area,
        "area": stage.vessel.area,
        "media_left": 1.0,
        "rate_exponent": stage.velocity_exponent,
        "reference_rate": stage.reference_rate,
        "reference_viscosity": stage.reference_viscosity,
        "follows_water": any(layer.viscosity_exponent > 0.0 for layer in stage.layers),
        "slough_exponent": stage.sloughing.exponent if stage.sloughing else 0.0,
        "mat_share": stage.mat.share if stage.mat else 0.0,
        "mat_resistance": stage.mat.resistance if stage.mat else 0.0,
        "valve": head_loss.valve_constant,
        "seen": 1.0 if head_loss.tap == "vessel" else 0.0,
        "vessel_water": whole,
        "bed_water": pores,
        "displaced": _displaced(stage),
        "porosity_floor": stage.porosity_floor,
        "settle_load": _settle_load(stage),
        "ergun_viscous": head_loss.viscous if head_loss.law == "ergun" else ERGUN_VISCOUS,
        "ergun_inertial": head_loss.inertial if head_loss.law == "ergun" else ERGUN_INERTIAL,
        "tanks": stage.tanks,
        "pulls": stage.wash_path == "through earlier stages",
        "mode": STANDBY,
        "factor_flow": math.nan,
    }


def _state(stage: Stage, ready: float) -> Row:
    """A clean stage, `ready` m3 after its last wash and with nothing to wait for."""
    return {
        "filtered": ready,
        "capture": 1.0,
        "ultimate": 1.0,
        "bed_viscosity": stage.reference_viscosity,
        "above_since": math.nan,
        "volume_set": math.inf,
        "pressure_set": math.inf,
        "monitor_set": math.inf,
        "over_since": math.nan,
        "bound_load": -math.inf,
        "read_load": -math.inf,
    }


def _add_layer(stage: Stage, layer: Layer, layers: list[Row], cells: list[Row]) -> None:
    """One row where the whole layer captures alike, one per sublayer where each has its own coefficient."""
    parts = len(layer.filter_coefficients)
    sizes = layer.sublayer_sizes
    per_part = stage.cells_per_layer // parts
    depth = layer.depth / parts
    step = depth / per_part
    linear = stage.head_loss.growth == "linear"
    gain = (layer.head_loss_gain or 0.0) / (stage.reference_rate * stage.reference_viscosity)
    for part, coefficient in enumerate(layer.filter_coefficients):
        first = len(cells)
        for i in range(per_part):
            grain = sizes[(part * per_part + i) * len(sizes) // stage.cells_per_layer] * layer.sphericity
            cells.append(
                {
                    "node": depth * (i + 1) / per_part,
                    "porosity": layer.porosity,
                    "filling": math.inf if linear else layer.deposit_density * step,
                    "viscous": stage.head_loss.viscous * step / grain**2,
                    "inertial": stage.head_loss.inertial * step / grain,
                    "gain": gain if linear else 0.0,
                }
            )
        layers.append(
            {
                "coefficient": coefficient,
                "reference": coefficient,
                "viscosity_exponent": layer.viscosity_exponent,
                "ultimate": layer.ultimate_deposit,
                "depth": depth,
                "first_cell": first,
                "end_cell": len(cells),
            }
        )


def _parts(stage: Stage, layer: Layer, first_row: int, first_cell: int, *, first_part: int) -> list[Row]:
    """One row per sublayer, or one for the whole layer where its grains are alike; top first."""
    sizes, layer_rows = layer.sublayer_sizes, len(layer.filter_coefficients)
    count = max(len(sizes), layer_rows)
    per_part = stage.cells_per_layer // count
    return [
        {
            "depth": layer.depth / count,
            "grain_size": sizes[place * len(sizes) // count],
            "sphericity": layer.sphericity,
            "porosity": layer.porosity,
            "grain_density": layer.grain_density,
            "firm_share": layer.firm_share or 0.0,
            "layer": first_row + place * layer_rows // count,
            "first_cell": first_cell + place * per_part,
            "end_cell": first_cell + (place + 1) * per_part,
            "first_mate": first_part,
            "end_mate": first_part + count,
        }
        for place in range(count)
    ]


def _settle_load(stage: Stage) -> float:
    """Pending load [g/m2] at which some layer's exact step comes to QUICK_LOAD; a bed that captures nothing: 1."""
    layers = [(max(layer.filter_coefficients), layer.ultimate_deposit) for layer in stage.layers]
    return min((QUICK_LOAD * ultimate / most for most, ultimate in layers if most > 0.0), default=1.0)


def _displaced(stage: Stage) -> float:
    """Volume since a wash after which at most REMNANT_SHARE of what it left is still in the vessel [m3]."""
    return float(gammainccinv(stage.tanks, REMNANT_SHARE)) / stage.tanks * water_volumes(stage)[0]


def _edges(stage: Stage) -> list[Row]:
    """Where pieces are cut on the way back from a wash [m3], and the mean ripening factor before each cut."""
    whole, area, ripening = water_volumes(stage)[0], stage.vessel.area, stage.ripening
    displaced = _displaced(stage)
    cuts = {x * whole for x in DISPLACEMENT_VOLUMES if x * whole < displaced} | {displaced}
    ripe = 0.0
    if ripening is not None:
        ripe = RIPENED_AT * ripening.volume * area
        cuts |= {ripe * 10.0 ** (-i / RIPENING_DECADE) for i in range(RIPENING_PIECES)}
    ends = sorted(cuts)
    edges: list[Row] = []
    for start, end in zip([0.0, *ends], ends, strict=False):
        factor = 1.0
        if ripening is not None and end <= ripe:
            factor = ripening_mean(start / area, end / area, ripening.share, ripening_volume=ripening.volume)
        edges.append({"filtered": end, "ripening": factor})
    return edges
