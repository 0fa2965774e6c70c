"""The cases that are timed and counted."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from sim.case.chemistry.records import Resin
from sim.case.load import load_case
from sim.case.records import Case
from sim.case.series.records import Demand, Feed, Profile, Seasonal, Steady
from sim.case.stage.records import Ripening
from tests.plant.builders import DAY, HOUR, M3_H

CASES = Path(__file__).parents[2] / "cases"
REFERENCE = CASES / "reference.toml"
YEAR = 365.0
PRESSURE = "pressure drop"

# Every hour of the week unlike the one before, so that no two stretches merge.
BUSY = Profile(
    hourly=tuple(
        q * M3_H
        for q in (
            *(1.2, 1.0, 0.9, 1.1, 1.6, 2.4, 4.5, 6.0, 5.5, 5.0, 5.2, 4.8),
            *(4.1, 3.9, 4.4, 4.6, 5.1, 5.8, 6.2, 4.9, 3.5, 2.1, 1.8, 1.4),
        )
    ),
    weekday=(1.0, 1.1, 0.95, 1.2, 1.05, 0.7, 0.5),
)
MUDDY = Profile(
    hourly=(
        *(4.0, 4.2, 4.5, 5.0, 5.6, 6.3, 7.0, 7.5, 7.7, 7.4, 6.8, 6.1),
        *(5.5, 5.1, 4.6, 4.3, 4.1, 3.9, 3.8, 3.7, 3.6, 3.5, 3.4, 3.8),
    ),
    weekday=(1.0, 1.3, 0.8, 1.05, 1.1, 0.9, 0.95),
)


def reference(*, days: float = YEAR, cells: int = 20) -> Case:
    """cases/reference.toml over another length and at another number of cells a layer."""
    return longer(load_case(REFERENCE), days, cells)


def varying(*, days: float = YEAR, cells: int = 20) -> Case:
    """The reference filter under feed, demand and temperature that change every hour."""
    feed = Feed(temperature=Seasonal(mean=12.0, swing=8.0, peak_day=210), solids=MUDDY, turbidity_ratio=None)
    return replace(longer(load_case(REFERENCE), days, cells), feed=feed, demand=Demand(flow=BUSY, season=None))


def ripening(*, days: float = YEAR) -> Case:
    """The reference case with a bed that ripens after each wash, the finest pieces there are."""
    case = reference(days=days)
    (stage,) = case.stages
    return replace(case, stages=(replace(stage, ripening=Ripening(share=0.5, volume=2.0), velocity_exponent=0.5),))


def softening(*, days: float = YEAR) -> Case:
    """The reference case whose water brings hardness too, which its last layer takes up until it is spent."""
    like = reference(days=days)
    (stage,) = like.stages
    resin = Resin(
        doses=(100e3, 200e3), capacities=(40e3, 50e3), half_length=0.03, reference_rate=20.0 / HOUR, leakage=0.0,
        fouling=0.0,
    )  # fmt: skip
    layers = (*stage.layers[:-1], replace(stage.layers[-1], uptake=resin))
    feed = replace(like.feed, solutes=(("hardness", Steady(value=250.0)),))
    return replace(like, stages=(replace(stage, layers=layers),), feed=feed)


def train(*, days: float = YEAR) -> Case:
    """Two of the reference filter in series, both on pressure drop."""
    case = reference(days=days)
    (first,) = case.stages
    stages = (first, replace(first, name="second"))
    policies = tuple(
        replace(policy, triggers=tuple((stage.name, policy.triggers[0][1]) for stage in stages))
        for policy in case.policies
    )
    return replace(case, stages=stages, policies=policies)


def boiler_house() -> Case:
    """cases/boiler_house.toml: three stages, two vessels side by side, a built switch, a unit with its tank."""
    return load_case(CASES / "boiler_house.toml")


def longer(case: Case, days: float, cells: int) -> Case:
    """The case over so many days, its stages with so many cells a layer."""
    stages = tuple(replace(stage, cells_per_layer=cells) for stage in case.stages)
    return replace(case, run=replace(case.run, length=days * DAY), stages=stages)
