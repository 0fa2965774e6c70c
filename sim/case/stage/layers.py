"""Layers of media: from tables to records, with what the file leaves out taken from the catalogue."""

import math
from dataclasses import dataclass

from hydraulics import capture, water
from hydraulics.media import CATALOGUE, DEFAULTS, Constant, grain_size_passing, sublayer_sizes
from sim.case.assumptions import Page, lowered, noted, scaled
from sim.case.chemistry.uptake import uptake_of
from sim.case.series.waters import typical_deposit_density
from sim.case.stage.defaults import (
    SHARE_OF_ROOM,
    constant_of,
    is_linear,
    room_for_deposit,
    typical,
    typical_particle_size,
)
from sim.case.stage.records import Layer
from sim.case.stage.schema import CollectorTable, LayerTable, StageTable
from sim.case.stage.surroundings import Surroundings
from sim.case.table import record_of

SUBLAYERS = 8
"""Slices of a layer whose grains differ in size."""

def layer_of(table: LayerTable, stage: StageTable, around: Surroundings, page: Page) -> Layer:
    """The record of one layer."""
    typical = CATALOGUE[table.medium]
    size, uniformity = _grains(table, page)
    sizes = (size,) if uniformity == 1.0 else sublayer_sizes(size, uniformity, SUBLAYERS)
    sphericity = page.take("sphericity", typical.sphericity)
    porosity = page.take("porosity", typical.porosity)
    coefficients = _coefficients(table, stage, page, _Bed(sizes, porosity, around))
    captures = max(coefficients) > 0.0
    linear = is_linear(stage)
    two_pools = washes_in_two_pools(stage)
    return record_of(
        Layer,
        table,
        size=size,
        uniformity=uniformity,
        sphericity=sphericity,
        porosity=porosity,
        grain_density=page.take(
            "grain_density", typical.grain_density, used=around.driven or (captures and two_pools)
        ),
        filter_coefficients=coefficients,
        ultimate_deposit=page.take("ultimate_deposit", _ultimate(table, stage, around.water), used=captures),
        deposit_density=page.take(
            "deposit_density", typical_deposit_density(around.water), used=captures and not linear
        ),
        head_loss_gain=page.take("head_loss_gain", _gain(table, stage, sizes), used=captures and linear),
        firm_share=page.take("firm_share", typical.firm_share, used=captures and two_pools),
        sublayer_sizes=sizes,
        viscosity_exponent=0.0 if is_collected(table) else constant_of(stage, "viscosity_exponent"),
        uptake=uptake_of(table, stage, around.dissolved, page),
    )


def is_collected(table: LayerTable) -> bool:
    """Whether its filter coefficient comes from what a single grain collects, which knows size and water."""
    return isinstance(table.filter_coefficient, CollectorTable)


def gain_by_size(medium: str, sizes: tuple[float, ...], exponent: float) -> float:
    """Mean gain of head loss of a layer of such grains [m] over that of the catalogue's own layer [-]."""
    return math.fsum(capture.shares_by_size(sizes, _usual_sizes(medium), exponent)) / len(sizes)


def is_usual(layer: Layer) -> bool:
    """Whether its grains are those of the catalogue's own layer, so that no exponent moves its means."""
    return layer.sublayer_sizes == _usual_sizes(layer.medium)


def _usual_sizes(medium: str) -> tuple[float, ...]:
    typical = CATALOGUE[medium]
    return sublayer_sizes(typical.size.value, typical.uniformity.value, SUBLAYERS)


def washes_in_two_pools(stage: StageTable) -> bool:
    """Whether some backwash has no effective rate, so that loose and firm deposit part ways."""
    return any(step.do == "backwash" and step.cleaning_rate is None and step.minutes > 0.0 for step in stage.step)


def is_lowered(table: LayerTable, stage: StageTable, kind: str | None) -> bool:
    """Whether the typical ultimate deposit would not fit the pores and gives way."""
    typical = CATALOGUE[table.medium].ultimate_deposit
    return table.ultimate_deposit is None and _ultimate(table, stage, kind).value < typical.value


def _grains(table: LayerTable, page: Page) -> tuple[float, float]:
    """Effective size [m] and uniformity: given, from the sieve analysis, or typical."""
    typical, sieve = CATALOGUE[table.medium], table.sieve
    if sieve is None:
        return page.take("size", typical.size), page.take("uniformity", typical.uniformity)
    tenth, sixtieth = (grain_size_passing(sieve.opening, sieve.passing, percent) for percent in (10.0, 60.0))
    return tenth, sixtieth / tenth


