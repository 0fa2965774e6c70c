"""The run, the water that comes and the water that is asked for: from tables to records."""

import math
import operator
from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise
from typing import assert_never

from hydraulics.coagulant import typical_solids
from sim.case.assumptions import Book, Page
from sim.case.chemistry.records import IN_FEED, Solute
from sim.case.schema import CaseFile
from sim.case.series.records import (
    Changeable,
    Coagulant,
    Demand,
    Feed,
    Measured,
    Oxidant,
    Profile,
    Seasonal,
    Series,
    Steady,
    UnsettledSeason,
)
from sim.case.series.schema import (
    CoagulantTable,
    DemandTable,
    FeedTable,
    FileTable,
    Shapes,
    TemperatureSeason,
    Weather,
    YearlySwing,
)
from sim.case.series.schema import (
    Profile as ProfileTable,
)
from sim.case.series.variation import changeable_of, demand_wander, season_of, unsettled
from sim.case.series.waters import WATERS
from sim.case.units import DAY, DOSE_PER_TURBIDITY, HOUR, TURBIDITY

YEAR_DAYS = 365.25
YEAR = YEAR_DAYS * DAY
EVERY_DAY_ALIKE = (1.0,) * 7


def feed_of(file: CaseFile, measured: Mapping[str, Measured], book: Book) -> Feed:
    """Temperature and suspended solids; turbidity is turned into solids by the ratio of the two.

    `measured` has the series that stand in files by their dotted keys.
    """
    table = file.feed
    page = Page(table, "feed", book)
    ratio = _turbidity_ratio(file, page)

    def series(key: str, factor: float | None = 1.0) -> Series | None:
        """What stands under a key, times a factor; None where nothing does."""
        given = getattr(table, key)
        if given is None:
            return None
        factor = 1.0 if factor is None else factor
        told = measured.get(f"feed.{key}")
        return told.times(factor) if told else _series(given, factor, key, table.water, page)

    solids = series("suspended_solids") or series("turbidity", ratio)
    assert solids is not None, "the checks see to it"
    dissolved = {"iron": table.iron_dissolved, "manganese": table.manganese_dissolved}
    solutes = {solute: series(solute, dissolved.get(solute)) for solute in IN_FEED}
    return Feed(
        solids=solids,
        temperature=measured.get("feed.temperature") or _temperature(table.temperature, page),
        turbidity_ratio=ratio,
        oxidant=table.oxidant or _oxidant_of(solutes),
        coagulant=_coagulant(table.coagulant, ratio, page),
        solutes=tuple((solute, each) for solute, each in solutes.items() if each is not None),
        acidity=series("pH"),
    )


def _oxidant_of(solutes: Mapping[Solute, Series | None]) -> Oxidant | None:
    """What the chlorine of a feed says of its oxidant, where the case has no word for it."""
    chlorine = [solutes["free_chlorine"], solutes["combined_chlorine"]]
    return "chlorine" if any(each is not None and mean_of(each) > 0.0 for each in chlorine) else None


def _coagulant(table: CoagulantTable | None, ratio: float | None, page: Page) -> Coagulant | None:
    """The floc of a dose, which is the same at all times or follows turbidity: solids over their `ratio` to it."""
    if table is None:
        return None
    inner = page.inner(table, "coagulant")
    formed = inner.take("solids", typical_solids(table.product)) * table.dose.value
    if table.dose.kind is not DOSE_PER_TURBIDITY:
        return Coagulant(product=table.product, adds=formed, adds_per_solids=0.0, dose=table.dose.value)
    assert ratio is not None, "the checks see to it"
    return Coagulant(product=table.product, adds=0.0, adds_per_solids=formed / ratio)


def _temperature(
    table: float | TemperatureSeason | FileTable, page: Page
) -> Steady | Seasonal | UnsettledSeason:
    assert not isinstance(table, FileTable), "a file is read or refused"
    if isinstance(table, float):
        return Steady(value=table)
    usual = Seasonal(mean=table.mean, swing=table.swing, peak_day=table.highest_on)
    if table.variation is None:
        return usual
    return unsettled(usual, table.variation, page.inner(table, "temperature").inner(table.variation, "variation"))


def _turbidity_ratio(file: CaseFile, page: Page) -> float | None:
    """Solids per turbidity [g/m3 per NTU]: given, or usual for the kind of water; None where neither is told.

    `page` is that of the feed: a usual ratio goes on record where feed, dose or limits are given by turbidity.
    """
    feed = file.feed
    if feed.water is None:
        page.state("solids_per_turbidity", "g/m3 per NTU")
        return feed.solids_per_turbidity
    limits = [stage.limit for stage in file.stage]
    limits += [] if file.downstream is None else [file.downstream.feed_limit]
    used = feed.turbidity is not None or any(limit is not None and limit.kind is TURBIDITY for limit in limits)
    used = used or (feed.coagulant is not None and feed.coagulant.dose.kind is DOSE_PER_TURBIDITY)
    return page.take("solids_per_turbidity", WATERS[feed.water].solids_per_turbidity, used=used)


