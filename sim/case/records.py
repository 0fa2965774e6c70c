"""The frozen records that a case file becomes: plain data, SI inside, no units and no file left.

Units: m, s, kg, Pa, degC; solids concentration and deposit g/m3 (1 mg/L = 1 g/m3); flow m3/s; times of
day in seconds after midnight. Every record can be pickled and compared; none checks itself: `load_case` is
their only maker.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from sim.case.price.records import Prices
from sim.case.series.records import (
    Changeable,
    Measured,
    Profile,
    Season,
    Seasonal,
    Series,
    Steady,
    UnsettledSeason,
    Wander,
)
from sim.case.train.records import (
    NO_RULES,
    ONE_VESSEL,
    Downstream,
    HoldUnit,
    Pump,
    StartSpike,
    Switch,
    ValveSpike,
    Vessels,
    Washing,
)
from sim.case.trigger.records import Policy
from sim.case.wash.records import Drain, Restrictor, Supply

Use = Literal["membrane", "process", "food", "drinking"]
Oxidant = Literal["chlorine", "permanganate", "none"]

ONLY_SOLIDS = frozenset({"carbon", "oxidising media", "resin"})
"""Media that a run follows as filters of solids, whatever else they are for."""


CHOICES: Mapping[str, tuple[str, str]] = {
    "coagulated": ("false", "true"),
    "law": ("ergun", "carman-kozeny"),
    "growth": ("linear", "pore-narrowing"),
}
"""By the last part of their key, what 0 and 1 of an assumed choice mean."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumption:
    """A constant that the case file left out and the run uses.

    `key` is the dotted path where the file could give it; value, low and high are in `unit`, SI as in the
    records, or 0 and 1 of CHOICES.
    """

    key: str
    value: float
    low: float
    high: float
    unit: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Solved:
    """A constant that a known run told.

    Its dotted key, its value and the range that is usual in `unit` (SI), and the known run in the file's words.
    """

    key: str
    value: float
    low: float
    high: float
    unit: str
    known: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """When the run starts, how long it lasts [s], time over the limit allowed in a year [s].

    All times of day are read from the run's own clock, which never jumps: the standard time of its place. `zone` is
    that clock's offset from universal time ("UTC+1"), None where neither the case nor a series of it says.
    """

    start: datetime
    length: float
    allowed_breach: float | None
    zone: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Coagulant:
    """What is dosed ahead of the first stage: `product`, and the filterable solids that its floc adds to the feed.

    These are `adds` [g/m3], and `adds_per_solids` g for each g of the feed's own solids where the dose follows its
    turbidity.
    """

    product: str
    adds: float
    adds_per_solids: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Feed:
    """Water that is drawn for the first stage: temperature [degC], its own suspended solids [g/m3].

    `turbidity_ratio` is g/m3 of solids per NTU, None when the case speaks of solids only; `oxidant` is what the feed
    carries, None where nobody says; `coagulant` is dosed to all that goes into the train, not to wash water from
    elsewhere.
    """

    temperature: Steady | Seasonal | Measured | UnsettledSeason
    solids: Series
    turbidity_ratio: float | None
    oxidant: Oxidant | None = None
    coagulant: Coagulant | None = None

    @property
    def is_random(self) -> bool:
        """Whether the seed makes a difference to it."""
        return isinstance(self.solids, Changeable) or isinstance(self.temperature, UnsettledSeason)


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """What the train is asked to deliver [m3/s], times the yearly factor if there is one; nothing on `closed` days.

    `wander` is a factor that changes from day to day: lognormal about a mean of 1, its spread that of the logarithm.
    With a unit downstream the demand is what leaves the unit's tank.
    """

    flow: Steady | Profile | Measured
    season: Season | None
    wander: Wander | None = None
    closed: tuple[date, ...] = ()

    @property
    def is_random(self) -> bool:
        """Whether the seed makes a difference to it."""
        return self.wander is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Vessel:
    """An upright round vessel: inner diameter [m] and height [m], rated pressure [Pa above ambient]."""

    diameter: float
    height: float
    pressure_rating: float | None

    @property
    def area(self) -> float:
        """Cross-section of the bed [m2]."""
        return math.pi * self.diameter**2 / 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadLoss:
    """How the differential pressure comes about and where it is read.

    `law` is the clean-bed law with its `viscous` and `inertial` coefficients; `growth` says how deposit adds
    to it. `valve_constant` [Pa/(m3/s)^2] covers valve, piping and underdrain in service, and in a wash too where
    `valve_in_wash`; at the tap "vessel" the gauge sees it beside the bed, at "bed" it does not.
    """

    law: Literal["ergun", "carman-kozeny"]
    viscous: float
    inertial: float
    growth: Literal["pore-narrowing", "linear"]
    valve_constant: float
    tap: Literal["vessel", "bed"]
    valve_in_wash: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One medium, fines on top.

    depth [m], effective size d10 [m], uniformity d60/d10, sphericity, clean porosity, grain_density [kg/m3],
    filter_coefficients [1/m] at the stage's reference rate and viscosity (one for the layer, or one per sublayer),
    viscosity_exponent p in coefficient = reference (reference_viscosity / viscosity)^p,
    ultimate_deposit [g per m3 of bed], deposit_density [g of dry solids per m3 of deposit], head_loss_gain
    [Pa/m per g/m3] of the linear growth law, firm_share of the attached solids (of no effect where an
    effective cleaning rate is given), sublayer_sizes [m] of equal depth, top first: one if grains are alike.
    """

    medium: str
    depth: float
    size: float
    uniformity: float
    sphericity: float
    porosity: float
    grain_density: float
    filter_coefficients: tuple[float, ...]
    ultimate_deposit: float
    deposit_density: float
    head_loss_gain: float
    firm_share: float
    sublayer_sizes: tuple[float, ...]
    viscosity_exponent: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Ripening:
    """The filter coefficient starts lower by `share` after a wash; it recovers over `volume` [m3 per m2]."""

    share: float
    volume: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sloughing:
    """The ultimate deposit falls with the rate to the power -exponent."""

    exponent: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Mat:
    """The coarse `share` of the solids stays as a mat on the top layer, with a specific resistance [m/kg]."""

    share: float
    resistance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step of a wash: how long [s], at what flow [m3/s] (0 for settle), with which water.

    `water_solids` [g/m3] is given with filtered water only; `cleaning_rate` [1/s] is the effective rate of a
    backwash, None when the loose and firm rates of the stage decide. `water` is a choice of the backwash: a
    rinse takes the stage's own feed and says "raw", as a settle does. `air`: a backwash with air scour; an effective
    rate holds what the air does already.
    """

    do: Literal["backwash", "settle", "rinse"]
    seconds: float
    flow: float
    water: Literal["raw", "filtered", "clean"]
    water_solids: float | None
    cleaning_rate: float | None
    air: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """One filter of the train.

    limit [g/m3] of solids in its filtered water; `coagulated`: whether its water is;
    `unfilterable` share of the raw feed's solids, to which a coagulant's do not belong;
    `velocity_exponent` p in coefficient = reference (v / reference_rate)^-p; reference_rate [m/s];
    reference_viscosity [Pa s] of coefficients and linear growth; `tanks` in series of the rinse; underdrain_volume
    [m3]; `cells_per_layer`, a multiple of the number of sublayers; porosity_floor at which a cell counts as
    blocked; loose_rate and firm_rate [1/s] of cleaning, of no effect in a backwash with an effective rate;
    `air_factor` on both while air scours. `oxidant`: dosed ahead of the stage; `restrictor`: in its drain.

    `vessel` and all below are of each of its `vessels`. A vessel off line is closed or passes raw water; its backwash
    comes from a header or through the stages before, a rinse always through these. `longest_run` [s]: the
    longest that it goes without a wash, `longest_run_at` [s after midnight] the hour of the washes that this starts.
    """

    name: str
    limit: float | None
    vessel: Vessel
    layers: tuple[Layer, ...]
    head_loss: HeadLoss
    ripening: Ripening | None
    sloughing: Sloughing | None
    mat: Mat | None
    unfilterable: float
    velocity_exponent: float
    reference_rate: float
    reference_viscosity: float
    tanks: int
    underdrain_volume: float
    cells_per_layer: int
    porosity_floor: float
    loose_rate: float
    firm_rate: float
    steps: tuple[Step, ...]
    air_factor: float = 1.0
    coagulated: bool = False
    oxidant: Oxidant | None = None
    restrictor: Restrictor | None = None
    vessels: Vessels = ONE_VESSEL
    while_washing: Literal["closed", "passes raw"] = "closed"
    wash_path: Literal["header", "through earlier stages"] = "header"
    hold_unit: HoldUnit | None = None
    switch: Switch | None = None
    start_spike: StartSpike | None = None
    valve_spike: ValveSpike | None = None
    longest_run: float | None = None
    longest_run_at: float | None = None

    @property
    def only_solids(self) -> tuple[str, ...]:
        """Its media that a run follows as filters of solids alone, whatever else they are for."""
        return tuple(layer.medium for layer in self.layers if layer.medium in ONLY_SOLIDS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedy:
    """What a remedy named in the case has changed in a series from a file.

    `key` is the series' dotted key; `what` tells the remedy as the end of "12 of 100 values ..."; `count` values of
    the `of` that the run takes from the file, at most `longest` [s] of them in a row.
    """

    key: str
    what: str
    count: int
    of: int
    longest: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """Everything one study needs.

    `constants` counts the physical constants that the runs use, `assumptions` are those of them the file leaves out,
    `solved` those that a known run told;
    `source_hash` is the SHA-256 of the file's content, not of its layout, and of the series it takes from others;
    `remedies` tell what was changed in these. Without a `supply` a wash reaches any flow it asks for.
    `use` is what the filtered water is for, None where nobody says; `today` names the policy in use now. Without
    `prices` nothing is known of what water costs; without `pump` any flow asked for is reached.
    """

    title: str
    run: Run
    feed: Feed
    demand: Demand
    stages: tuple[Stage, ...]
    policies: tuple[Policy, ...]
    assumptions: tuple[Assumption, ...]
    constants: int
    source_hash: str
    remedies: tuple[Remedy, ...] = ()
    solved: tuple[Solved, ...] = ()
    supply: Supply | None = None
    drain: Drain | None = None
    downstream: Downstream | None = None
    pump: Pump | None = None
    washing: Washing = NO_RULES
    prices: Prices | None = None
    use: Use | None = None
    today: str | None = None

    @property
    def is_random(self) -> bool:
        """Whether its weather or its demand depends on seed and replicate."""
        return self.feed.is_random or self.demand.is_random

    @property
    def judged(self) -> Stage:
        """The stage whose water a verdict goes by: the last whose media are followed in all that they are for.

        The last stage of all where there is none such.
        """
        known = [stage for stage in self.stages if not stage.only_solids]
        return (known or list(self.stages))[-1]

    @property
    def may_be_drunk(self) -> bool:
        """Whether people may drink or eat what the water is for, as where nobody says what that is.

        No advice then lengthens a run or shortens a wash or a rinse beyond the present setting.
        """
        return self.use in ("drinking", "food", None)
