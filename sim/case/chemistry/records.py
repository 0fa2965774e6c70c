"""The frozen records of what is dissolved in the water and of what takes it up, as in `sim.case.records`.

Concentrations in g/m3: hardness as CaCO3, iron and manganese as dissolved metal, sulphide as H2S, ammonia as N, both
kinds of chlorine as Cl2, permanganate as KMnO4, salt as NaCl.
"""

from typing import Literal, get_args

from sim.case.record import record

Solute = Literal[
    "hardness", "iron", "manganese", "sulphide", "ammonia", "free_chlorine", "combined_chlorine",
    "permanganate", "salt",
]  # fmt: skip
SOLUTES: tuple[Solute, ...] = get_args(Solute)
"""Everything dissolved that a run follows, in the order in which its tables have it."""
IN_FEED: tuple[Solute, ...] = SOLUTES[:7]
"""What a feed may bring; the others only come from a step of a wash or a dose."""

Product = Literal["chlorine", "permanganate", "air"]
Direction = Literal["co-current", "counter-current"]
SulphideTo = Literal["sulphur", "sulphate"]


@record
class Resin:
    """Softening resin of one layer.

    What `doses` of salt [g per m3 of resin], rising from above 0, restore of a spent bed: `capacities` [g CaCO3 per
    m3], straight lines from (0, 0) through them, constant beyond the last. At its reference rate [m/s] half of the
    hardness is taken up in `half_length` [m]. `leakage`: the share of the feed's hardness that passes whatever the
    bed holds. `fouling`: of the iron and manganese that it takes up, the share that no regeneration gives back.
    """

    doses: tuple[float, ...]
    capacities: tuple[float, ...]
    half_length: float
    reference_rate: float
    leakage: float
    fouling: float


@record
class Oxidising:
    """Oxidising media of one layer: `capacity` [equivalents per m3], half of the metal in `half_length` [m]."""

    capacity: float
    half_length: float
    reference_rate: float
    sulphide_to: SulphideTo = "sulphur"


@record
class Carbon:
    """Carbon of one layer, against chlorine: `capacity` [g Cl2 per m3], of which nothing is ever restored.

    Half of the free chlorine is gone in `half_length` [m], half of the combined in `combined_half_length`, at the
    reference rate [m/s] and as the run begins; both grow by the factor 1 + `growth` a year, None where nobody knows:
    the run then takes none, and the life of the carbon is not known.
    """

    capacity: float
    half_length: float
    combined_half_length: float
    reference_rate: float
    growth: float | None = None


Uptake = Resin | Oxidising | Carbon


@record
class Dosing:
    """An oxidant dosed to all water that comes to a stage: its product, `dose` [g/m3 as Cl2 or KMnO4; 0 for air].

    `contact` [s] between the dose and the bed, of effect for air alone. `unfilterable`: the share of the floc formed
    that no bed keeps back.
    """

    product: Product
    dose: float
    contact: float = 0.0
    unfilterable: float
    sulphide_to: SulphideTo = "sulphur"


@record
class Limits:
    """What the water that a stage sends on may carry [g/m3], None for no limit.

    Iron and manganese count what is in the passing solids too. `chlorine`: free and combined together, permanganate
    as the chlorine that oxidises as much.
    """

    hardness: float | None = None
    iron: float | None = None
    manganese: float | None = None
    chlorine: float | None = None


@record
class Store:
    """What a stage has for its regenerations: salt and permanganate [g], made up again every `refilled` [s].

    None of one: it never runs out; `refilled` None: nobody does. With make-up steps the salt lies in the water of a
    brine tank, which a step of make-up tops up and where `solubility` [g of salt per m3 of water] dissolves, the lack
    of it falling by the factor e in `dissolving` [s].
    """

    salt: float | None = None
    permanganate: float | None = None
    refilled: float | None = None
    solubility: float
    dissolving: float
