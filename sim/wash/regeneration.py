"""What a regeneration brings a vessel by the steps of its wash: salt, permanganate, brine; its resin."""

import math

from hydraulics.brine import brine_strength, brine_volume
from hydraulics.media import UPTAKE
from sim.case.chemistry.records import Resin
from sim.case.stage.records import Do, Stage, Step


def resin_volume(stage: Stage) -> float:
    """Resin of one vessel [m3]."""
    return stage.vessel.area * math.fsum(layer.depth for layer in stage.layers if isinstance(layer.uptake, Resin))


def salt_brought(stage: Stage) -> float:
    """Salt that one regeneration brings [g]: what its steps state, or what they draw of a tank of saturated brine.

    The tank holds what the water of one make-up dissolves.
    """
    brines = [step for step in stage.steps if brings_salt(step)]
    given = math.fsum(step.salt for step in brines if step.salt is not None)
    drawn = math.fsum(step.flow * step.seconds for step in brines if step.salt is None)
    return given + saturated_brine(stage) * min(drawn, made_up_brine(stage))


def permanganate_brought(stage: Stage) -> float:
    """Permanganate that one regeneration brings [g]."""
    return math.fsum(step.permanganate or 0.0 for step in stage.steps if step.do == "regenerant")


def brings_salt(step: Step) -> bool:
    """Whether a step is a regenerant of salt."""
    return step.do == "regenerant" and step.permanganate is None


def _solubility(stage: Stage) -> float:
    return UPTAKE["salt_solubility"].value if stage.store is None else stage.store.solubility


def saturated_brine(stage: Stage) -> float:
    """Salt in saturated brine [g per m3 of brine]."""
    return brine_strength(1.0, _solubility(stage))


def made_up_brine(stage: Stage) -> float:
    """Saturated brine that the water of one make-up gives [m3]."""
    water = step_volume(stage, "make-up")
    return brine_volume(water, _solubility(stage) * water)


def step_volume(stage: Stage, do: Do) -> float:
    """What all steps of one kind move in a wash [m3]."""
    return math.fsum(step.flow * step.seconds for step in stage.steps if step.do == do)
