"""A stage in service: its rate, its bed, the pressures on its vessel."""

from dataclasses import replace

from hydraulics import water
from hydraulics.headloss import grain_reynolds
from hydraulics.pipes import static_pressure
from sim.case.stage.records import Stage
from sim.case.trigger.records import Pressure, devices
from sim.review import bands
from sim.review.findings import Band, Finding, Findings, judged
from sim.review.pump import missed_by_the_pump
from sim.review.signal import spike_findings
from sim.review.site import Site, left_at, not_held
from sim.wash.clean_bed import packed_depth, sublayers_of


def service_findings(site: Site, stage: Stage) -> Findings:
    """What the stage does at the largest service flow, and what it is made of."""
    yield judged(
        stage,
        "filtration rate at the largest service flow",
        site.through(stage) / stage.vessel.area,
        "rate",
        bands.usual(stage).filtration_rate,
        above="a wider vessel, another one beside it, or less flow at a time",
    )
    yield from _without_a_sister(site, stage)
    yield from _while_a_later_one_washes(site, stage)
    yield judged(
        stage,
        "pressure drop of the clean bed at the largest service flow, coldest water",
        site.clean(stage),
        "pressure",
        bands.CLEAN_PRESSURE,
        above="see whether the valve, the grains or the rate cost it: what is lost clean is lost to the filter run",
    )
    yield from _bed(site, stage)
    yield from _laminar(site, stage)


def _without_a_sister(site: Site, stage: Stage) -> Findings:
    """What the vessels left take over while one of several is off line, unless the unit is held all that time."""
    left = stage.vessels.sharing - 1
    if left < 1 or (site.unit is not None and not_held(stage) == 0.0):
        return
    yield judged(
        stage,
        "filtration rate at the largest service flow while one of the vessels washes",
        site.peak / left / stage.vessel.area,
        "rate",
        replace(bands.usual(stage).filtration_rate, low=None),
        above="washes at hours of little use, or another vessel: the beds left let more through meanwhile",
    )


def _while_a_later_one_washes(site: Site, stage: Stage) -> Findings:
    """What a vessel lets through while a stage behind it washes with water that comes through it, if that is more."""
    stages = site.case.stages
    for later in stages[stages.index(stage) + 1 :]:
        flow = _drawn_through(later)
        held = site.unit is not None and not_held(later) == 0.0
        serves = not held and (later.vessels.count > 1 or later.while_washing == "passes raw")
        total = flow + (site.peak if serves else 0.0)
        if flow > 0.0 and total > site.peak:
            yield judged(
                stage,
                f"filtration rate at the largest flow while {later.name} washes",
                total / stage.vessels.sharing / stage.vessel.area,
                "rate",
                replace(bands.usual(stage).filtration_rate, low=None),
                above="washes at hours of little use, or a slower rinse: what the bed holds is let through or shed",
            )


def _drawn_through(stage: Stage) -> float:
    """The largest flow of a step of a wash that comes through the stages ahead [m3/s]; 0 where there is none."""
    rinses = [step.flow for step in stage.steps if step.do == "rinse"]
    washes = [step.flow for step in stage.steps if step.do == "backwash"]
    return max(rinses + (washes if stage.wash_path == "through earlier stages" else []), default=0.0)


def _bed(site: Site, stage: Stage) -> Findings:
    if {layer.medium for layer in stage.layers} <= bands.SOLIDS_MEDIA:
        yield judged(
            stage,
            "depth of the bed",
            packed_depth(stage),
            "length",
            bands.BED_DEPTH,
            below="a deeper bed, or a limit that so little depth can hold",
            above="see that the wash lifts all of it and that room to expand is left",
        )
    for layer in stage.layers:
        yield judged(
            stage,
            f"effective size of the {layer.medium}",
            layer.size,
            "grain",
            bands.grain_size(layer),
            below="see that the wash does not carry it away; the pressure drop rises faster",
            above="see that it holds the limit and that the wash lifts it",
        )
    if stage.layers[0].medium == "carbon" and site.peak > 0.0:
        yield judged(
            stage,
            "empty-bed contact time at the largest service flow",
            stage.vessel.area * packed_depth(stage) / site.through(stage),
            "minutes",
            bands.CARBON_CONTACT,
            below="more carbon, or less flow: chlorine and taste need the time",
        )


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
    yield judged(
        stage,
        "Reynolds number between the grains at the largest service flow, warmest water, under the law carman-kozeny",
        highest,
        "number",
        bands.LAMINAR,
        above='law = "ergun", which has the inertial term',
    )


def pressure_findings(site: Site, stage: Stage) -> Findings:
    """Pressures against what the vessel is rated for, and set points against what the stage can show."""
    yield from _rating(site, stage)
    for policy in site.case.policies:
        _, _, switch = devices(dict(policy.triggers)[stage.name])
        if switch is not None:
            yield from _set_point(site, stage, policy.name, switch)
            yield from spike_findings(site, stage, policy.name, switch)


def _rating(site: Site, stage: Stage) -> Findings:
    supply, rating = site.case.supply, stage.vessel.pressure_rating
    if supply is None:
        return
    rise = 0.0 if supply.pipe is None else static_pressure(supply.pipe.rise, water.density(site.coldest))
    what = "pressure that the supply can put on the vessel while nothing flows"
    standing = supply.pressures[0] - rise
    if rating is None:
        yield Finding(
            level="look",
            stage=stage.name,
            what=f"{what}: the vessel has no rating in the case",
            measure="pressure",
            value=standing,
            do="read pressure_rating from the vessel's plate and give it",
        )
        return
    yield judged(
        stage,
        what,
        standing,
        "pressure",
        Band(high=rating, source="the vessel's rating in the case"),
        above="a lower supply pressure or a relief, set by whoever answers for the vessel; do not run it so",
        outside="stop",
    )


def _set_point(site: Site, stage: Stage, policy: str, trigger: Pressure) -> Findings:
    rating = stage.vessel.pressure_rating
    if rating is not None and trigger.above > rating:
        yield Finding(
            level="stop",
            stage=stage.name,
            what=f'set point of "{policy}" above what the vessel is rated for',
            measure="pressure",
            value=trigger.above,
            high=rating,
            source="the vessel's rating in the case",
            do="a set point far below the rating",
        )
    what = f'set point of "{policy}" against the clean bed at the largest service flow, coldest water'
    yield judged(
        stage,
        what,
        trigger.above,
        "pressure",
        Band(low=site.clean(stage), source="the clean bed of the case, by its own laws"),
        below=site.easing("a higher set point: this one asks for a wash that cannot bring it down"),
    )
    yield judged(
        stage,
        f'set point of "{policy}"',
        trigger.above,
        "pressure",
        bands.LOADED_PRESSURE,
        above="see that the underdrain bears it, and that the bed keeps its limit until then",
    )
    yield from _missed(site, stage, policy, trigger)
    yield from missed_by_the_pump(site, stage, policy, trigger)


def _missed(site: Site, stage: Stage, policy: str, trigger: Pressure) -> Findings:
    """Where service draws on the supply of the case, no bed can show more than that has left."""
    supply = site.case.supply
    if supply is None or not supply.shared_with_service:
        return
    yield judged(
        stage,
        f'set point of "{policy}" against what the shared supply has left at the largest service flow',
        trigger.above,
        "pressure",
        Band(high=left_at(site, site.peak), source="the supply of the case"),
        above="a lower set point and a longest run: service runs short before this one starts a wash",
    )
