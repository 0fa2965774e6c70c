"""Stages for what is dissolved, built in code: a softener, oxidising media, carbon, and a filter behind a dose.

Numbers of our own. Their beds take up no solids unless a test says so, so that what is dissolved is all there is.
"""

from dataclasses import replace

from sim.case.chemistry.records import Carbon, Dosing, Oxidising, Resin, Solute
from sim.case.series.records import Demand, Feed, Profile, Series, Steady
from sim.case.stage.records import Layer, Stage, Step, Vessel
from sim.case.trigger.records import Volume
from tests.plant.builders import BACKWASH, FILTER, HOUR, M3_H, MINUTE, SAND

NEVER = Volume(volume=1e9, at=None)
OPEN = replace(SAND, filter_coefficients=(0.0,))
"""Grains that let all solids through."""

RESIN_LAYER = replace(
    OPEN,
    medium="resin",
    depth=0.8,
    uptake=Resin(
        doses=(60e3, 120e3, 200e3, 260e3),
        capacities=(34e3, 46e3, 55e3, 59e3),
        half_length=0.03,
        reference_rate=20.0 / HOUR,
        leakage=0.0,
        fouling=0.0,
    ),
)
OXIDISING_LAYER = replace(
    OPEN,
    medium="oxidising media",
    depth=0.6,
    uptake=Oxidising(capacity=28.0, half_length=0.05, reference_rate=10.0 / HOUR),
)
CARBON_LAYER = replace(
    OPEN,
    medium="carbon",
    depth=0.9,
    uptake=Carbon(capacity=2.5e6, half_length=0.11, combined_half_length=1.3, reference_rate=14.0 / HOUR),
)
WASH = replace(BACKWASH, flow=3.0 * M3_H, seconds=8 * MINUTE)
BRINE = Step(
    do="regenerant", seconds=24 * MINUTE, flow=0.25 * M3_H, water_solids=None, cleaning_rate=None, salt=12_000.0,
)  # fmt: skip
DISPLACEMENT = replace(BRINE, do="displacement", seconds=50 * MINUTE, flow=0.6 * M3_H, salt=None)
RINSE = replace(BRINE, do="rinse", seconds=12 * MINUTE, flow=2.4 * M3_H, salt=None)
PERMANGANATE = replace(BRINE, salt=None, permanganate=600.0)
MAKE_UP = replace(BRINE, do="make-up", seconds=20 * MINUTE, flow=0.12 * M3_H, salt=None)

SOFTENER = replace(
    FILTER,
    name="softener",
    limit=None,
    vessel=Vessel(diameter=0.4, height=1.5, pressure_rating=None),
    layers=(RESIN_LAYER,),
    steps=(WASH, BRINE, DISPLACEMENT, RINSE),
)
OXIDISER = replace(
    SOFTENER, name="oxidising", layers=(OXIDISING_LAYER,), steps=(WASH, PERMANGANATE, DISPLACEMENT, RINSE)
)
CARBON = replace(SOFTENER, name="carbon", layers=(CARBON_LAYER,), steps=(WASH, RINSE))
CHLORINE = Dosing(product="chlorine", dose=3.0, unfilterable=0.0)


def bed_volume(stage: Stage, number: int = 0) -> float:
    """Of one layer [m3]."""
    return stage.vessel.area * stage.layers[number].depth


def with_uptake(stage: Stage, number: int = 0, **given: object) -> Stage:
    """A stage whose layer takes up otherwise."""
    layer = stage.layers[number]
    assert layer.uptake is not None
    changed = replace(layer, uptake=replace(layer.uptake, **given))  # type: ignore[arg-type]
    return replace(stage, layers=(*stage.layers[:number], changed, *stage.layers[number + 1 :]))


def deeper(stage: Stage, depth: float) -> Stage:
    """A stage with another depth of its only layer."""
    layer: Layer = replace(stage.layers[0], depth=depth)
    return replace(stage, layers=(layer,))


def well(solids: float = 0.0, temperature: float = 15.0, **solutes: Series | float) -> Feed:
    """A steady feed with what is dissolved in it [g/m3]; acidity is a matter of its own."""
    each: list[tuple[Solute, Series]] = [
        (name, Steady(value=value) if isinstance(value, float) else value)  # type: ignore[misc]
        for name, value in solutes.items()
    ]
    return Feed(
        temperature=Steady(value=temperature), solids=Steady(value=solids), turbidity_ratio=None, solutes=tuple(each)
    )


def by_day(day: tuple[float, ...], *weekdays: float) -> Demand:
    """Flows of the 24 hours [m3/h], times a factor for each day from Monday on."""
    return Demand(
        flow=Profile(hourly=tuple(flow * M3_H for flow in day), weekday=weekdays or (1.0,) * 7), season=None
    )
