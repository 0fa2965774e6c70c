"""Small designs of a whole train, each with what the review stops for or looks at in it, and nothing else."""

from dataclasses import replace

from sim.case.records import Case
from sim.case.train.records import Cartridge, HoldUnit, HoursOfDay, Lines, StartSpike, Switch, ValveSpike, Washing
from sim.case.trigger.records import AnyOf, Calendar, Clock, VolumeLearned
from sim.case.wash.records import Sump
from tests.plant.builders import DAY, HOUR, M3_H, steady
from tests.review.designs import POLYAMIDE, SET, TWO, drain, feed, nights, supply
from tests.review.made import (
    BY_VOLUME,
    MEMBRANE,
    PUMP,
    TANK,
    TWO_VESSELS,
    WHOLE,
    fed,
    good,
    stage,
)

LEARNED = VolumeLearned(volume=110.0, reserve=20.0, quantile=0.9, days=14, by="trailing", at=0.0)
NIGHTLY = Calendar(every=2 * DAY, at=2 * HOUR)
NIGHT = HoursOfDay(start=22 * HOUR, end=6 * HOUR)
SPIKE = StartSpike(height=20e3, length=4.0)
MOVED = ValveSpike(height=20e3, length=4.0, a_day=2.0)


def drifting(one: float, other: float) -> Case:
    """Two stages 50 min apart on clocks that gain so much [s a day], over a year; nothing stops them."""
    case = nights(1, 1 + 50 / 60)
    clocks = (Clock(drift=one), Clock(drift=other))
    stages = tuple(replace(each, clock=clock) for each, clock in zip(case.stages, clocks, strict=True))
    return replace(case, stages=stages, washing=Washing(), run=replace(case.run, length=365 * DAY))


ONE_A_DAY = Washing(together="wait", most_a_day=1)
AT_ONCE = Washing(together="share", lines=Lines(supply=2, raw=2, drain=2))
TWIN = (stage(vessels=TWO_VESSELS),)

