"""The unit downstream and its tank while filters wash: raw water that it gets, water that it lacks, its cartridge."""

from collections.abc import Sequence
from itertools import pairwise

from sim.case.series.records import Demand, Measured, Profile, Steady
from sim.case.series.series import largest_demand, mean_of, smallest_demand
from sim.case.stage.clean_run import CleanRun
from sim.case.stage.records import Stage
from sim.case.train.records import Unit
from sim.case.units import DAY, HOUR
from sim.review import bands
from sim.review.dissolved import solids_at
from sim.review.findings import Finding, Findings, Level, at_least, at_most, judged
from sim.review.meeting import wash_together
from sim.review.site import Site, not_held, wash_length


def unit_findings(site: Site) -> Findings:
    """What the unit makes against what is asked of it, and the solids that come to it."""
    if site.unit is not None:
        needed = at_least(mean_of(site.case.demand.flow), "mean_demand")
        yield judged("unit_product", None, _product(site.unit), "flow", needed)
        yield from _longest_day(site.case.demand, site.unit)
    yield from _solids(site)


def _longest_day(demand: Demand, unit: Unit) -> Findings:
    """What the tank gives beside a unit that runs without a break, at the worst when it has just started."""
    held = at_most(unit.tank.start_below, "long_day")
    yield judged("tank_on_a_long_day", None, day_deficit(demand, _product(unit)), "volume", held)


def day_deficit(demand: Demand, product: float) -> float:
    """The most by which demand exceeds a steady product within any 24 h of days of most demand [m3]."""
    season = 1.0 if demand.season is None else 1.0 + demand.season.swing
    match demand.flow:
        case Profile(hourly=hourly, weekday=weekday):
            flows = [season * max(weekday) * flow for flow in hourly]
            days = ([*flows[start:], *flows[:start]] for start in range(len(flows)))
            return max(_deficit(day, [HOUR] * len(flows), product) for day in days)
        case Measured(end=ends, value=values):
            spans = [end - start for start, end in pairwise((0.0, *ends))]
            return _deficit([season * flow for flow in values], spans, product)
        case Steady(value=flow):
            return _deficit([season * flow], [DAY], product)


def _deficit(flows: Sequence[float], spans: Sequence[float], product: float) -> float:
    """The most that is taken from a tank in a row [m3], refilled as far as it was full before."""
    most = taken = 0.0
    for flow, span in zip(flows, spans, strict=True):
        taken = max(taken + (flow - product) * span, 0.0)
        most = max(most, taken)
    return most


def _product(unit: Unit) -> float:
    return unit.recovery * unit.feed_flow


def _solids(site: Site) -> Findings:
    """Clean, ripe beds at the mean feed: what comes to the unit is hardly ever less."""
    downstream = site.case.downstream
    if downstream is None or site.usual <= 0.0:
        return
    solids = _filtered(site)
    if downstream.feed_limit is not None:
        yield judged("solids_to_unit", None, solids, "solids", at_most(downstream.feed_limit, "feed_limit"))
    cartridge, load = downstream.cartridge, solids * site.mean
    if cartridge is not None and load > 0.0:
        lasts = cartridge.capacity / (cartridge.share * load)
        yield judged("cartridge_lasts", None, lasts, "days", bands.CARTRIDGE_LASTS)


def _filtered(site: Site) -> float:
    """Solids [g/m3] behind the last stage, its beds and all before it clean and ripe."""
    stages, last = site.case.stages, len(site.case.stages) - 1
    inflow = solids_at(site, last)
    flow = site.usual / stages[last].vessels.sharing
    run = CleanRun(stage=stages[last], flow=flow, temperature=site.mean_temperature)
    return run.passing(inflow, 0.0) + inflow.fine


def window_findings(site: Site, stage: Stage) -> Findings:
    """What the unit downstream gets in the minutes of a wash, and its tank without it."""
    stops, raw = _stops(site, stage), stage.while_washing == "passes raw"
    if stops and raw and (site.case.downstream is not None or site.case.may_be_drunk):
        yield _raw(site, stage)
    if site.case.downstream is None:
        return
    if stops and not raw and site.unit is not None:
        yield judged("unit_without_water", stage, not_held(stage), "minutes", bands.NEVER)
    held = wash_length(stage) - not_held(stage)
    yield from _tank_meanwhile(site, stage, wash_length(stage) if stops and not raw else held)


def _stops(site: Site, stage: Stage) -> bool:
    """Whether a wash leaves no vessel of the stage in service."""
    return stage.vessels.count == 1 or any(wash_together(site.case, stage, policy) for policy in site.case.policies)


def _raw(site: Site, stage: Stage) -> Finding:
    outside: Level = "look" if site.case.use == "process" else "stop"
    return judged("raw_water_sent_on", stage, not_held(stage), "minutes", bands.NEVER, outside=outside)


def _tank_meanwhile(site: Site, stage: Stage, away: float) -> Findings:
    """What the tank does while a wash keeps the unit from filling it, for a time `away` [s]."""
    unit, (start, end) = site.unit, stage.hold_span
    if unit is None:
        return
    if end > start:
        yield from _against_a_run(site, stage, unit, end - start)
    asked = largest_demand(site.case.demand)
    if asked > 0.0 and away > 0.0:
        yield judged("tank_while_washing", stage, away, "minutes", at_most(unit.tank.start_below / asked, "tank"))


def _against_a_run(site: Site, stage: Stage, unit: Unit, held: float) -> Findings:
    gain = _product(unit) - smallest_demand(site.case.demand)
    if gain > 0.0:
        run = at_most((unit.tank.stop_above - unit.tank.start_below) / gain, "levels")
        yield judged("hold_against_run", stage, held, "minutes", run)
