"""What is usual in the trade, SI, each band with its source.

M. L. Davis: Water and Wastewater Engineering, McGraw-Hill 2010. What no source is given for is common practice,
from memory.
"""

from collections.abc import Mapping, Sequence
from typing import Final, NamedTuple

from hydraulics.media import CATALOGUE
from sim.case.stage.records import Layer, Stage
from sim.case.units import DAY, FOOT, GALLON, HOUR, INCH, MINUTE, PSI
from sim.review.findings import PRACTICE, Band

M_H: Final = 1.0 / HOUR
GPM_FT2: Final = GALLON / MINUTE / FOOT**2

DAVIS: Final = "M. L. Davis (2010), Table 11-10, three media"
PRESSURE_FILTERS: Final = "MIL-HDBK-1005/9A, pressure filters for oily waste"
TRUSSELL: Final = "Trussell et al. (1980), J. AWWA, abstract"
WISCONSIN: Final = "Wisconsin NR 811.52, oxidising media"
SOFTENERS: Final = "MIL-HDBK-1164 and UFC 3-240-13FN, softeners"
MEMORY: Final = f"{PRACTICE}, from memory"

SOLIDS_MEDIA: Final = frozenset({"anthracite", "sand", "garnet"})

CLEAN_PRESSURE: Final = Band(low=2.0 * PSI, high=4.0 * PSI, source=PRESSURE_FILTERS)
LOADED_PRESSURE: Final = Band(low=8.0 * PSI, high=12.0 * PSI, source=PRESSURE_FILTERS)
BED_DEPTH: Final = Band(low=24.0 * INCH, high=36.0 * INCH, source=PRESSURE_FILTERS)
RUN_LOADING: Final = Band(low=200.0, high=400.0, source=TRUSSELL)
BACKWASH_LOADING: Final = Band(low=4.0, high=8.0, source=TRUSSELL)
WASHWATER_SHARE: Final = Band(low=0.01, high=0.05, source=TRUSSELL)
FREEBOARD: Final = Band(low=0.15, source=MEMORY)
MIXED_SHARE: Final = Band(high=0.25, source=f"{MEMORY}; criterion of bulk densities, Cleasby & Woods (1975)")
CARBON_CONTACT: Final = Band(low=2.0 * MINUTE, source=MEMORY)
DRAIN_SPEED: Final = Band(high=3.0, source=MEMORY)
RINSE_VOLUMES: Final = Band(low=1.0, high=5.0, source=MEMORY)
CARTRIDGE_LASTS: Final = Band(low=14.0 * DAY, source=MEMORY)
SETTLE_TIME: Final = Band(high=5.0 * MINUTE, source=MEMORY)
LAMINAR: Final = Band(high=10.0, source="Carman (1937); above it the inertial term left out is over 12 % of Ergun's")


class BedBands(NamedTuple):
    """What is usual for one kind of bed: rate at the largest service flow, rate and expansion of the backwash."""

    filtration_rate: Band
    backwash_rate: Band
    expansion: Band


BEDS: Final[Mapping[str, BedBands]] = {
    "several media": BedBands(
        Band(low=10.0 * M_H, high=25.0 * M_H, source=DAVIS),
        Band(low=15.0 * GPM_FT2, high=20.0 * GPM_FT2, source=PRESSURE_FILTERS),
        Band(low=0.15, high=0.50, source=MEMORY),
    ),
    "one medium": BedBands(
        Band(low=5.0 * M_H, high=15.0 * M_H, source=MEMORY),
        Band(low=15.0 * GPM_FT2, high=20.0 * GPM_FT2, source=PRESSURE_FILTERS),
        Band(low=0.15, high=0.50, source=MEMORY),
    ),
    "carbon": BedBands(
        Band(low=5.0 * M_H, high=25.0 * M_H, source=MEMORY),
        Band(low=8.0 * GPM_FT2, high=18.0 * GPM_FT2, source=MEMORY),
        Band(low=0.20, high=0.50, source=MEMORY),
    ),
    "oxidising media": BedBands(
        Band(low=5.0 * M_H, high=15.0 * M_H, source=MEMORY),
        Band(low=8.0 * GPM_FT2, high=20.0 * GPM_FT2, source=WISCONSIN),
        Band(low=0.20, high=0.50, source=MEMORY),
    ),
    "resin": BedBands(
        Band(low=8.0 * M_H, high=40.0 * M_H, source=MEMORY),
        Band(low=6.0 * GPM_FT2, high=8.0 * GPM_FT2, source=SOFTENERS),
        Band(low=0.40, high=0.80, source=MEMORY),
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
    return Band(low=typical.low, high=typical.high, source=typical.source)
