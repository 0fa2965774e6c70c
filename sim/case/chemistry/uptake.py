"""Doses, uptake and stores: from tables to records, with what a file leaves out taken from typical values."""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from hydraulics.media import RESIN_TABLES, UPTAKE, Constant
from sim.case.assumptions import Page, noted, scaled
from sim.case.chemistry.records import (
    Carbon,
    Direction,
    Dosing,
    Oxidising,
    Resin,
    Solute,
    Store,
    Uptake,
)
from sim.case.chemistry.schema import DosingTable, SaltTable, StoreTable
from sim.case.stage.schema import LayerTable, StageTable, StepTable
from sim.case.table import record_of
from sim.case.values import Amount

Solutes = frozenset[Solute]

METALS: Solutes = frozenset({"iron", "manganese"})
FORMS_FLOC: Solutes = METALS | {"sulphide", "permanganate"}
CHLORINE: Solutes = frozenset({"free_chlorine", "combined_chlorine"})
OXIDANTS: Solutes = CHLORINE | {"permanganate"}

_DOSED: Mapping[str, Solutes] = {
    "chlorine": CHLORINE, "permanganate": frozenset({"permanganate"}), "air": frozenset()
}  # fmt: skip

LEAKAGE: Mapping[str, Constant] = {
    "co-current": UPTAKE["resin_leakage_co_current"], "counter-current": UPTAKE["resin_leakage_counter_current"]
}  # fmt: skip


def reaching(stage: StageTable, before: Solutes) -> Solutes:
    """What the water that reaches the bed of a stage may carry: what comes to the stage and what is dosed there.

    Dosed chlorine may be combined too, where the water has ammonia.
    """
    if not isinstance(stage.oxidant, DosingTable):
        return before
    dosed = _DOSED[stage.oxidant.product]
    return before | (dosed if "ammonia" in before else dosed - {"combined_chlorine"})


def all_reaching(stages: Iterable[StageTable], feed: Solutes) -> list[Solutes]:
    """For each stage of a train what may reach its bed."""
    found, here = [], feed
    for stage in stages:
        here = reaching(stage, here)
        found.append(here)
    return found


def steps_of(stage: StageTable, do: str) -> list[tuple[int, StepTable]]:
    """The steps of a kind that are not left out, each with its place in the file."""
    return [(place, step) for place, step in enumerate(stage.step) if step.do == do and step.minutes > 0.0]


def draws_from_the_tank(step: StepTable) -> bool:
    """Whether a regenerant brings nothing of its own, and so what the brine tank holds."""
    return step.salt is None and step.permanganate is None


def direction_of(stage: StageTable) -> Direction:
    """The direction in which a stage is regenerated."""
    return next((step.direction for _, step in steps_of(stage, "regenerant") if step.direction), "co-current")


def uptake_of(table: LayerTable, stage: StageTable, dissolved: Solutes, page: Page) -> Uptake | None:
    """What a layer does to what is `dissolved` in the water that reaches it; None where it takes up none of that."""
    match table.medium:
        case "resin" if "hardness" in dissolved:
            return _resin(table, stage, dissolved, page)
        case "oxidising media" if dissolved & (METALS | {"sulphide"}):
            half_length, rate = _half_length(table, UPTAKE["oxidising_half_length"], page)
            return record_of(
                Oxidising,
                table,
                capacity=_capacity(table, UPTAKE["oxidising_capacity"], page),
                half_length=half_length,
                reference_rate=rate,
            )
        case "carbon" if dissolved & OXIDANTS:
            half_length, rate = _half_length(table, UPTAKE["carbon_half_length"], page)
            return record_of(
                Carbon,
                table,
                capacity=_capacity(table, UPTAKE["carbon_capacity"], page),
                half_length=half_length,
                combined_half_length=page.take(
                    "combined_half_length", combined(half_length), used="combined_chlorine" in dissolved
                ),
                reference_rate=rate,
            )
    return None


def combined(half_length: float) -> Constant:
    """The typical half-length of combined chlorine [m], from that of free chlorine [m]."""
    factor = UPTAKE["combined_half_length_factor"]
    return noted(replace(scaled(factor, half_length), unit="m"), f"{factor.value:g} times half_length")


def _resin(table: LayerTable, stage: StageTable, dissolved: Solutes, page: Page) -> Resin:
    direction = direction_of(stage)
    half_length, rate = _half_length(table, UPTAKE["resin_half_length"], page)
    if isinstance(table.capacity, SaltTable):
        page.book.given += 1
        doses, capacities, factor = tuple(table.capacity.doses), tuple(table.capacity.gives), 1.0
    else:
        usual = RESIN_TABLES[direction]
        factor = page.take("capacity_factor", noted(UPTAKE["resin_capacity_factor"], usual.source))
        doses, capacities = usual.doses, usual.capacities
    return Resin(
        doses=doses,
        capacities=tuple(factor * each for each in capacities),
        half_length=half_length,
        reference_rate=rate,
        leakage=page.take("leakage", LEAKAGE[direction]),
        fouling=page.take("fouling", UPTAKE["resin_fouling"], used=bool(dissolved & METALS)),
    )


def _half_length(table: LayerTable, usual: Constant, page: Page) -> tuple[float, float]:
    """The half-length [m] and the rate [m/s] that it holds at; the usual ones belong together."""
    rate = page.take("half_length_rate", UPTAKE["uptake_reference_rate"], used=table.half_length is not None)
    return page.take("half_length", usual), rate


def _capacity(table: LayerTable, usual: Constant, page: Page) -> float:
    """One capacity [SI], given with its kind or usual."""
    if isinstance(table.capacity, Amount):
        page.book.given += 1
        return table.capacity.value
    page.assume("capacity", usual)
    return usual.value


def dosing_of(stage: StageTable, dissolved: Solutes, page: Page) -> Dosing | None:
    """What is dosed ahead of a stage; None where no dose is told. `dissolved` reaches its bed."""
    table = stage.oxidant
    if not isinstance(table, DosingTable):
        return None
    return record_of(
        Dosing,
        table,
        dose=table.dose or 0.0,
        unfilterable=page.inner(table, "oxidant").take(
            "unfilterable", UPTAKE["floc_unfilterable"], used=bool(dissolved & FORMS_FLOC)
        ),
    )


def store_of(stage: StageTable, page: Page) -> Store | None:
    """What a stage has for its regenerations; None where nothing of it is told and no brine tank is filled."""
    brine = bool(steps_of(stage, "make-up"))
    if stage.store is None and not brine:
        return None
    table = stage.store or StoreTable()
    inner = page.inner(table, "store")
    return record_of(
        Store,
        table,
        solubility=inner.take("solubility", UPTAKE["salt_solubility"], used=brine),
        dissolving=inner.take("dissolving", UPTAKE["salt_dissolving"], used=brine),
    )
