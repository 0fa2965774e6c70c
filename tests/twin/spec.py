"""What the twin simulates and answers. SI units; solids and deposit in g/m3; time in s from the start."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf, isnan, nan, pi

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
DAY, HOUR, MINUTE = 86400.0, 3600.0, 60.0
EXCESS_SHARE = 0.01  # of the limit: less above what a ripe, displaced bed sends on does not count as dirty
FULL = 1e-6  # of what comes: a bed that stops less will not change any more
POLICIES = ("calendar", "volume", "volume with reserve", "pressure drop")


@dataclass(frozen=True, kw_only=True)
class Layer:
    """One medium. `sizes` and `coefficients` hold one value, or one for each equal slice, top first."""

    depth: float  # m
    sizes: tuple[float, ...]  # m
    sphericity: float
    porosity: float
    coefficients: tuple[float, ...]  # 1/m, of a clean and ripened bed at the reference rate
    ultimate: float  # g/m3, most deposit the bed takes
    deposit_density: float  # g dry solids per m3 of deposit
    linear_gain: float = 0.0  # Pa/m per g/m3, used by growth "linear" only
    firm_share: float = 0.0  # of what was caught since the last wash
    water_exponent: float = 0.0  # p in coefficient = given (viscosity at the reference / viscosity)^p
    cleaning: tuple[float, ...] = (1.0,)  # factor on the rates of every wash, one or one for each equal slice


@dataclass(frozen=True, kw_only=True)
class Step:
    """One step of a wash. A rinse always takes the stage's own feed; `water_solids` None means raw water."""

    do: str  # "backwash", "settle" or "rinse"
    seconds: float
    flow: float = 0.0  # m3/s
    cleaning_rate: float = 0.0  # 1/s, of the loose deposit
    firm_cleaning_rate: float | None = None  # 1/s, of the firm deposit; None: as the loose
    water_solids: float | None = 0.0  # g/m3 of the washwater

    @property
    def firm_rate(self) -> float:
        return self.cleaning_rate if self.firm_cleaning_rate is None else self.firm_cleaning_rate


@dataclass(frozen=True, kw_only=True)
class Trigger:
    """What starts a wash: one of POLICIES, or "never" (then only `longest_run` can)."""

    kind: str
    every: float = 0.0  # s
    at: float | None = None  # seconds of the day
    volume: float = 0.0  # m3
    reserve: float = 0.0  # m3
    above: float = 0.0  # Pa
    hold: float = 0.0  # s
    longest_run: float | None = None  # s, since the last wash began
    longest_run_at: float | None = None  # seconds of the day; without it `at`, if there is one


@dataclass(frozen=True, kw_only=True)
class Plant:
    """One vessel, its feed and demand, its wash and its trigger.

    `flow`, `solids`, `dosed` and `temperature` hold one value per `series_seconds` (an hour, or the tick itself).
    """

    diameter: float  # m
    height: float  # m, inside of the vessel
    layers: tuple[Layer, ...]  # top first
    steps: tuple[Step, ...]
    trigger: Trigger
    limit: float  # g/m3
    length: float  # s
    flow: Floats  # m3/s demanded
    solids: Floats  # g/m3 in the feed
    temperature: Floats  # degC
    dosed: Floats | None = None  # g/m3 of floc that coagulant adds to all that is filtered; None: no coagulant
    series_seconds: float = HOUR
    start_of_day: float = 0.0  # clock at the start, seconds after midnight
    cells_per_layer: int = 20
    viscous: float = 150.0
    inertial: float = 1.75
    growth: str = "pore-narrowing"  # or "linear"
    valve_constant: float = 0.0  # Pa/(m3/s)2
    valve_seen: bool = True  # by the gauge; the peak always counts it
    porosity_floor: float = 0.05
    reference_rate: float = 12.0 / HOUR  # m/s
    reference_temperature: float = 15.0  # degC, of linear_gain and coefficients
    velocity_exponent: float = 0.0
    ripening_share: float = 0.0
    ripening_volume: float = 2.0  # m3/m2
    unfilterable: float = 0.0  # share of the feed's solids that no bed stops
    tanks: int = 3
    underdrain_volume: float = 0.0  # m3
    # At the start the vessel is full of its first feed, which reaches the bed at once; or, with a value (g/m3), of
    # water that the feed must displace first, as after a wash. The solids in that first feed count unless
    # `first_water_counts` is false. The bed is clean, and as unripe as after a wash unless `ripe_at_start`.
    initial_water_solids: float | None = None
    first_water_counts: bool = True
    ripe_at_start: bool = False

    def __post_init__(self) -> None:
        if self.water_volume <= self.pore_volume:
            raise ValueError(f"a vessel of {self.height} m leaves no water above its bed")
        if self.ripe_at_start and self.initial_water_solids is not None:
            raise ValueError("a bed with a wash to displace is not ripe yet")
        if self.trigger.kind not in (*POLICIES, "never"):
            raise ValueError(f"trigger {self.trigger.kind!r} is none of {POLICIES}")

    @property
    def solids_at_start(self) -> float:
        """Solids in the vessel's water at the start, g."""
        if self.initial_water_solids is not None:
            return self.water_volume * self.initial_water_solids
        return self.water_volume * float(self.solids[0]) if self.first_water_counts else 0.0

    @property
    def filtered_at_start(self) -> float:
        """Volume filtered since the last wash, as far as ripening goes, m3."""
        return inf if self.ripe_at_start else 0.0

    @property
    def area(self) -> float:
        return pi / 4.0 * self.diameter**2

    @property
    def pore_volume(self) -> float:
        """Water in the bed's pores and below it, m3."""
        return self.area * sum(layer.depth * layer.porosity for layer in self.layers) + self.underdrain_volume

    @property
    def water_volume(self) -> float:
        """All water in the vessel, m3: the vessel less its grains."""
        return self.area * (self.height - sum(layer.depth for layer in self.layers)) + self.pore_volume


