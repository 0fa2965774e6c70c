"""A case of stages for what is dissolved as the twin's train, nothing of the product's but its records."""

from __future__ import annotations

from typing import assert_never

import numpy as np

from sim.case.chemistry.records import Carbon, Oxidising, Resin
from sim.case.records import Case
from sim.case.stage.records import Layer, Stage, Step
from tests import twin
from tests.agreement.plants import HOUR, season_of, series_of, trigger_of
from tests.twin.dissolved import SPECIES, Medium, Treatment, TreatmentTrain, WashStep


def train_of(case: Case, policy: str) -> TreatmentTrain:
    """The twin's train; it starts as the product's does, its water free of everything."""
    triggers = dict(next(each.triggers for each in case.policies if each.name == policy))
    hours = len(series_of(case.demand.flow, case.run, HOUR))
    feed = np.zeros((hours, len(SPECIES)))
    for name, series in case.feed.solutes:
        feed[:, SPECIES.index(name)] = series_of(series, case.run, HOUR)
    return TreatmentTrain(
        stages=tuple(treatment_of(stage, trigger_of(triggers[stage.name], stage)) for stage in case.stages),
        length=case.run.length,
        flow=series_of(case.demand.flow, case.run, HOUR) * season_of(case.demand.season, case.run, HOUR),
        feed=feed,
    )


def treatment_of(stage: Stage, trigger: twin.Trigger) -> Treatment:
    """One stage; it knows floc for solids, and nothing of rates and ripening."""
    assert (stage.sloughing, stage.mat, stage.ripening, stage.velocity_exponent) == (None, None, None, 0.0)
    dosing, limits = stage.dosing, stage.limits
    named = {
        "hardness": limits.hardness, "iron": limits.iron, "manganese": limits.manganese, "oxidant": limits.chlorine,
    }  # fmt: skip
    return Treatment(
        name=stage.name,
        area=stage.vessel.area,
        height=stage.vessel.height,
        media=tuple(medium_of(layer, salt_of(stage)) for layer in stage.layers),
        steps=tuple(step_of(step) for step in stage.steps),
        trigger=trigger,
        product=dosing.product if dosing else None,
        dose=dosing.dose if dosing else 0.0,
        sulphide_to=dosing.sulphide_to if dosing else "sulphur",
        fine=dosing.unfilterable if dosing else 0.0,
        blend=stage.blend,
        limits={name: limit for name, limit in named.items() if limit is not None},
        tanks=stage.tanks,
        underdrain=stage.underdrain_volume,
        vessels=stage.vessels.count,
        passes_raw=stage.while_washing == "passes raw",
        solubility=stage.store.solubility if stage.store else None,
        dissolving=stage.store.dissolving if stage.store else 1.0,
    )


def step_of(step: Step) -> WashStep:
    return WashStep(
        do=step.do, seconds=step.seconds, flow=step.flow, raw=step.do == "backwash" and step.water == "raw",
        cleaning_rate=step.cleaning_rate or 0.0, salt=step.salt, permanganate=step.permanganate,
    )  # fmt: skip


def salt_of(stage: Stage) -> float:
    """What one wash brings, g for each m2: by mass, or what its make-up water dissolves in time."""
    salt = sum(step.salt or 0.0 for step in stage.steps)
    made_up = sum(step.flow * step.seconds for step in stage.steps if step.do == "make-up")
    if salt == 0.0 and stage.store is not None:
        salt = made_up * stage.store.solubility
    return salt / stage.vessel.area


def medium_of(layer: Layer, salt: float) -> Medium:
    """One layer with what it takes up; a resin begins as its own salt leaves it."""
    (coefficient,) = layer.filter_coefficients
    plain = {
        "depth": layer.depth, "porosity": layer.porosity, "coefficient": coefficient,
        "ultimate": layer.ultimate_deposit,
    }  # fmt: skip
    match layer.uptake:
        case None:
            return Medium(**plain)
        case Resin() as resin:
            return Medium(
                **plain, kind="resin", capacity=resin.capacities[-1], half_length=resin.half_length,
                reference_rate=resin.reference_rate, leakage=resin.leakage, fouling=resin.fouling, doses=resin.doses,
                capacities=resin.capacities,
                free_at_start=float(np.interp(salt / layer.depth, (0.0, *resin.doses), (0.0, *resin.capacities))),
            )  # fmt: skip
        case Oxidising() as media:
            return Medium(
                **plain, kind="oxidising", capacity=media.capacity, half_length=media.half_length,
                reference_rate=media.reference_rate, sulphide_to=media.sulphide_to,
            )  # fmt: skip
        case Carbon() as carbon:
            assert carbon.growth is None, "the twin's carbon does not age"
            return Medium(
                **plain, kind="carbon", capacity=carbon.capacity, half_length=carbon.half_length,
                combined_half_length=carbon.combined_half_length, reference_rate=carbon.reference_rate,
            )  # fmt: skip
        case _:
            assert_never(layer.uptake)
