"""Where the wash comes from and where it goes: what the supply gives, what the way to the drain takes."""

import math
from collections.abc import Iterator
from dataclasses import replace

from hydraulics import water
from hydraulics.pipes import orifice_loss
from sim.case.stage.records import Stage
from sim.case.wash.records import Drain, Pipe
from sim.review import bands
from sim.review.findings import Band, Finding, Findings, Taker, at_least, at_most, judged, noted
from sim.review.site import Site, largest_flow, left_at, strongest
from sim.wash.clean_bed import freeboard
from sim.wash.flow import wash_flow

REACHED = 0.98
"""Share of the flow asked for that counts as reached."""

UNBOUNDED = 10.0
"""m3/s, more than any wash asks for."""

TIMES_THE_BORE = 2.0


def supply_findings(site: Site, stage: Stage) -> Findings:
    """What a stage's wash gets, and what it leaves for service."""
    yield from _water(site, stage)
    yield from _reached(site, stage)
    yield from _shared(site, stage)
    yield from _restrictor(site, stage)
    yield from _drain(site, stage)


def _water(site: Site, stage: Stage) -> Findings:
    """A supply of the wash's own that carries the raw water of the train: possible, and often only left unsaid."""
    supply = site.case.supply
    if supply is None or supply.shared_with_service or stage.wash_path != "header":
        return
    if any(step.do == "backwash" and step.water == "raw" for step in stage.steps):
        yield noted("raw_backwash", "look", stage)


def _reached(site: Site, stage: Stage) -> Findings:
    if site.case.supply is None:
        return
    asked = at_least(REACHED * strongest(stage).flow, "asked")
    for when, temperature in site.temperatures:
        yield judged("backwash_reached", stage, site.reached(stage, temperature), "flow", asked, water=when)


def _shared(site: Site, stage: Stage) -> Findings:
    """A wash asks for about three times the service flow: what it leaves where both branch off."""
    supply = site.case.supply
    if supply is None or not supply.shared_with_service or site.peak <= 0.0:
        return
    flow = site.reached(stage, site.coldest)
    yield judged("flow_over_service", stage, flow / site.peak, "number", bands.FLOW_OVER_SERVICE)
    needed = at_least(site.clean_train_loss, "clean_beds")
    yield judged("shared_line_pressure", stage, left_at(site, flow + site.peak), "pressure", needed)


def _restrictor(site: Site, stage: Stage) -> Findings:
    """What holds the wash to its flow: the hole where there is one, else the bed's own room to expand."""
    narrow, asked = stage.restrictor, strongest(stage).flow
    if site.case.supply is None:
        if narrow is not None:
            rho = water.density(site.coldest)
            loss = orifice_loss(asked, rho, hole=narrow.hole, pipe=narrow.pipe, discharge=narrow.discharge)
            yield judged("restrictor_pressure", stage, loss, "pressure", Band(source="orifice"))
        return
    most = _unbounded(site, stage)
    if narrow is not None:
        band = Band(low=REACHED * asked, high=1.25 * asked, source="restrictor")
        yield judged("restrictor_flow", stage, most, "flow", band)
    elif most > asked:
        free = freeboard(stage, most, site.coldest)
        yield judged("unheld_freeboard", stage, free, "length", at_least(0.0, "supply"))


def _unbounded(site: Site, stage: Stage) -> float:
    """The flow of a backwash that asks for all there is, coldest water [m3/s]."""
    return wash_flow(site.case, stage, replace(strongest(stage), flow=UNBOUNDED), site.coldest)


def _drain(site: Site, stage: Stage) -> Findings:
    """The flow of the wash against what the drain takes, and its speed in the pipe."""
    drain = site.case.drain
    if drain is None:
        return
    flow = largest_flow(site, stage)
    for taker, limit in drain_limits(drain):
        yield judged("drain_flow", stage, flow, "flow", at_most(limit, "drain"), outside="stop", taker=taker)
    if drain.pipe is not None:
        speed = 4.0 * flow / (math.pi * drain.pipe.diameter**2)
        yield judged("drain_speed", stage, speed, "speed", bands.DRAIN_SPEED)


def drain_limits(drain: Drain) -> Iterator[tuple[Taker, float]]:
    """Flows [m3/s] that a wash must not exceed, and what takes no more."""
    if drain.capacity is not None:
        yield "drain", drain.capacity
    if drain.sump is not None and drain.sump.flow_limit is not None:
        yield "sump", drain.sump.flow_limit


def drain_findings(site: Site) -> Findings:
    """The drain of the site: its air gap, and whether anybody has said what it takes."""
    drain = site.case.drain
    if drain is None or drain.air_gap is None:
        yield noted("air_gap_unknown", "stop", None)
    elif not drain.air_gap:
        yield noted("no_air_gap", "stop", None)
    else:
        yield _gap(drain.air_gap_height, drain.pipe)
    if drain is None or (drain.capacity is None and drain.sump is None):
        yield noted("drain_unknown", "look", None)


def _gap(height: float | None, pipe: Pipe | None) -> Finding:
    if height is None:
        return noted("air_gap_stated", "fine", None, None)
    least = 0.025 if pipe is None else max(0.025, TIMES_THE_BORE * pipe.diameter)
    return judged("air_gap_height", None, height, "gap", at_least(least, "air_gap"))
