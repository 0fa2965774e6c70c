"""Random weather and random demand: from tables to records, with what is usual where the file is silent.

Usual values are from memory of common practice; `filterrun weather` fits those of a site to its own records.
"""

import math

from hydraulics.media import Constant
from sim.case.assumptions import Page
from sim.case.series.records import Changeable, Season, Seasonal, Storms, UnsettledSeason, Wander
from sim.case.series.schema import (
    DemandVariation,
    StormsTable,
    TemperatureVariation,
    Weather,
    YearlyFactor,
)
from sim.case.series.waters import WATERS
from sim.case.units import DAY, HOUR

_MEMORY = "from memory, to be fitted to records of the site"


def _usual(value: float, low: float, high: float, unit: str, what: str) -> Constant:
    return Constant(value=value, low=low, high=high, unit=unit, source=f"{what}: {_MEMORY}", assumed=True)


SPREAD = _usual(1.8, 1.3, 2.5, "-", "turbidity about its median")
FAST_MEMORY = _usual(12 * HOUR, 3 * HOUR, 48 * HOUR, "s", "turbidity about its median")
SLOW_MEMORY = _usual(14 * DAY, 4 * DAY, 30 * DAY, "s", "slow changes of turbidity")
STORMS = {
    "per_year": _usual(8.0, 2.0, 30.0, "-", "storms"),
    "height": _usual(5.0, 2.0, 20.0, "-", "storms"),
    "length": _usual(24 * HOUR, 4 * HOUR, 120 * HOUR, "s", "storms"),
}
DAILY_TEMPERATURE = _usual(1.0, 0.5, 2.0, "degC", "temperature of a day about the season's")
TEMPERATURE_MEMORY = _usual(5 * DAY, 2 * DAY, 10 * DAY, "s", "temperature of a day about the season's")
DAILY_DEMAND = _usual(1.15, 1.05, 1.3, "-", "demand of a day about the usual")
DEMAND_MEMORY = _usual(3 * DAY, 1 * DAY, 7 * DAY, "s", "demand of a day about the usual")


def changeable_of(
    table: Weather[float], factor: float, water: str | None, page: Page
) -> Changeable:
    """Solids in random weather; `factor` turns the table's median into g/m3, `water` names its kind."""
    fast = Wander(spread=math.log(page.take("spread", SPREAD)), memory=page.take("memory", FAST_MEMORY))
    slow = None
    if table.slow_spread is not None:
        slow = Wander(spread=math.log(table.slow_spread), memory=page.take("slow_memory", SLOW_MEMORY))
        page.book.given += 1
    storms = None if table.storms is None else _storms(table.storms, water, page.inner(table.storms, "storms"))
    return Changeable(
        median=factor * table.median, fast=fast, slow=slow, season=season_of(table.season), storms=storms
    )


def _storms(table: StormsTable, water: str | None, page: Page) -> Storms:
    usual = STORMS
    if water is not None:
        kind = WATERS[water]
        usual = {"per_year": kind.storms_a_year, "height": kind.storm_strength, "length": kind.storm_length}
    taken = {name: page.take(name, typical) for name, typical in usual.items()}
    return Storms(**taken, season=season_of(table.season))


def season_of(table: YearlyFactor | None) -> Season | None:
    return None if table is None else Season(swing=table.swing, peak_day=table.highest_on)


def unsettled(usual: Seasonal, table: TemperatureVariation, page: Page) -> UnsettledSeason:
    """A seasonal temperature that strays from day to day."""
    spread, memory = page.take("spread", DAILY_TEMPERATURE), page.take("memory", TEMPERATURE_MEMORY)
    return UnsettledSeason(usual=usual, wander=Wander(spread=spread, memory=memory))


def demand_wander(table: DemandVariation | None, page: Page) -> Wander | None:
    """The day-to-day factor of the demand, None where it has none."""
    if table is None:
        return None
    inner = page.inner(table, "variation")
    return Wander(spread=math.log(inner.take("spread", DAILY_DEMAND)), memory=inner.take("memory", DEMAND_MEMORY))
