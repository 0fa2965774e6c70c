"""What is dissolved in the water along the train at a steady flow, its beds as they are when the run begins.

Amounts in g/m3, as in `sim.case.chemistry.records`. What is oxidised in the water is gone at once, as far as the
stoichiometry has it. Carbon takes up permanganate as it does free chlorine; common practice, from memory.
"""

import math
from collections.abc import Callable, Iterator, Mapping
from typing import Final, NamedTuple

from hydraulics.carbon import passing_share
from hydraulics.oxidation import HIGHEST_PH, air_rate
from hydraulics.reaction import reacted
from hydraulics.stoichiometry import (
    EQUIVALENTS,
    FREE_PER_PERMANGANATE,
    IRON_FLOC,
    MANGANESE_FLOC,
    PERMANGANATE_FLOC,
    SULPHUR_FLOC,
)
from sim.case.chemistry.records import IN_FEED, Carbon, Oxidising, Resin, Solute, SulphideTo
from sim.case.series.records import Series
from sim.case.series.series import mean_of
from sim.case.stage.clean_run import Inflow, inflow_of
from sim.case.stage.records import Layer, Stage
from sim.review.site import Site, highest, lowest

Amounts = dict[Solute, float]
Pick = Callable[[Series], float]

CHLORINE: Final[tuple[Solute, ...]] = ("free_chlorine", "combined_chlorine")
METALS: Final[tuple[Solute, ...]] = ("iron", "manganese")
OXIDANTS: Final[tuple[Solute, ...]] = ("permanganate", *CHLORINE)
MET_ON_MEDIA: Final[tuple[Solute, ...]] = ("free_chlorine", "permanganate")
"""Oxidants that give oxidising media back what metals take."""
MEETING: Final[tuple[Solute, ...]] = (
    "sulphide", "iron", "manganese", "ammonia", "free_chlorine", "combined_chlorine", "permanganate",
)  # fmt: skip
"""What meets in the water, in the order of `reacted`."""


class Passage(NamedTuple):
    """The amounts that come to a stage, those that come to its bed, behind its dose, and those that it sends on."""

    stage: Stage
    comes: Amounts
    at_bed: Amounts
    behind: Amounts


def usual_passages(site: Site) -> list[Passage]:
    """The mean feed at the usual flow."""
    return list(_passages(site, site.usual, _feed(site, mean_of, mean_of), None))


def worst_passages(site: Site, away: Stage | None = None) -> list[Passage]:
    """Most oxidant, least of what uses it up, at the largest flow; a vessel of the stage `away` is off line."""
    return list(_passages(site, site.peak, _feed(site, highest, lowest), away))


def as_chlorine(amounts: Mapping[Solute, float]) -> float:
    """All oxidant, as the chlorine that oxidises as much [g/m3]."""
    chlorine = amounts["free_chlorine"] + amounts["combined_chlorine"]
    return chlorine + FREE_PER_PERMANGANATE * amounts["permanganate"]


def stated(site: Site, *solutes: Solute) -> bool:
    """Whether the feed gives any of these, and more than none of it."""
    return any(name in solutes and highest(series) > 0.0 for name, series in site.case.feed.solutes)


def _feed(site: Site, oxidants: Pick, others: Pick) -> Amounts:
    amounts: Amounts = dict.fromkeys((*IN_FEED, "permanganate"), 0.0)
    for name, series in site.case.feed.solutes:
        amounts[name] = oxidants(series) if name in OXIDANTS else others(series)
    return amounts


def _passages(site: Site, flow: float, feed: Amounts, away: Stage | None) -> Iterator[Passage]:
    amounts = feed
    for stage in site.case.stages:
        at_bed = _dosed(site, stage, amounts)
        behind = _behind(stage, at_bed, flow / (stage.vessels.sharing - (stage is away)))
        yield Passage(stage, amounts, at_bed, behind)
        amounts = behind


def _dosed(site: Site, stage: Stage, amounts: Amounts) -> Amounts:
    """The water ahead of the bed of a stage, behind its dose, once all that it carries has met."""
    left, dosing, air, sulphate = dict(amounts), stage.dosing, 0.0, False
    if dosing is not None:
        sulphate = dosing.sulphide_to == "sulphate"
        if dosing.product == "chlorine":
            left["free_chlorine"] += dosing.dose
        elif dosing.product == "permanganate":
            left["permanganate"] += dosing.dose
        elif site.case.feed.acidity is not None:
            acidity = min(mean_of(site.case.feed.acidity), HIGHEST_PH)
            air = dosing.contact * air_rate(acidity, site.mean_temperature)
    return left | dict(zip(MEETING, reacted(sulphate, air, *(left[name] for name in MEETING)), strict=True))


