"""Small designs, each with what the review stops for or looks at in it, and nothing else."""

from dataclasses import replace
from typing import Any

from sim.case.records import Assumption, Case, Solved
from sim.case.series.records import Coagulant, Seasonal, Steady
from sim.case.train.records import Washing
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
        Solved(
            key=f"stage.filter.layer.{n}.deposit_density", value=value, low=2e4, high=6e4, unit="g/m3",
            known=("8 psi", "4 d", "25 gpm"),
        )
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
    return good(stages=TWO, policies=policies(*triggers, stages=TWO), washing=Washing(together="wait"))


LAMINAR = replace(STAGE.head_loss, law="carman-kozeny", viscous=180.0, inertial=0.0)
VALVE = replace(STAGE.head_loss, valve_constant=25e3 / FLOW**2)
SET = Pressure(above=20e3, hold=60.0)

SUPPLIED_TWICE = supply(flows=(0.0, 40 * M3_H))


def hole(width: float) -> tuple[Any, ...]:
    """The good stage with a restrictor [m]."""
    return (stage(restrictor=Restrictor(hole=width, pipe=0.05, discharge=0.61)),)


# case, then level, stage and name of every finding that it has besides those that are fine; behind a name, its facts
CASES: dict[str, tuple[Case, list[tuple[str, str | None, str]]]] = {
    "nothing": (good(), []),
    "no drain": (
        good(drain=None),
        [("stop", None, "air_gap_unknown"), ("look", None, "drain_unknown")],
    ),
    "air gap not stated": (
        good(**drain(air_gap=None)),
        [("stop", None, "air_gap_unknown")],
    ),
    "no air gap": (good(**drain(air_gap=False)), [("stop", None, "no_air_gap")]),
    "air gap stated by its height": (good(**drain(air_gap_height=0.05)), []),
    "air gap too low": (good(**drain(air_gap_height=0.02)), [("look", None, "air_gap_height")]),
    "air gap below twice the bore": (
        good(**drain(air_gap_height=0.15, pipe=PIPE)),
        [("look", None, "air_gap_height")],
    ),
    "drain takes it": (good(**drain(capacity=17.6 * M3_H)), []),
    "drain takes less": (good(**drain(capacity=17.4 * M3_H)), [("stop", "filter", "drain_flow drain")]),
    "sump given more than it may": (
        good(**drain(sump=Sump(flow_limit=10 * M3_H, daily_limit=None))),
        [("stop", "filter", "drain_flow sump")],
    ),
    "sump filled in a day": (
        good(**drain(sump=Sump(flow_limit=None, daily_limit=7.5))),
        [("look", None, "sump_in_a_day")],
    ),
    "sump filled by the calendar": (
        replace(nights(1, 3), **drain(sump=Sump(flow_limit=None, daily_limit=7.5))),
        [("stop", None, "sump_in_a_day")],
    ),
    "drain pipe wide": (good(**drain(pipe=PIPE)), []),
    "drain pipe narrow": (
        good(**drain(pipe=replace(PIPE, diameter=0.04))),
        [("look", "filter", "drain_speed")],
    ),
    "vessel too narrow": (
        good(demand=steady(12 * M3_H), stages=(stage(steps=(WASH, replace(RINSE, seconds=720.0))),)),
        [("look", "filter", "filtration_rate")],
    ),
    "clean bed loses much": (
        good(stages=(stage(head_loss=VALVE),)),
        [("look", "filter", "clean_pressure")],
    ),
    "bed shallow": (
        with_stage(layers=(replace(COAL, depth=0.35), FINE_SAND), vessel=replace(STAGE.vessel, height=1.4)),
        [("look", "filter", "bed_depth")],
    ),
    "coarse sand": (
        with_stage(layers=(COAL, replace(FINE_SAND, size=0.6e-3, sublayer_sizes=(0.6e-3,)))),
        [("look", "filter", "grain_size sand")],
    ),
    "fine sand": (
        good(
            stages=(stage(layers=(COAL, replace(FINE_SAND, size=0.44e-3, sublayer_sizes=(0.44e-3,)))),),
            **feed(temperature=Steady(value=25.0)),
        ),
        [("look", "filter", "grain_size sand")],
    ),
    "laminar law within its range": (
        good(stages=(stage(head_loss=LAMINAR),), demand=steady(2 * M3_H)),
        [],
    ),
    "laminar law beyond its range": (
        good(stages=(stage(head_loss=LAMINAR),), **feed(temperature=Steady(value=25.0)), demand=steady(11 * M3_H)),
        [("look", "filter", "reynolds")],
    ),
    "supply gives what is asked": (good(**supply()), []),
    "supply too weak": (
        good(**supply(pipe=replace(PIPE, diameter=0.05, length=300.0), pressures=(3.95e5, 3.95e5))),
        [("look", "filter", "backwash_reached")],
    ),
    "supply presses more than the vessel bears": (
        good(**supply(pressures=(7e5, 7e5))),
        [("stop", "filter", "pressure_at_rest")],
    ),
    "vessel without rating": (
        good(stages=(stage(vessel=replace(STAGE.vessel, pressure_rating=None)),), **supply()),
        [("look", "filter", "pressure_unrated")],
    ),
    "nothing holds the wash": (
        good(**SUPPLIED_TWICE),
        [("look", "filter", "unheld_freeboard")],
    ),
    "restrictor holds the wash": (
        good(**SUPPLIED_TWICE, stages=hole(0.021)),
        [],
    ),
    "restrictor without a supply": (good(stages=hole(0.021)), []),
    "restrictor too wide": (
        good(**SUPPLIED_TWICE, stages=hole(0.03)),
        [("look", "filter", "restrictor_flow")],
    ),
    "restrictor too narrow": (
        good(**supply(), stages=hole(0.02)),
        [
            ("look", "filter", "backwash_reached"),
            ("look", "filter", "restrictor_flow"),
        ],
    ),
    "one line for wash and service": (
        good(**supply(shared_with_service=True, flows=(0.0, 24 * M3_H)), demand=steady(5.9 * M3_H)),
        [],
    ),
    "one line, too little of it": (
        good(**supply(shared_with_service=True, flows=(0.0, 22 * M3_H)), demand=steady(5.9 * M3_H)),
        [("look", "filter", "shared_line_pressure")],
    ),
    "one line, a wash of many times the service": (
        good(**supply(shared_with_service=True, flows=(0.0, 24 * M3_H)), demand=steady(4 * M3_H)),
        [("look", "filter", "flow_over_service")],
    ),
    "wash too weak": (
        steps(replace(WASH, flow=12 * M3_H), RINSE),
        [("look", "filter", "backwash_rate")],
    ),
    "wash too strong": (
        good(
            stages=(stage(steps=(replace(WASH, flow=23 * M3_H, seconds=420.0), RINSE),
                          vessel=replace(STAGE.vessel, height=2.0)),),
            **drain(capacity=30 * M3_H), **feed(temperature=Steady(value=30.0)),
        ),
        [("look", "filter", "backwash_rate")],
    ),
    "wash short": (
        steps(replace(WASH, seconds=5 * MINUTE), RINSE),
        [("look", "filter", "backwash_volume")],
    ),
    "wash long": (
        good(
            stages=(stage(steps=(replace(WASH, seconds=14 * MINUTE), RINSE)),),
            trigger=replace(BY_VOLUME, volume=150.0),
        ),
        [("look", "filter", "backwash_volume")],
    ),
    "cold water lifts too much": (
        good(**feed(temperature=Seasonal(mean=10.0, swing=7.0, peak_day=200))),
        [("look", "filter", "expansion coldest")],
    ),
    "coarse grains lie still": (
        with_stage(layers=(COAL, FINE_SAND, replace(FINE_SAND, depth=0.05, size=0.55e-3, sublayer_sizes=(2e-3,)))),
        [("look", "filter", "never_lifted")],
    ),
    "grains change places": (
        with_stage(layers=(FINE_SAND, COAL)),
        [("look", "filter", "mixing sand anthracite steady")],
    ),
    "finest grains leave": (
        with_stage(layers=(replace(COAL, uniformity=12.0), FINE_SAND)),
        [("look", "filter", "lifting_rate"), ("look", "filter", "finest_grains")],
    ),
    "raw water from a supply of its own": (
        good(stages=(stage(steps=(replace(WASH, water="raw"), RINSE)),), **supply()),
        [("look", "filter", "raw_backwash")],
    ),
    "raw water from the line of service": (
        good(stages=(stage(steps=(replace(WASH, water="raw"), RINSE)),), **supply(shared_with_service=True)),
        [("look", "filter", "flow_over_service"), ("look", "filter", "shared_line_pressure")],
    ),
    "little room above": (
        with_stage(vessel=replace(STAGE.vessel, height=1.1)),
        [("look", "filter", "freeboard")],
    ),
    "bed over the outlet": (
        with_stage(vessel=replace(STAGE.vessel, height=0.95)),
        [("stop", "filter", "freeboard")],
    ),
    "air on a bed that is lifted": (
        steps(replace(WASH, air=True), RINSE),
        [("look", "filter", "lifted_under_air")],
    ),
    "air on a bed at rest": (
        steps(replace(WASH, air=True, flow=1 * M3_H), WASH, replace(RINSE, seconds=540.0)),
        [],
    ),
    "no rinse": (steps(WASH), [("look", "filter", "no_rinse")]),
    "no rinse ahead of a unit": (
        replace(steps(WASH), downstream=MEMBRANE),
        [("stop", "filter", "no_rinse")],
    ),
    "short rinse": (
        steps(WASH, replace(RINSE, seconds=180.0)),
        [("look", "filter", "rinse_volumes")],
    ),
    "long rinse": (
        good(stages=(stage(steps=(WASH, replace(RINSE, seconds=1200.0))),), trigger=replace(BY_VOLUME, volume=150.0)),
        [("look", "filter", "rinse_volumes")],
    ),
    "rinses for long": (
        good(
            stages=(stage(steps=(WASH, replace(RINSE, seconds=600.0), replace(RINSE, seconds=600.0))),),
            trigger=replace(BY_VOLUME, volume=150.0),
        ),
        [("look", "filter", "rinse_volumes")],
    ),
    "settle behind the backwash": (steps(WASH, SETTLE, RINSE), []),
    "settle for long": (
        steps(WASH, replace(SETTLE, seconds=600.0), RINSE),
        [("look", "filter", "settle_time")],
    ),
    "settle before anything": (steps(SETTLE, WASH, RINSE), [("look", "filter", "useless_step settle first")]),
    "settle behind a rinse": (steps(WASH, RINSE, SETTLE), [("look", "filter", "useless_step settle after")]),
    "rinse first": (
        good(stages=(stage(steps=(replace(RINSE, seconds=60.0), WASH, RINSE)),)),
        [("look", "filter", "useless_step rinse first")],
    ),
    "washes close together": (
        good(trigger=replace(BY_VOLUME, volume=85.0)),
        [("look", "filter", "run_loading")],
    ),
    "washes that take much": (
        good(trigger=replace(BY_VOLUME, volume=72.0)),
        [("look", "filter", "run_loading"), ("look", "filter", "washwater_share")],
    ),
    "bed past its limit": (
        good(trigger=replace(BY_VOLUME, volume=900.0)),
        [("look", "filter", "solids_before_wash")],
    ),
    "two washes at one hour": (nights(2, 2.1), [("look", None, "washes_share_time filter second nights")]),
    "two washes across midnight": (
        nights(23.9, 0),
        [("look", None, "washes_share_time filter second nights")],
    ),
    "two washes apart": (nights(2, 3), []),
    "carbon with a longest run": (good(stages=(carbon(),)), []),
    "carbon without a longest run": (
        good(stages=(replace(carbon(), longest_run=None),), trigger=Calendar(every=DAY, at=0.0)),
        [("stop", "filter", "no_longest_run")],
    ),
    "coal over sand without a longest run": (
        with_stage(longest_run=None),
        [("look", "filter", "no_longest_run")],
    ),
    "a longest run of 23 h": (
        with_stage(longest_run=23 * 3600.0),
        [("look", "filter", "longest_run")],
    ),
    "little carbon": (
        good(stages=(replace(carbon(), layers=(replace(CARBON, depth=0.3),)),)),
        [("look", "filter", "contact_time")],
    ),
    "set point in order": (good(trigger=SET), []),
    "set point below the clean bed": (
        good(trigger=replace(SET, above=4e3)),
        [("look", "filter", "set_point_against_clean")],
    ),
    "set point high": (good(trigger=replace(SET, above=90e3)), [("look", "filter", "set_point volume")]),
    "set point above the rating": (
        good(trigger=replace(SET, above=50e3), stages=(stage(vessel=replace(STAGE.vessel, pressure_rating=40e3)),)),
        [("stop", "filter", "set_point_over_rating")],
    ),
    "set point that the supply cannot reach": (
        good(
            trigger=replace(SET, above=70e3),
            demand=steady(5.9 * M3_H),
            **supply(shared_with_service=True, flows=(0.0, 24 * M3_H), pressures=(60e3, 60e3)),
        ),
        [("look", "filter", "set_point_against_supply")],
    ),
    "chlorine reaches polyamide": (
        good(use="membrane", downstream=POLYAMIDE, **feed(oxidant="chlorine")),
        [("stop", None, "oxidant_reaches chlorine")],
    ),
    "chlorine added behind carbon": (
        good(
            use="membrane",
            downstream=POLYAMIDE,
            stages=(carbon(), stage(name="second", oxidant="chlorine")),
            **feed(oxidant="none"),
        ),
        [("stop", None, "oxidant_reaches chlorine")],
    ),
    "carbon takes the chlorine": (
        good(use="membrane", downstream=POLYAMIDE, stages=(carbon(),), **feed(oxidant="chlorine")),
        [("look", None, "carbon_alone")],
    ),
    "no oxidant": (good(use="membrane", downstream=POLYAMIDE, **feed(oxidant="none")), []),
    "oxidant not stated": (
        good(use="membrane", downstream=POLYAMIDE),
        [("look", None, "oxidant_unknown")],
    ),
    "membrane not stated": (
        good(use="membrane", downstream=MEMBRANE),
        [("look", None, "membrane_unknown")],
    ),
    "coagulated water without a dose": (
        good(stages=TWO_COAGULATED),
        [("look", None, "dose_left_out")],
    ),
    "dose with typical growth": (
        good(stages=(stage(coagulated=True),), **dosed("head_loss_gain")),
        [("look", None, "dose_growth_typical")],
    ),
    "dose with growth of the plant's own": (good(stages=(stage(coagulated=True),), **dosed("porosity")), []),
    "dose that the stage does not see": (good(stages=(stage(coagulated=False),), **dosed("head_loss_gain")), []),
    "known run as usual": (good(solved=solved(3e4)), []),
    "known run beyond what is usual": (
        good(solved=solved(7e4)),
        [("look", "filter", "known_constant deposit_density")],
    ),
}
