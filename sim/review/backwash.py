"""What a backwash does to the bed: whether it lifts, mixes or loses it, in the coldest and the warmest water."""

import math
from dataclasses import replace
from itertools import pairwise

from hydraulics import water
from hydraulics.errors import DomainError
from hydraulics.expansion import Sublayer, intermixing, media_loss
from hydraulics.fluidise import wen_yu_velocity
from hydraulics.media import sizes_passing
from sim.case.stage.records import Layer, Stage
from sim.review import bands
from sim.review.findings import Band, Findings, judged
from sim.review.site import Site
from sim.wash.clean_bed import expanded_bed, expanded_height, packed_depth
from sim.wash.flow import wash_flow

FINEST, COARSEST = 0.01, 0.90
"""Shares passing of the grains that are the first to be carried away, and the last to be lifted."""


def backwash_findings(site: Site, stage: Stage) -> Findings:
    """The strongest backwash of a stage, at the flow that it reaches."""
    yield from _rate(site, stage)
    for when, temperature in site.temperatures:
        yield from _expansion(site, stage, when, temperature)
    yield from _lifting(site, stage)
    yield from _mixing(site, stage)
    yield from _losing(site, stage)
    yield from _air(site, stage)


def _rate(site: Site, stage: Stage) -> Findings:
    flow = site.reached(stage, site.coldest)
    yield judged(
        stage,
        "backwash rate",
        flow / stage.vessel.area,
        "rate",
        bands.usual(stage).backwash_rate,
        below="more flow for the wash, if the bed expands too little",
        above="less flow for the wash, if the bed expands too much",
    )
    washes = [step for step in stage.steps if step.do == "backwash"]
    if stage.layers[0].medium not in bands.SOLIDS_MEDIA:
        return
    yield judged(
        stage,
        "volume of the backwash over the area of the bed",
        math.fsum(step.seconds * wash_flow(site.case, stage, step, site.coldest) for step in washes)
        / stage.vessel.area,
        "loading",
        bands.BACKWASH_LOADING,
        below="a longer backwash, if what leaves is still dirty at its end",
        above=site.easing("a shorter backwash, if what leaves is clear long before its end"),
    )


def _expansion(site: Site, stage: Stage, when: str, temperature: float) -> Findings:
    """The expansion by two laws. The review judges Ergun's; the other says how sure that is."""
    what, band = f"expansion of the bed by the backwash{when}", bands.usual(stage).expansion
    flow = site.reached(stage, temperature)
    share = expanded_height(expanded_bed(stage, flow, temperature)) / packed_depth(stage) - 1.0
    other = _second_opinion(stage, flow, temperature)
    divided = other is not None and _within(band, other)
    watch = "watch a wash before its flow is changed: by Richardson & Zaki's law the bed expands as it should"
    yield judged(
        stage,
        f"{what}, Ergun's law",
        share,
        "share",
        band,
        below=watch if divided else "more flow for the wash, above all while the water is warm; air would help",
        above=watch if divided else "less flow for the wash while the water is cold",
    )
    if other is not None:
        source = "Richardson & Zaki (1954), grains in their own shape; told beside Ergun's, judges nothing"
        yield judged(stage, f"{what}, Richardson & Zaki's law", other, "share", Band(source=source))


def _within(band: Band, value: float) -> bool:
    return (band.low is None or value >= band.low) and (band.high is None or value <= band.high)


def _second_opinion(stage: Stage, flow: float, temperature: float) -> float | None:
    """The expansion by Richardson & Zaki's law; None where it would hold lifted grains no wider than packed."""
    height = 0.0
    for layer in stage.layers:
        try:
            alone = replace(stage, layers=(layer,))
            height += expanded_height(expanded_bed(alone, flow, temperature, "richardson-zaki"))
        except DomainError:
            return None
    return height / packed_depth(stage) - 1.0


