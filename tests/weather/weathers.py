"""Random feeds and demands for tests, and a small case around them."""

from dataclasses import replace
from datetime import datetime

from sim.case.records import Case
from sim.case.series.records import (
    Changeable,
    Demand,
    Feed,
    Run,
    Season,
    Seasonal,
    Steady,
    Storms,
    UnsettledSeason,
    Wander,
)
from sim.weather import Forcing, build_forcing
from tests.plant.builders import make_case

HOUR, DAY, YEAR = 3600.0, 86_400.0, 365.25 * 86_400.0

FAST, SLOW = Wander(spread=0.5, memory=6 * HOUR), Wander(spread=0.4, memory=8 * DAY)
SEASON = Season(swing=0.4, peak_day=60)
STORMS = Storms(per_year=30.0, height=5.0, length=20 * HOUR, season=None)
ROUGH = Changeable(median=4.0, fast=FAST, slow=SLOW, season=SEASON, storms=STORMS)
UNSETTLED = UnsettledSeason(
    usual=Seasonal(mean=14.0, swing=5.0, peak_day=200), wander=Wander(spread=1.0, memory=5 * DAY)
)
DAILY = Wander(spread=0.15, memory=3 * DAY)


def case_of(
    *,
    solids: Changeable | None = ROUGH,
    temperature: UnsettledSeason | None = UNSETTLED,
    wander: Wander | None = DAILY,
    days: float = 365.0,
) -> Case:
    """A small plant under weather; None for what is to be steady."""
    feed = Feed(
        temperature=temperature or Steady(value=14.0), solids=solids or Steady(value=4.0), turbidity_ratio=1.0
    )
    return replace(
        make_case(),
        run=Run(start=datetime(2027, 1, 1), length=days * DAY, allowed_over_limit=None),
        feed=feed,
        demand=Demand(flow=Steady(value=1.5e-3), season=None, wander=wander),
    )


def forcing_of(case: Case, *, seed: int = 1, replicate: int = 0) -> Forcing:
    return build_forcing(case.run, case.feed, case.demand, seed=seed, replicate=replicate)
