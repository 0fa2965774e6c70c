"""Small designs of a whole train, each with what the review stops for or looks at in it, and nothing else."""

from dataclasses import replace

from sim.case.records import Case
from sim.case.train.records import Cartridge, HoursOfDay, Lines, StartSpike, Switch, ValveSpike, Washing
from sim.case.trigger.records import AnyOf, Calendar, VolumeLearned
from sim.case.wash.records import Sump
from tests.plant.builders import DAY, HOUR, M3_H, steady
from tests.review.designs import POLYAMIDE, SET, TWO, drain, feed, nights, supply
from tests.review.made import (
    BY_VOLUME,
    MEMBRANE,
    PUMP,
    TANK,
    TWO_VESSELS,
    WASH,
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
AT_ONCE = Washing(together="share", lines=Lines(supply=2, raw=2, drain=2))
TWIN = (stage(vessels=TWO_VESSELS),)

# case, then level, stage and words of every finding that it has besides those that are fine
TRAIN_CASES: dict[str, tuple[Case, list[tuple[str, str | None, str]]]] = {
    "unit held over the wash": (fed(), []),
    "unit starved by the wash": (
        fed(stage_=stage()),
        [("look", "filter", "leaves the unit downstream without water")],
    ),
    "hold that ends with the backwash": (
        fed(stage_=stage(hold_unit=replace(WHOLE, end=WASH.seconds))),
        [("look", "filter", "leaves the unit downstream without water")],
    ),
    "raw water passed on, unit held": (fed(stage_=stage(hold_unit=WHOLE, while_washing="passes raw")), []),
    "raw water passed on in the rinse": (
        fed(stage_=stage(hold_unit=replace(WHOLE, end=WASH.seconds), while_washing="passes raw")),
        [("stop", "filter", "raw water passes on")],
    ),
    "raw water passed on to a membrane": (
        good(
            stages=(stage(while_washing="passes raw"),), use="membrane", downstream=POLYAMIDE, **feed(oxidant="none")
        ),
        [("stop", "filter", "raw water passes on")],
    ),
    "raw water passed on to nobody knows what": (
        good(stages=(stage(while_washing="passes raw"),), use=None),
        [("stop", "filter", "raw water passes on")],
    ),
    "raw water passed on to a process": (
        good(stages=(stage(while_washing="passes raw"),), downstream=MEMBRANE),
        [("look", "filter", "raw water passes on")],
    ),
    "a second vessel serves meanwhile": (fed(stage_=stage(while_washing="passes raw", vessels=TWO_VESSELS)), []),
    "a vessel beside stands by": (
        fed(stage_=stage(vessels=replace(TWO_VESSELS, arrangement="duty standby"))),
        [],
    ),
    "one vessel of two too few": (
        good(stages=(stage(vessels=TWO_VESSELS),), demand=steady(20 * M3_H)),
        [("look", "filter", "while one of the vessels washes")],
    ),
    "hold longer than a run of the unit": (
        fed(tank=replace(TANK, stop_above=4.1)),
        [("look", "filter", "against its shortest run")],
    ),
    "tank empty before the wash ends": (
        fed(tank=replace(TANK, start_below=0.5)),
        [("look", "filter", "against what the tank holds")],
    ),
    "unit that makes too little": (
        fed(demand=5.0),
        [
            ("look", None, "product that the unit downstream makes"),
            ("look", None, "most that the longest working day takes from the tank"),
        ],
    ),
    "cartridge that lasts": (fed(cartridge=Cartridge(capacity=400.0, share=0.9)), []),
    "cartridge changed every week": (
        fed(cartridge=Cartridge(capacity=30.0, share=0.9)),
        [("look", None, "time that a cartridge ahead of the unit lasts")],
    ),
    "feed limit kept": (fed(feed_limit=0.1), []),
    "feed limit below clean beds": (fed(feed_limit=0.01), [("look", None, "solids in what clean beds send")]),
    "pump strong enough": (good(pump=PUMP, trigger=SET), []),
    "pump too weak": (
        good(pump=replace(PUMP, delivery=2.97e5)),
        [("look", None, "pressure that the pump leaves for the filters")],
    ),
    "pump beyond its curve": (
        good(pump=replace(PUMP, flows=(0.0, 5 * M3_H))),
        [("look", None, "pressure that the pump leaves for the filters")],
    ),
    "set point that the pump never gives": (
        good(pump=replace(PUMP, delivery=2.85e5), trigger=SET),
        [("look", "filter", "at hardly any flow")],
    ),
    "set point that costs service its flow": (
        good(
            pump=replace(PUMP, pressures=(3e5, 2.9e5), delivery=2.78e5), trigger=AnyOf(triggers=(SET,))
        ),
        [("look", "filter", "what the pump leaves at the largest service flow")],
    ),
    "spike shorter than the hold": (good(stages=(stage(start_spike=SPIKE),), trigger=SET), []),
    "spike that starts a wash": (
        good(stages=(stage(start_spike=SPIKE),), trigger=replace(SET, hold=0.0)),
        [("look", "filter", "with a start of the unit downstream")],
    ),
    "valve that starts a wash": (
        good(
            stages=(stage(valve_spike=MOVED),),
            trigger=replace(SET, hold=4.0),
        ),
        [("look", "filter", "with a valve that moves elsewhere")],
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
        [("look", None, "time that the washes of filter and second share")],
    ),
    "two washes at once in a drain for one": (
        replace(nights(2, 2.1), washing=AT_ONCE),
        [("stop", None, "flow of washes at once against what the drain takes")],
    ),
    "two washes that may meet in a drain for one": (
        good(stages=TWO, washing=AT_ONCE),
        [("look", None, "flow of washes at once against what the drain takes")],
    ),
    "two washes at once in a drain for both": (
        replace(nights(2, 2.1), washing=AT_ONCE, **drain(capacity=35.1 * M3_H)),
        [],
    ),
    "two washes at once on one supply": (
        replace(nights(2, 2.1), washing=AT_ONCE, **drain(capacity=36 * M3_H), **supply()),
        [("look", None, "flow that backwashes at one hour reach together")],
    ),
    "two vessels due at one hour": (
        replace(good(stages=TWIN, trigger=NIGHTLY), washing=AT_ONCE, **drain(capacity=36 * M3_H)),
        [("look", "filter", "vessels due at one hour")],
    ),
    "two vessels one after the other": (good(stages=TWIN, trigger=NIGHTLY), []),
    "a turn behind the hours of the site": (
        good(stages=TWIN, trigger=replace(NIGHTLY, at=5.75 * HOUR), washing=Washing(allowed_hours=(NIGHT,))),
        [("look", "filter", "hour of the wash, or its turn behind others")],
    ),
    "an hour within those of the site": (
        good(stages=TWIN, trigger=replace(NIGHTLY, at=5.7 * HOUR), washing=Washing(allowed_hours=(NIGHT,))),
        [],
    ),
    "starts too near": (
        replace(nights(2, 3), washing=Washing(least_interval=2 * HOUR)),
        [("look", None, "time between the starts of filter and second")],
    ),
    "more washes than the site allows": (
        replace(nights(2, 3), washing=Washing(most_a_day=1)),
        [("look", None, "washes a day that the calendars ask for")],
    ),
    "few washes a day fill no sump": (
        replace(nights(2, 3), washing=Washing(most_a_day=1), **drain(sump=Sump(flow_limit=None, daily_limit=7.5))),
        [("look", None, "washes a day that the calendars ask for")],
    ),
    "a learned reserve, washes close together": (
        good(trigger=replace(LEARNED, volume=85.0)),
        [("look", "filter", "volume treated between washes")],
    ),
    "whichever comes first, washes close together": (
        good(trigger=AnyOf(triggers=(replace(LEARNED, volume=85.0), NIGHTLY))),
        [("look", "filter", "volume treated between washes")],
    ),
    "a calendar that its hour rounds up": (
        good(trigger=replace(NIGHTLY, every=DAY / 4)),
        [("look", "filter", "time between washes that the calendar")],
    ),
    "a calendar of whole days": (good(trigger=replace(NIGHTLY, every=DAY)), []),
    "a pressure drop beside a volume": (good(trigger=AnyOf(triggers=(BY_VOLUME, SET))), []),
}
