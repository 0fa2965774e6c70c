"""What can be set of a plant, and over which range: one table for hands that move a setting and for searches.

Values are in the SI unit of their kind. The range of a trigger's setting follows from the plant and not from the
present value, so that a study of one plant comes to one answer whatever its case was entered with: from what a bed
has to take to what the longest run, the vessel and the supply allow.
"""

import math
from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Literal, NamedTuple, assert_never

from sim.case.chemistry.records import Resin
from sim.case.price.schema import (
    EACH,
    INTEREST,
    KWH,
    PER_ENERGY,
    PER_MASS,
    PER_VOLUME,
    PER_WASH,
    PER_YEAR,
    TIME_IN_YEARS,
)
from sim.case.quantities import QUANTITIES, Quantity, Units
from sim.case.records import Case
from sim.case.stage.longest_run import longest_run_of, with_usual_longest_runs
from sim.case.stage.records import Stage
from sim.case.trigger.records import (
    AnyOf,
    Calendar,
    Pressure,
    Signal,
    SingleTrigger,
    Trigger,
    Volume,
    VolumeLearned,
    VolumeReserve,
    singles,
)
from sim.case.units import DAY, HOUR, MINUTE
from sim.plant.build import water_volumes
from sim.review.bearable import Bound, bearable
from sim.review.site import Site, site_of
from sim.review.uptake import volume_restored
from sim.wash.regeneration import resin_volume

TriggerPart = Literal["every", "volume", "reserve", "above", "hold"]
Part = TriggerPart | Literal["at", "backwash", "rinse", "salt", "make-up"]
End = Bound | Literal[
    "longest run", "let through", "restored", "largest days", "longest hold", "salt table", "present"
]  # fmt: skip

LEAST_OF_A_DAY = 0.25  # of a mean day's use: the least volume between washes
RESERVES = (0.05, 2.0)  # of the largest day's use
ABOVE_CLEAN = 1.03  # times the pressure drop of the clean bed: the least set point
FAR_ABOVE_CLEAN = 10.0  # times that drop: as far as a hand moves a set point
STEP_SPAN = 2.0  # times the present time of a step, up and down
LONGEST_HOLD = 12 * MINUTE
FACTOR = 4.0  # an amount that no plant bounds is moved from this part to this multiple of the case's own value


class Range(NamedTuple):
    """Units of a setting, its lowest and highest value, its step [SI; 0: none of its own], what the high end is."""

    units: Units
    low: float
    high: float
    step: float = 0.0
    end: End | None = None

    @property
    def quantity(self) -> Quantity:
        """The quantity that is shown in these units; StopIteration for units that are of none, as a price's."""
        return next(name for name, units in QUANTITIES.items() if units == self.units)


