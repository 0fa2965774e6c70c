"""Kinds of water that a case can name, and what is usual for each.

One table, three rows of figures a kind. All of them are from memory of common practice, none was read in a source:
they stand in until a site has measured its own.
"""

from collections.abc import Mapping
from types import MappingProxyType

from hydraulics.media import DEFAULTS, Constant
from sim.case.record import record


@record
class Water:
    """What is usual for one kind of water.

    solids_per_turbidity [g/m3 per NTU], particle_size [m], deposit_density [g of dry solids per m3 of deposit];
    storms: how many stirred-up spells a year [-], how many times the usual turbidity they bring [-], and for how
    long [s].
    """

    kind: str
    carries: str
    solids_per_turbidity: Constant
    particle_size: Constant
    deposit_density: Constant
    storms_a_year: Constant
    storm_strength: Constant
    storm_length: Constant


Range = tuple[float, float, float]
"""Low, typical, high."""

UM, KG_M3, HOUR = 1e-6, 1e3, 3600.0


FIGURES: Mapping[str, tuple[float, str]] = {
    "solids_per_turbidity": (1.0, "g/m3 per NTU"),
    "particle_size": (UM, "m"),
    "deposit_density": (KG_M3, "g/m3"),
    "storms_a_year": (1.0, "-"),
    "storm_strength": (1.0, "-"),
    "storm_length": (HOUR, "s"),
}
"""By figure, the unit of the trade that the ranges below are in (mg/L per NTU, um, kg/m3, h) and the SI unit."""


def _water(kind: str, carries: str, **ranges: Range) -> Water:
    """A kind of water from its ranges in the units of the trade."""
    figures = {}
    for name, (factor, unit) in FIGURES.items():
        low, value, high = (factor * each for each in ranges[name])
        source = f"{kind} water: from memory, to be measured"
        figures[name] = Constant(value=value, low=low, high=high, unit=unit, source=source, assumed=True)
    return Water(kind=kind, carries=carries, **figures)


_KINDS = (
    _water(
        "town",
        "treated water from a public main; traces of silt and rust",
        solids_per_turbidity=(0.7, 1.0, 1.6),
        particle_size=(2.0, 5.0, 12.0),
        deposit_density=(20.0, 35.0, 60.0),
        storms_a_year=(0.0, 2.0, 6.0),
        storm_strength=(2.0, 3.0, 10.0),
        storm_length=(1.0, 4.0, 12.0),
    ),
    _water(
        "town with old mains",
        "treated water through old iron pipes; rust comes loose when the flow in the street changes",
        solids_per_turbidity=(0.9, 1.5, 2.2),
        particle_size=(2.0, 8.0, 30.0),
        deposit_density=(20.0, 40.0, 80.0),
        storms_a_year=(3.0, 10.0, 30.0),
        storm_strength=(3.0, 8.0, 30.0),
        storm_length=(0.5, 2.0, 8.0),
    ),
    _water(
        "clear well",
        "ground water without iron; a little fine sand and silt when the pump starts",
        solids_per_turbidity=(1.0, 1.7, 2.2),
        particle_size=(5.0, 15.0, 40.0),
        deposit_density=(30.0, 60.0, 120.0),
        storms_a_year=(0.0, 1.0, 2.0),
        storm_strength=(1.0, 2.0, 4.0),
        storm_length=(1.0, 6.0, 24.0),
    ),
    _water(
        "iron well",
        "ground water whose iron has turned to flocs by the time it is filtered",
        solids_per_turbidity=(0.7, 1.1, 1.8),
        particle_size=(2.0, 6.0, 20.0),
        deposit_density=(15.0, 25.0, 50.0),
        storms_a_year=(0.0, 2.0, 8.0),
        storm_strength=(2.0, 3.0, 8.0),
        storm_length=(1.0, 2.0, 12.0),
    ),
    _water(
        "lake",
        "surface water that has settled; fine silt, and algae in the warm months",
        solids_per_turbidity=(0.7, 1.0, 1.7),
        particle_size=(2.0, 6.0, 20.0),
        deposit_density=(12.0, 22.0, 40.0),
        storms_a_year=(2.0, 5.0, 12.0),
        storm_strength=(2.0, 3.0, 8.0),
        storm_length=(12.0, 48.0, 120.0),
    ),
    _water(
        "river",
        "surface water that rises and clouds with rain; silt and clay",
        solids_per_turbidity=(0.9, 1.5, 2.2),
        particle_size=(2.0, 8.0, 30.0),
        deposit_density=(20.0, 40.0, 80.0),
        storms_a_year=(5.0, 12.0, 30.0),
        storm_strength=(3.0, 10.0, 40.0),
        storm_length=(12.0, 36.0, 120.0),
    ),
    _water(
        "pretreated reuse",
        "process or waste water that was settled and clarified before; light biological flocs",
        solids_per_turbidity=(0.8, 1.3, 2.0),
        particle_size=(4.0, 12.0, 40.0),
        deposit_density=(10.0, 20.0, 40.0),
        storms_a_year=(2.0, 8.0, 24.0),
        storm_strength=(2.0, 4.0, 10.0),
        storm_length=(4.0, 12.0, 48.0),
    ),
)

WATERS: Mapping[str, Water] = MappingProxyType({water.kind: water for water in _KINDS})
"""Kinds of water by name."""


def typical_deposit_density(kind: str | None) -> Constant:
    """Dry solids per volume of deposit [g/m3]: usual for the kind of water, or for any where none is named."""
    return DEFAULTS["deposit_density"] if kind is None else WATERS[kind].deposit_density
