"""Cases that each vary one thing, and one that varies all of them at once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from typing import Any

from sim.case.records import Case
from sim.case.series.records import Coagulant, Demand, Feed, Profile, Run, Season, Seasonal, Steady
from sim.case.stage.records import Layer, Ripening, Stage, Step
from tests.plant.builders import (
    ANTHRACITE,
    BACKWASH,
    DAY,
    FILTER,
    M3_H,
    MINUTE,
    PRESSURE,
    RINSE,
    SAND,
    TRIGGERS,
    make_case,
    policy,
)

WEEK = (1.0, 1.1, 0.95, 1.2, 1.05, 0.4, 0.0)  # nothing on Sundays
HOURLY = (
    *(0.0, 0.0, 0.5, 0.8, 1.5, 2.0, 4.5, 6.0, 5.5, 5.0, 5.2, 4.8),
    *(4.1, 3.9, 4.4, 4.6, 5.1, 5.8, 6.2, 5.0, 3.5, 2.1, 1.0, 0.4),
)
MUDDY = (
    *(4.0, 4.2, 4.5, 5.0, 5.6, 6.3, 7.0, 7.5, 7.7, 7.4, 6.8, 6.1),
    *(5.5, 5.0, 4.6, 4.3, 4.1, 4.0, 3.9, 3.8, 3.8, 3.8, 3.9, 3.9),
)
VARYING_DEMAND = Demand(
    flow=Profile(hourly=tuple(q * M3_H for q in HOURLY), weekday=WEEK), season=Season(swing=0.2, peak_day=30)
)
VARYING_FEED = Feed(
    temperature=Seasonal(mean=12.0, swing=8.0, peak_day=100),
    solids=Profile(hourly=MUDDY, weekday=(1.0, 1.3, 0.8, 1.0, 1.1, 0.9, 1.0)),
    turbidity_ratio=None,
)
DOSED_FEED = replace(VARYING_FEED, coagulant=Coagulant(product="alum", adds=1.5, adds_per_solids=0.0))
FOLLOWING_FEED = replace(VARYING_FEED, coagulant=Coagulant(product="iron", adds=0.0, adds_per_solids=0.6))
FINE_SAND = replace(
    SAND, depth=0.10, size=0.3e-3, filter_coefficients=(15.0,), ultimate_deposit=7_000.0, sublayer_sizes=(0.3e-3,)
)
SETTLING = Step(do="settle", seconds=3 * MINUTE, flow=0.0, water="raw", water_solids=None, cleaning_rate=None)
RAW_WASH = (
    replace(BACKWASH, water="raw", seconds=7 * MINUTE, cleaning_rate=0.3 / MINUTE),
    SETTLING,
    replace(RINSE, seconds=4 * MINUTE),
)
POOLS = (replace(BACKWASH, cleaning_rate=None), RINSE)  # at the stage's own rates for loose and firm deposit
FILTERED_WASH = (replace(BACKWASH, water="filtered", water_solids=0.4), RINSE)
SHORT_WASH = (replace(BACKWASH, seconds=2 * MINUTE), replace(RINSE, seconds=1 * MINUTE))


def graded(layer: Layer) -> Layer:
    """The layer with grains from fine to coarse in eight sublayers, d60/d10 about 1.5."""
    sizes = tuple(layer.size * (0.95 + 0.1 * i) for i in range(8))
    return replace(layer, uniformity=1.5, sublayer_sizes=sizes)


def own_coefficients(layer: Layer) -> Layer:
    """The graded layer, each sublayer with a coefficient of its own."""
    fine = layer.filter_coefficients[0]
    return replace(graded(layer), filter_coefficients=tuple(fine * (1.2 - 0.06 * i) for i in range(8)))


def linear(stage: Stage) -> Stage:
    """The stage with growth linear in the deposit."""
    layers = tuple(replace(layer, head_loss_gain=3.0) for layer in stage.layers)
    return replace(stage, layers=layers, head_loss=replace(stage.head_loss, growth="linear"))


def valve(stage: Stage, tap: str) -> Stage:
    """The stage with 4 kPa of valve at 5.5 m3/h and creeping flow in the bed."""
    laminar = {"law": "carman-kozeny", "viscous": 180.0, "inertial": 0.0}
    at_design = 4e3 / (5.5 * M3_H) ** 2
    return replace(stage, head_loss=replace(stage.head_loss, **laminar, valve_constant=at_design, tap=tap))


def one(stage: Stage = FILTER, *, above: float = 14e3, longest_run: float | None = None, **given: Any) -> Case:
    """One filter for 40 days under the four triggers, the pressure switch set to `above`."""
    triggers = TRIGGERS | {"pressure drop": replace(PRESSURE, above=above)}
    policies = tuple(policy(name, replace(trigger, longest_run=longest_run)) for name, trigger in triggers.items())
    return make_case(stages=(stage,), days=40.0, **{"policies": policies} | given)


def everything() -> Case:
    """All of it at once, from a Wednesday at half past five, with a longest run and an hour of its own."""
    stage = replace(
        valve(FILTER, "vessel"),
        layers=(graded(replace(ANTHRACITE, firm_share=0.15, viscosity_exponent=0.5)), graded(SAND), FINE_SAND),
        ripening=Ripening(share=0.5, volume=2.0),
        velocity_exponent=0.5,
        unfilterable=0.03,
        underdrain_volume=0.04,
        cells_per_layer=24,
        tanks=4,
        steps=(replace(RAW_WASH[0], cleaning_rate=None), *RAW_WASH[1:]),
        longest_run=5.3 * DAY,
        longest_run_at=15_300.0,
    )
    run = Run(start=datetime(2027, 3, 3, 5, 30), length=40 * DAY, allowed_over_limit=None)
    return one(stage, above=26e3, feed=VARYING_FEED, demand=VARYING_DEMAND, run=run)


VARIED: dict[str, Callable[[], Case]] = {
    "varying feed and demand": lambda: one(feed=VARYING_FEED, demand=VARYING_DEMAND),
    "ripening": lambda: one(replace(FILTER, ripening=Ripening(share=0.5, volume=2.0))),
    "rate exponent": lambda: one(replace(FILTER, velocity_exponent=0.5)),
    "water exponent": lambda: one(
        replace(FILTER, layers=(replace(ANTHRACITE, viscosity_exponent=0.9), SAND)),
        feed=replace(VARYING_FEED, solids=Steady(value=5.0)),
    ),
    "linear growth": lambda: one(linear(FILTER)),
    "raw wash water": lambda: one(replace(FILTER, steps=RAW_WASH), above=12e3),
    "filtered wash water": lambda: one(replace(FILTER, steps=FILTERED_WASH)),
    "short wash": lambda: one(replace(FILTER, steps=SHORT_WASH)),
    "loose and firm deposit": lambda: one(replace(FILTER, steps=POOLS)),
    "underdrain volume": lambda: one(replace(FILTER, underdrain_volume=0.1, tanks=2), above=13e3),
    "graded layers": lambda: one(
        replace(FILTER, layers=(own_coefficients(ANTHRACITE), graded(SAND)), cells_per_layer=24)
    ),
    "three layers": lambda: one(replace(FILTER, layers=(ANTHRACITE, SAND, FINE_SAND))),
    "unfilterable share": lambda: one(replace(FILTER, unfilterable=0.08), feed=VARYING_FEED),
    "coagulant": lambda: one(replace(FILTER, unfilterable=0.03, steps=RAW_WASH), feed=DOSED_FEED),
    "coagulant that follows turbidity": lambda: one(
        replace(FILTER, unfilterable=0.03, ripening=Ripening(share=0.6, volume=4.0)), feed=FOLLOWING_FEED
    ),
    "valve beside the gauge": lambda: one(valve(FILTER, "bed")),
    "everything": everything,
}