def _behind(stage: Stage, at_bed: Amounts, flow: float) -> Amounts:
    """What a stage sends on: through its layers, and beside them the share that goes round."""
    through = dict(at_bed)
    for layer in stage.layers:
        _through(layer, flow / stage.vessel.area, through)
    return {name: stage.blend * at_bed[name] + (1.0 - stage.blend) * left for name, left in through.items()}


def _through(layer: Layer, rate: float, left: Amounts) -> None:
    match layer.uptake:
        case Carbon() as carbon:
            slower = rate / carbon.reference_rate
            free = passing_share(layer.depth, slower * carbon.half_length)
            left["free_chlorine"] *= free
            left["permanganate"] *= free
            left["combined_chlorine"] *= passing_share(layer.depth, slower * carbon.combined_half_length)
        case Oxidising() as media:
            passing = passing_share(layer.depth, rate / media.reference_rate * media.half_length)
            brought = math.fsum(EQUIVALENTS[name] * left[name] for name in MET_ON_MEDIA)
            used = (1.0 - passing) * metal_equivalents(media, left)
            surplus = max(1.0 - used / brought, 0.0) if brought > 0.0 else 0.0
            for name in ("sulphide", *METALS):
                left[name] *= passing
            for name in MET_ON_MEDIA:
                left[name] *= surplus
        case Resin() as resin:
            passing = passing_share(layer.depth, rate / resin.reference_rate * resin.half_length)
            for name in ("hardness", *METALS):
                left[name] *= resin.leakage + (1.0 - resin.leakage) * passing
        case None:
            pass


def metal_equivalents(media: Oxidising, amounts: Amounts) -> float:
    """What oxidising media take up of a water [eq/m3]."""
    metals = math.fsum(EQUIVALENTS[metal] * amounts[metal] for metal in METALS)
    return metals + EQUIVALENTS[f"sulphide to {media.sulphide_to}"] * amounts["sulphide"]


def shortfall(media: Oxidising, at_bed: Amounts) -> float:
    """By how much that exceeds the oxidant which comes with it [eq/m3], 0 or more."""
    brought = math.fsum(EQUIVALENTS[name] * at_bed[name] for name in MET_ON_MEDIA)
    return max(metal_equivalents(media, at_bed) - brought, 0.0)


class Formed(NamedTuple):
    """At one stage: the floc, and the metal in it [g/m3]."""

    floc: Inflow
    metal: Mapping[Solute, float]


def floc_along(site: Site) -> list[Formed]:
    """What forms at each stage of the mean feed at the usual flow, ahead of its bed and on its grains."""
    found = []
    for stage, comes, at_bed, behind in usual_passages(site):
        dosing, media = stage.dosing, _media(stage)
        dosed = dosing.dose if dosing is not None and dosing.product == "permanganate" else 0.0
        before = comes | {"permanganate": comes["permanganate"] + dosed}
        unfilterable = stage.unfilterable if dosing is None else dosing.unfilterable
        ahead = _floc(before, at_bed, "sulphur" if dosing is None else dosing.sulphide_to)
        grains = 0.0 if media is None else _floc(at_bed, behind, media.sulphide_to)
        last = at_bed if media is None else behind
        floc = Inflow((1.0 - unfilterable) * ahead + grains, unfilterable * ahead)
        found.append(Formed(floc, {name: before[name] - last[name] for name in METALS}))
    return found


def _media(stage: Stage) -> Oxidising | None:
    return next((each.uptake for each in stage.layers if isinstance(each.uptake, Oxidising)), None)


def _floc(before: Amounts, after: Amounts, sulphide_to: SulphideTo) -> float:
    """Floc of what has gone from the water [g/m3]."""
    return (
        IRON_FLOC * (before["iron"] - after["iron"])
        + MANGANESE_FLOC * (before["manganese"] - after["manganese"])
        + PERMANGANATE_FLOC * (before["permanganate"] - after["permanganate"])
        + (SULPHUR_FLOC * (before["sulphide"] - after["sulphide"]) if sulphide_to == "sulphur" else 0.0)
    )


def solids_at(site: Site, place: int) -> Inflow:
    """Solids that reach a stage of the mean feed at the usual flow, floc with them; beds before it clean, ripe."""
    return inflow_of(
        site.case.stages, place, site.case.feed, flow=site.usual, temperature=site.mean_temperature,
        formed=[each.floc for each in floc_along(site)],
    )  # fmt: skip
