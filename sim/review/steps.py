"""The steps of a wash: whether the rinse replaces what the vessel holds, and which steps only cost time."""

import math

from sim.case.stage.records import Do, Stage, Step
from sim.review import bands
from sim.review.findings import Findings, Useless, at_most, judged, noted
from sim.review.regeneration import softens
from sim.review.site import Site, vessel_water
from sim.wash.regeneration import resin_volume


def step_findings(site: Site, stage: Stage) -> Findings:
    """The rinse, and every step that does nothing on this stage."""
    yield from _rinse(site, stage)
    yield from _idle(site, stage)


def _rinse(site: Site, stage: Stage) -> Findings:
    last: Do = "regenerant" if softens(stage) else "backwash"
    rinses = _behind(stage, last, "rinse")
    if not rinses:
        fed = site.case.downstream is not None
        yield noted("no_rinse", "stop" if fed else "look", stage, "fed" if fed else "do")
        return
    volume = math.fsum(step.flow * step.seconds for step in rinses)
    if softens(stage):
        volumes, less = volume / resin_volume(stage), site.easing("above")
        yield judged("softener_rinse", stage, volumes, "number", bands.SOFTENER_RINSE_VOLUMES, above=less)
        return
    less = site.easing("again" if len(rinses) > 1 else "above")
    yield judged("rinse_volumes", stage, volume / vessel_water(stage), "number", bands.RINSE_VOLUMES, above=less)


def _behind(stage: Stage, last: Do, what: Do) -> list[Step]:
    """The steps of a kind behind the last one of another."""
    place = max(place for place, step in enumerate(stage.steps) if step.do == last)
    return [step for step in stage.steps[place + 1 :] if step.do == what]


def _idle(site: Site, stage: Stage) -> Findings:
    """Steps whose place makes them useless: they only lengthen the downtime."""
    for before, step in zip((None, *stage.steps), stage.steps, strict=False):
        useless = _useless(step, before) or _for_another_bed(stage, step)
        if useless:
            without = site.easing("above")
            yield judged("useless_step", stage, step.seconds, "minutes", at_most(0.0), above=without, useless=useless)
        elif step.do == "settle":
            shorter = site.easing("above")
            yield judged("settle_time", stage, step.seconds, "minutes", bands.SETTLE_TIME, above=shorter)


def _useless(step: Step, before: Step | None) -> Useless | None:
    if step.do == "settle" and (before is None or before.do != "backwash"):
        return "settle first" if before is None else "settle after"
    return "rinse first" if step.do == "rinse" and before is None else None


def _for_another_bed(stage: Stage, step: Step) -> Useless | None:
    """A step that regenerates, on a bed which what it brings does not restore: brine is for resin, permanganate for
    oxidising media."""
    media = {layer.medium for layer in stage.layers}
    permanganate = "oxidising media" in media and any(each.permanganate for each in stage.steps)
    match step.do:
        case "regenerant":
            restores = "resin" in media if step.permanganate is None else permanganate
            return None if restores else "regenerant"
        case "displacement":
            return None if softens(stage) or permanganate else "displacement"
        case "make-up":
            return None if "resin" in media else "make-up"
        case _:
            return None
