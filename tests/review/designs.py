"""Small designs, each with what the review stops for or looks at in it, and nothing else."""

from dataclasses import replace
from typing import Any

from sim.case.records import Assumption, Case, Solved
from sim.case.series.records import Coagulant, Seasonal, Steady
from sim.case.trigger.records import Calendar, Pressure
from sim.case.wash.records import Pipe, Restrictor, Sump
from tests.plant.builders import DAY, HOUR, M3_H, MINUTE, RINSE, steady
from tests.review.made import (
    BY_VOLUME,
    CARBON,
    COAL,
    DRAIN,
    FINE_SAND,
    FLOW,
    MEMBRANE,
    SETTLE,
    STAGE,
    SUPPLY,
    WASH,
    carbon,
    good,
    policies,
    stage,
    with_stage,
)

PIPE = Pipe(diameter=0.10, length=20.0, roughness=5e-5, fittings=4.0, rise=0.0)
POLYAMIDE = replace(MEMBRANE, membrane="polyamide")
TWO = (STAGE, stage(name="second"))
TWO_COAGULATED = tuple(replace(each, coagulated=True) for each in TWO)


def feed(**changes: Any) -> dict[str, Any]:
    return {"feed": replace(good().feed, **changes)}


def drain(**changes: Any) -> dict[str, Any]:
    return {"drain": replace(DRAIN, **changes)}


def supply(**changes: Any) -> dict[str, Any]:
    return {"supply": replace(SUPPLY, **changes)}


def steps(*each: Any) -> Case:
    return with_stage(steps=each)


def solved(value: float) -> tuple[Solved, ...]:
    return tuple(
        Solved(key=f"stage.filter.layer.{n}.deposit_density", value=value, low=2e4, high=6e4, unit="g/m3", known="x")
        for n in (0, 1)
    )


def dosed(name: str) -> dict[str, Any]:
    """A coagulant in the feed, and one constant of the coagulated stage as typical."""
    assumed = Assumption(
        key=f"stage.filter.layer.0.{name}", value=5.0, low=1.5, high=10.0, unit="Pa/m per g/m3", source="x"
    )
    coagulant = Coagulant(product="alum", adds=1.0, adds_per_solids=0.0)
    return {"assumptions": (assumed,), **feed(coagulant=coagulant)}


def nights(*hours: float) -> Case:
    """Two stages on a calendar, each at its hour."""
    triggers = [Calendar(every=DAY, at=hour * HOUR) for hour in hours]
    return good(stages=TWO, policies=policies(*triggers, stages=TWO))


LAMINAR = replace(STAGE.head_loss, law="carman-kozeny", viscous=180.0, inertial=0.0)
VALVE = replace(STAGE.head_loss, valve_constant=25e3 / FLOW**2)
SET = Pressure(above=20e3, hold=60.0)

RESIN = replace(
    CARBON, medium="resin", size=0.5e-3, sublayer_sizes=(0.5e-3,), porosity=0.38, sphericity=1.0, grain_density=1400.0
)
SOFT = replace(
    carbon(),
    layers=(RESIN,),
    steps=(replace(WASH, flow=7 * M3_H, seconds=1200.0), RINSE),
    vessel=replace(STAGE.vessel, height=2.0),
)
SUPPLIED_TWICE = supply(flows=(0.0, 40 * M3_H))


def hole(width: float) -> tuple[Any, ...]:
    """The good stage with a restrictor [m]."""
    return (stage(restrictor=Restrictor(hole=width, pipe=0.05, discharge=0.61)),)


