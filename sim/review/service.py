"""A stage in service: its rate, its bed, the pressures on its vessel."""

from collections.abc import Mapping
from typing import Unpack

from hydraulics import water
from hydraulics.headloss import grain_reynolds
from hydraulics.pipes import static_pressure
from sim.case.stage.records import Stage
from sim.case.trigger.records import Pressure, devices
from sim.review import bands
from sim.review.downstream import Chlorine, chlorine_at
from sim.review.findings import Band, Facts, Finding, FindingName, Findings, at_least, at_most, judged
from sim.review.pump import missed_by_the_pump
from sim.review.signal import spike_findings
from sim.review.site import Site, left_at, not_held, vessels_left
from sim.wash.clean_bed import packed_depth, sublayers_of

CONTACT: Mapping[Chlorine | None, Band] = {
    "free": bands.FREE_CONTACT, "combined": bands.COMBINED_CONTACT, None: bands.CARBON_CONTACT,
}  # fmt: skip


def service_findings(site: Site, stage: Stage) -> Findings:
    """What the stage does at the largest service flow, and what it is made of."""
    yield _rate("filtration_rate", stage, site.through(stage))
    yield from _without_a_sister(site, stage)
    yield from _while_a_later_one_washes(site, stage)
    yield judged("clean_pressure", stage, site.clean(stage), "pressure", bands.CLEAN_PRESSURE, below=None)
    yield from _bed(site, stage)
    yield from _laminar(site, stage)


def _rate(name: FindingName, stage: Stage, flow: float, **facts: Unpack[Facts]) -> Finding:
    """The filtration rate at a flow through one vessel; none is too slow."""
    usual = bands.usual(stage).filtration_rate
    return judged(name, stage, flow / stage.vessel.area, "rate", usual, below=None, **facts)


def _without_a_sister(site: Site, stage: Stage) -> Findings:
    """What the vessels left take over while one of several is off line, unless the unit is held all that time."""
    left = vessels_left(site, stage)
    if left is not None:
        yield _rate("rate_without_a_vessel", stage, site.peak / left)


def _while_a_later_one_washes(site: Site, stage: Stage) -> Findings:
    """What a vessel lets through while a stage behind it washes with water that comes through it, if that is more."""
    stages = site.case.stages
    for later in stages[stages.index(stage) + 1 :]:
        flow = _drawn_through(later)
        held = site.unit is not None and not_held(later) == 0.0
        serves = not held and (later.vessels.count > 1 or later.while_washing == "passes raw")
        total = flow + (site.peak if serves else 0.0)
        if flow > 0.0 and total > site.peak:
            yield _rate("rate_while_another_washes", stage, total / stage.vessels.sharing, other=later.name)


def _drawn_through(stage: Stage) -> float:
    """The largest flow of a step of a wash that comes through the stages ahead [m3/s]; 0 where there is none."""
    rinses = [step.flow for step in stage.steps if step.do in ("displacement", "rinse")]
    washes = [step.flow for step in stage.steps if step.do == "backwash"]
    return max(rinses + (washes if stage.wash_path == "through earlier stages" else []), default=0.0)


def _bed(site: Site, stage: Stage) -> Findings:
    if {layer.medium for layer in stage.layers} <= bands.SOLIDS_MEDIA:
        yield judged("bed_depth", stage, packed_depth(stage), "length", bands.BED_DEPTH)
    for layer in stage.layers:
        yield judged("grain_size", stage, layer.size, "grain", bands.grain_size(layer), medium=layer.medium)
    if stage.layers[0].medium == "carbon" and site.peak > 0.0:
        yield from _contact(site, stage)


def _contact(site: Site, stage: Stage) -> Findings:
    """Of carbon, by the chlorine that comes to it, with all vessels and with one off line."""
    kind = chlorine_at(site, stage)
    needed = CONTACT[kind]
    contact = stage.vessel.area * packed_depth(stage) / site.through(stage)
    yield judged("contact_time", stage, contact, "minutes", needed)
    left = vessels_left(site, stage)
    if left is not None and kind is not None:
        shorter = contact * left / stage.vessels.sharing
        yield judged("contact_without_a_vessel", stage, shorter, "minutes", needed)


def _laminar(site: Site, stage: Stage) -> Findings:
    """The laminar law beyond its range; it leaves that first in the warmest water."""
    if stage.head_loss.law != "carman-kozeny":
        return
    mu, rho = water.viscosity(site.warmest), water.density(site.warmest)
    rate = site.through(stage) / stage.vessel.area
    highest = max(
        grain_reynolds(rate, each.size, sphericity=each.sphericity, rho=rho, mu=mu) / (1.0 - each.porosity)
        for layer in stage.layers
        for each in sublayers_of(layer)
    )
    yield judged("reynolds", stage, highest, "number", bands.LAMINAR)


def pressure_findings(site: Site, stage: Stage) -> Findings:
    """Pressures against what the vessel is rated for, and set points against what the stage can show."""
    yield from _rating(site, stage)
    for policy in site.case.policies:
        _, _, switch, _ = devices(dict(policy.triggers)[stage.name])
        if switch is not None:
            yield from _set_point(site, stage, policy.name, switch)
            yield from spike_findings(site, stage, policy.name, switch)


def _rating(site: Site, stage: Stage) -> Findings:
    supply, rating = site.case.supply, stage.vessel.pressure_rating
    if supply is None:
        return
    rise = 0.0 if supply.pipe is None else static_pressure(supply.pipe.rise, water.density(site.coldest))
    at_rest = supply.pressures[0] - rise
    if rating is None:
        yield Finding(name="pressure_unrated", level="look", stage=stage.name, facts={}, measure="pressure",
                      value=at_rest, advice="do")  # fmt: skip
        return
    yield judged("pressure_at_rest", stage, at_rest, "pressure", at_most(rating, "rating"), outside="stop")


def _set_point(site: Site, stage: Stage, policy: str, trigger: Pressure) -> Findings:
    point, rating = trigger.above, stage.vessel.pressure_rating
    if rating is not None and point > rating:
        most = at_most(rating, "rating")
        yield judged("set_point_over_rating", stage, point, "pressure", most, outside="stop", way=policy)
    clean = at_least(site.clean(stage), "clean_bed")
    higher = site.easing("below")
    yield judged("set_point_against_clean", stage, point, "pressure", clean, below=higher, way=policy)
    yield judged("set_point", stage, point, "pressure", bands.LOADED_PRESSURE, below=None, way=policy)
    yield from _missed(site, stage, policy, trigger)
    yield from missed_by_the_pump(site, stage, policy, trigger)


def _missed(site: Site, stage: Stage, policy: str, trigger: Pressure) -> Findings:
    """Where service draws on the supply of the case, no bed can show more than that has left."""
    supply = site.case.supply
    if supply is None or not supply.shared_with_service:
        return
    left = at_most(left_at(site, site.peak), "shared_line")
    yield judged("set_point_against_supply", stage, trigger.above, "pressure", left, way=policy)
