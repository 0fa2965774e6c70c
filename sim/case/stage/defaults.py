"""What stands in for a constant that a case file leaves out."""

from hydraulics.media import CATALOGUE, DEFAULTS, Constant
from sim.case.series.waters import WATERS, typical_deposit_density
from sim.case.stage.schema import CollectorTable, LayerTable, StageTable

SHARE_OF_ROOM = 0.9
"""Of the deposit that would close the pores to the floor: what an assumed ultimate deposit may come to."""


def porosity_of(layer: LayerTable) -> float:
    """Clean porosity, given or typical [-]."""
    return CATALOGUE[layer.medium].porosity.value if layer.porosity is None else layer.porosity


def constant_of(stage: StageTable, name: str) -> float:
    """A constant of a stage by its key, given or typical (SI): a viscosity's exponent is that of the velocity."""
    given = getattr(stage, name)
    if given is None and name == "viscosity_exponent":
        return constant_of(stage, "velocity_exponent")
    return DEFAULTS[name].value if given is None else float(given)


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
    return density * (porosity_of(layer) - constant_of(stage, "porosity_floor"))
