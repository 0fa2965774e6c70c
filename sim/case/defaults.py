"""What stands in for a constant that a case file leaves out."""

from collections.abc import Iterator

from hydraulics.media import CATALOGUE, DEFAULTS, Constant
from sim.case.schema import CaseFile
from sim.case.series.schema import FeedTable
from sim.case.series.waters import WATERS, typical_deposit_density
from sim.case.stage.schema import CollectorTable, LayerTable, StageTable

SHARE_OF_ROOM = 0.9
"""Of the deposit that would close the pores to the floor: what an assumed ultimate deposit may come to."""


def porosity_of(layer: LayerTable) -> float:
    """Clean porosity, given or typical [-]."""
    return CATALOGUE[layer.medium].porosity.value if layer.porosity is None else layer.porosity


def porosity_floor_of(stage: StageTable) -> float:
    """Porosity at which a cell counts as blocked, given or typical [-]."""
    return DEFAULTS["porosity_floor"].value if stage.porosity_floor is None else stage.porosity_floor


def reference_rate_of(stage: StageTable) -> float:
    """Filtration rate at which the coefficients hold, given or typical [m/s]."""
    return DEFAULTS["reference_rate"].value if stage.reference_rate is None else stage.reference_rate


def velocity_exponent_of(stage: StageTable) -> float:
    """Of the rate in the filter coefficient, given or typical [-]."""
    return DEFAULTS["velocity_exponent"].value if stage.velocity_exponent is None else stage.velocity_exponent


def viscosity_exponent_of(stage: StageTable) -> float:
    """Of the viscosity in the filter coefficient, given or that of the velocity [-]."""
    return velocity_exponent_of(stage) if stage.viscosity_exponent is None else stage.viscosity_exponent


def size_exponent_of(stage: StageTable) -> float:
    """Of the grain size in the filter coefficient, given or typical [-]."""
    return DEFAULTS["size_exponent"].value if stage.size_exponent is None else stage.size_exponent


def gain_size_exponent_of(stage: StageTable) -> float:
    """Of the grain size in the typical gain of head loss, given or typical [-]."""
    given = stage.gain_size_exponent
    return DEFAULTS["gain_size_exponent"].value if given is None else given


def reference_temperature_of(stage: StageTable) -> float:
    """Temperature at which a given gain of head loss or filter coefficient holds, given or typical [degC]."""
    given = stage.reference_temperature
    return DEFAULTS["reference_temperature"].value if given is None else given


def is_coagulated(stage: StageTable, *, dosed: bool) -> bool:
    """Whether the water of a stage is coagulated: as it says, or else where a coagulant is dosed to the feed."""
    return dosed if stage.coagulated is None else stage.coagulated


def typical(name: str, *, coagulated: bool) -> Constant:
    """The typical value of a constant that a coagulant changes."""
    return DEFAULTS[name if coagulated else f"{name}_untreated"]


def typical_particle_size(kind: str | None, *, coagulated: bool) -> Constant | None:
    """Size of the particles that a grain collects [m]: that of floc, or usual for the kind of water; None without."""
    if coagulated:
        return DEFAULTS["floc_size"]
    return None if kind is None else WATERS[kind].particle_size


def particle_size_of(collector: CollectorTable, kind: str | None, *, coagulated: bool) -> float | None:
    """Size of the particles that a grain collects [m], given or typical; None without either."""
    usual = typical_particle_size(kind, coagulated=coagulated)
    return usual.value if collector.particle_size is None and usual is not None else collector.particle_size


def turbidity_can_be_read(feed: FeedTable) -> bool:
    """Whether solids per turbidity are given, or usual for the kind of water named."""
    return feed.solids_per_turbidity is not None or feed.water is not None


def is_linear(stage: StageTable) -> bool:
    """Whether head loss grows linearly in the deposit, as it does where the case does not say."""
    return stage.head_loss.growth != "pore-narrowing"


def growth_constant_of(stage: StageTable) -> str:
    """Key of the constant of a layer that says how deposit adds to the head loss."""
    return "head_loss_gain" if is_linear(stage) else "deposit_density"


def room_for_deposit(layer: LayerTable, stage: StageTable, kind: str | None) -> float | None:
    """Deposit that would narrow the clean pores to the floor [g/m3 of bed]: rho_d (eps0 - floor).

    `kind` is that of the water, if named. None with linear growth and no deposit density given: nothing then says
    how much room a deposit takes.
    """
    density = layer.deposit_density
    if density is None and is_linear(stage):
        return None
    density = typical_deposit_density(kind).value if density is None else density
    return density * (porosity_of(layer) - porosity_floor_of(stage))


def unfilterable_shares(case: CaseFile) -> Iterator[float]:
    """The share of the raw solids that passes each bed [-]; an assumed one never grows along the train."""
    before, dosed = 1.0, case.feed.coagulant is not None
    for stage in case.stage:
        usual = typical("unfilterable", coagulated=is_coagulated(stage, dosed=dosed)).value
        before = min(usual, before) if stage.unfilterable is None else stage.unfilterable
        yield before
