"""Small designs of what is dissolved, each with what the review stops for or looks at in it, and nothing else."""

from dataclasses import replace
from typing import Any

from hydraulics.media import RESIN_TABLES
from sim.case.chemistry.records import Dosing, Limits, Oxidising, Resin, Solute, Store
from sim.case.records import Case
from sim.case.series.records import Oxidant, Seasonal, Series, Steady
from sim.case.stage.records import Stage, Step
from sim.case.train.records import ONE_VESSEL, Vessels
from sim.case.trigger.records import Calendar, VolumeReserve
from tests.plant.builders import DAY, HOUR, M3_H, MINUTE, RINSE
from tests.review.designs import POLYAMIDE, feed
from tests.review.made import BY_VOLUME, CARBON, CHLORINE_BED, STAGE, TWO_VESSELS, WASH, carbon, good, policies, stage

TABLE = RESIN_TABLES["co-current"]
SOFTENING = Resin(
    doses=TABLE.doses, capacities=TABLE.capacities, half_length=0.03, reference_rate=20.0 / HOUR, leakage=0.03,
    fouling=0.2,
)  # fmt: skip
RESIN = replace(
    CARBON, medium="resin", size=0.5e-3, sublayer_sizes=(0.5e-3,), porosity=0.38, sphericity=1.0,
    grain_density=1400.0, uptake=SOFTENING,
)  # fmt: skip
UPFLOW = replace(WASH, flow=7 * M3_H)
BRINE = Step(
    do="regenerant", seconds=30 * MINUTE, flow=0.3 * M3_H, salt=28_000.0, water_solids=None, cleaning_rate=None
)
SLOW = replace(BRINE, do="displacement", seconds=40 * MINUTE, flow=0.9 * M3_H, salt=None)
FAST = replace(RINSE, seconds=18 * MINUTE, flow=6 * M3_H)
MAKE_UP = replace(SLOW, do="make-up", seconds=10 * MINUTE, flow=0.48 * M3_H)
DRAWN = replace(BRINE, salt=None)
STORE = Store(salt=1e6, refilled=30 * DAY, solubility=358e3, dissolving=3600.0)
SOFT = replace(
    carbon(), layers=(RESIN,), steps=(UPFLOW, BRINE, SLOW, FAST), vessel=replace(STAGE.vessel, height=2.0)
)

MEDIA = replace(
    CARBON, medium="oxidising media", size=0.5e-3, sublayer_sizes=(0.5e-3,), porosity=0.45, sphericity=0.7,
    grain_density=2500.0, uptake=Oxidising(capacity=300.0, half_length=0.1, reference_rate=20.0 / HOUR),
)  # fmt: skip
LIFT = replace(WASH, flow=11 * M3_H)
RESTORED = replace(BRINE, salt=None, permanganate=1500.0)
OXIDISING = replace(
    carbon(), layers=(MEDIA,), steps=(LIFT, RESTORED, SLOW, replace(RINSE, seconds=8 * MINUTE)),
    vessel=replace(STAGE.vessel, height=2.0),
)  # fmt: skip
UNRESTORED = replace(OXIDISING, steps=(LIFT, replace(RINSE, seconds=8 * MINUTE)))
CHLORINE = Dosing(product="chlorine", dose=2.0, unfilterable=0.05)
AIR = Dosing(product="air", dose=0.0, contact=20 * MINUTE, unfilterable=0.05)
PERMANGANATE = Dosing(product="permanganate", dose=1.0, unfilterable=0.05)


def water(
    acidity: Series | None = None, *, oxidant: Oxidant | None = "none", **solutes: float
) -> dict[str, Any]:
    """A feed with what is dissolved in it [g/m3]."""
    names: dict[Solute, Series] = {name: Steady(value=value) for name, value in solutes.items()}  # type: ignore[misc]
    return feed(solutes=tuple(names.items()), acidity=acidity, oxidant=oxidant)


HARD = water(hardness=100.0)


def soft(**changes: Any) -> Case:
    """The softener with something of its stage changed."""
    return good(stages=(replace(SOFT, **changes),), **HARD)


def salted(*steps: Step) -> Case:
    return soft(steps=steps)


def named(stage_: Stage, name: str, **changes: Any) -> Stage:
    return replace(stage_, name=name, **changes)


def carbon_of(*, vessels: Vessels = ONE_VESSEL, **changes: Any) -> Stage:
    """The carbon with something of its layer changed."""
    return replace(carbon(vessels=vessels), layers=(replace(CARBON, **changes),))


def to_membrane(*stages: Stage, **changes: Any) -> Case:
    return good(stages=stages, use="membrane", downstream=POLYAMIDE, **changes)


