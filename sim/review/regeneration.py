"""What restores a bed: its salt and brine, the water that follows them, and how long a store of them lasts."""

import math

from hydraulics.salt import capacity_at
from hydraulics.stoichiometry import SALT_PER_HARDNESS
from sim.case.chemistry.records import Resin
from sim.case.stage.records import Stage
from sim.review import bands
from sim.review.findings import Finding, Findings, Stored, at_least, at_most, judged, noted
from sim.review.site import Site
from sim.wash.regeneration import (
    brings_salt,
    made_up_brine,
    permanganate_brought,
    resin_volume,
    salt_brought,
    saturated_brine,
    step_volume,
)


def regeneration_findings(site: Site, stage: Stage) -> Findings:
    """A softening bed, and the steps that restore it."""
    resin = next((each.uptake for each in stage.layers if isinstance(each.uptake, Resin)), None)
    if resin is not None:
        yield _claimed(stage, resin)
    if resin is None and not softens(stage):
        return
    if salt_brought(stage) <= 0.0:
        yield noted("no_salt", "stop", stage)
        return
    if resin is not None:
        dose = salt_brought(stage) / resin_volume(stage)
        share = capacity_at(dose, resin.doses, resin.capacities) / dose
        yield judged("salt_efficiency", stage, share, "number", bands.SALT_EFFICIENCY, above=None)
    yield from _brine(stage)
    displaced, shorter = step_volume(stage, "displacement") / resin_volume(stage), site.easing("above")
    yield judged("displacement_volume", stage, displaced, "number", bands.DISPLACEMENT_VOLUMES, above=shorter)


def softens(stage: Stage) -> bool:
    """Whether its wash brings brine to resin."""
    return resin_volume(stage) > 0.0 and any(brings_salt(step) for step in stage.steps)


def _claimed(stage: Stage, resin: Resin) -> Finding:
    """The point of its table that claims most for its salt."""
    dose, capacity = max(zip(resin.doses, resin.capacities, strict=True), key=lambda point: point[1] / point[0])
    most = at_most(dose / SALT_PER_HARDNESS, "stoichiometry")
    return judged("salt_capacity", stage, capacity, "hardness capacity", most, outside="stop")


def _brine(stage: Stage) -> Findings:
    """Whether the brine of the regenerant steps can hold its salt, and whether they draw what was made up."""
    for step in stage.steps:
        if brings_salt(step) and step.salt:
            most = at_most(saturated_brine(stage), "solubility")
            strength = step.salt / (step.flow * step.seconds)
            yield judged("brine_strength", stage, strength, "deposit", most, outside="stop")
    drawn = math.fsum(step.flow * step.seconds for step in stage.steps if brings_salt(step) and step.salt is None)
    if drawn > 0.0:
        yield judged("brine_drawn", stage, drawn, "volume", at_least(made_up_brine(stage), "brine_tank"))


def store_findings(site: Site, stage: Stage, policy: str, volume: float) -> Findings:
    """How long a store lasts where each vessel is restored once it has treated a volume [m3], at the usual use."""
    store = stage.store
    if store is None or site.mean <= 0.0:
        return
    needed = at_least(site.case.run.length if store.refilled is None else store.refilled, "store")
    stored: tuple[tuple[Stored, float | None, float], ...] = (
        ("salt", store.salt, salt_brought(stage)),
        ("permanganate", store.permanganate, permanganate_brought(stage)),
    )
    for name, held, brought in stored:
        if held is not None and brought > 0.0:
            lasts = held / brought * volume / site.mean
            yield judged("store_lasts", stage, lasts, "days", needed, stored=name, way=policy)