def turbidity_can_be_read(feed: FeedTable) -> bool:
    """Whether solids per turbidity are given, or usual for the kind of water named."""
    return feed.solids_per_turbidity is not None or feed.water is not None


def _series(table: Shapes[float, FileTable], factor: float, key: str, water: str | None, page: Page) -> Series:
    """The series under a key of the feed times a factor; `water` is its kind, `page` that of the feed."""
    match table:
        case float():
            return Steady(value=factor * table)
        case ProfileTable():
            return Profile(hourly=tuple(factor * value for value in table.hourly), weekday=_weekday(table.weekday))
        case YearlySwing():
            return Seasonal(mean=factor * table.mean, swing=factor * table.swing, peak_day=table.highest_on)
        case Weather():
            return changeable_of(table, factor, water, page.inner(table, key))
        case FileTable():
            raise AssertionError("a file is read or refused")
    assert_never(table)


def demand_of(table: DemandTable, files: Mapping[str, Measured], page: Page) -> Demand:
    """The demand with its yearly and its daily factor; `files` as for the feed, `page` is that of the demand."""
    return Demand(
        flow=files.get("demand.flow") or _flow(table),
        season=season_of(table.season),
        wander=demand_wander(table.variation, page),
        closed=tuple(sorted(set(table.closed or ()))),
    )


def _flow(table: DemandTable) -> Steady | Profile:
    assert not isinstance(table.flow, FileTable), "a file is read or refused"
    if table.hourly is not None:
        return Profile(hourly=tuple(table.hourly), weekday=_weekday(table.weekday))
    return Steady(value=table.flow or 0.0)


def _weekday(factors: list[float] | None) -> tuple[float, ...]:
    return EVERY_DAY_ALIKE if factors is None else tuple(factors)


def mean_of(series: Series | UnsettledSeason) -> float:
    """The mean of a series over whole days, weeks or years; of a measured one, over the run."""
    match series:
        case Changeable():
            return _mean_weather(series)
        case UnsettledSeason():
            return series.usual.mean
        case Steady():
            return series.value
        case Profile():
            return math.fsum(series.hourly) / len(series.hourly) * math.fsum(series.weekday) / len(series.weekday)
        case Seasonal():
            return series.mean
        case Measured():
            spans = [end - start for start, end in pairwise((0.0, *series.end))]
            whole = math.fsum(spans)
            if whole == 0.0:
                return series.value[0]
            return math.fsum(map(operator.mul, spans, series.value)) / whole
    assert_never(series)


def _mean_weather(series: Changeable) -> float:
    """The mean over many years, in closed form: lognormal about the median, times what storms add to 1."""
    wanders = (series.fast, series.slow)
    mean = series.median * math.exp(0.5 * math.fsum(each.spread**2 for each in wanders if each is not None))
    storms = series.storms
    if storms is None:
        return mean
    added = storms.per_year * storms.length / YEAR * (storms.height - 1.0)
    together = 1.0
    if series.season is not None and storms.season is not None:
        apart = 2.0 * math.pi * (series.season.peak_day - storms.season.peak_day) / YEAR_DAYS
        together += 0.5 * series.season.swing * storms.season.swing * math.cos(apart)
    return mean * (1.0 + added * together)


def smallest_demand(demand: Demand) -> float:
    """The lowest flow that is asked for on days of usual demand [m3/s]."""
    return _extreme(demand, min, -1.0)


def largest_demand(demand: Demand) -> float:
    """The highest flow that the train is asked for on days of usual demand [m3/s]."""
    return _extreme(demand, max, 1.0)


def _extreme(demand: Demand, of: Callable[[Sequence[float]], float], swing: float) -> float:
    match demand.flow:
        case Steady(value=flow):
            pass
        case Profile(hourly=hourly, weekday=weekday):
            flow = of(hourly) * of(weekday)
        case Measured(value=values):
            flow = of(values)
        case _:
            assert_never(demand.flow)
    return flow if demand.season is None else flow * (1.0 + swing * demand.season.swing)


def largest_day(demand: Demand) -> float:
    """The most that the train is asked for in a day of usual demand [m3], days counted from the start of the run."""
    match demand.flow:
        case Steady(value=flow):
            most = flow * DAY
        case Profile(hourly=hourly, weekday=weekday):
            most = math.fsum(hourly) * HOUR * max(weekday)
        case Measured(end=end, value=value):
            most = _most_in_a_day(end, value)
        case _:
            assert_never(demand.flow)
    return most if demand.season is None else most * (1.0 + demand.season.swing)


def _most_in_a_day(end: Sequence[float], value: Sequence[float]) -> float:
    """The largest sum over a whole day of a step function of time [s]; of the whole where that is shorter."""
    sums: dict[int, float] = {}
    begin = 0.0
    for stop, flow in zip(end, value, strict=True):
        while begin < stop:
            day = int(begin // DAY)
            till = min((day + 1) * DAY, stop)
            sums[day] = sums.get(day, 0.0) + flow * (till - begin)
            begin = till
    return max(sums.values(), default=0.0)
