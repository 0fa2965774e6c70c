"""What is usual in the trade, SI, each band with its source.

M. L. Davis: Water and Wastewater Engineering, McGraw-Hill 2010. The source "memory" is common practice, from memory.
"""

from collections.abc import Mapping, Sequence
from typing import Final, NamedTuple

from hydraulics.media import CATALOGUE
from sim.case.chemistry.records import Product, Solute
from sim.case.stage.records import Layer, Stage
from sim.case.units import DAY, FOOT, GALLON, HOUR, INCH, MINUTE, PSI
from sim.review.findings import Band, Cited, at_least, at_most

M_H: Final = 1.0 / HOUR
GPM_FT2: Final = GALLON / MINUTE / FOOT**2
GAL_FT3: Final = GALLON / FOOT**3
GPM_FT3: Final = GAL_FT3 / MINUTE

GRAINS_PER_POUND: Final = 7000.0

SOLIDS_MEDIA: Final = frozenset({"anthracite", "sand", "garnet"})

CLEAN_PRESSURE: Final = Band(low=2.0 * PSI, high=4.0 * PSI, source="pressure_filters")
LOADED_PRESSURE: Final = Band(low=8.0 * PSI, high=12.0 * PSI, source="pressure_filters")
BED_DEPTH: Final = Band(low=24.0 * INCH, high=36.0 * INCH, source="pressure_filters")
RUN_LOADING: Final = Band(low=200.0, high=400.0, source="trussell")
BACKWASH_LOADING: Final = Band(low=4.0, high=8.0, source="trussell")
WASHWATER_SHARE: Final = Band(low=0.01, high=0.05, source="trussell")
FREEBOARD: Final = at_least(0.15, "memory")
MIXED_SHARE: Final = at_most(0.25, "mixing")
CARBON_CONTACT: Final = at_least(2.0 * MINUTE, "memory")
FREE_CONTACT: Final = at_least(1.0 / (3.0 * GPM_FT3), "carbon_rates")
COMBINED_CONTACT: Final = at_least(10.0 * MINUTE, "memory")
OXIDANT_TO_MEMBRANE: Final = at_most(0.05, "memory")
OXIDANT_TO_RESIN: Final = at_most(1.0, "memory")
SALT_EFFICIENCY: Final = at_least(1000.0 / (0.3 * GRAINS_PER_POUND), "ten_states")
DISPLACEMENT_VOLUMES: Final = Band(low=7.5 * GAL_FT3, high=22.5 * GAL_FT3, source="softeners")
SOFTENER_RINSE_VOLUMES: Final = Band(low=35.0 * GAL_FT3, high=100.0 * GAL_FT3, source="softeners")
FLOW_OVER_SERVICE: Final = at_most(3.0, "memory")
DRAIN_SPEED: Final = at_most(3.0, "memory")
RINSE_VOLUMES: Final = Band(low=1.0, high=5.0, source="memory")
CARTRIDGE_LASTS: Final = at_least(14.0 * DAY, "memory")
NEVER: Final = at_most(0.0, "held")
SETTLE_TIME: Final = at_most(5.0 * MINUTE, "memory")
LAMINAR: Final = at_most(10.0, "laminar")


OXIDISED: Final[Mapping[Product, tuple[Solute, ...]]] = {
    "air": ("iron",), "chlorine": ("iron",), "permanganate": ("manganese",),
}  # fmt: skip
ACIDITY: Final[Mapping[Product, Band]] = {
    "air": at_least(7.2, "memory"), "chlorine": at_least(6.5, "memory"), "permanganate": at_least(7.0, "memory"),
}  # fmt: skip
"""What a product oxidises only above some pH, and that pH."""


class BedBands(NamedTuple):
    """What is usual for one kind of bed: rate at the largest service flow, rate and expansion of the backwash."""

    filtration_rate: Band
    backwash_rate: Band
    expansion: Band


BEDS: Final[Mapping[str, BedBands]] = {
    "several media": BedBands(
        Band(low=10.0 * M_H, high=25.0 * M_H, source="davis"),
        Band(low=15.0 * GPM_FT2, high=20.0 * GPM_FT2, source="pressure_filters"),
        Band(low=0.15, high=0.50, source="memory"),
    ),
    "one medium": BedBands(
        Band(low=5.0 * M_H, high=15.0 * M_H, source="memory"),
        Band(low=15.0 * GPM_FT2, high=20.0 * GPM_FT2, source="pressure_filters"),
        Band(low=0.15, high=0.50, source="memory"),
    ),
    "carbon": BedBands(
        Band(low=5.0 * M_H, high=25.0 * M_H, source="memory"),
        Band(low=8.0 * GPM_FT2, high=18.0 * GPM_FT2, source="memory"),
        Band(low=0.20, high=0.50, source="memory"),
    ),
    "oxidising media": BedBands(
        Band(low=5.0 * M_H, high=15.0 * M_H, source="memory"),
        Band(low=8.0 * GPM_FT2, high=20.0 * GPM_FT2, source="wisconsin"),
        Band(low=0.20, high=0.50, source="memory"),
    ),
    "resin": BedBands(
        Band(low=8.0 * M_H, high=40.0 * M_H, source="memory"),
        Band(low=6.0 * GPM_FT2, high=8.0 * GPM_FT2, source="softeners"),
        Band(low=0.40, high=0.80, source="memory"),
    ),
}


def bed_bands(media: Sequence[str]) -> BedBands:
    """Those of a bed of media from the top: the first says its kind, and solids media count as one kind."""
    if media[0] not in SOLIDS_MEDIA:
        return BEDS[media[0]]
    return BEDS["several media" if len(media) > 1 else "one medium"]


def usual(stage: Stage) -> BedBands:
    """Those of the bed of a stage."""
    return bed_bands([layer.medium for layer in stage.layers])


def grain_size(layer: Layer) -> Band:
    """Effective size of the medium, as the catalogue has it."""
    typical = CATALOGUE[layer.medium].size
    return Band(low=typical.low, high=typical.high, source=Cited(text=typical.source))
