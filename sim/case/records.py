"""The frozen records that a case file becomes: plain data, SI inside, no units and no file left.

Units: m, s, kg, Pa, degC; solids concentration and deposit g/m3 (1 mg/L = 1 g/m3); flow m3/s; times of
day in seconds after midnight. Every record can be pickled and compared; none checks itself: `load_case` is
their only maker.
"""

import math
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from sim.case.price_records import Prices
from sim.case.train_records import (
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
from sim.case.wash_records import Drain, Restrictor, Supply

Oxidant = Literal["chlorine", "permanganate", "none"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumption:
    """A constant that the case file left out and the run uses.

    `key` is the dotted path where the file could give it; value, low and high are in `unit`, SI as in the
    records.
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
class Steady:
    """One value at all times."""

    value: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """A value for each hour of the day (0-1 h first) times a factor for each weekday (Monday first)."""

    hourly: tuple[float, ...]
    weekday: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Seasonal:
    """mean + swing cos(2 pi (day of year - peak_day) / 365.25); `peak_day` (1-366) has the highest value."""

    mean: float
    swing: float
    peak_day: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """A yearly factor 1 + swing cos(2 pi (day of year - peak_day) / 365.25), swing between 0 and 1."""

    swing: float
    peak_day: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """Values from a file: `value[i]` holds from end[i - 1], or from the start of the run, up to `end[i]`.

    Ends rise, in seconds from the start of the run; the last one is the end of the run.
    """

    end: tuple[float, ...]
    value: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wander:
    """How a quantity strays from its usual value: normal with standard deviation `spread`, of the logarithm or in the
    quantity's own unit as its owner says; the autocorrelation falls by the factor e in `memory` [s]."""

    spread: float
    memory: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Storms:
    """Spells that break out at random, `per_year` in the mean, with the yearly factor `season` on their rate.

    Each lifts the water to `height` times its usual value in the mean (exponentially distributed above 1); what it
    adds falls by the factor e in `length` [s]. Storms that meet add up.
    """

    per_year: float
    height: float
    length: float
    season: Season | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Changeable:
    """A random series: median * season * exp(fast + slow) * (1 + what storms add), one value an hour; `median` [SI]
    is that of the water between storms, over the year."""

    median: float
    fast: Wander
    slow: Wander | None
    season: Season | None
    storms: Storms | None


@dataclass(frozen=True, slots=True, kw_only=True)
class UnsettledSeason:
    """A season with weather about it: one value a day, which strays from the seasonal one by `wander` [same unit]."""

    usual: Seasonal
    wander: Wander


Series = Steady | Profile | Seasonal | Measured | Changeable


@dataclass(frozen=True, slots=True, kw_only=True)
class Feed:
    """Water that reaches the first stage: temperature [degC], suspended solids [g/m3].

    `turbidity_ratio` is g/m3 of solids per NTU, None when the case speaks of solids only; `oxidant` is what the feed
    carries, None where nobody says.
    """

    temperature: Steady | Seasonal | Measured | UnsettledSeason
    solids: Series
    turbidity_ratio: float | None
    oxidant: Oxidant | None = None

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
    to it. `valve_constant` [Pa/(m3/s)^2] covers valve, piping and underdrain; at the tap "vessel" the gauge
    sees it beside the bed, at "bed" it does not.
    """

    law: Literal["ergun", "carman-kozeny"]
    viscous: float
    inertial: float
    growth: Literal["pore-narrowing", "linear"]
    valve_constant: float
    tap: Literal["vessel", "bed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One medium, fines on top.

    depth [m], effective size d10 [m], uniformity d60/d10, sphericity, clean porosity, grain_density [kg/m3],
    filter_coefficients [1/m] at the stage's reference rate (one for the layer, or one per sublayer),
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

    limit [g/m3] of solids in its filtered water; `unfilterable` share of the raw feed's solids;
    `velocity_exponent` p in coefficient = reference (v / reference_rate)^-p; reference_rate [m/s];
    reference_viscosity [Pa s] of the linear growth law; `tanks` in series of the rinse; underdrain_volume
    [m3]; `cells_per_layer`, a multiple of the number of sublayers; porosity_floor at which a cell counts as
    blocked; loose_rate and firm_rate [1/s] of cleaning, of no effect in a backwash with an effective rate;
    `air_factor` on both while air scours. `oxidant`: dosed ahead of the stage; `restrictor`: in its drain.

    `vessel` and all below are of each of its `vessels`. A vessel off line is closed or passes raw water; its backwash
    comes from a header or through the stages before, a rinse always through these.
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
    oxidant: Oxidant | None = None
    restrictor: Restrictor | None = None
    vessels: Vessels = ONE_VESSEL
    while_washing: Literal["closed", "passes raw"] = "closed"
    wash_path: Literal["header", "through earlier stages"] = "header"
    hold_unit: HoldUnit | None = None
    switch: Switch | None = None
    start_spike: StartSpike | None = None
    valve_spike: ValveSpike | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Calendar:
    """Wash every so many seconds, at a time of day [s]; `latest` [s] is the longest time between washes."""

    every: float
    at: float
    latest: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Volume:
    """Wash when `volume` [m3] is treated since the last wash; with `at` [s], at the next such time of day."""

    volume: float
    at: float | None
    latest: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class VolumeReserve:
    """Book the next `at` [s] once only `reserve` [m3] of `volume` [m3] is left; wash at once if none is."""

    volume: float
    reserve: float
    at: float
    latest: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Pressure:
    """Wash when the signal has been at or `above` the set value [Pa] without a break for `hold` [s]."""

    above: float
    hold: float
    latest: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class VolumeLearned:
    """As VolumeReserve, with a reserve that the meter's own record tells, judged at every `at` [s].

    The reserve is the share `quantile` of the volumes of the last `days` days, from one `at` to the next: of all of
    them ("trailing"), or of those that began on the same weekday; `reserve` [m3] until there is a record that long.
    """

    volume: float
    reserve: float
    quantile: float
    days: int
    by: Literal["weekday", "trailing"]
    at: float
    latest: float | None


SingleTrigger = Calendar | Volume | VolumeReserve | VolumeLearned | Pressure


@dataclass(frozen=True, slots=True, kw_only=True)
class AnyOf:
    """Wash on whichever of several triggers, each of another kind, comes first; `latest` holds for all of them."""

    triggers: tuple[SingleTrigger, ...]
    latest: float | None


Trigger = SingleTrigger | AnyOf


def singles(trigger: Trigger) -> tuple[SingleTrigger, ...]:
    """The triggers of which any one starts a wash; no two of them are of one kind."""
    return trigger.triggers if isinstance(trigger, AnyOf) else (trigger,)


@dataclass(frozen=True, slots=True, kw_only=True)
class Policy:
    """What starts a wash: one trigger for every stage, in the order of the train."""

    name: str
    triggers: tuple[tuple[str, Trigger], ...]


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
    Without `downstream` nothing is known of the water's use, without `prices` of what it costs;
    without `pump` any flow asked for is reached.
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

    @property
    def is_random(self) -> bool:
        """Whether its weather or its demand depends on seed and replicate."""
        return self.feed.is_random or self.demand.is_random