_WATER_PRICE = Units(PER_VOLUME, "per m3", "per 1000 gal")
_PIECE = Units(EACH, "each", "each")
_YEARS = Units(TIME_IN_YEARS, "years", "years")
_SHARE, _MINUTES = QUANTITIES["share"], QUANTITIES["minutes"]
_DEVICE = {
    "price": Range(_PIECE, 0.0, 10_000.0),
    "upkeep": Range(Units(PER_YEAR, "per year", "per year"), 0.0, 1000.0),
    "life": Range(_YEARS, 0.25, 30.0, 0.25),
}
# Keys of the case file, and names of what changes several of them. How far a price goes; the currency may be any.
RANGES: Mapping[str, Range] = MappingProxyType(
    {
        "feed.temperature": Range(QUANTITIES["temperature"], 1.0, 35.0),
        "solids": Range(_SHARE, 0.2, 4.0, 0.05),
        "storms": Range(QUANTITIES["number"], 0.0, 60.0, 1.0),
        "use": Range(_SHARE, 0.2, 3.0, 0.05),
        "swing": Range(_SHARE, 0.0, 0.9, 0.05),
        "days": Range(_SHARE, 0.0, 0.6, 0.02),
        "backwash": Range(_MINUTES, MINUTE, 30 * MINUTE, MINUTE / 2),
        "rinse": Range(_MINUTES, 0.0, 60 * MINUTE, MINUTE / 2),
        "hour": Range(QUANTITIES["hours"], 0.0, 23.75 * HOUR, HOUR / 4),
        "spacing": Range(_MINUTES, 0.0, 240 * MINUTE, 5 * MINUTE),
        "plus": Range(_MINUTES, 0.0, 60 * MINUTE, MINUTE / 2),
        "over_limit": Range(QUANTITIES["hours"], 0.0, 4000 * HOUR, 5 * HOUR),
        "prices.water": Range(_WATER_PRICE, 0.0, 20.0),
        "prices.sewer": Range(_WATER_PRICE, 0.0, 20.0),
        "prices.pumping": Range(_WATER_PRICE, 0.0, 5.0),
        "prices.energy": Range(Units(PER_ENERGY, "per kWh", "per kWh"), 0.0, 2.0 / KWH),
        "prices.salt": Range(Units(PER_MASS, "per kg", "per lb"), 0.0, 5.0),
        "prices.permanganate": Range(Units(PER_MASS, "per kg", "per lb"), 0.0, 50.0),
        "prices.labour": Range(Units(PER_WASH, "per wash", "per wash"), 0.0, 100.0),
        "prices.cartridge": Range(_PIECE, 0.0, 500.0),
        "prices.lost_production": Range(_WATER_PRICE, 0.0, 100.0),
        **{f"prices.{device}.{key}": each for device in ("meter", "switch") for key, each in _DEVICE.items()},
        "prices.discount_rate": Range(_SHARE, 0.0, INTEREST.high, 0.005),
        "prices.years": Range(_YEARS, 1.0, 50.0, 1.0),
        "prices.payback_within": Range(_YEARS, 0.5, 20.0, 0.5),
    }
)


def around(units: Units, value: float) -> Range:
    """The range of an amount that no plant bounds; of nothing, up to ten."""
    return Range(units, value / FACTOR, FACTOR * value) if value > 0.0 else Range(units, 0.0, 10.0, 0.5)


def longest_of(site: Site, stage: Stage, trigger: Trigger) -> float:
    """The longest run [s] that is tried: that of the stage or its trigger, or half of what the case runs."""
    return min(longest_run_of(stage, trigger) or math.inf, max(site.case.run.length / 2.0, DAY))


