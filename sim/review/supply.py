"""Where the wash comes from and where it goes: what the supply gives, what the way to the drain takes."""

import math
from collections.abc import Iterator
from dataclasses import replace

from hydraulics import water
from hydraulics.pipes import orifice_loss
from sim.case.stage.records import Stage
from sim.case.wash.records import Drain, Pipe
from sim.review import bands
from sim.review.findings import Band, Finding, Findings, judged, noted
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
        yield noted(
            "look",
            stage,
            "water of the backwash: raw, though its supply is not the line of service",
            'see what the supply draws, and state it in the step: water = "filtered" with its water_solids, or '
            '"clean"; raw water out of a line of its own is rare',
        )


def _reached(site: Site, stage: Stage) -> Findings:
    if site.case.supply is None:
        return
    asked = strongest(stage).flow
    for when, temperature in site.temperatures:
        yield judged(
            stage,
            f"flow that the backwash reaches{when}",
            site.reached(stage, temperature),
            "flow",
            Band(low=REACHED * asked, source="what the backwash asks for, nearly all of it"),
            below="ask for what can be reached, or give the wash more pressure, a wider pipe or a time of little use",
        )


def _shared(site: Site, stage: Stage) -> Findings:
    """A wash asks for about three times the service flow: what it leaves where both branch off."""
    supply = site.case.supply
    if supply is None or not supply.shared_with_service or site.peak <= 0.0:
        return
    flow = site.reached(stage, site.coldest)
    yield judged(
        stage,
        "flow of the backwash over the largest service flow, on one line",
        flow / site.peak,
        "number",
        Band(high=3.0, source=bands.MEMORY),
        above="see that the line and the meter bear it",
    )
    needed = site.clean_train_loss
    yield judged(
        stage,
        "pressure left on the shared line if the largest service flow is served while it washes",
        left_at(site, flow + site.peak),
        "pressure",
        Band(low=needed, source="what the clean beds of the case lose at the largest service flow"),
        below="wash when little is asked for, hold service meanwhile, or give the wash a line of its own",
    )


def _restrictor(site: Site, stage: Stage) -> Findings:
    """What holds the wash to its flow: the hole where there is one, else the bed's own room to expand."""
    narrow, asked = stage.restrictor, strongest(stage).flow
    if site.case.supply is None:
        if narrow is not None:
            rho = water.density(site.coldest)
            loss = orifice_loss(asked, rho, hole=narrow.hole, pipe=narrow.pipe, discharge=narrow.discharge)
            yield Finding(
                level="fine",
                stage=stage.name,
                what="pressure that the restrictor in the drain takes from the backwash",
                measure="pressure",
                value=loss,
                source="ISO 5167-2",
            )
        return
    most = _unbounded(site, stage)
    if narrow is not None:
        yield judged(
            stage,
            "flow that the restrictor lets through with all the pressure of the supply",
            most,
            "flow",
            Band(low=REACHED * asked, high=1.25 * asked, source=f"the flow asked for, to 25 % above; {bands.MEMORY}"),
            below="a larger hole, or ask for what it lets through",
            above="a smaller hole: nothing else holds the wash to its flow",
        )
    elif most > asked:
        yield judged(
            stage,
            "free height if nothing but the supply holds the wash to its flow, coldest water",
            freeboard(stage, most, site.coldest),
            "length",
            Band(low=0.0, source="the supply and the bed of the case"),
            below="a restrictor or a valve set once and locked: an open valve would wash the bed out",
        )


def _unbounded(site: Site, stage: Stage) -> float:
    """The flow of a backwash that asks for all there is, coldest water [m3/s]."""
    return wash_flow(site.case, stage, replace(strongest(stage), flow=UNBOUNDED), site.coldest)


def _drain(site: Site, stage: Stage) -> Findings:
    """The flow of the wash against what the drain takes, and its speed in the pipe."""
    drain = site.case.drain
    if drain is None:
        return
    flow = largest_flow(site, stage)
    for name, limit in drain_limits(drain):
        yield judged(
            stage,
            f"largest flow of the wash against what {name}",
            flow,
            "flow",
            Band(high=limit, source="the drain of the case"),
            above="less flow, a larger drain, or a tank between: it overflows",
            outside="stop",
        )
    if drain.pipe is not None:
        yield judged(
            stage,
            "speed of the largest flow in the drain's pipe",
            4.0 * flow / (math.pi * drain.pipe.diameter**2),
            "speed",
            bands.DRAIN_SPEED,
            above="a wider pipe: this one takes the pressure that the wash needs",
        )


def drain_limits(drain: Drain) -> Iterator[tuple[str, float]]:
    """Flows [m3/s] that a wash must not exceed, and what each is."""
    if drain.capacity is not None:
        yield "the drain takes", drain.capacity
    if drain.sump is not None and drain.sump.flow_limit is not None:
        yield "the sump may be given", drain.sump.flow_limit


def drain_findings(site: Site) -> Findings:
    """The drain of the site: its air gap, and whether anybody has said what it takes."""
    drain = site.case.drain
    what = "air gap where the drain ends"
    if drain is None or drain.air_gap is None:
        yield noted(
            "stop",
            None,
            f"{what}: nobody says whether there is one",
            "look, and state it: air_gap = true under [drain], or its height",
        )
    elif not drain.air_gap:
        yield noted(
            "stop",
            None,
            f"{what}: there is none",
            "an air gap before anything is washed: what stands in a drain can be drawn back",
        )
    else:
        yield _gap(drain.air_gap_height, drain.pipe, what)
    if drain is None or (drain.capacity is None and drain.sump is None):
        yield noted(
            "look",
            None,
            "what the drain takes: not stated",
            "ask, and give capacity or sump under [drain]: a wash comes at several times the service flow",
        )


def _gap(height: float | None, pipe: Pipe | None, what: str) -> Finding:
    if height is None:
        return noted("fine", None, f"{what}: stated")
    least = 0.025 if pipe is None else max(0.025, TIMES_THE_BORE * pipe.diameter)
    return judged(
        None,
        what,
        height,
        "gap",
        Band(low=least, source=f"twice the bore of the pipe and an inch at least; {bands.MEMORY}"),
        below="a higher gap; what the local plumbing code asks for decides",
    )
