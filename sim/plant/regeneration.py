"""What a regenerant does to a vessel: worked out as its step begins, done evenly over it by the kernel.

Salt goes on along the resin's table from where the bed stands; permanganate gives oxidising media back what they have
spent, by equivalents. Of the salt only what has passed the bed by the end of the displacement counts: the rest still
stands above it in the vessel's water, and leaves with the rinse or with the first water of service.
"""

import math
from typing import Any, NamedTuple

from hydraulics.rinse import remaining_both
from hydraulics.salt import regenerated
from hydraulics.stoichiometry import EQUIVALENTS, PERMANGANATE_FLOC, SALT_PER_HARDNESS
from sim.case.chemistry.records import Oxidising, Resin
from sim.case.stage.records import Stage
from sim.plant.layout import PERMANGANATE, SALT, SOLUTE_COUNT, Tables
from sim.wash.regeneration import resin_volume

LEAST_RESTORED = 1e-3  # of the capacity: less is nothing, a trace of brine that a tank still holds


class Regeneration(NamedTuple):
    """Shares of the capacity of a vessel's beds that are free before and after."""

    free_before: float
    free_after: float

    @property
    def restores(self) -> bool:
        """Whether it gives anything back."""
        return self.free_after - self.free_before > LEAST_RESTORED


def regenerate(stage: Stage, number: int, i: int, tables: Tables, salt: float, permanganate: float) -> Regeneration:
    """Set what step `number`, a regenerant that begins, brings vessel i and gives its beds back [g of each].

    Over the whole of the step, evenly; broken off before its end it has done that share of it.
    """
    seconds, passes = stage.steps[number].seconds, passing_share(stage, number, i, tables)
    s, uptake, taken, portion = tables.vessel[i], tables.uptake, tables.taken, tables.portion
    area, there = float(s["area"]), float(s["media_left"] * (s["area"] / s["whole_area"]))
    rows = range(s["first_uptake"], s["end_uptake"])
    whole, free, gained, spent_salt, spent_purple = 0.0, 0.0, 0.0, 0.0, 0.0
    media = float(s["media_left"]) * math.fsum(x.depth for x in stage.layers if isinstance(x.uptake, Oxidising))
    for u in rows:
        c = uptake[u]
        if c["restorable"] == 0:
            continue
        medium, depth, most = stage.layers[c["layer"]].uptake, float(c["depth"]), float(c["capacity"] * c["depth"])
        used, fouled = float(c["used"]), float(c["fouled"])
        gain = 0.0
        if isinstance(medium, Resin) and salt > 0.0:
            dose, left = salt * passes / (there * resin_volume(stage)), float(c["capacity_left"])
            stood = max(most - used, 0.0) / depth / left
            after = left * regenerated(stood, dose, medium.doses, medium.capacities) * depth
            gain = max(min(after, most - fouled) - (most - used), 0.0)
            spent_salt += SALT_PER_HARDNESS * gain * area
            share = gain / max(used - fouled, gain) if gain > 0.0 else 0.0
            for n in range(SOLUTE_COUNT):
                t = taken[u * SOLUTE_COUNT + n]
                t["elute"] = (t["held"] - t["lost"]) * share / seconds
        elif isinstance(medium, Oxidising) and permanganate > 0.0:
            gain = min(used, permanganate * passes * EQUIVALENTS["permanganate"] * depth / media / area)
            spent_purple += gain * area / EQUIVALENTS["permanganate"]
        c["restore"] = gain / seconds
        whole, free, gained = whole + most, free + most - used, gained + gain
    _bring(portion[i * SOLUTE_COUNT + SALT], salt, spent_salt, seconds)
    _bring(portion[i * SOLUTE_COUNT + PERMANGANATE], permanganate, spent_purple, seconds)
    s["vessel_solids"] += PERMANGANATE_FLOC * spent_purple
    s["formed_total"] += PERMANGANATE_FLOC * spent_purple
    return Regeneration(free / whole, (free + gained) / whole) if whole > 0.0 else Regeneration(0.0, 0.0)


def _bring(row: Any, mass: float, spent: float, seconds: float) -> None:
    row["spend"] = min(spent, mass) / seconds
    row["bring"] = max(mass - spent, 0.0) / seconds


def passing_share(stage: Stage, number: int, i: int, tables: Tables) -> float:
    """Share of what step `number` brings into the vessel's mixed water that displacement takes past its bed."""
    s, step = tables.vessel[i], stage.steps[number]
    whole, pores = float(s["vessel_water"]), float(s["bed_water"])
    above, volumes = whole - pores, step.flow * step.seconds / whole
    left = -math.expm1(-volumes) / volumes
    displaced = 0.0
    for later in stage.steps[number + 1 :]:
        if later.do in ("backwash", "rinse"):
            break
        displaced += later.flow * later.seconds if later.do in ("displacement", "regenerant") else 0.0
    stays = remaining_both(displaced / above, int(s["tanks"]))[0] if above > 0.0 else 0.0
    return 1.0 - above / whole * left * stays


def free_share(i: int, tables: Tables) -> float | None:
    """What vessel i has of the capacity with which its filter run began, at most all of it though an oxidant may have
    given it more; None where no regeneration restores any."""
    s, began, free = tables.vessel[i], 0.0, 0.0
    for u in range(s["first_uptake"], s["end_uptake"]):
        c = tables.uptake[u]
        if c["restorable"] == 1:
            most = float(c["capacity"] * c["depth"])
            began += most - float(c["fresh"])
            free += most - float(c["used"])
    return min(free / began, 1.0) if began > 0.0 else None
