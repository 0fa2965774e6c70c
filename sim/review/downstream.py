"""What the train feeds: whether an oxidant can reach a membrane that it destroys."""

from collections.abc import Sequence
from typing import Literal

from sim.case.chemistry.records import Carbon
from sim.case.records import Case
from sim.case.series.records import Oxidant
from sim.case.stage.records import Stage
from sim.review import bands
from sim.review.dissolved import CHLORINE, as_chlorine, stated, worst_passages
from sim.review.findings import Band, Findings, at_most, judged, noted
from sim.review.site import Site, vessels_left

Chlorine = Literal["free", "combined"]


def downstream_findings(site: Site) -> Findings:
    """What reaches a polyamide membrane; other units bear an oxidant."""
    case = site.case
    if case.use != "membrane":
        return
    if case.downstream is None or case.downstream.membrane is None:
        yield noted("membrane_unknown", "look", None)
        return
    known = list(_amounts(site)) if _amounts_are_known(case) else None
    yield from known or ()
    if known is not None and any(finding.level == "stop" for finding in known):
        return
    carried = _carried(site, case.stages) if known is None else None
    if carried is not None:
        yield noted("oxidant_reaches", "stop", None, oxidant=carried)
    elif not _feed_is_known(case):
        yield noted("oxidant_unknown", "look", None)
    elif not _any_oxidant(site):
        yield noted("no_oxidant", "fine", None, None)
    elif any(layer.medium == "carbon" for stage in case.stages for layer in stage.layers):
        yield noted("carbon_alone", "look", None)


def _feed_is_known(case: Case) -> bool:
    return case.feed.oxidant is not None or any(name in CHLORINE for name, _ in case.feed.solutes)


def _any_oxidant(site: Site) -> bool:
    """Whether the feed brings any or a dose adds some."""
    return any(each is not None for each in (_of_feed(site), *map(_added, site.case.stages)))


def _of_feed(site: Site) -> Oxidant | None:
    if stated(site, *CHLORINE):
        return "chlorine"
    given = site.case.feed.oxidant
    return None if given == "none" else given


def _added(stage: Stage) -> Oxidant | None:
    if stage.dosing is None:
        return None if stage.oxidant == "none" else stage.oxidant
    return None if stage.dosing.product == "air" else stage.dosing.product


def _amounts_are_known(case: Case) -> bool:
    """Whether some oxidant is given by its amount, and none without; carbon too must be followed as such."""
    chlorine = any(name in CHLORINE for name, _ in case.feed.solutes)
    doses = [stage for stage in case.stages if _added(stage) is not None]
    if case.feed.oxidant not in (None, "none") and not chlorine:
        return False
    carbons = (layer for stage in case.stages for layer in stage.layers if layer.medium == "carbon")
    known = all(stage.dosing for stage in doses) and all(isinstance(each.uptake, Carbon) for each in carbons)
    return known and (chlorine or bool(doses))


def chlorine_at(site: Site, stage: Stage) -> Chlorine | None:
    """The chlorine that comes to a stage, the slower one to take up where both do; None for none."""
    place = site.case.stages.index(stage)
    at_bed = worst_passages(site)[place].at_bed
    if at_bed["combined_chlorine"] > 0.0:
        return "combined"
    told = _added(stage) or _carried(site, site.case.stages[:place])
    by_amount = _amounts_are_known(site.case)
    return "free" if at_bed["free_chlorine"] > 0.0 or (told == "chlorine" and not by_amount) else None


def _carried(site: Site, stages: Sequence[Stage]) -> Oxidant | None:
    """The oxidant in the water behind these stages, None for none; carbon takes up what comes to it."""
    carried = _of_feed(site)
    for stage in stages:
        carried = _added(stage) or carried
        if any(layer.medium == "carbon" for layer in stage.layers):
            carried = None
    return carried


def _amounts(site: Site) -> Findings:
    """What is left of the oxidant behind the train at the worst, and while a vessel of a stage with others washes."""
    last = site.case.stages[-1]
    most = bands.OXIDANT_TO_MEMBRANE
    if last.limits.chlorine is not None:
        most = at_most(last.limits.chlorine, "chlorine_limit")
    usual = as_chlorine(worst_passages(site)[-1].behind)
    yield judged("oxidant_at_unit", None, usual, "dissolved", most, outside="stop")
    for stage in site.case.stages:
        yield from _without_a_vessel(site, stage, most, usual)


def _without_a_vessel(site: Site, stage: Stage, most: Band, usual: float) -> Findings:
    """Only where the vessels left keep less back."""
    if vessels_left(site, stage) is None:
        return
    more = as_chlorine(worst_passages(site, stage)[-1].behind)
    if more > usual:
        yield judged("oxidant_without_a_vessel", stage, more, "dissolved", most, outside="stop")
