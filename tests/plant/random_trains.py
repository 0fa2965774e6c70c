"""Whole trains drawn at random: vessels side by side, raw water past them, a unit with its tank, a shared supply.

Treated ones beside that: what is dissolved, layers that take it up, doses, regenerations and their stores.
"""

from dataclasses import replace

from hypothesis import strategies as st
from hypothesis.strategies import DrawFn, SearchStrategy

from sim.case.chemistry.records import (
    IN_FEED,
    Carbon,
    Dosing,
    Limits,
    Oxidising,
    Resin,
    Solute,
    Store,
    Uptake,
)
from sim.case.records import Case
from sim.case.series.records import Steady
from sim.case.stage.records import Stage, Step
from sim.case.train.records import (
    Abort,
    ByHand,
    Downstream,
    HoldUnit,
    HoursOfDay,
    Lines,
    Pump,
    RepeatWash,
    StartSpike,
    Switch,
    Tank,
    Unit,
    ValveSpike,
    Vessels,
    Washing,
)
from sim.case.trigger.records import AnyOf, Clock, Policy, Volume, VolumeLearned
from sim.case.wash.records import Supply
from tests.plant.builders import DAY, HOUR, MINUTE
from tests.plant.random_cases import POLICY, cases, hours_of_day, none_or, numbers, series, triggers

SWITCHES = st.builds(
    Switch, sample=st.sampled_from((5.0, 60.0)), error=st.sampled_from((0.0, 200.0)),
    reset_difference=st.sampled_from((0.0, 500.0)),
)  # fmt: skip
VALVES = st.builds(ValveSpike, height=numbers(500.0, 1e4), length=numbers(1.0, 60.0), a_day=numbers(0.1, 3.0))
STARTS = st.builds(StartSpike, height=numbers(500.0, 1e4), length=numbers(1.0, 60.0))


@st.composite
def vessels(draw: DrawFn) -> Vessels:
    count = draw(st.sampled_from((1, 1, 2, 3)))
    arrangement = draw(st.sampled_from(("parallel", "duty standby"))) if count > 1 else "parallel"
    return Vessels(count=count, arrangement=arrangement, inhibit_while_sister_washes=draw(st.booleans()))


@st.composite
def dressed(draw: DrawFn, stage: Stage, place: int) -> Stage:
    """A stage with what a train may add to it."""
    first = draw(st.integers(0, len(stage.steps) - 1))
    last = draw(none_or(st.integers(first, len(stage.steps) - 1)))
    hold = HoldUnit(start=first, end=last, plus=draw(st.sampled_from((0.0, 300.0))))
    clock = Clock(drift=draw(st.sampled_from((0.0, -25.0, 40.0))))
    return replace(
        stage,
        vessels=draw(vessels()),
        while_washing=draw(st.sampled_from(("closed", "passes raw"))),
        wash_path=draw(st.sampled_from(("header", "through earlier stages"))) if place else "header",
        hold_unit=draw(none_or(st.just(hold))),
        clock=clock,
        least_interval=draw(st.sampled_from((0.0, 3 * HOUR))),
        switch=draw(none_or(SWITCHES)),
        start_spike=draw(none_or(STARTS)),
        valve_spike=draw(none_or(VALVES)),
    )


@st.composite
def units(draw: DrawFn, high: float) -> Unit:
    volume = draw(numbers(0.5, 20.0))
    start = draw(numbers(0.0, 0.8)) * volume
    stop = start + draw(numbers(0.05, 1.0)) * (volume - start)
    tank = Tank(volume=volume, start_below=start, stop_above=stop, level=draw(numbers(0.0, 1.0)) * volume)
    return Unit(feed_flow=draw(numbers(0.1, 1.0)) * high, recovery=draw(numbers(0.4, 1.0)), tank=tank)


@st.composite
def supplies(draw: DrawFn, high: float) -> Supply:
    pressure = draw(numbers(1e5, 5e5))
    flows = (0.0, 0.5 * high, high)
    return Supply(
        flows=flows, pressures=(pressure, 0.9 * pressure, 0.4 * pressure), pipe=None,
        shared_with_service=draw(st.booleans()), others=draw(numbers(0.0, 0.3)) * high,
    )  # fmt: skip


