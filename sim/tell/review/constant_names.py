"""The constants that a case leaves to be assumed, by names that a person reads, and what each of them is."""

from collections.abc import Sequence
from typing import Final

from sim.case.records import Case
from sim.case.stage.records import Stage
from sim.tell.sentences import SITE

MEANINGS: Final = {
    "air_factor": "how much more a wash cleans under air",
    "attachment": "share of the particles met that stay on a grain",
    "deposit_density": "solids in what fills the pores",
    "discharge": "discharge coefficient of the hole",
    "exponent": "how the deposit a bed can hold falls with the rate",
    "firm_rate": "how fast a wash frees what holds firmly",
    "firm_share": "share of the deposit that holds firmly",
    "fittings": "bends and valves, as loss coefficients",
    "gain_size_exponent": "how that rise falls with the grain size",
    "grain_density": "density of the grains",
    "hamaker": "attraction between particle and grain",
    "head_loss_gain": "rise of the pressure gradient with the deposit",
    "height": "of a storm, times what is usual",
    "length": "time in which a storm falls to a third",
    "loose_rate": "how fast a wash frees what holds loosely",
    "memory": "time after which a third of a deviation is left",
    "particle_size": "size of the particles in the water",
    "per_year": "storms a year",
    "porosity": "pores of the packed bed",
    "porosity_floor": "pores at which a part of the bed is blocked",
    "pump_efficiency": "share of the energy drawn that reaches the water",
    "reference_rate": "rate at which the coefficients hold",
    "reference_temperature": "temperature at which gain and capture hold",
    "resistance": "of the mat on top of the bed",
    "roughness": "of the pipe's wall",
    "share": "let through just after a wash",
    "size": "effective size of the grains",
    "size_exponent": "how capture falls with the grain size",
    "slow_memory": "how long slow changes last",
    "slow_spread": "the same of the slow changes",
    "solids": "solids that a gram of the coagulant forms",
    "solids_per_turbidity": "solids that go with one NTU",
    "sphericity": "roundness of the grains, 1 for spheres",
    "spread": "how far from what is usual two in three lie",
    "tanks": "how the vessel's water mixes while rinsed: 1 wholly, 10 little",
    "typical_coefficient": "capture by usual grains along their depth",
    "ultimate_deposit": "deposit at which a layer captures no more",
    "unfilterable": "share of the solids that no bed captures",
    "uniformity": "spread of the grain sizes",
    "velocity_exponent": "how capture falls with the rate",
    "viscosity_exponent": "how capture falls with the viscosity",
    "volume": "water after which a bed has ripened",
}
"""What a constant is, by the last part of its key."""


def meaning(key: str) -> str:
    """What the constant under a dotted key is, in a few words; empty where the name says it."""
    return MEANINGS.get(key.rpartition(".")[2], "")


def constant_name(key: str, stages: Sequence[Stage]) -> str:
    """The name of a constant behind its stage and medium, where the case has it as a dotted path."""
    stage, layer, name = _parts(key, stages)
    where = ", ".join(dict.fromkeys(part for part in (stage, layer) if part))
    return f"{where}: {name}" if where else name


def assumed_names(case: Case) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Names of the assumed constants by what they belong to: the site, a stage, or layers that lack the same."""
    layers: dict[tuple[str, str], list[str]] = {}
    for assumption in case.assumptions:
        stage, layer, name = _parts(assumption.key, case.stages)
        layers.setdefault((stage or SITE, name), []).append(layer)
    groups: dict[str, list[str]] = {}
    for (stage, name), media in layers.items():
        group = f"{stage}, {' and '.join(media)}" if media[0] else stage
        groups.setdefault(group, []).append(name)
    return tuple((group, tuple(names)) for group, names in groups.items())


def _parts(key: str, stages: Sequence[Stage]) -> tuple[str, str, str]:
    """Stage, layer and rest of a dotted key; empty where there is none."""
    stage = next((each for each in stages if key.startswith(f"stage.{each.name}.")), None)
    if stage is None:
        return "", "", key
    name = key.removeprefix(f"stage.{stage.name}.")
    if not name.startswith("layer."):
        return stage.name, "", name
    _, number, name = name.split(".", 2)
    return stage.name, _layer_name(stage, int(number)), name


def _layer_name(stage: Stage, place: int) -> str:
    """The medium of a layer, with its place counted from the top where the bed has the medium twice."""
    medium = stage.layers[place].medium
    twice = sum(layer.medium == medium for layer in stage.layers) > 1
    return f"{medium} (layer {place + 1})" if twice else medium
