"""Whole trains drawn at random: vessels side by side, raw water past them, a unit with its tank, a shared supply."""

from dataclasses import replace

from hypothesis import strategies as st
from hypothesis.strategies import DrawFn, SearchStrategy

from sim.case.records import Case
from sim.case.stage.records import Stage
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
from sim.case.trigger.records import AnyOf, Policy, Volume, VolumeLearned
from sim.case.wash.records import Supply
from tests.plant.builders import DAY, HOUR
from tests.plant.random_cases import POLICY, cases, hours_of_day, none_or, numbers, triggers

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
    length = sum(step.seconds for step in stage.steps)
    begin = draw(numbers(0.0, 0.8)) * length
    hold = HoldUnit(start=begin, end=begin + draw(numbers(0.05, 1.0)) * (length - begin))
    return replace(
        stage,
        vessels=draw(vessels()),
        while_washing=draw(st.sampled_from(("closed", "passes raw"))),
        wash_path=draw(st.sampled_from(("header", "through earlier stages"))) if place else "header",
        hold_unit=draw(none_or(st.just(hold))),
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
    together = draw(st.sampled_from(("wait", "share")))
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