@st.composite
def washing_rules(draw: DrawFn, names: list[str], length: float) -> Washing:
    spans = st.builds(HoursOfDay, start=hours_of_day(), end=hours_of_day())
    span = spans.filter(lambda each: each.start != each.end)
    moments = numbers(0.0, length)
    stage = st.sampled_from(names)
    together = draw(st.sampled_from(("overlap", "wait", "share")))
    aborts = st.lists(st.builds(Abort, stage=stage, at=moments, after=numbers(5.0, 600.0)), max_size=2)
    by_hand = st.lists(st.builds(ByHand, stage=stage, at=moments), max_size=2)
    lines = st.builds(Lines, supply=st.integers(1, 3), raw=st.integers(1, 3), drain=st.integers(1, 3))
    return Washing(
        allowed_hours=tuple(draw(st.lists(span, max_size=1))),
        least_interval=draw(st.sampled_from((0.0, HOUR))),
        most_a_day=draw(none_or(st.integers(1, 4))),
        together=together,
        lines=draw(lines) if together == "share" else Lines(supply=1, raw=1, drain=1),
        repeat_wash=draw(none_or(st.builds(RepeatWash, clean_within=numbers(10.0, 2e3), most=st.integers(1, 3)))),
        aborts=tuple(draw(aborts)),
        after_abort=draw(st.sampled_from(("return", "wash again"))),
        by_hand=tuple(sorted(draw(by_hand), key=lambda each: each.at)),
    )


@st.composite
def several_triggers(draw: DrawFn, area: float, length: float) -> SearchStrategy:
    """One trigger, a learned reserve, or whichever of two comes first."""
    one = draw(triggers(area, length))
    volume = draw(numbers(2.0, 150.0)) * area
    learned = VolumeLearned(
        volume=volume, reserve=0.3 * volume, quantile=draw(numbers(0.1, 0.95)), days=draw(st.sampled_from((2, 7))),
        by="trailing", at=draw(hours_of_day()),
    )  # fmt: skip
    other = Volume(volume=volume, at=draw(none_or(hours_of_day())))
    both = (replace(one, longest_run=None), learned if isinstance(one, Volume) else other)
    pair = AnyOf(triggers=both, longest_run=4 * DAY)
    return draw(st.sampled_from((one, learned, pair)))


@st.composite
def trains(draw: DrawFn, most_days: float) -> Case:
    """A drawn case, dressed as a whole train."""
    plain = draw(cases(most_days))
    stages = tuple(draw(dressed(stage, place)) for place, stage in enumerate(plain.stages))
    area = min(stage.vessel.area for stage in stages)
    high = 20.0 / HOUR * area
    length = plain.run.length
    below = st.builds(
        Downstream, membrane=st.none(), unit=none_or(units(high)),
        feed_limit=none_or(numbers(0.1, 10.0)), cartridge=st.none(),
    )  # fmt: skip
    pump = Pump(
        flows=(0.0, high, 3.0 * high), pressures=(6e4, 4e4, 1e4), delivery=draw(numbers(0.0, 2e4)), other_loss=0.0
    )
    names = [stage.name for stage in stages]
    picked = tuple((name, draw(several_triggers(area, length))) for name in names)
    return replace(
        plain,
        stages=stages,
        policies=(Policy(name=POLICY, triggers=picked),),
        downstream=draw(none_or(below)),
        pump=draw(st.sampled_from((None, None, pump))),
        supply=draw(none_or(supplies(60.0 / HOUR * area))),
        washing=draw(washing_rules(names, length)),
    )


HIGHEST: dict[Solute, float] = {
    "hardness": 400.0, "iron": 8.0, "manganese": 3.0, "sulphide": 2.0, "ammonia": 1.5, "free_chlorine": 3.0,
    "combined_chlorine": 3.0,
}  # fmt: skip
"""Of each in a drawn feed [g/m3]."""
SULPHIDE_TO = st.sampled_from(("sulphur", "sulphate"))
RATES = numbers(5.0 / HOUR, 30.0 / HOUR)


@st.composite
def resins(draw: DrawFn) -> Resin:
    """A concave table of one to three points, below what its salt can do."""
    doses = sorted(draw(st.lists(numbers(5e3, 250e3), min_size=1, max_size=3, unique=True)))
    slopes = sorted(draw(st.lists(numbers(0.0, 0.8), min_size=len(doses), max_size=len(doses))), reverse=True)
    slopes[0] = max(slopes[0], 0.1)
    capacities, before, dose_before = [], 0.0, 0.0
    for dose, slope in zip(doses, slopes, strict=True):
        before += slope * (dose - dose_before)
        capacities.append(before)
        dose_before = dose
    return Resin(
        doses=tuple(doses), capacities=tuple(capacities), half_length=draw(numbers(0.005, 0.2)),
        reference_rate=draw(RATES), leakage=draw(st.sampled_from((0.0, 0.01, 0.1))),
        fouling=draw(st.sampled_from((0.0, 0.3, 1.0))),
    )  # fmt: skip


