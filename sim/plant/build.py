"""From the records of a case to the rows of the line."""

import math
from dataclasses import dataclass
from functools import cache
from typing import Any, TypeAlias

import numpy as np
from numpy.polynomial import Chebyshev
from scipy.special import gammainccinv

from hydraulics.capture import ripening_mean
from hydraulics.constants import ERGUN_INERTIAL, ERGUN_VISCOUS
from hydraulics.water import COLDEST, HOTTEST, density, viscosity
from sim.case.records import Case, Layer, Stage
from sim.plant.bed import QUICK_LOAD
from sim.plant.layout import CELL, CONTROL, EDGE, FORCING, LAYER, LEG, PART, STAGE, rows
from sim.weather import build_forcing

REMNANT_SHARE = 1e-6  # of what a wash left in the vessel's water: less than this is no longer followed
DISPLACEMENT_VOLUMES = (0.3, 0.6, 1.0, 1.5, 2.0, 3.0, 4.5)  # vessel volumes at which displacement is cut
FIT_DEGREE = 18  # of the water's properties over their range
RIPENING_PIECES = 64  # dirty water sent on to about 3 %, all else far closer
RIPENED_AT = 10.0  # ripening volumes after which a bed counts as ripe
RIPENING_FIRST = 0.01  # end of the first ripening piece, in ripening volumes
FIRST_BOUND = 1.0 / 16.0  # of the settle load: how far a pressure bound looks at first

Array: TypeAlias = np.ndarray[Any, np.dtype[Any]]
Row: TypeAlias = dict[str, float]


@dataclass(slots=True)
class Arrays:
    """Every row of the line."""

    forcing: Array
    control: Array
    stage: Array
    layer: Array
    part: Array
    cell: Array
    edge: Array
    leg: Array
    probe: Array


def build_arrays(case: Case, *, seed: int = 1, replicate: int = 0) -> Arrays:
    """The line of a case, its beds clean and its vessels full of clean water, under the weather of one replicate."""
    stages: list[Row] = []
    layers: list[Row] = []
    parts: list[Row] = []
    cells: list[Row] = []
    edges: list[Row] = []
    fine_before = 1.0
    for stage in case.stages:
        places: Row = {"first_layer": len(layers), "first_part": len(parts), "first_edge": len(edges)}
        for layer in stage.layers:
            first_row, first_cell = len(layers), len(cells)
            _add_layer(stage, layer, layers, cells)
            parts += _parts(stage, layer, first_row, first_cell, first_part=len(parts))
        edges += _edges(stage)
        places |= {"end_layer": len(layers), "end_part": len(parts), "end_edge": len(edges), "edge": len(edges)}
        fine = {"fine_share": stage.unfilterable / fine_before if fine_before > 0.0 else 0.0}
        fine_before = stage.unfilterable
        stages.append(_constants(stage) | places | fine | _state(stage, edges[-1]["filtered"]))
    return Arrays(
        forcing=_forcing(case, seed, replicate),
        control=rows(CONTROL, 1),
        stage=rows(STAGE, stages),
        layer=rows(LAYER, layers),
        part=rows(PART, parts),
        cell=rows(CELL, cells),
        edge=rows(EDGE, edges),
        leg=rows(LEG, len(stages)),
        probe=rows(LEG, len(stages)),
    )


def water_volumes(stage: Stage) -> tuple[float, float]:
    """Water in the whole vessel, and in the bed's pores with the underdrain [m3]."""
    area = stage.vessel.area
    pores = sum(layer.depth * layer.porosity for layer in stage.layers)
    grains = sum(layer.depth * (1.0 - layer.porosity) for layer in stage.layers)
    whole = area * (stage.vessel.height - grains) + stage.underdrain_volume
    return whole, area * pores + stage.underdrain_volume


def _forcing(case: Case, seed: int, replicate: int) -> Array:
    given = build_forcing(case.run, case.feed, case.demand, seed=seed, replicate=replicate)
    array = rows(FORCING, len(given.end))
    array["end"], array["flow"], array["solids"] = given.end, given.flow, given.solids
    array["temperature"] = given.temperature
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
        "area": stage.vessel.area,
        "rate_exponent": stage.velocity_exponent,
        "reference_rate": stage.reference_rate,
        "slough_exponent": stage.sloughing.exponent if stage.sloughing else 0.0,
        "mat_share": stage.mat.share if stage.mat else 0.0,
        "mat_resistance": stage.mat.resistance if stage.mat else 0.0,
        "valve": head_loss.valve_constant,
        "seen": 1.0 if head_loss.tap == "vessel" else 0.0,
        "limit": math.nan if stage.limit is None else stage.limit,
        "vessel_water": whole,
        "bed_water": pores,
        "displaced": _displaced(stage),
        "porosity_floor": stage.porosity_floor,
        "settle_load": _settle_load(stage),
        "ergun_viscous": head_loss.viscous if head_loss.law == "ergun" else ERGUN_VISCOUS,
        "ergun_inertial": head_loss.inertial if head_loss.law == "ergun" else ERGUN_INERTIAL,
        "tanks": stage.tanks,
    }


def _state(stage: Stage, ready: float) -> Row:
    """A clean stage, `ready` m3 after its last wash and with nothing to wait for."""
    return {
        "filtered": ready,
        "capture": 1.0,
        "ultimate": 1.0,
        "above_since": math.nan,
        "volume_set": math.inf,
        "pressure_set": math.inf,
        "bound_step": FIRST_BOUND * _settle_load(stage),
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
        grow = (RIPENED_AT / RIPENING_FIRST) ** (1.0 / (RIPENING_PIECES - 1))
        cuts |= {ripening.volume * area * RIPENING_FIRST * grow**i for i in range(RIPENING_PIECES - 1)} | {ripe}
    ends = sorted(cuts)
    edges: list[Row] = []
    for start, end in zip([0.0, *ends], ends, strict=False):
        factor = 1.0
        if ripening is not None and end <= ripe:
            factor = ripening_mean(start / area, end / area, ripening.share, ripening_volume=ripening.volume)
        edges.append({"filtered": end, "ripening": factor})
    return edges
