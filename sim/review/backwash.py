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
from sim.review.findings import Advice, Band, Findings, Water, at_least, at_most, judged
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
    yield judged("backwash_rate", stage, flow / stage.vessel.area, "rate", bands.usual(stage).backwash_rate)
    washes = [step for step in stage.steps if step.do == "backwash"]
    if stage.layers[0].medium not in bands.SOLIDS_MEDIA:
        return
    volume = math.fsum(step.seconds * wash_flow(site.case, stage, step, site.coldest) for step in washes)
    loading, shorter = volume / stage.vessel.area, site.easing("above")
    yield judged("backwash_volume", stage, loading, "loading", bands.BACKWASH_LOADING, above=shorter)


def _expansion(site: Site, stage: Stage, when: Water, temperature: float) -> Findings:
    """The expansion by two laws. The review judges Ergun's; the other says how sure that is."""
    band = bands.usual(stage).expansion
    flow = site.reached(stage, temperature)
    share = expanded_height(expanded_bed(stage, flow, temperature)) / packed_depth(stage) - 1.0
    other = _second_opinion(stage, flow, temperature)
    watch: Advice | None = "watch" if other is not None and band.side(other) is None else None
    yield judged(
        "expansion", stage, share, "share", band, below=watch or "below", above=watch or "above", water=when
    )  # fmt: skip
    if other is not None:
        yield judged("expansion_otherwise", stage, other, "share", Band(source="second_law"), water=when)


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
    yield judged("never_lifted", stage, packed / packed_depth(stage), "share", at_most(0.0, "lifting"))
    mu, rho = water.viscosity(temperature), water.density(temperature)
    coarsest = max(
        wen_yu_velocity(mu, rho, size=_passing(layer, COARSEST), grain_density=layer.grain_density)
        for layer in stage.layers
    )
    yield judged("lifting_rate", stage, flow / stage.vessel.area, "rate", at_least(coarsest, "coarsest"))


def _passing(layer: Layer, share: float) -> float:
    return sizes_passing(layer.size, layer.uniformity, 1, share)[0]


def _mixing(site: Site, stage: Stage) -> Findings:
    for when, temperature in site.temperatures:
        bed = expanded_bed(stage, site.reached(stage, temperature), temperature)
        for (upper, above), (lower, below) in pairwise(zip(stage.layers, bed, strict=True)):
            if math.isinf(above.height + below.height):
                continue  # what is carried away is found as a loss
            mixed = intermixing(above, below)
            share = (mixed.above + mixed.below) / (above.height + below.height)
            yield judged(
                "mixing", stage, share, "share", bands.MIXED_SHARE,
                medium=upper.medium, below_it=lower.medium, water=when,
            )  # fmt: skip


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
    loss = media_loss(height, mu=mu, rho=rho, finest=finest, vessel_height=stage.vessel.height)
    yield judged(
        "freeboard", stage, loss.freeboard, "length", bands.FREEBOARD,
        below="overflow" if loss.overflows else "below", outside="stop" if loss.overflows else "look",
    )  # fmt: skip
    yield judged(
        "finest_grains", stage, rate, "rate", at_most(loss.terminal, "finest"),
        outside="stop" if rate >= 2.0 * loss.terminal else "look", medium=top.medium,
    )  # fmt: skip


def _air(site: Site, stage: Stage) -> Findings:
    """Air together with a lifting upflow throws grains over the outlet."""
    for step in stage.steps:
        if not step.air:
            continue
        flow = wash_flow(site.case, stage, step, site.coldest)
        share = _lifted_share(stage, flow, site.coldest)
        yield judged("lifted_under_air", stage, share, "share", at_most(0.0, "memory"))


def _lifted_share(stage: Stage, flow: float, temperature: float) -> float:
    bed = expanded_bed(stage, flow, temperature)
    return math.fsum(layer.fluidised_share * layer.depth for layer in bed) / packed_depth(stage)