def uptakes() -> SearchStrategy[Uptake | None]:
    """Of all kinds; small capacities, so that beds are spent."""
    oxidising = st.builds(
        Oxidising, capacity=numbers(0.5, 60.0), half_length=numbers(0.01, 0.3), reference_rate=RATES,
        sulphide_to=SULPHIDE_TO,
    )  # fmt: skip
    carbon = st.builds(
        Carbon, capacity=numbers(200.0, 3e5), half_length=numbers(0.01, 0.3), combined_half_length=numbers(0.1, 3.0),
        reference_rate=RATES, growth=none_or(numbers(0.0, 1.0)),
    )  # fmt: skip
    return st.one_of(st.none(), resins(), oxidising, carbon)


def dosings() -> SearchStrategy[Dosing | None]:
    dose, fine = numbers(0.0, 12.0), numbers(0.0, 0.3)
    wet = st.builds(
        Dosing, product=st.sampled_from(("chlorine", "permanganate")), dose=dose, unfilterable=fine,
        sulphide_to=SULPHIDE_TO,
    )  # fmt: skip
    air = st.builds(
        Dosing, product=st.just("air"), dose=st.just(0.0), contact=numbers(0.0, HOUR), unfilterable=fine,
        sulphide_to=SULPHIDE_TO,
    )  # fmt: skip
    return st.one_of(st.none(), wet, air)


@st.composite
def regenerations(draw: DrawFn, area: float) -> tuple[tuple[Step, ...], Store | None]:
    """Steps behind the backwash, and what they draw on: salt or permanganate by mass, or brine from a tank."""
    plain = Step(
        do="regenerant", seconds=draw(numbers(5.0, 40.0)) * MINUTE, flow=draw(numbers(0.5, 6.0)) / HOUR * area,
        water_solids=None, cleaning_rate=None, direction=draw(st.sampled_from(("co-current", "counter-current"))),
    )  # fmt: skip
    kind = draw(st.sampled_from(("none", "salt", "permanganate", "both", "tank")))
    if kind == "none":
        return (), None
    salt = draw(numbers(0.0, 150e3)) * area * 0.5 if kind in ("salt", "both") else None
    purple = draw(numbers(0.0, 4e3)) * area * 0.5 if kind in ("permanganate", "both") else None
    regenerant = replace(plain, salt=salt, permanganate=purple)
    slow = replace(plain, do="displacement", seconds=draw(numbers(5.0, 60.0)) * MINUTE)
    make_up = replace(plain, do="make-up", seconds=draw(numbers(5.0, 30.0)) * MINUTE)
    orders = {
        "salt": ((regenerant,), (regenerant, slow), (regenerant, slow, regenerant)),
        "tank": ((make_up, regenerant, slow), (regenerant, slow, make_up), (regenerant, make_up)),
    }
    store = st.builds(
        Store, salt=none_or(numbers(0.0, 4e5)), permanganate=none_or(numbers(0.0, 1e4)),
        refilled=none_or(numbers(DAY, 6 * DAY)), solubility=numbers(3e5, 3.8e5), dissolving=numbers(60.0, DAY),
    )  # fmt: skip
    steps = draw(st.sampled_from(orders["tank" if kind == "tank" else "salt"]))
    return steps, draw(store) if kind == "tank" else draw(none_or(store))


@st.composite
def treated(draw: DrawFn, stage: Stage) -> Stage:
    """A stage with what a treated train may add to it."""
    steps, store = draw(regenerations(stage.vessel.area))
    place = draw(st.integers(0, len(stage.steps)))
    limits = st.builds(
        Limits, hardness=none_or(numbers(1.0, 200.0)), iron=none_or(numbers(0.02, 2.0)),
        manganese=none_or(numbers(0.01, 1.0)), chlorine=none_or(numbers(0.0, 1.0)),
    )  # fmt: skip
    vessels = stage.vessels
    if vessels.count == 2 and draw(st.booleans()):
        vessels = replace(vessels, arrangement="alternating")
    return replace(
        stage,
        layers=tuple(replace(layer, uptake=draw(uptakes())) for layer in stage.layers),
        steps=(*stage.steps[:place], *steps, *stage.steps[place:]),
        store=store,
        dosing=draw(dosings()),
        limits=draw(limits),
        blend=draw(st.sampled_from((0.0, 0.0, 0.2))),
        vessels=vessels,
    )


@st.composite
def treated_trains(draw: DrawFn, most_days: float) -> Case:
    """A drawn train whose water carries something dissolved."""
    plain = draw(trains(most_days))
    names: list[Solute] = [name for name in IN_FEED if draw(st.booleans())]
    solutes = tuple((name, draw(series(HIGHEST[name]))) for name in names)
    acidity = draw(none_or(st.builds(Steady, value=numbers(5.5, 8.5))))
    feed = replace(plain.feed, solutes=solutes, acidity=acidity)
    return replace(plain, feed=feed, stages=tuple(draw(treated(stage)) for stage in plain.stages))

