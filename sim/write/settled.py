"""The run of a bed that was washed many times, with what its washes leave in it."""

import math
from collections.abc import Callable
from functools import cache

from hydraulics import water
from hydraulics.shear import sublayer_cleaning
from sim.case.records import Case
from sim.case.stage.clean_run import CleanRun, cells_at
from sim.case.stage.records import Layer, Stage
from sim.wash.clean_bed import lifting_coefficients
from sim.wash.flow import wash_flow

LEAST_TAKEN = 1e-3
"""Of what lies in a bed: a wash that takes less leaves ever more, and no run is alike the one before."""

MOST_LEFT = 0.9
"""Of the ultimate deposit: a bed left fuller than this is taken as this full."""


def left_by_washes(case: Case, run: CleanRun, load: float) -> tuple[float, ...]:
    """Deposit [g/m3] in each layer after a wash, once runs of a load [g/m2] and their washes are all alike.

    Each pool keeps e^-kt of itself. What a wash leaves is mixed through its layer, so that of R left before and a
    fresh deposit F, of which a share s belongs to the pool, R = e R + s e F: R = s e F / (1 - e), e and e F as means
    and sums over the cells.
    """
    stage, each = run.stage, run.stage.cells_per_layer
    fresh = cells_at(run.bed, run.rate, run.viscosity, load)
    left = []
    for place, layer in enumerate(stage.layers):
        cells = fresh[place * each : (place + 1) * each]
        held = 0.0
        for share, kept in _pools(case, stage, layer, run.temperature):
            stays = math.fsum(cell.thickness * kept(cell.size) for cell in cells) / layer.depth
            brought = share * math.fsum(cell.thickness * cell.deposit * kept(cell.size) for cell in cells)
            held += brought / max(1.0 - stays, LEAST_TAKEN)
        left.append(min(held / layer.depth, MOST_LEFT * layer.ultimate_deposit))
    return tuple(left)


def _pools(
    case: Case, stage: Stage, layer: Layer, temperature: float
) -> tuple[tuple[float, Callable[[float], float]], ...]:
    """The loose and the firm share of fresh deposit, each with what a wash keeps of it at a grain size [m]."""

    @cache
    def exponents(size: float) -> tuple[float, float]:
        loose = firm = 0.0
        for step in stage.steps:
            if step.do != "backwash":
                continue
            if step.cleaning_rate is not None:
                rates, factor = (step.cleaning_rate, step.cleaning_rate), 1.0
            else:
                rates = (stage.loose_rate, stage.firm_rate)
                factor = _cleaning(stage, layer, size, wash_flow(case, stage, step, temperature), temperature)
                factor *= stage.air_factor if step.air else 1.0
            loose += rates[0] * factor * step.seconds
            firm += rates[1] * factor * step.seconds
        return loose, firm

    return (
        (1.0 - layer.firm_share, lambda size: math.exp(-exponents(size)[0])),
        (layer.firm_share, lambda size: math.exp(-exponents(size)[1])),
    )


def _cleaning(stage: Stage, layer: Layer, size: float, flow: float, temperature: float) -> float:
    """How well a wash cleans the grains of one size, against the best it could."""
    viscous, inertial = lifting_coefficients(stage)
    return sublayer_cleaning(
        flow / stage.vessel.area,
        water.viscosity(temperature),
        water.density(temperature),
        size=size,
        sphericity=layer.sphericity,
        porosity=layer.porosity,
        grain_density=layer.grain_density,
        viscous=viscous,
        inertial=inertial,
    )
