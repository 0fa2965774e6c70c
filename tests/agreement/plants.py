"""A case of one stage as the twin's plant, series and cells made anew, nothing of the product's."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from math import ceil, cos, isclose, pi

import numpy as np

from sim.case import records
from sim.case.series import records as series_records
from sim.case.trigger import records as trigger_records
from tests import twin
from tests.plant.shear_by_hand import cleaning_by_hand
from tests.twin.spec import Floats, viscosity

HOUR, DAY = 3600.0, 86_400.0


def twin_of(case: records.Case, policy: str) -> twin.Plant:
    """The twin's plant for a case and one of its policies; the vessel starts as the product's does.

    The product starts clean, ripe, and with water that counts as free of solids and needs no displacement.
    """
    (stage,) = case.stages
    ((_, trigger),) = next(each.triggers for each in case.policies if each.name == policy)
    head_loss, ripening = stage.head_loss, stage.ripening
    assert (stage.sloughing, stage.mat) == (None, None), "the twin knows neither"
    assert isclose(stage.reference_viscosity, float(viscosity(np.array(15.0))), rel_tol=1e-4), "given at 15 degC"
    start, part = case.run.start, series_part(case.run.start)
    return twin.Plant(
        diameter=stage.vessel.diameter,
        height=stage.vessel.height,
        layers=tuple(layer_of(layer, cleaning_of(layer, stage, case)) for layer in stage.layers),
        steps=tuple(step_of(stage, step) for step in stage.steps),
        trigger=trigger_of(trigger, stage),
        limit=np.inf if stage.limit is None else stage.limit,
        length=case.run.length,
        flow=series_of(case.demand.flow, case.run, part) * season_of(case.demand.season, case.run, part),
        solids=series_of(case.feed.solids, case.run, part),
        temperature=series_of(case.feed.temperature, case.run, part),
        dosed=floc_of(case, part),
        series_seconds=part,
        start_of_day=float((start - start.replace(hour=0, minute=0)).total_seconds()),
        cells_per_layer=stage.cells_per_layer,
        viscous=head_loss.viscous,
        inertial=head_loss.inertial,
        growth=head_loss.growth,
        valve_constant=head_loss.valve_constant,
        valve_seen=head_loss.tap == "vessel",
        porosity_floor=stage.porosity_floor,
        reference_rate=stage.reference_rate,
        velocity_exponent=stage.velocity_exponent,
        ripening_share=ripening.share if ripening else 0.0,
        ripening_volume=ripening.volume if ripening else 1.0,
        unfilterable=stage.unfilterable,
        tanks=stage.tanks,
        underdrain_volume=stage.underdrain_volume,
        first_water_counts=False,
        ripe_at_start=True,
    )


def cleaning_of(layer: records.Layer, stage: records.Stage, case: records.Case) -> tuple[float, ...]:
    """How well the one backwash cleans each sublayer, in the mean water of the run; 1 at an effective rate."""
    (wash,) = (step for step in stage.steps if step.do == "backwash")
    if wash.cleaning_rate is not None:
        return (1.0,)
    warmth = float(np.mean(series_of(case.feed.temperature, case.run, series_part(case.run.start))))
    rate = wash.flow / stage.vessel.area
    return tuple(cleaning_by_hand(rate, warmth, size=size, layer=layer) for size in layer.sublayer_sizes)


def layer_of(layer: records.Layer, cleaning: tuple[float, ...]) -> twin.Layer:
    """One layer of the twin's."""
    return twin.Layer(
        depth=layer.depth,
        sizes=layer.sublayer_sizes,
        sphericity=layer.sphericity,
        porosity=layer.porosity,
        coefficients=layer.filter_coefficients,
        water_exponent=layer.viscosity_exponent,
        ultimate=layer.ultimate_deposit,
        deposit_density=layer.deposit_density,
        linear_gain=layer.head_loss_gain or 0.0,
        firm_share=layer.firm_share,
        cleaning=cleaning,
    )


def step_of(stage: records.Stage, step: records.Step) -> twin.Step:
    """One step of the twin's wash."""
    effective = step.cleaning_rate
    return twin.Step(
        do=step.do,
        seconds=step.seconds,
        flow=step.flow,
        cleaning_rate=stage.loose_rate if effective is None else effective,
        firm_cleaning_rate=stage.firm_rate if effective is None else effective,
        water_solids={"raw": None, "clean": 0.0, "filtered": step.water_solids}[step.water],
    )


def trigger_of(trigger: trigger_records.Trigger, stage: records.Stage) -> twin.Trigger:
    """The twin's trigger, with the longest run of the stage or the trigger's own."""
    match trigger:
        case trigger_records.Calendar():
            given = twin.Trigger(kind="calendar", every=trigger.every, at=trigger.at)
        case trigger_records.Volume():
            given = twin.Trigger(kind="volume", volume=trigger.volume, at=trigger.at)
        case trigger_records.VolumeReserve():
            given = twin.Trigger(
                kind="volume with reserve", volume=trigger.volume, reserve=trigger.reserve, at=trigger.at
            )
        case trigger_records.Pressure():
            given = twin.Trigger(kind="pressure drop", above=trigger.above, hold=trigger.hold)
    longest = stage.longest_run if trigger.longest_run is None else trigger.longest_run
    return replace(given, longest_run=longest, longest_run_at=stage.longest_run_at)


def series_part(start: datetime) -> float:
    """Seconds for which a series of the twin holds each value, so that the clock's hours fall between two."""
    return HOUR if start.minute == 0 else 1800.0


def moments(run: records.Run, part: float) -> list[datetime]:
    """The middle of the clock's hour that each value of a series belongs to."""
    count = ceil(run.length / part)
    inside = [run.start + timedelta(seconds=(i + 0.5) * part) for i in range(count)]
    return [moment.replace(minute=30, second=0) for moment in inside]


def series_of(series: series_records.Series, run: records.Run, part: float) -> Floats:
    """The values of a series of a case, one for each `part` seconds."""
    match series:
        case series_records.Steady():
            values = [series.value for _ in moments(run, part)]
        case series_records.Profile():
            values = [series.hourly[at.hour] * series.weekday[at.weekday()] for at in moments(run, part)]
        case series_records.Seasonal():
            values = [
                series.mean + series.swing * yearly(at, run.start, series.peak_day) for at in moments(run, part)
            ]
    return np.array(values)


def floc_of(case: records.Case, part: float) -> Floats | None:
    """What coagulant adds to the feed, g/m3: the same at all times, and so much for each gram of its own solids."""
    coagulant, solids = case.feed.coagulant, series_of(case.feed.solids, case.run, part)
    return None if coagulant is None else solids * coagulant.adds_per_solids + coagulant.adds


def season_of(season: series_records.Season | None, run: records.Run, part: float) -> Floats:
    """The yearly factor of a demand."""
    if season is None:
        return np.ones(len(moments(run, part)))
    return np.array([1.0 + season.swing * yearly(at, run.start, season.peak_day) for at in moments(run, part)])


def yearly(at: datetime, start: datetime, peak_day: int) -> float:
    """Cosine of the year, 1 all `peak_day` and one value a day; the year of the start runs on past its end."""
    day = 1 + (at - datetime(start.year, 1, 1)).days
    return cos(2.0 * pi * (day - peak_day) / 365.25)
