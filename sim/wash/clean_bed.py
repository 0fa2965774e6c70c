"""A stage's clean bed: what it loses in service, how far a wash lifts it, and what room is left above."""

import math
from functools import lru_cache

from hydraulics import water
from hydraulics.constants import ERGUN_INERTIAL, ERGUN_VISCOUS
from hydraulics.expansion import ExpandedLayer, Form, Sublayer, expand_layer, sublayers
from hydraulics.headloss import ergun_gradient, square_law_loss
from sim.case.stage.records import Layer, Stage


def sublayers_of(layer: Layer) -> tuple[Sublayer, ...]:
    """The slices of a layer as the laws of expansion want them, top first."""
    return sublayers(
        layer.depth, layer.sublayer_sizes, sphericity=layer.sphericity, porosity=layer.porosity,
        grain_density=layer.grain_density,
    )  # fmt: skip


@lru_cache(maxsize=4096)
def expanded_bed(stage: Stage, flow: float, temperature: float, form: Form = "ergun") -> tuple[ExpandedLayer, ...]:
    """The layers of a stage under an upflow [m3/s] of water at a temperature [degC], top first.

    Ergun's law lifts the bed, with the coefficients of the stage where that is its law and the published ones where
    it is the laminar one. Raises DomainError, as `hydraulics.expansion.expand`: Richardson and Zaki's form has no
    answer just above the velocity that lifts a sublayer.
    """
    viscous, inertial = lifting_coefficients(stage)
    mu, rho, v = water.viscosity(temperature), water.density(temperature), flow / stage.vessel.area
    return tuple(
        expand_layer(v, mu, rho, sublayers_of(layer), viscous=viscous, inertial=inertial, form=form)
        for layer in stage.layers
    )


def lifting_coefficients(stage: Stage) -> tuple[float, float]:
    """Viscous and inertial coefficient of Ergun's law for a bed that is lifted."""
    if stage.head_loss.law == "carman-kozeny":
        return ERGUN_VISCOUS, ERGUN_INERTIAL
    return stage.head_loss.viscous, stage.head_loss.inertial


def upflow_loss(stage: Stage, flow: float, temperature: float) -> float:
    """Pressure [Pa] over the clean bed under an upflow: its buoyant weight where lifted; not falling in the flow."""
    return math.fsum(layer.loss for layer in expanded_bed(stage, flow, temperature))


def clean_loss(stage: Stage, flow: float, temperature: float) -> float:
    """Pressure drop [Pa] that the gauge of a clean, packed bed shows in service, by the laws of the stage."""
    laws = stage.head_loss
    mu, rho, v = water.viscosity(temperature), water.density(temperature), flow / stage.vessel.area
    # The laminar law is this one without its inertial term.
    bed = math.fsum(
        each.depth
        * ergun_gradient(
            v, mu, rho, size=each.size, sphericity=each.sphericity, porosity=each.porosity,
            viscous=laws.viscous, inertial=laws.inertial,
        )
        for layer in stage.layers
        for each in sublayers_of(layer)
    )  # fmt: skip
    return bed + (square_law_loss(laws.valve_constant, flow) if laws.tap == "vessel" else 0.0)


def packed_depth(stage: Stage) -> float:
    """Depth of the bed at rest [m]."""
    return math.fsum(layer.depth for layer in stage.layers)


def expanded_height(bed: tuple[ExpandedLayer, ...]) -> float:
    """Height of a lifted bed [m], inf where grains are carried away."""
    return sum(layer.height for layer in bed)


def freeboard(stage: Stage, flow: float, temperature: float, form: Form = "ergun") -> float:
    """Free height [m] above the bed under an upflow, negative where it does not fit, -inf where grains are carried.

    The bed rests at the bottom of the vessel and the outlet is at its top.
    """
    return stage.vessel.height - expanded_height(expanded_bed(stage, flow, temperature, form))


def water_volume(stage: Stage) -> float:
    """Water that the vessel holds beside its grains [m3]."""
    grains = math.fsum((1.0 - layer.porosity) * layer.depth for layer in stage.layers)
    return stage.vessel.area * (stage.vessel.height - grains)
