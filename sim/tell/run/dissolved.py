"""What is dissolved as figures and a moment show it: where each stage sends it on, against its limit."""

from typing import Literal

from plots.inputs import Measure
from plots.words import Label, Name, label, term
from sim.case.chemistry.records import Carbon, Oxidising, Resin
from sim.case.quantities import Quantity, System
from sim.case.record import record
from sim.case.records import Case
from sim.case.stage.records import Stage
from sim.plant.trace import SentOn
from sim.tell.present import UNITS, DisplayUnit

Counted = Literal["hardness", "iron", "manganese", "oxidant"]
"""What a limit on something dissolved counts."""


@record
class Followed:
    """Something dissolved behind one stage, and its limit there [g/m3]; None: it has an uptake of it and no limit."""

    stage: str
    counted: Counted
    limit: float | None

    @property
    def words(self) -> Label:
        """Stage and what it sends on."""
        return label("measure.sent_on", stage=Name(self.stage), what=term("sent_on", self.counted))

    @property
    def quantity(self) -> Quantity:
        """What it is shown as."""
        return "hardness" if self.counted == "hardness" else "solids"

    def unit(self, system: System) -> DisplayUnit:
        """What its amounts [g/m3] are shown in."""
        return UNITS[system][self.quantity]

    def measure(self, system: System) -> Measure:
        """What an axis shows."""
        return Measure(self.words, self.unit(system).symbol)

    def of(self, sent: SentOn) -> float:
        """Its amount in what the stage sends on [g/m3]."""
        return float(getattr(sent, f"{self.counted}_mg_l"))


def followed(case: Case, stage: Stage) -> tuple[Followed, ...]:
    """What is to be seen behind a stage: what has a limit there, and what its beds take up of what water brings."""
    limits: dict[Counted, float | None] = {
        "hardness": stage.limits.hardness,
        "iron": stage.limits.iron,
        "manganese": stage.limits.manganese,
        "oxidant": stage.limits.chlorine,
    }
    taken = _taken_up(stage) & _brought(case)
    return tuple(
        Followed(stage=stage.name, counted=counted, limit=limit)
        for counted, limit in limits.items()
        if limit is not None or counted in taken
    )


def _taken_up(stage: Stage) -> set[Counted]:
    found = set[Counted]()
    for layer in stage.layers:
        match layer.uptake:
            case Resin():
                found.add("hardness")
            case Oxidising():
                found |= {"iron", "manganese"}
            case Carbon():
                found.add("oxidant")
            case None:
                pass
    return found


def _brought(case: Case) -> set[Counted]:
    fed = {name for name, _ in case.feed.solutes}
    found: set[Counted] = {each for each in ("hardness", "iron", "manganese") if each in fed}
    dosed = any(stage.dosing is not None and stage.dosing.product != "air" for stage in case.stages)
    if dosed or {"free_chlorine", "combined_chlorine"} & fed:
        found.add("oxidant")
    return found
