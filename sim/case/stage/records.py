"""The frozen records of one filter: its vessel, layers, laws and steps, as in `sim.case.records`."""

import math
from itertools import accumulate
from typing import Literal

from sim.case.chemistry.records import Direction, Dosing, Limits, Store, Uptake
from sim.case.record import record
from sim.case.series.records import Oxidant
from sim.case.train.records import ONE_VESSEL, HoldUnit, StartSpike, Switch, ValveSpike, Vessels
from sim.case.trigger.records import RIGHT, Clock, OnlyWhile
from sim.case.wash.records import Restrictor

CHEMICAL = frozenset({"carbon", "oxidising media", "resin"})
"""Media that are for more than solids."""


Law = Literal["ergun", "carman-kozeny"]
Growth = Literal["pore-narrowing", "linear"]
Tap = Literal["vessel", "bed"]
Do = Literal["backwash", "settle", "regenerant", "displacement", "rinse", "make-up"]
WashWater = Literal["raw", "filtered", "clean"]
WhileWashing = Literal["closed", "passes raw"]
WashPath = Literal["header", "through earlier stages"]


@record
class Vessel:
    """An upright round vessel: inner diameter [m] and height [m], rated pressure [Pa above ambient]."""

    diameter: float
    height: float
    pressure_rating: float | None

    @property
    def area(self) -> float:
        """Cross-section of the bed [m2]."""
        return math.pi * self.diameter**2 / 4.0


@record
class HeadLoss:
    """How the differential pressure comes about and where it is read.

    `law` is the clean-bed law with its `viscous` and `inertial` coefficients; `growth` says how deposit adds
    to it. `valve_constant` [Pa/(m3/s)^2] covers valve, piping and underdrain in service, and in a wash too where
    `valve_in_wash`; at the tap "vessel" the gauge sees it beside the bed, at "bed" it does not.
    """

    law: Law = "ergun"
    viscous: float
    inertial: float
    growth: Growth = "linear"
    valve_constant: float
    tap: Tap
    valve_in_wash: bool = False


@record
class Layer:
    """One medium, fines on top.

    depth [m], effective size d10 [m], uniformity d60/d10, sphericity, clean porosity, grain_density [kg/m3],
    filter_coefficients [1/m] at the stage's reference rate and viscosity (one for the layer, or one per sublayer),
    viscosity_exponent p in coefficient = reference (reference_viscosity / viscosity)^p,
    ultimate_deposit [g per m3 of bed], deposit_density [g of dry solids per m3 of deposit], head_loss_gain
    [Pa/m per g/m3] of the linear growth law, firm_share of the attached solids (of no effect where an
    effective cleaning rate is given), sublayer_sizes [m] of equal depth, top first: one if grains are alike.
    `uptake`: what it does to what is dissolved, None where a run follows it as a filter of solids alone.
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
    uptake: Uptake | None = None


@record
class Ripening:
    """The filter coefficient starts lower by `share` after a wash; it recovers over `volume` [m3 per m2]."""

    share: float
    volume: float


@record
class Sloughing:
    """The ultimate deposit falls with the rate to the power -exponent."""

    exponent: float


@record
class Mat:
    """The coarse `share` of the solids stays as a mat on the top layer, with a specific resistance [m/kg]."""

    share: float
    resistance: float


@record
class Step:
    """One step of a wash: how long [s], at what flow [m3/s] (0 for settle), with which water.

    `water_solids` [g/m3] is given with filtered water only; `cleaning_rate` [1/s] is the effective rate of a
    backwash, None when the loose and firm rates of the stage decide. `water` is a choice of the backwash: a
    rinse takes the stage's own feed and says "raw", as a settle does. `air`: a backwash with air scour; an effective
    rate holds what the air does already.

    A regenerant brings `salt` or `permanganate` [g], or where both are None what the brine tank holds; a make-up tops
    that up with seconds x flow and leaves the bed alone.
    """

    do: Do
    seconds: float
    flow: float = 0.0
    water: WashWater = "raw"
    water_solids: float | None
    cleaning_rate: float | None
    air: bool = False
    salt: float | None = None
    permanganate: float | None = None
    direction: Direction = "co-current"


@record
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
    `clock`: that of its controller; `least_interval` [s]: from the start of one of its washes to that of the next;
    no wash of it starts but `only_while` this holds, and while a stage named in `not_while` washes.

    `dosing` and `limits`: of what is dissolved; `store`: what its regenerations use; `blend`: the share of what is
    dissolved that goes round the bed, though its solids are taken to pass it.
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
    underdrain_volume: float = 0.0
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
    while_washing: WhileWashing = "closed"
    wash_path: WashPath = "header"
    hold_unit: HoldUnit | None = None
    switch: Switch | None = None
    start_spike: StartSpike | None = None
    valve_spike: ValveSpike | None = None
    longest_run: float | None = None
    longest_run_at: float | None = None
    clock: Clock = RIGHT
    least_interval: float = 0.0
    only_while: OnlyWhile | None = None
    not_while: tuple[str, ...] = ()
    dosing: Dosing | None = None
    limits: Limits = Limits()
    store: Store | None = None
    blend: float = 0.0

    @property
    def hold_span(self) -> tuple[float, float]:
        """From when to when after its wash has started the unit is held, by the steps alone [s]; equal: it is not."""
        hold = self.hold_unit
        if hold is None:
            return 0.0, 0.0
        ends = [0.0, *accumulate(step.seconds for step in self.steps)]
        return ends[hold.start], (ends[-1] if hold.end is None else ends[hold.end + 1]) + hold.plus

    @property
    def only_solids(self) -> tuple[str, ...]:
        """Its media that this run follows as filters of solids alone, whatever else they are for."""
        media = (layer.medium for layer in self.layers if layer.uptake is None)
        return tuple(medium for medium in media if medium in CHEMICAL)