def trigger_ranges(site: Site, stage: Stage, trigger: SingleTrigger, longest: float) -> Mapping[TriggerPart, Range]:
    """What can be set of a trigger, and what is searched of it; `longest` run [s]."""
    match trigger:
        case Calendar(every=None) | Signal():
            return {}
        case Calendar():
            return {"every": Range(QUANTITIES["days"], DAY, max(longest // DAY, 1.0) * DAY, DAY / 2, "longest run")}
        case Volume():
            return {"volume": _volumes(site, stage, longest)}
        case VolumeReserve() | VolumeLearned():
            low, high = (share * _of_a_vessel(stage, site.largest_day) for share in RESERVES)
            reserve = Range(QUANTITIES["volume"], low, high, end="largest days")
            return {"volume": _volumes(site, stage, longest), "reserve": reserve}
        case Pressure():
            bound = bearable(site, stage)
            above = Range(QUANTITIES["pressure"], ABOVE_CLEAN * site.clean(stage), bound.value, end=bound.bound)
            return {"above": above, "hold": Range(_MINUTES, 0.0, LONGEST_HOLD, MINUTE / 2, "longest hold")}
        case _:
            assert_never(trigger)


def _volumes(site: Site, stage: Stage, longest: float) -> Range:
    """From a part of a day's use to what the longest run lets through, or what spends a bed once restored."""
    least = LEAST_OF_A_DAY * _of_a_vessel(stage, site.mean * DAY)
    most = longest / DAY * _of_a_vessel(stage, site.largest_day)
    restored = volume_restored(site, site.case.stages.index(stage))
    if restored is not None and restored < most:
        return Range(QUANTITIES["volume"], least, restored, end="restored")
    return Range(QUANTITIES["volume"], least, most, end="let through")


def _of_a_vessel(stage: Stage, volume: float) -> float:
    """What a vessel of a stage takes of a volume that the site uses."""
    return volume / stage.vessels.sharing


def step_range(stage: Stage, do: Literal["backwash", "rinse"], present: float) -> Range:
    """What is searched of the time of a step around the present one [s]."""
    low = max(present / STEP_SPAN, least_rinse(stage) if do == "rinse" else 0.0)
    return Range(_MINUTES, low, max(STEP_SPAN * present, low), MINUTE / 2)


def salt_range(stage: Stage) -> Range | None:
    """What is searched of the salt of a regeneration [g]: from the first point of its resin's table to the last.

    None where nothing, or more than one step, brings salt to resin.
    """
    resin = next((each.uptake for each in stage.layers if isinstance(each.uptake, Resin)), None)
    if resin is None or salt_step(stage) is None:
        return None
    volume = resin_volume(stage)
    return Range(QUANTITIES["mass"], resin.doses[0] * volume, resin.doses[-1] * volume, end="salt table")


def salt_step(stage: Stage) -> int | None:
    """The step that says how much salt one regeneration has: its regenerant or, where that draws from a tank, the
    make-up that fills it. None where there is not just one.
    """
    brines = [(place, step) for place, step in enumerate(stage.steps)
              if step.do == "regenerant" and step.permanganate is None]  # fmt: skip
    made = [place for place, step in enumerate(stage.steps) if step.do == "make-up" and step.flow > 0.0]
    if len(brines) != 1:
        return None
    place, brine = brines[0]
    if brine.salt is not None:
        return place if brine.salt > 0.0 else None
    return made[0] if len(made) == 1 else None


def step_by_hand(do: str, present: float) -> Range:
    """As far as a hand moves it: a rinse can be left out, to see what it is good for."""
    return RANGES[do]._replace(high=max(RANGES[do].high, STEP_SPAN * present))


def least_rinse(stage: Stage) -> float:
    """How long its last rinse lasts at least [s], so that all its rinses take one volume of the vessel's water.

    0 for a stage without a rinse.
    """
    rinses = [step for step in stage.steps if step.do == "rinse" and step.flow > 0.0]
    if not rinses:
        return 0.0
    before = sum(step.flow * step.seconds for step in rinses[:-1])
    whole = max(water_volumes(stage)[0] - before, 0.0)
    return math.ceil(whole / rinses[-1].flow / (MINUTE / 2)) * (MINUTE / 2)


class Setting(NamedTuple):
    """A setting of a trigger: its key in the case file, whose it is, its range and its value in the case [SI]."""

    key: str
    policy: str
    stage: str
    part: TriggerPart
    range: Range
    value: float


def trigger_settings(case: Case) -> Iterator[Setting]:
    """Every setting of every trigger, of each of several that any one starts a wash, as far as a hand moves it.

    That is what a search tries, but for a set point: all that a supply can give would leave it no scale.
    """
    site = site_of(with_usual_longest_runs(case))
    stages = {each.name: each for each in site.case.stages}
    for policy in case.policies:
        for name, trigger in policy.triggers:
            longest, far = longest_of(site, stages[name], trigger), FAR_ABOVE_CLEAN * site.clean(stages[name])
            for place, each in enumerate(singles(trigger)):
                path = f"policy.{policy.name}.{name}." + (f"any_of.{place}." if isinstance(trigger, AnyOf) else "")
                for part, span in trigger_ranges(site, stages[name], each, longest).items():
                    value = float(getattr(each, part))
                    if part == "above" and isinstance(each, Pressure):
                        span = span._replace(high=min(span.high, far))
                    if span.low >= span.high:  # a plant that leaves a search nothing to try
                        span = around(span.units, value)
                    yield Setting(f"{path}{part}", policy.name, name, part, span, value)