@dataclass(frozen=True, slots=True)
class _Bed:
    """Grain sizes [m], porosity [-] and the water that a filter coefficient is worked out for."""

    sizes: tuple[float, ...]
    porosity: float
    around: Surroundings


def _coefficients(table: LayerTable, stage: StageTable, page: Page, bed: _Bed) -> tuple[float, ...]:
    """Filter coefficients [1/m] at the reference rate and temperature, one for each sublayer where size matters.

    One that is given is the mean of the layer as it is; a typical one is that of the catalogue's own layer at the
    typical temperature.
    """
    given = table.filter_coefficient
    if isinstance(given, CollectorTable):
        return _collected(given, stage, page.inner(given, "filter_coefficient"), bed)
    typical = CATALOGUE[table.medium]
    coagulated, untreated = typical.filter_coefficient, typical.filter_coefficient_untreated
    exponent = constant_of(stage, "size_exponent")
    if given is not None:
        mean, grains = page.take("filter_coefficient", coagulated), bed.sizes
    else:
        at_usual = page.take("typical_coefficient", coagulated if stage.coagulated else untreated)
        mean, grains = _at_reference(at_usual, stage), _usual_sizes(table.medium)
    if mean == 0.0 or exponent == 0.0:
        return (mean,)
    return tuple(mean * share for share in capture.shares_by_size(bed.sizes, grains, exponent))


def _at_reference(typical: float, stage: StageTable) -> float:
    """A typical filter coefficient [1/m] brought from its own temperature to the stage's reference."""
    here = water.viscosity(constant_of(stage, "reference_temperature"))
    own = water.viscosity(DEFAULTS["reference_temperature"].value)
    return capture.coefficient_in_water(typical, here, own, exponent=constant_of(stage, "viscosity_exponent"))


def _collected(table: CollectorTable, stage: StageTable, page: Page, bed: _Bed) -> tuple[float, ...]:
    """Filter coefficients [1/m] from what a single grain of each sublayer collects."""
    attachment = page.take("attachment", typical("attachment", coagulated=bool(stage.coagulated)))
    hamaker = page.take("hamaker")
    temperature = bed.around.temperature
    particle_size = _particle_size(table, stage, bed.around.water, page)
    coefficients = []
    for size in bed.sizes:
        efficiency = capture.collector_efficiency(
            particle_size,
            size,
            constant_of(stage, "reference_rate"),
            porosity=bed.porosity,
            temperature=temperature,
            mu=water.viscosity(temperature),
            rho=water.density(temperature),
            particle_density=table.particle_density,
            hamaker=hamaker,
        )
        coefficients.append(capture.filter_coefficient(bed.porosity, size, attachment, efficiency=efficiency))
    return tuple(coefficients)


def _particle_size(table: CollectorTable, stage: StageTable, kind: str | None, page: Page) -> float:
    """Size of the particles [m]: given, that of floc, or usual for the kind of water."""
    if table.particle_size is not None:
        return table.particle_size
    usual = typical_particle_size(kind, coagulated=bool(stage.coagulated))
    assert usual is not None, "the checks see to it"
    return page.take("particle_size", usual)


def _ultimate(table: LayerTable, stage: StageTable, kind: str | None) -> Constant:
    """Typical ultimate deposit [g/m3], at most a share of what the pores have room for."""
    typical, room = CATALOGUE[table.medium].ultimate_deposit, room_for_deposit(table, stage, kind)
    if room is None:
        return typical
    return lowered(typical, SHARE_OF_ROOM * room, f"to {SHARE_OF_ROOM:g} of the deposit that the pores hold")


def _gain(table: LayerTable, stage: StageTable, sizes: tuple[float, ...]) -> Constant:
    """Typical gain of head loss, brought from its own rate and temperature to the stage's reference, and from the
    catalogue's grains to these as the mean of the layer."""
    size = gain_by_size(table.medium, sizes, constant_of(stage, "gain_size_exponent"))
    typical = DEFAULTS["head_loss_gain"]
    if sizes != _usual_sizes(table.medium):
        typical = noted(scaled(typical, size), f"{size:.3g} times that of usual grains")
    rate = constant_of(stage, "reference_rate") / DEFAULTS["reference_rate"].value
    own = water.viscosity(DEFAULTS["reference_temperature"].value)
    return scaled(typical, rate * water.viscosity(constant_of(stage, "reference_temperature")) / own)
