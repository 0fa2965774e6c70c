"""Cases built in code, for tests that vary one thing."""

from dataclasses import replace
from datetime import datetime
from typing import Any

from sim.case.records import Case
from sim.case.series.records import Demand, Feed, Profile, Run, Steady
from sim.case.stage.records import HeadLoss, Layer, Stage, Step, Vessel
from sim.case.train.records import Washing
from sim.case.trigger.records import Calendar, Policy, Pressure, Trigger, Volume, VolumeReserve

DAY, HOUR, MINUTE = 86_400.0, 3600.0, 60.0
M3_H = 1.0 / HOUR

ANTHRACITE = Layer(
    medium="anthracite",
    depth=0.45,
    size=1.0e-3,
    uniformity=1.0,
    sphericity=0.65,
    porosity=0.48,
    grain_density=1600.0,
    filter_coefficients=(4.0,),
    ultimate_deposit=12_000.0,
    deposit_density=60_000.0,
    head_loss_gain=None,
    firm_share=0.1,
    sublayer_sizes=(1.0e-3,),
)
SAND = replace(
    ANTHRACITE,
    medium="sand",
    depth=0.25,
    size=0.5e-3,
    sphericity=0.80,
    porosity=0.42,
    grain_density=2650.0,
    filter_coefficients=(10.0,),
    ultimate_deposit=9_000.0,
    sublayer_sizes=(0.5e-3,),
)
BACKWASH = Step(
    do="backwash",
    seconds=10 * MINUTE,
    flow=17 * M3_H,
    water="clean",
    water_solids=None,
    cleaning_rate=0.8 / MINUTE,
)
RINSE = Step(do="rinse", seconds=6 * MINUTE, flow=9 * M3_H, water="raw", water_solids=None, cleaning_rate=None)
FILTER = Stage(
    name="filter",
    limit=0.5,
    vessel=Vessel(diameter=0.762, height=1.5, pressure_rating=6e5),
    layers=(ANTHRACITE, SAND),
    head_loss=HeadLoss(
        law="ergun", viscous=150.0, inertial=1.75, growth="pore-narrowing", valve_constant=0.0, tap="vessel"
    ),
    ripening=None,
    sloughing=None,
    mat=None,
    unfilterable=0.0,
    velocity_exponent=0.0,
    reference_rate=12 / HOUR,
    reference_viscosity=1.137567559e-3,
    tanks=3,
    underdrain_volume=0.0,
    cells_per_layer=20,
    porosity_floor=0.05,
    loose_rate=0.8 / MINUTE,
    firm_rate=0.06 / MINUTE,
    steps=(BACKWASH, RINSE),
)
CALENDAR = Calendar(every=4 * DAY, at=3 * HOUR)
VOLUME = Volume(volume=250.0, at=None)
RESERVE = VolumeReserve(volume=330.0, reserve=60.0, at=3 * HOUR)
PRESSURE = Pressure(above=14e3, hold=3 * MINUTE)
TRIGGERS = {"calendar": CALENDAR, "volume": VOLUME, "volume with reserve": RESERVE, "pressure drop": PRESSURE}
DAY_AND_NIGHT = Profile(hourly=(1.8 * M3_H,) * 6 + (5.5 * M3_H,) * 16 + (1.8 * M3_H,) * 2, weekday=(1.0,) * 7)


# 3.5 m3/h, a power of two so that volumes of whole seconds are exact numbers.
EXACT_FLOW = 2.0**-10


def steady(flow: float) -> Demand:
    """The same flow at all times [m3/s]."""
    return Demand(flow=Steady(value=flow), season=None)


def by_the_hour(*flows: float) -> Demand:
    """A flow for each hour of the day [m3/s], the pattern repeated over 24 hours."""
    return Demand(flow=Profile(hourly=tuple(flows) * (24 // len(flows)), weekday=(1.0,) * 7), season=None)


def feed(solids: float, temperature: float = 15.0) -> Feed:
    """A steady feed [g/m3, degC]."""
    return Feed(temperature=Steady(value=temperature), solids=Steady(value=solids), turbidity_ratio=None)


def train(*names: str, like: Stage | None = None) -> tuple[Stage, ...]:
    """Equal stages in series."""
    return tuple(replace(like or FILTER, name=name) for name in names)


def policy(name: str, *triggers: Trigger, stages: tuple[Stage, ...] = (FILTER,)) -> Policy:
    """A policy with one trigger for every stage, the last repeated."""
    each = [*triggers, *[triggers[-1]] * (len(stages) - len(triggers))]
    return Policy(name=name, triggers=tuple((s.name, t) for s, t in zip(stages, each, strict=True)))


def make_case(**given: Any) -> Case:
    """One filter with a steady feed and a day-and-night demand; give records to replace what it has."""
    stages = given.get("stages", (FILTER,))
    days = given.pop("days", 60.0)
    given.setdefault("washing", Washing(together="wait"))
    base = Case(
        title="one filter, steady feed",
        run=Run(start=datetime(2027, 1, 4), length=days * DAY, allowed_over_limit=None),
        feed=Feed(temperature=Steady(value=15.0), solids=Steady(value=5.0), turbidity_ratio=None),
        demand=Demand(flow=DAY_AND_NIGHT, season=None),
        stages=stages,
        policies=tuple(policy(name, trigger, stages=stages) for name, trigger in TRIGGERS.items()),
        assumptions=(),
        constants=0,
        source_hash="",
    )
    return replace(base, **given)