# case, then level, stage and name of every finding that it has besides those that are fine; behind a name, its facts
CHEMICAL_CASES: dict[str, tuple[Case, list[tuple[str, str | None, str]]]] = {
    "softener": (soft(), []),
    "softener with a tank of brine": (salted(UPFLOW, replace(DRAWN, seconds=1200.0), SLOW, FAST, MAKE_UP), []),
    "oxidising media": (good(stages=(OXIDISING,), **water(iron=0.5, manganese=0.2)), []),
    "softener that blends": (
        good(stages=(replace(SOFT, blend=0.5),), trigger=replace(BY_VOLUME, volume=170.0), **HARD),
        [],
    ),
    "resin without a longest run": (soft(longest_run=None), [("stop", "filter", "no_longest_run")]),
    "table that no salt can keep": (
        soft(layers=(replace(RESIN, uptake=replace(SOFTENING, doses=(1e5,), capacities=(9e4,))),)),
        [("stop", "filter", "salt_capacity")],
    ),
    "regenerant without salt": (salted(UPFLOW, DRAWN, SLOW, FAST), [("stop", "filter", "no_salt")]),
    "resin without a regenerant": (salted(UPFLOW, RINSE), [("stop", "filter", "no_salt")]),
    "salt that restores little": (
        salted(UPFLOW, replace(BRINE, salt=48e3, seconds=HOUR), SLOW, FAST),
        [("look", "filter", "salt_efficiency")],
    ),
    "brine beyond saturation": (
        salted(UPFLOW, replace(BRINE, seconds=15 * MINUTE), SLOW, FAST),
        [("stop", "filter", "brine_strength")],
    ),
    "brine left in its tank": (
        salted(UPFLOW, replace(DRAWN, seconds=15 * MINUTE), SLOW, FAST, MAKE_UP),
        [("look", "filter", "brine_drawn")],
    ),
    "short displacement": (
        salted(UPFLOW, BRINE, replace(SLOW, seconds=10 * MINUTE), FAST),
        [("look", "filter", "displacement_volume")],
    ),
    "long displacement": (
        salted(UPFLOW, BRINE, replace(SLOW, seconds=2 * HOUR), FAST),
        [("look", "filter", "displacement_volume")],
    ),
    "short rinse of a softener": (
        salted(UPFLOW, BRINE, SLOW, replace(FAST, seconds=10 * MINUTE)),
        [("look", "filter", "softener_rinse")],
    ),
    "long rinse of a softener": (
        replace(
            salted(UPFLOW, BRINE, SLOW, replace(FAST, seconds=43.5 * MINUTE)),
            policies=policies(replace(BY_VOLUME, volume=130.0), stages=(SOFT,)),
        ),
        [("look", "filter", "softener_rinse")],
    ),
    "softener rinsed ahead of its brine": (
        salted(UPFLOW, FAST, BRINE, SLOW),
        [("look", "filter", "no_rinse")],
    ),
    "volume about what the resin holds": (
        good(stages=(SOFT,), trigger=replace(BY_VOLUME, volume=150.0), **HARD),
        [("look", "filter", "volume_beyond_capacity volume")],
    ),
    "volume far beyond what the resin holds": (
        good(stages=(SOFT,), trigger=VolumeReserve(volume=170.0, reserve=20.0, at=0.0), **HARD),
        [("stop", "filter", "volume_beyond_capacity volume")],
    ),
    "calendar far beyond what the resin holds": (
        good(stages=(SOFT,), trigger=Calendar(every=2 * DAY, at=0.0), **HARD),
        [("stop", "filter", "volume_beyond_capacity volume")],
    ),
    "media spent before their wash": (
        good(stages=(OXIDISING,), **water(iron=20.0)),
        [("stop", "filter", "volume_beyond_capacity volume")],
    ),
    "media that nothing restores": (
        good(stages=(UNRESTORED,), **water(iron=0.5)),
        [("look", "filter", "media_unrestored")],
    ),
    "media that chlorine restores": (
        good(stages=(replace(UNRESTORED, dosing=CHLORINE),), **water(iron=0.5, manganese=0.2, ammonia=0.0)),
        [],
    ),
    "store of salt that lasts": (soft(store=replace(STORE, salt=1.1e6)), []),
    "store of salt that runs out": (soft(store=STORE), [("look", "filter", "store_lasts salt volume")]),
    "store that nobody makes up": (
        soft(store=replace(STORE, salt=1.1e6, refilled=None)),
        [("look", "filter", "store_lasts salt volume")],
    ),
    "store of permanganate that runs out": (
        good(stages=(replace(OXIDISING, store=replace(STORE, salt=None, permanganate=15e3)),), **water(iron=0.5)),
        [("look", "filter", "store_lasts permanganate volume")],
    ),
    "brine on coal over sand": (
        good(stages=(stage(steps=(WASH, BRINE, SLOW, MAKE_UP, RINSE)),)),
        [
            ("look", "filter", "useless_step regenerant"),
            ("look", "filter", "useless_step displacement"),
            ("look", "filter", "useless_step make-up"),
        ],
    ),
    "permanganate on resin": (
        salted(UPFLOW, BRINE, RESTORED, SLOW, FAST),
        [("look", "filter", "useless_step regenerant")],
    ),
    "ammonia not stated": (
        good(stages=(replace(UNRESTORED, dosing=CHLORINE),), **water(iron=0.5)),
        [("look", "filter", "ammonia_unknown")],
    ),
    "manganese, chlorine and no media": (
        good(stages=(stage(dosing=CHLORINE),), **water(manganese=0.2, ammonia=0.0)),
        [("look", "filter", "manganese_stays")],
    ),
    "air at a high pH": (good(stages=(stage(dosing=AIR),), **water(Steady(value=7.5), iron=0.5)), []),
    "air at a low pH": (
        good(stages=(stage(dosing=AIR),), **water(Seasonal(mean=7.3, swing=0.2, peak_day=1), iron=0.5)),
        [("look", "filter", "acidity air")],
    ),
    "chlorine at a low pH": (
        good(stages=(stage(dosing=CHLORINE),), **water(Steady(value=6.0), iron=0.5, ammonia=0.0)),
        [("look", "filter", "acidity chlorine")],
    ),
    "permanganate at a low pH": (
        good(stages=(stage(dosing=PERMANGANATE),), **water(Steady(value=6.0), manganese=0.2)),
        [("look", "filter", "acidity permanganate")],
    ),
    "carbon followed as a filter of solids": (
        good(stages=(carbon_of(uptake=None),)),
        [("look", "filter", "only_solids carbon")],
    ),
    "media followed as a filter of solids": (
        good(stages=(replace(OXIDISING, layers=(replace(MEDIA, uptake=None),)),)),
        [("look", "filter", "only_solids oxidising media")],
    ),
    "resin followed as a filter of solids": (
        good(stages=(replace(SOFT, layers=(replace(RESIN, uptake=None),), steps=(UPFLOW, RINSE)),)),
        [("look", "filter", "only_solids resin")],
    ),
    "carbon ahead of media": (
        good(stages=(carbon(), named(UNRESTORED, "second")), **water(free_chlorine=1.0)),
        [("look", "filter", "carbon_first second")],
    ),
    "carbon ahead of media that have chlorine of their own": (
        good(stages=(carbon(), named(UNRESTORED, "second", dosing=CHLORINE)), **water(free_chlorine=1.0)),
        [],
    ),
    "carbon ahead of media that a step restores": (
        good(stages=(carbon(), named(OXIDISING, "second")), **water(free_chlorine=1.0)),
        [],
    ),
    "softener ahead of a dose against nothing": (
        good(stages=(SOFT, stage(name="second", dosing=CHLORINE)), **HARD),
        [],
    ),
    "softener ahead of media": (
        good(stages=(SOFT, named(OXIDISING, "second")), **water(hardness=100.0, iron=0.5)),
        [("look", "filter", "softener_first second")],
    ),
    "softener ahead of a dose against iron": (
        good(
            stages=(SOFT, stage(name="second", dosing=CHLORINE), named(UNRESTORED, "third")),
            **water(hardness=100.0, iron=0.5, ammonia=0.0),
        ),
        [("look", "filter", "softener_first second")],
    ),
    "chlorine on resin": (
        good(stages=(SOFT,), **water(hardness=100.0, free_chlorine=1.5)),
        [("look", "filter", "oxidant_to_resin")],
    ),
    "carbon takes so much chlorine": (
        to_membrane(carbon(), **water(free_chlorine=1.0)),
        [("look", None, "carbon_alone")],
    ),
    "chlorine goes round the carbon": (
        to_membrane(carbon(blend=0.2), **water(free_chlorine=1.0)),
        [("stop", None, "oxidant_at_unit")],
    ),
    "chlorine below the limit of the case": (
        to_membrane(carbon(blend=0.2, limits=Limits(chlorine=0.3)), **water(free_chlorine=1.0)),
        [("look", None, "carbon_alone")],
    ),
    "combined chlorine passes little carbon": (
        to_membrane(carbon(), **water(combined_chlorine=1.0)),
        [("stop", None, "oxidant_at_unit"), ("look", "filter", "contact_time")],
    ),
    "iron uses up the chlorine": (
        to_membrane(stage(dosing=CHLORINE, limit=1.0), **water(iron=4.0, ammonia=0.0)),
        [],
    ),
    "iron leaves some chlorine": (
        to_membrane(stage(dosing=CHLORINE), **water(iron=2.0, ammonia=0.0)),
        [("stop", None, "oxidant_at_unit")],
    ),
    "manganese leaves some permanganate": (
        to_membrane(stage(dosing=PERMANGANATE), **water(manganese=0.4)),
        [("stop", None, "oxidant_at_unit")],
    ),
    "a dose of which the feed says nothing": (
        to_membrane(stage(dosing=CHLORINE, limit=1.0), **water(oxidant=None, iron=4.0, ammonia=0.0)),
        [("look", None, "oxidant_unknown")],
    ),
    "chlorine passes while a vessel of carbon washes": (
        to_membrane(carbon_of(uptake=replace(CHLORINE_BED, half_length=0.2), vessels=TWO_VESSELS),
                    **water(free_chlorine=5.0)),
        [("stop", "filter", "oxidant_without_a_vessel")],
    ),
    "little carbon while a vessel washes": (
        good(stages=(carbon_of(depth=0.4, vessels=TWO_VESSELS),), **water(free_chlorine=1.0)),
        [("look", "filter", "contact_without_a_vessel")],
    ),
}