# case, then level, stage and words of every finding that it has besides those that are fine
CASES: dict[str, tuple[Case, list[tuple[str, str | None, str]]]] = {
    "nothing": (good(), []),
    "no drain": (
        good(drain=None),
        [("stop", None, "air gap where the drain ends: nobody says"), ("look", None, "what the drain takes")],
    ),
    "air gap not stated": (
        good(**drain(air_gap=None)),
        [("stop", None, "air gap where the drain ends: nobody says")],
    ),
    "no air gap": (good(**drain(air_gap=False)), [("stop", None, "there is none")]),
    "air gap stated by its height": (good(**drain(air_gap_height=0.05)), []),
    "air gap too low": (good(**drain(air_gap_height=0.02)), [("look", None, "air gap where the drain ends")]),
    "air gap below twice the bore": (
        good(**drain(air_gap_height=0.15, pipe=PIPE)),
        [("look", None, "air gap where the drain ends")],
    ),
    "drain takes it": (good(**drain(capacity=17.6 * M3_H)), []),
    "drain takes less": (good(**drain(capacity=17.4 * M3_H)), [("stop", "filter", "against what the drain takes")]),
    "sump given more than it may": (
        good(**drain(sump=Sump(flow_limit=10 * M3_H, daily_limit=None))),
        [("stop", "filter", "against what the sump may be given")],
    ),
    "sump filled in a day": (
        good(**drain(sump=Sump(flow_limit=None, daily_limit=7.5))),
        [("look", None, "water to the sump on a day")],
    ),
    "sump filled by the calendar": (
        replace(nights(1, 3), **drain(sump=Sump(flow_limit=None, daily_limit=7.5))),
        [("stop", None, "water to the sump on a day")],
    ),
    "drain pipe wide": (good(**drain(pipe=PIPE)), []),
    "drain pipe narrow": (
        good(**drain(pipe=replace(PIPE, diameter=0.04))),
        [("look", "filter", "speed of the largest flow")],
    ),
    "vessel too narrow": (
        good(demand=steady(12 * M3_H), stages=(stage(steps=(WASH, replace(RINSE, seconds=720.0))),)),
        [("look", "filter", "filtration rate")],
    ),
    "clean bed loses much": (
        good(stages=(stage(head_loss=VALVE),)),
        [("look", "filter", "pressure drop of the clean bed")],
    ),
    "bed shallow": (
        with_stage(layers=(replace(COAL, depth=0.35), FINE_SAND), vessel=replace(STAGE.vessel, height=1.4)),
        [("look", "filter", "depth of the bed")],
    ),
    "coarse sand": (
        with_stage(layers=(COAL, replace(FINE_SAND, size=0.6e-3, sublayer_sizes=(0.6e-3,)))),
        [("look", "filter", "effective size of the sand")],
    ),
    "laminar law within its range": (
        good(stages=(stage(head_loss=LAMINAR),), demand=steady(2 * M3_H)),
        [],
    ),
    "laminar law beyond its range": (
        good(stages=(stage(head_loss=LAMINAR),), **feed(temperature=Steady(value=25.0)), demand=steady(11 * M3_H)),
        [("look", "filter", "Reynolds number")],
    ),
    "supply gives what is asked": (good(**supply()), []),
    "supply too weak": (
        good(**supply(pipe=replace(PIPE, diameter=0.05, length=300.0), pressures=(3.95e5, 3.95e5))),
        [("look", "filter", "flow that the backwash reaches")],
    ),
    "supply presses more than the vessel bears": (
        good(**supply(pressures=(7e5, 7e5))),
        [("stop", "filter", "pressure that the supply can put on the vessel")],
    ),
    "vessel without rating": (
        good(stages=(stage(vessel=replace(STAGE.vessel, pressure_rating=None)),), **supply()),
        [("look", "filter", "the vessel has no rating")],
    ),
    "nothing holds the wash": (
        good(**SUPPLIED_TWICE),
        [("look", "filter", "free height if nothing but the supply")],
    ),
    "restrictor holds the wash": (
        good(**SUPPLIED_TWICE, stages=hole(0.021)),
        [],
    ),
    "restrictor without a supply": (good(stages=hole(0.021)), []),
    "restrictor too wide": (
        good(**SUPPLIED_TWICE, stages=hole(0.03)),
        [("look", "filter", "flow that the restrictor lets through")],
    ),
    "restrictor too narrow": (
        good(**supply(), stages=hole(0.02)),
        [
            ("look", "filter", "flow that the backwash reaches"),
            ("look", "filter", "flow that the restrictor lets through"),
        ],
    ),
    "one line for wash and service": (
        good(**supply(shared_with_service=True, flows=(0.0, 24 * M3_H)), demand=steady(5.9 * M3_H)),
        [],
    ),
    "one line, too little of it": (
        good(**supply(shared_with_service=True, flows=(0.0, 22 * M3_H)), demand=steady(5.9 * M3_H)),
        [("look", "filter", "pressure left on the shared line")],
    ),
    "one line, a wash of many times the service": (
        good(**supply(shared_with_service=True, flows=(0.0, 24 * M3_H)), demand=steady(4 * M3_H)),
        [("look", "filter", "flow of the backwash over the largest service flow")],
    ),
    "wash too weak": (
        steps(replace(WASH, flow=12 * M3_H), RINSE),
        [("look", "filter", "backwash rate")],
    ),
    "wash short": (
        steps(replace(WASH, seconds=5 * MINUTE), RINSE),
        [("look", "filter", "volume of the backwash")],
    ),
    "cold water lifts too much": (
        good(**feed(temperature=Seasonal(mean=10.0, swing=7.0, peak_day=200))),
        [("look", "filter", "expansion of the bed by the backwash in the coldest water, Ergun's law")],
    ),
    "coarse grains lie still": (
        with_stage(layers=(COAL, FINE_SAND, replace(FINE_SAND, depth=0.05, size=0.55e-3, sublayer_sizes=(2e-3,)))),
        [("look", "filter", "share of the bed that the backwash never lifts")],
    ),
    "grains change places": (
        with_stage(layers=(FINE_SAND, COAL)),
        [("look", "filter", "share of sand and anthracite that changes places")],
    ),
    "finest grains leave": (
        with_stage(layers=(replace(COAL, uniformity=12.0), FINE_SAND)),
        [("look", "filter", "the one that lifts the coarsest"), ("look", "filter", "the settling of the finest")],
    ),
    "raw water from a supply of its own": (
        good(stages=(stage(steps=(replace(WASH, water="raw"), RINSE)),), **supply()),
        [("look", "filter", "water of the backwash: raw, though its supply is not the line of service")],
    ),
    "raw water from the line of service": (
        good(stages=(stage(steps=(replace(WASH, water="raw"), RINSE)),), **supply(shared_with_service=True)),
        [("look", "filter", "flow of the backwash over"), ("look", "filter", "pressure left on the shared line")],
    ),
    "little room above": (
        with_stage(vessel=replace(STAGE.vessel, height=1.1)),
        [("look", "filter", "free height above")],
    ),
    "bed over the outlet": (
        with_stage(vessel=replace(STAGE.vessel, height=0.95)),
        [("stop", "filter", "free height above")],
    ),
    "air on a bed that is lifted": (
        steps(replace(WASH, air=True), RINSE),
        [("look", "filter", "lifted while air scours it")],
    ),
    "air on a bed at rest": (
        steps(replace(WASH, air=True, flow=1 * M3_H), WASH, replace(RINSE, seconds=540.0)),
        [],
    ),
    "no rinse": (steps(WASH), [("look", "filter", "rinse to the drain behind the backwash")]),
    "no rinse ahead of a unit": (
        replace(steps(WASH), downstream=MEMBRANE),
        [("stop", "filter", "rinse to the drain behind the backwash")],
    ),
    "short rinse": (
        steps(WASH, replace(RINSE, seconds=180.0)),
        [("look", "filter", "volumes of the vessel's water")],
    ),
    "long rinse": (
        good(stages=(stage(steps=(WASH, replace(RINSE, seconds=1200.0))),), trigger=replace(BY_VOLUME, volume=150.0)),
        [("look", "filter", "volumes of the vessel's water")],
    ),
    "settle behind the backwash": (steps(WASH, SETTLE, RINSE), []),
    "settle for long": (
        steps(WASH, replace(SETTLE, seconds=600.0), RINSE),
        [("look", "filter", "time for the bed to settle")],
    ),
    "settle before anything": (steps(SETTLE, WASH, RINSE), [("look", "filter", "settle before anything")]),
    "settle behind a rinse": (steps(WASH, RINSE, SETTLE), [("look", "filter", "settle after a rinse")]),
    "rinse first": (
        good(stages=(stage(steps=(replace(RINSE, seconds=60.0), WASH, RINSE)),)),
        [("look", "filter", "rinse before the backwash")],
    ),
    "washes close together": (
        good(trigger=replace(BY_VOLUME, volume=85.0)),
        [("look", "filter", "volume treated between washes")],
    ),
    "washes that take much": (
        good(trigger=replace(BY_VOLUME, volume=72.0)),
        [("look", "filter", "volume treated between washes"), ("look", "filter", "water of a wash over")],
    ),
    "bed past its limit": (
        good(trigger=replace(BY_VOLUME, volume=900.0)),
        [("look", "filter", "solids in the filtered water")],
    ),
    "two washes at one hour": (nights(2, 2.1), [("look", None, "time that the washes of filter and second share")]),
    "two washes across midnight": (
        nights(23.9, 0),
        [("look", None, "time that the washes of filter and second share")],
    ),
    "two washes apart": (nights(2, 3), []),
    "carbon with a longest run": (good(stages=(carbon(),)), []),
    "carbon without a longest run": (
        good(stages=(replace(carbon(), longest_run=None),), trigger=Calendar(every=DAY, at=0.0)),
        [("stop", "filter", "longest run of the stage, which holds carbon: there is none")],
    ),
    "resin without a longest run": (
        good(stages=(replace(SOFT, longest_run=None),)),
        [("stop", "filter", "longest run of the stage, which holds resin: there is none")],
    ),
    "coal over sand without a longest run": (
        with_stage(longest_run=None),
        [("look", "filter", "longest run of the stage: there is none")],
    ),
    "a longest run of 23 h": (
        with_stage(longest_run=23 * 3600.0),
        [("look", "filter", "longest run of the stage")],
    ),
    "little carbon": (
        good(stages=(replace(carbon(), layers=(replace(CARBON, depth=0.3),)),)),
        [("look", "filter", "empty-bed contact time")],
    ),
    "set point in order": (good(trigger=SET), []),
    "set point below the clean bed": (
        good(trigger=replace(SET, above=4e3)),
        [("look", "filter", "against the clean bed")],
    ),
    "set point high": (good(trigger=replace(SET, above=90e3)), [("look", "filter", 'set point of "volume"')]),
    "set point above the rating": (
        good(trigger=replace(SET, above=50e3), stages=(stage(vessel=replace(STAGE.vessel, pressure_rating=40e3)),)),
        [("stop", "filter", "above what the vessel is rated for")],
    ),
    "set point that the supply cannot reach": (
        good(
            trigger=replace(SET, above=70e3),
            demand=steady(5.9 * M3_H),
            **supply(shared_with_service=True, flows=(0.0, 24 * M3_H), pressures=(60e3, 60e3)),
        ),
        [("look", "filter", "what the shared supply has left")],
    ),
    "chlorine reaches polyamide": (
        good(use="membrane", downstream=POLYAMIDE, **feed(oxidant="chlorine")),
        [("stop", None, "chlorine can reach the polyamide")],
    ),
    "chlorine added behind carbon": (
        good(
            use="membrane",
            downstream=POLYAMIDE,
            stages=(carbon(), stage(name="second", oxidant="chlorine")),
            **feed(oxidant="none"),
        ),
        [("stop", None, "chlorine can reach the polyamide")],
    ),
    "carbon takes the chlorine": (
        good(use="membrane", downstream=POLYAMIDE, stages=(carbon(),), **feed(oxidant="chlorine")),
        [("look", None, "carbon alone stands between")],
    ),
    "no oxidant": (good(use="membrane", downstream=POLYAMIDE, **feed(oxidant="none")), []),
    "oxidant not stated": (
        good(use="membrane", downstream=POLYAMIDE),
        [("look", None, "whether the feed carries an oxidant")],
    ),
    "membrane not stated": (
        good(use="membrane", downstream=MEMBRANE),
        [("look", None, "what the membrane downstream")],
    ),
    "coagulated water without a dose": (
        good(stages=TWO_COAGULATED),
        [("look", None, "the mass of the dose counts only if")],
    ),
    "dose with typical growth": (
        good(stages=(stage(coagulated=True),), **dosed("head_loss_gain")),
        [("look", None, "costs more head for each dry gram than silt")],
    ),
    "dose with growth of the plant's own": (good(stages=(stage(coagulated=True),), **dosed("porosity")), []),
    "dose that the stage does not see": (good(stages=(stage(coagulated=False),), **dosed("head_loss_gain")), []),
    "known run as usual": (good(solved=solved(3e4)), []),
    "known run beyond what is usual": (
        good(solved=solved(7e4)),
        [("look", "filter", "deposit_density, as the known run")],
    ),
}
