"""What the review asks of a case again and again: its coldest and warmest water, its demand, the wash of a stage."""

import math
from collections.abc import Callable, Sequence
from typing import Final, assert_never

from hydraulics.water import COLDEST, HOTTEST
from sim.case.record import record
from sim.case.records import Case
from sim.case.series.records import Changeable, Measured, Profile, Seasonal, Series, Steady, UnsettledSeason
from sim.case.series.series import largest_day, largest_demand, mean_of
from sim.case.stage.records import Stage, Step
from sim.case.train.records import Unit
from sim.case.units import DAY
from sim.review.findings import Advice, Water
from sim.wash.clean_bed import clean_loss, water_volume
from sim.wash.flow import branch_pressure, wash_flow


@record
class Site:
    """A case with the ends of what it will meet: water [degC] over the year, flow of service [m3/s] of the train.

    `peak`: the largest; `mean`: over all hours; `usual`: while water is drawn, as far as it is told. `largest_day`:
    what the train treats on the day of most use [m3].
    """

    case: Case
    coldest: float
    warmest: float
    mean_temperature: float
    peak: float
    mean: float
    usual: float
    largest_day: float

    @property
    def unit(self) -> Unit | None:
        """The unit downstream that runs and stands, if there is one."""
        return None if self.case.downstream is None else self.case.downstream.unit

    def through(self, stage: Stage) -> float:
        """The largest service flow through one vessel of a stage while none washes [m3/s]."""
        return self.peak / stage.vessels.sharing

    def mean_through(self, stage: Stage) -> float:
        """The mean flow through one vessel of a stage [m3/s]."""
        return self.mean / stage.vessels.sharing

    def clean(self, stage: Stage) -> float:
        """Pressure drop [Pa] of the clean bed of a stage at the largest service flow, coldest water."""
        return clean_loss(stage, self.through(stage), self.coldest)

    @property
    def clean_train_loss(self) -> float:
        """Pressure [Pa] that the clean beds of all stages lose at the largest service flow, coldest water."""
        return math.fsum(self.clean(stage) for stage in self.case.stages)

    def easing(self, advice: Advice) -> Advice:
        """Advice that lengthens a run or shortens a wash or a rinse: `kept` where people may drink the water."""
        return "kept" if self.case.may_be_drunk else advice

    @property
    def temperatures(self) -> tuple[tuple[Water, float], ...]:
        """The coldest and the warmest water; one where they are the same."""
        if self.coldest == self.warmest:
            return (("steady", self.coldest),)
        return (("coldest", self.coldest), ("warmest", self.warmest))

    def reached(self, stage: Stage, temperature: float) -> float:
        """The flow [m3/s] that the strongest backwash of a stage reaches."""
        return wash_flow(self.case, stage, strongest(stage), temperature)


def site_of(case: Case) -> Site:
    """The ends of a case's water and demand."""
    coldest, warmest = temperature_range(case.feed.temperature)
    unit = None if case.downstream is None else case.downstream.unit
    peak, mean = largest_demand(case.demand), mean_of(case.demand.flow)
    usual, day = mean, largest_day(case.demand)
    if unit is not None:  # it draws its own flow or nothing, and no more product than is asked for
        peak = usual = unit.feed_flow
        mean = min(mean / unit.recovery, unit.feed_flow)
        day = min(day / unit.recovery, unit.feed_flow * DAY)
    return Site(
        case=case,
        coldest=coldest,
        warmest=warmest,
        mean_temperature=mean_of(case.feed.temperature),
        peak=peak,
        mean=mean,
        usual=usual,
        largest_day=day,
    )


STRAYED: Final = 2.0
"""Standard deviations that water strays from its season: about one day in twenty is beyond."""


def temperature_range(series: Steady | Seasonal | Measured | UnsettledSeason) -> tuple[float, float]:
    """Coldest and warmest [degC] of a year, or of what was measured; of water that strays, all but rare days."""
    match series:
        case Steady(value=value):
            return value, value
        case Seasonal(mean=mean, swing=swing):
            return mean - swing, mean + swing
        case Measured(value=values):
            return min(values), max(values)
        case UnsettledSeason(usual=usual, wander=wander):
            apart = usual.swing + STRAYED * wander.spread
            return max(usual.mean - apart, COLDEST), min(usual.mean + apart, HOTTEST)


def highest(series: Series) -> float:
    """The highest value of a series; of a random one, which has none, the mean."""
    return _end_of(series, max, 1.0)


def lowest(series: Series) -> float:
    """The lowest value of a series; of a random one, which has none, the mean."""
    return _end_of(series, min, -1.0)


def _end_of(series: Series, of: Callable[[Sequence[float]], float], swing: float) -> float:
    match series:
        case Steady(value=value):
            return value
        case Profile(hourly=hourly, weekday=weekday):
            return of(hourly) * of(weekday)
        case Seasonal(mean=mean, swing=size):
            return mean + swing * size
        case Measured(value=values):
            return of(values)
        case Changeable():
            return mean_of(series)
    assert_never(series)


def strongest(stage: Stage) -> Step:
    """The backwash with the largest flow."""
    return max((step for step in stage.steps if step.do == "backwash"), key=lambda step: step.flow)


def largest_flow(site: Site, stage: Stage) -> float:
    """The largest flow that a step sends to the drain [m3/s], as far as its supply drives it."""
    return max(
        wash_flow(site.case, stage, step, temperature)
        for step in stage.steps
        if step.do != "make-up"
        for temperature in (site.coldest, site.warmest)
    )


def wash_length(stage: Stage) -> float:
    """Time that a wash takes, all steps [s]."""
    return math.fsum(step.seconds for step in stage.steps)


def not_held(stage: Stage) -> float:
    """Time of a wash [s] in which the unit downstream is not held."""
    (start, end), whole = stage.hold_span, wash_length(stage)
    return whole - (min(end, whole) - start)


def vessels_left(site: Site, stage: Stage) -> int | None:
    """Vessels that take over while one of several is off line; None where none does or the unit is held meanwhile."""
    left = stage.vessels.sharing - 1
    return None if left < 1 or (site.unit is not None and not_held(stage) == 0.0) else left


def wash_volume(site: Site, stage: Stage) -> float:
    """Water that a wash sends to the drain [m3], at the flow that it reaches in the coldest water."""
    to_drain = [step for step in stage.steps if step.do != "make-up"]
    return math.fsum(step.seconds * wash_flow(site.case, stage, step, site.coldest) for step in to_drain)


def vessel_water(stage: Stage) -> float:
    """Water to displace in a rinse [m3]: the vessel's beside the grains, and what lies under them."""
    return water_volume(stage) + stage.underdrain_volume


def left_at(site: Site, flow: float) -> float:
    """Pressure [Pa] where the wash branches off while a flow [m3/s] and the other users are served; 0 beyond the
    curve of the supply."""
    supply = site.case.supply
    assert supply is not None
    drawn = flow + supply.others
    if drawn > supply.flows[-1]:
        return 0.0
    return max(branch_pressure(supply, drawn, site.coldest), 0.0)