def _lifting(site: Site, stage: Stage) -> Findings:
    """Which grains the warmest water leaves where they lie."""
    temperature = site.warmest
    flow = site.reached(stage, temperature)
    bed = expanded_bed(stage, flow, temperature)
    packed = math.fsum(each.depth for layer in bed for each in layer.sublayers if not each.fluidised)
    yield judged(
        stage,
        "share of the bed that the backwash never lifts in the warmest water",
        packed / packed_depth(stage),
        "share",
        Band(high=0.0, source="Ergun (1952), set equal to the weight of the bed under water"),
        above="more flow, air, or grains that lift together: deposit stays where the bed lies still",
    )
    mu, rho = water.viscosity(temperature), water.density(temperature)
    coarsest = max(
        wen_yu_velocity(mu, rho, size=_passing(layer, COARSEST), grain_density=layer.grain_density)
        for layer in stage.layers
    )
    yield judged(
        stage,
        "backwash rate against the one that lifts the coarsest grains in the warmest water",
        flow / stage.vessel.area,
        "rate",
        Band(low=coarsest, source="Wen & Yu (1966) on the size that 90 % pass"),
        below="more flow for the wash; practice takes a third more than what just lifts them",
    )


def _passing(layer: Layer, share: float) -> float:
    return sizes_passing(layer.size, layer.uniformity, 1, share)[0]


def _mixing(site: Site, stage: Stage) -> Findings:
    for when, temperature in site.temperatures:
        bed = expanded_bed(stage, site.reached(stage, temperature), temperature)
        for (upper, above), (lower, below) in pairwise(zip(stage.layers, bed, strict=True)):
            if math.isinf(above.height + below.height):
                continue  # what is carried away is told as a loss
            mixed = intermixing(above, below)
            yield judged(
                stage,
                f"share of {upper.medium} and {lower.medium} that changes places in the backwash{when}",
                (mixed.above + mixed.below) / (above.height + below.height),
                "share",
                bands.MIXED_SHARE,
                above="grains whose sizes and densities keep them apart; a little mixing where they meet is usual",
            )


def _losing(site: Site, stage: Stage) -> Findings:
    """Cold water expands more: what it leaves of the vessel, and whether it takes the finest grains along."""
    temperature = site.coldest
    flow, top = site.reached(stage, temperature), stage.layers[0]
    mu, rho = water.viscosity(temperature), water.density(temperature)
    finest = Sublayer(
        depth=top.depth, size=_passing(top, FINEST), sphericity=top.sphericity, porosity=top.porosity,
        grain_density=top.grain_density,
    )  # fmt: skip
    rate = flow / stage.vessel.area
    height = expanded_height(expanded_bed(stage, flow, temperature))
    loss = media_loss(rate, height, mu=mu, rho=rho, finest=finest, vessel_height=stage.vessel.height)
    over = "less flow for the wash, or a higher vessel: the bed reaches the outlet and is washed out"
    yield judged(
        stage,
        "free height above the expanded bed in the coldest water",
        loss.freeboard,
        "length",
        bands.FREEBOARD,
        below=over if loss.overflows else "less flow while the water is cold: the bed comes close to the outlet",
        outside="stop" if loss.overflows else "look",
    )
    yield judged(
        stage,
        f"backwash rate against the settling of the finest {top.medium} in the coldest water",
        rate,
        "rate",
        Band(high=loss.terminal, source="Haider & Levenspiel (1989), on the size that 1 % pass"),
        above="less flow for the wash: the finest grains leave with it",
        outside="stop" if rate >= 2.0 * loss.terminal else "look",
    )


def _air(site: Site, stage: Stage) -> Findings:
    """Air together with a lifting upflow throws grains over the outlet."""
    for step in stage.steps:
        if not step.air:
            continue
        flow = wash_flow(site.case, stage, step, site.coldest)
        share = _lifted_share(stage, flow, site.coldest)
        yield judged(
            stage,
            "share of the bed that is lifted while air scours it, coldest water",
            share,
            "share",
            Band(high=0.0, source=bands.MEMORY),
            above="air first with little water or none, then water without air: both at once carry grains away",
        )


def _lifted_share(stage: Stage, flow: float, temperature: float) -> float:
    bed = expanded_bed(stage, flow, temperature)
    return math.fsum(layer.fluidised_share * layer.depth for layer in bed) / packed_depth(stage)