# case, then level, stage and name of every finding that it has besides those that are fine; behind a name, its facts
TRAIN_CASES: dict[str, tuple[Case, list[tuple[str, str | None, str]]]] = {
    "unit held over the wash": (fed(), []),
    "unit starved by the wash": (
        fed(stage_=stage()),
        [("look", "filter", "unit_without_water")],
    ),
    "hold that ends with the backwash": (
        fed(stage_=stage(hold_unit=HoldUnit(end=0))),
        [("look", "filter", "unit_without_water")],
    ),
    "raw water passed on, unit held": (fed(stage_=stage(hold_unit=WHOLE, while_washing="passes raw")), []),
    "raw water passed on in the rinse": (
        fed(stage_=stage(hold_unit=HoldUnit(end=0), while_washing="passes raw")),
        [("stop", "filter", "raw_water_sent_on")],
    ),
    "raw water passed on to a membrane": (
        good(
            stages=(stage(while_washing="passes raw"),), use="membrane", downstream=POLYAMIDE, **feed(oxidant="none")
        ),
        [("stop", "filter", "raw_water_sent_on")],
    ),
    "raw water passed on to nobody knows what": (
        good(stages=(stage(while_washing="passes raw"),), use=None),
        [("stop", "filter", "raw_water_sent_on")],
    ),
    "raw water passed on to a process": (
        good(stages=(stage(while_washing="passes raw"),), downstream=MEMBRANE),
        [("look", "filter", "raw_water_sent_on")],
    ),
    "a second vessel serves meanwhile": (fed(stage_=stage(while_washing="passes raw", vessels=TWO_VESSELS)), []),
    "a vessel beside stands by": (
        fed(stage_=stage(vessels=replace(TWO_VESSELS, arrangement="duty standby"))),
        [],
    ),
    "one vessel of two too few": (
        good(stages=(stage(vessels=TWO_VESSELS),), demand=steady(20 * M3_H)),
        [("look", "filter", "rate_without_a_vessel")],
    ),
    "hold longer than a run of the unit": (
        fed(tank=replace(TANK, stop_above=4.1)),
        [("look", "filter", "hold_against_run")],
    ),
    "tank empty before the wash ends": (
        fed(tank=replace(TANK, start_below=0.5)),
        [("look", "filter", "tank_while_washing")],
    ),
    "unit that makes too little": (
        fed(demand=5.0),
        [
            ("look", None, "unit_product"),
            ("look", None, "tank_on_a_long_day"),
        ],
    ),
    "cartridge that lasts": (fed(cartridge=Cartridge(capacity=400.0, share=0.9)), []),
    "cartridge changed every week": (
        fed(cartridge=Cartridge(capacity=30.0, share=0.9)),
        [("look", None, "cartridge_lasts")],
    ),
    "feed limit kept": (fed(feed_limit=0.1), []),
    "feed limit below clean beds": (fed(feed_limit=0.01), [("look", None, "solids_to_unit")]),
    "pump strong enough": (good(pump=PUMP, trigger=SET), []),
    "pump too weak": (
        good(pump=replace(PUMP, delivery=2.97e5)),
        [("look", None, "pump_leaves")],
    ),
    "pump beyond its curve": (
        good(pump=replace(PUMP, flows=(0.0, 5 * M3_H))),
        [("look", None, "pump_leaves")],
    ),
    "set point that the pump never gives": (
        good(pump=replace(PUMP, delivery=2.85e5), trigger=SET),
        [("look", "filter", "set_point_never_met")],
    ),
    "set point that costs service its flow": (
        good(
            pump=replace(PUMP, pressures=(3e5, 2.9e5), delivery=2.78e5), trigger=AnyOf(triggers=(SET,))
        ),
        [("look", "filter", "set_point_against_pump")],
    ),
    "spike shorter than the hold": (good(stages=(stage(start_spike=SPIKE),), trigger=SET), []),
    "spike that starts a wash": (
        good(stages=(stage(start_spike=SPIKE),), trigger=replace(SET, hold=0.0)),
        [("look", "filter", "spike unit start volume")],
    ),
    "valve that starts a wash": (
        good(
            stages=(stage(valve_spike=MOVED),),
            trigger=replace(SET, hold=4.0),
        ),
        [("look", "filter", "spike valve volume")],
    ),
    "spike in a long mean": (
        good(
            stages=(stage(start_spike=SPIKE, switch=Switch(sample=40.0, error=0.0, reset_difference=0.0)),),
            trigger=replace(SET, hold=0.0),
        ),
        [],
    ),
    "two washes at once on lines for one": (
        replace(nights(2, 2.1), washing=Washing(together="share")),
        [("look", None, "washes_share_time filter second nights")],
    ),
    "two washes at once in a drain for one": (
        replace(nights(2, 2.1), washing=AT_ONCE),
        [("stop", None, "flow_at_once drain")],
    ),
    "two washes that may meet in a drain for one": (
        good(stages=TWO, washing=AT_ONCE),
        [("look", None, "flow_at_once drain")],
    ),
    "two washes at once in a drain for both": (
        replace(nights(2, 2.1), washing=AT_ONCE, **drain(capacity=35.1 * M3_H)),
        [],
    ),
    "two washes at once on one supply": (
        replace(nights(2, 2.1), washing=AT_ONCE, **drain(capacity=36 * M3_H), **supply()),
        [("look", None, "backwashes_at_once")],
    ),
    "two vessels due at one hour": (
        replace(good(stages=TWIN, trigger=NIGHTLY), washing=AT_ONCE, **drain(capacity=36 * M3_H)),
        [("look", "filter", "vessels_at_one_hour")],
    ),
    "clocks that drift together": (
        drifting(-17.5, 17.5),
        [("look", None, "clocks_meet filter second nights"), ("look", None, "flow_at_once drain nights")],
    ),
    "clocks that stay apart": (drifting(0.0, 0.0), []),
    "two vessels one after the other": (good(stages=TWIN, trigger=NIGHTLY), []),
    "a turn behind the hours of the site": (
        good(stages=TWIN, trigger=replace(NIGHTLY, at=5.75 * HOUR), washing=Washing(allowed_hours=(NIGHT,))),
        [("look", "filter", "hour_is_closed")],
    ),
    "an hour within those of the site": (
        good(stages=TWIN, trigger=replace(NIGHTLY, at=5.7 * HOUR), washing=Washing(allowed_hours=(NIGHT,))),
        [],
    ),
    "starts too near": (
        replace(nights(2, 3), washing=Washing(together="wait", least_interval=2 * HOUR)),
        [("look", None, "starts_too_near filter second nights")],
    ),
    "more washes than the site allows": (
        replace(nights(2, 3), washing=ONE_A_DAY),
        [("look", None, "washes_a_day")],
    ),
    "few washes a day fill no sump": (
        replace(nights(2, 3), washing=ONE_A_DAY, **drain(sump=Sump(flow_limit=None, daily_limit=7.5))),
        [("look", None, "washes_a_day")],
    ),
    "a learned reserve, washes close together": (
        good(trigger=replace(LEARNED, volume=85.0)),
        [("look", "filter", "run_loading")],
    ),
    "whichever comes first, washes close together": (
        good(trigger=AnyOf(triggers=(replace(LEARNED, volume=85.0), NIGHTLY))),
        [("look", "filter", "run_loading")],
    ),
    "a calendar that its hour rounds up": (
        good(trigger=replace(NIGHTLY, every=DAY / 4)),
        [("look", "filter", "rounded_interval")],
    ),
    "a calendar of whole days": (good(trigger=replace(NIGHTLY, every=DAY)), []),
    "a pressure drop beside a volume": (good(trigger=AnyOf(triggers=(BY_VOLUME, SET))), []),
}
