"""What is dissolved against what the stages are for: their order, oxidants, pH, and what a bed takes up in a run."""

from itertools import takewhile
from typing import Final, get_args

from hydraulics.media import UPTAKE
from hydraulics.salt import capacity_at
from hydraulics.stoichiometry import EQUIVALENTS, HARDNESS_PER_IRON, HARDNESS_PER_MANGANESE
from sim.case.chemistry.records import Oxidising, Resin
from sim.case.stage.records import Stage
from sim.review import bands
from sim.review.dissolved import METALS, as_chlorine, shortfall, stated, usual_passages, worst_passages
from sim.review.findings import Bed, Findings, Level, at_most, judged, noted
from sim.review.site import Site, lowest
from sim.wash.regeneration import permanganate_brought, resin_volume, salt_brought

CHEMICAL_BEDS: Final[tuple[Bed, ...]] = get_args(Bed)


def uptake_findings(site: Site, place: int) -> Findings:
    """What a stage is for, beside solids."""
    stage = site.case.stages[place]
    for bed in CHEMICAL_BEDS:
        if bed in stage.only_solids:
            yield noted("only_solids", "look", stage, bed=bed)
    yield from _order(site, place)
    yield from _dose(site, place)
    oxidant = as_chlorine(worst_passages(site)[place].at_bed)
    if _has(stage, "resin") and oxidant > 0.0:
        yield judged("oxidant_to_resin", stage, oxidant, "dissolved", bands.OXIDANT_TO_RESIN)
    yield from _unrestored(site, place)


def _has(stage: Stage, medium: str) -> bool:
    return any(layer.medium == medium for layer in stage.layers)


def _adds_oxidant(stage: Stage) -> bool:
    return stage.dosing is not None or stage.oxidant not in (None, "none")


def _order(site: Site, place: int) -> Findings:
    """Carbon that takes the oxidant of the media behind it; resin that gets the iron which a stage behind removes."""
    stage, later = site.case.stages[place], site.case.stages[place + 1 :]
    if _has(stage, "carbon"):
        for other in takewhile(lambda each: not _adds_oxidant(each), later):
            if _has(other, "oxidising media") and permanganate_brought(other) <= 0.0:
                yield noted("carbon_first", "look", stage, other=other.name)
                break
    if _has(stage, "resin"):
        for other in later:
            dosed = other.dosing is not None and stated(site, *METALS)
            if dosed or _has(other, "oxidising media"):
                yield noted("softener_first", "look", stage, other=other.name)
                break


def _dose(site: Site, place: int) -> Findings:
    """What the oxidant of a stage needs in order to act."""
    stage, feed = site.case.stages[place], site.case.feed
    if stage.dosing is None:
        return
    product = stage.dosing.product
    if feed.acidity is not None and stated(site, *bands.OXIDISED[product]):
        usual = bands.ACIDITY[product]
        yield judged("acidity", stage, lowest(feed.acidity), "number", usual, above=None, dosed=product)
    media = any(_has(each, "oxidising media") for each in site.case.stages[place:])
    if product != "permanganate" and stated(site, "manganese") and not media:
        yield noted("manganese_stays", "look", stage)
    if product == "chlorine" and stated(site, *METALS) and "ammonia" not in dict(feed.solutes):
        yield noted("ammonia_unknown", "look", stage)


def _unrestored(site: Site, place: int) -> Findings:
    if spent_once(site, place) is not None:
        yield noted("media_unrestored", "look", site.case.stages[place])


def spent_once(site: Site, place: int) -> float | None:
    """Volume that spends the oxidising media of a vessel [m3]; None where there are none or they are restored."""
    stage, at_bed = site.case.stages[place], usual_passages(site)[place].at_bed
    if permanganate_brought(stage) > 0.0:
        return None
    for layer in stage.layers:
        if isinstance(layer.uptake, Oxidising) and (load := shortfall(layer.uptake, at_bed)) > 0.0:
            return layer.uptake.capacity * layer.depth * stage.vessel.area / load
    return None


def past_the_capacity(site: Site, place: int, policy: str, volume: float) -> Findings:
    """A volume [m3] that a vessel treats in a run, against what its bed takes up once it is restored.

    The mean feed, at the usual flow. Beyond the range of published capacities it is sure.
    """
    allowed = volume_restored(site, place)
    if allowed is not None:
        sure = volume > UPTAKE["resin_capacity_factor"].high * allowed
        stage, most = site.case.stages[place], at_most(allowed, "capacity")
        level: Level = "stop" if sure else "look"
        yield judged("volume_beyond_capacity", stage, volume, "volume", most, outside=level, way=policy)


def volume_restored(site: Site, place: int) -> float | None:
    """Volume that spends a restored bed [m3]; None where nothing does, or nothing restores it."""
    stage, at_bed = site.case.stages[place], usual_passages(site)[place].at_bed
    for layer in stage.layers:
        match layer.uptake:
            case Resin() as resin:
                held = resin_volume(stage)
                capacity = held * capacity_at(salt_brought(stage) / held, resin.doses, resin.capacities)
                load = at_bed["hardness"] + HARDNESS_PER_IRON * at_bed["iron"]
                load = (1.0 - resin.leakage) * (load + HARDNESS_PER_MANGANESE * at_bed["manganese"])
            case Oxidising() as media:
                held = media.capacity * layer.depth * stage.vessel.area
                capacity = min(held, EQUIVALENTS["permanganate"] * permanganate_brought(stage))
                load = shortfall(media, at_bed)
            case _:
                continue
        load *= 1.0 - stage.blend
        if capacity > 0.0 and load > 0.0:
            return capacity / load
    return None
