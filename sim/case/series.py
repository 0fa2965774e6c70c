"""The run, the water that comes and the water that is asked for: from tables to records."""

from sim.case.records import Demand, Feed, Profile, Run, Season, Seasonal, Series, Steady
from sim.case.schema import (
    DemandTable,
    FeedTable,
    RunTable,
    SolidsProfile,
    SolidsSeason,
    TurbidityProfile,
    TurbiditySeason,
)

EVERY_DAY_ALIKE = (1.0,) * 7


def run_of(table: RunTable) -> Run:
    return Run(start=table.start, length=table.length, allowed_breach=table.allowed_breach)


def feed_of(table: FeedTable) -> Feed:
    """Temperature and suspended solids; turbidity is turned into solids."""
    ratio = table.solids_per_turbidity
    if table.suspended_solids is not None:
        solids = _series(table.suspended_solids, 1.0)
    else:
        assert table.turbidity is not None, "the checks see to it"
        assert ratio is not None, "the checks see to it"
        solids = _series(table.turbidity, ratio)
    warmth = table.temperature
    temperature = (
        Steady(value=warmth)
        if isinstance(warmth, float)
        else Seasonal(mean=warmth.mean, swing=warmth.swing, peak_day=warmth.highest_on)
    )
    return Feed(temperature=temperature, solids=solids, turbidity_ratio=ratio)


def _series(
    table: float | SolidsProfile | TurbidityProfile | SolidsSeason | TurbiditySeason, factor: float
) -> Series:
    if isinstance(table, float):
        return Steady(value=factor * table)
    if isinstance(table, SolidsProfile | TurbidityProfile):
        return Profile(hourly=tuple(factor * value for value in table.hourly), weekday=_weekday(table.weekday))
    return Seasonal(mean=factor * table.mean, swing=factor * table.swing, peak_day=table.highest_on)


def demand_of(table: DemandTable) -> Demand:
    season = table.season
    return Demand(
        flow=(
            Profile(hourly=tuple(table.hourly), weekday=_weekday(table.weekday))
            if table.hourly is not None
            else Steady(value=table.flow or 0.0)
        ),
        season=None if season is None else Season(swing=season.swing, peak_day=season.highest_on),
    )


def _weekday(factors: list[float] | None) -> tuple[float, ...]:
    return EVERY_DAY_ALIKE if factors is None else tuple(factors)


def mean_temperature(feed: FeedTable) -> float:
    """The temperature around which the feed varies [degC]."""
    return feed.temperature if isinstance(feed.temperature, float) else feed.temperature.mean


def largest_demand(demand: Demand) -> float:
    """The highest flow that the train is ever asked for [m3/s]."""
    flow = demand.flow
    peak = flow.value if isinstance(flow, Steady) else max(flow.hourly) * max(flow.weekday)
    return peak if demand.season is None else peak * (1.0 + demand.season.swing)