@dataclass(frozen=True, kw_only=True)
class TwinResult:
    """What one run came to; the names are those of the product's results. Nan where nothing can be said."""

    washes: int
    treated_m3: float
    backwash_m3: float
    rinse_m3: float
    drain_m3: float
    drain_peak_m3_h: float
    drain_fraction: float
    downtime_h: float
    unmet_m3: float
    unmet_by_washing_m3: float  # all of it: nothing else keeps the twin from what is asked of it
    over_limit_h: float
    over_limit_unavoidable_h: float
    breakthrough_risk: float  # a run cut off by the end counts once it has broken through
    dirty_water_kg: float
    dirty_water_min: float
    peak_dp_kpa: float
    mean_run_h: float
    unused_capacity: float
    solids_in_kg: float
    solids_to_service_kg: float
    solids_to_drain_kg: float
    solids_held_kg: float
    solids_at_start_kg: float
    solids_dosed_kg: float = nan  # nan without a coagulant
    wash_starts: tuple[float, ...] = field(default=())  # s, of every wash begun

    @property
    def ledger_error(self) -> float:
        """Solids not accounted for, over the solids that came in."""
        came = self.solids_in_kg + self.solids_at_start_kg
        came += 0.0 if isnan(self.solids_dosed_kg) else self.solids_dosed_kg
        went = self.solids_to_service_kg + self.solids_to_drain_kg + self.solids_held_kg
        return abs(came - went) / came if came > 0.0 else abs(went)


def viscosity(temperature: Floats) -> Floats:
    """Water at 0.1 MPa, Pa s, from degC; IAPWS SR6-08 (2011) eq. 8, from memory; -20 to 110 degC."""
    ratio = (np.asarray(temperature) + 273.15) / 300.0
    return 1e-6 * (280.68 * ratio**-1.9 + 511.45 * ratio**-7.7 + 61.131 * ratio**-19.6 + 0.45903 * ratio**-40.0)


def density(temperature: Floats) -> Floats:
    """Water at 1 atm, kg/m3; Kell, J. Chem. Eng. Data 20 (1975) 97, from memory; 0-100 degC."""
    t = np.asarray(temperature)
    top = 999.83952 + t * (
        16.945176 + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - t * 280.54253e-12)))
    )
    return top / (1.0 + 16.879850e-3 * t)


REFERENCE_TRIGGERS = {
    "calendar": Trigger(kind="calendar", every=4 * DAY, at=3 * HOUR),
    "volume": Trigger(kind="volume", volume=250.0),
    "volume with reserve": Trigger(kind="volume with reserve", volume=330.0, reserve=60.0, at=3 * HOUR),
    "pressure drop": Trigger(kind="pressure drop", above=14e3, hold=3 * MINUTE),
}


def reference_plant(policy: str, days: int = 60) -> Plant:
    """The reference case (one filter, steady feed, no ripening), with one of its four triggers."""
    hourly = np.array([1.8] * 6 + [5.5] * 16 + [1.8] * 2) / HOUR
    hours = 24 * days
    anthracite = Layer(
        depth=0.45,
        sizes=(1.0e-3,),
        sphericity=0.65,
        porosity=0.48,
        coefficients=(4.0,),
        ultimate=12e3,
        deposit_density=60e3,
    )
    sand = Layer(
        depth=0.25,
        sizes=(0.5e-3,),
        sphericity=0.80,
        porosity=0.42,
        coefficients=(10.0,),
        ultimate=9e3,
        deposit_density=60e3,
    )
    return Plant(
        diameter=30 * 0.0254,
        height=1.5,
        layers=(anthracite, sand),
        steps=(
            Step(do="backwash", seconds=10 * MINUTE, flow=17.0 / HOUR, cleaning_rate=0.8 / MINUTE),
            Step(do="rinse", seconds=6 * MINUTE, flow=9.0 / HOUR),
        ),
        trigger=REFERENCE_TRIGGERS[policy],
        limit=0.5,
        length=days * DAY,
        flow=np.tile(hourly, days),
        solids=np.full(hours, 5.0),
        temperature=np.full(hours, 15.0),
    )
