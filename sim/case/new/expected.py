"""How long each filter of a new case will run, and from that what shall start its wash."""

import math
from collections.abc import Callable
from dataclasses import dataclass

from hydraulics.headloss import square_law_loss
from sim.case.clean_run import CleanRun, Inflow, inflow_of
from sim.case.new.filters import RISE
from sim.case.new.plan import Filter
from sim.case.new.written import up_to
from sim.case.records import Case
from sim.case.series import mean_of
from sim.case.units import HOUR, LITRE

LIMIT, PRESSURE_DROP, NOTHING, AT_ONCE = "the limit", "the pressure drop", "neither", "at once"

MOST_LOAD = 1e9
"""g/m2: a run that gets so far has no end."""

LEAST_RISE = 5e3
"""Pa: less than this above the clean bed in cold water cannot be told from it."""

EARLY = 0.8
"""Of the run expected from a clean bed: when to wash. A bed that was washed before is not wholly clean."""

LEAST = 1.1 * LITRE
"""m3: a case takes a litre or more, and two figures of gallons must not fall below that."""

WITHOUT_WAITING = 0.4
"""Of a volume: the most that is kept in reserve."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """A run of a clean bed at the flow of use.

    `volume` [m3] until `ended_by`, infinite where nothing ends it; `rise` [Pa] of the pressure drop by then; `clean`
    [Pa]: what the gauge reads of the clean bed in the coldest water; `passing` [g/m3]: what the clean bed lets
    through.
    """

    volume: float
    ended_by: str
    rise: float
    clean: float
    passing: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """How the train is used: flow [m3/s], hours a day, days a week; lowest temperature of the water [degC]."""

    flow: float
    hours: int
    days: int
    coldest: float

    @property
    def a_day(self) -> float:
        """Volume on a day of use [m3]."""
        return self.flow * self.hours * HOUR

    @property
    def mean_a_day(self) -> float:
        """Volume a day over the week [m3]."""
        return self.a_day * self.days / 7.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Triggers:
    """What starts a wash of one filter: days; m3; Pa.

    `by_custom`: the run would last longer than is usual between washes, so that custom sets days and volumes.
    """

    every: int
    volume: float
    total: float
    reserve: float
    above: float
    by_custom: bool


def expected_run(case: Case, k: int, use: Use) -> Expected:
    """The run of stage k behind clean beds, with the mean feed at its mean temperature."""
    stage, temperature = case.stages[k], mean_of(case.feed.temperature)
    inflow = inflow_of(case.stages, k, case.feed, flow=use.flow, temperature=temperature)
    run = CleanRun(stage=stage, flow=use.flow, temperature=temperature)
    cold = CleanRun(stage=stage, flow=use.flow, temperature=use.coldest)
    valve = square_law_loss(stage.head_loss.valve_constant, use.flow) if stage.head_loss.tap == "vessel" else 0.0
    at_limit = _load_at_limit(run, inflow, stage.limit)
    at_rise = _crossing(lambda load: run.rise(load) - RISE.typical)
    load = min(at_rise, math.inf if at_limit == 0.0 else at_limit)
    ended_by = LIMIT if at_limit < at_rise else PRESSURE_DROP
    if at_limit == 0.0:
        ended_by = AT_ONCE
    elif load == math.inf or inflow.filterable == 0.0:
        ended_by = NOTHING
    volume = load * stage.vessel.area / inflow.filterable if inflow.filterable > 0.0 else math.inf
    return Expected(
        volume=volume,
        ended_by=ended_by,
        rise=run.rise(min(load, MOST_LOAD)),
        clean=cold.pressure_drop(0.0) + valve,
        passing=run.passing(inflow, 0.0) + inflow.fine,
    )


def _load_at_limit(run: CleanRun, inflow: Inflow, limit: float | None) -> float:
    """Load [g/m2] at which the filtered water comes to the limit; 0 if it does at once, infinite if never."""
    if limit is None:
        return math.inf
    if run.passing(inflow, 0.0) + inflow.fine >= limit:
        return 0.0
    return _crossing(lambda load: run.passing(inflow, load) + inflow.fine - limit)


def _crossing(excess: Callable[[float], float]) -> float:
    """Where a function that rises from below 0 comes to 0, to a millionth; infinite where it stays below."""
    from scipy.optimize import brentq

    high = 1.0
    while excess(high) < 0.0:
        high *= 4.0
        if high > MOST_LOAD:
            return math.inf
    return float(brentq(excess, 0.0, high, rtol=1e-6))


def triggers_of(expected: Expected, planned: Filter, use: Use) -> Triggers:
    """Each trigger a little before the run's expected end, and none later than is usual for the kind of filter."""
    most = int(planned.kind.longest_run.typical)
    longest = most * use.mean_a_day
    by_custom = EARLY * expected.volume >= longest
    run = longest / EARLY if by_custom else expected.volume
    total = max(up_to(run), 3.0 * LEAST)
    rise = min(EARLY * expected.rise, RISE.typical) if expected.ended_by == LIMIT else RISE.typical
    return Triggers(
        every=most if by_custom else max(int(EARLY * run / use.mean_a_day), 1),
        volume=max(up_to(EARLY * run), LEAST),
        total=total,
        reserve=max(up_to(min(1.1 * use.a_day, WITHOUT_WAITING * total)), LEAST),
        above=expected.clean + max(rise, LEAST_RISE),
        by_custom=by_custom,
    )


def hours_of_use(volume: float, use: Use) -> float:
    """How long a volume lasts [h of use]."""
    return volume / use.flow / HOUR


def days_of(volume: float, use: Use) -> float:
    """How long a volume lasts [d], pauses included."""
    return volume / use.mean_a_day
