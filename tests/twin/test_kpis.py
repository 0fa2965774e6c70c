"""What the twin says of a filter run beyond washes and solids, against closed forms worked out here by hand."""

from __future__ import annotations

from dataclasses import replace
from math import exp, expm1, log

import numpy as np
import pytest

from tests.twin import Layer, Plant, Step, Trigger, reference_plant, run_compiled
from tests.twin.layout import all_cells
from tests.twin.spec import HOUR, MINUTE
from tests.twin.vectorised import Filter

COEFFICIENT, ULTIMATE, DEPTH, RATE, FEED = 8.0, 900.0, 0.6, 10.0, 5.0  # 1/m, g/m3, m, m/h, g/m3


def one_layer(trigger: Trigger, days: int, **changes: object) -> Plant:
    """0.6 m of one medium at 10 m/h and 5 g/m3, from a start without a vessel's worth of feed."""
    medium = Layer(
        depth=DEPTH,
        sizes=(0.55e-3,),
        sphericity=0.8,
        porosity=0.42,
        coefficients=(COEFFICIENT,),
        ultimate=ULTIMATE,
        deposit_density=60e3,
    )
    base = reference_plant("volume", days)
    hours = 24 * days
    plant = replace(
        base,
        layers=(medium,),
        trigger=trigger,
        flow=np.full(hours, RATE / HOUR * base.area),
        cells_per_layer=200,
        first_water_counts=False,
    )
    return replace(plant, **changes)  # type: ignore[arg-type]


def load_at_share(share: float) -> float:
    """Load, g/m2, at which a clean layer lets a share through: b of e^-a / (e^-a + e^-b - e^(-a-b)) = share.

    Source: Bohart & Adams (1920), solved for the load.
    """
    b = log(expm1(COEFFICIENT * DEPTH)) + log(share / (1.0 - share))
    return b * ULTIMATE / COEFFICIENT


def test_unused_capacity_is_the_rest_of_the_closed_load() -> None:
    """Washed after 4 h, 200 g/m2; the limit of 0.5 g/m3 is a share of a tenth."""
    plant = one_layer(Trigger(kind="calendar", every=4 * HOUR), 1, length=5 * HOUR)
    whole = load_at_share(0.1)
    assert run_compiled(plant).unused_capacity == pytest.approx(1.0 - 200.0 / whole, abs=3e-3)


def test_a_bed_without_limit_in_reach_says_nothing_of_unused_capacity() -> None:
    plant = one_layer(Trigger(kind="calendar", every=6 * HOUR), 1, length=7 * HOUR, limit=6.0)
    assert np.isnan(run_compiled(plant).unused_capacity)


def test_hours_over_the_limit_start_at_the_closed_load() -> None:
    plant = one_layer(Trigger(kind="never"), 1)
    hours = load_at_share(0.1) / (RATE * FEED)
    got = run_compiled(plant, 20.0)
    assert got.over_limit_h == pytest.approx(24.0 - hours, abs=0.1)
    assert got.over_limit_unavoidable_h == 0.0


def test_a_run_that_the_end_cuts_short_has_broken_through_from_the_closed_load_on() -> None:
    hours = load_at_share(0.1) / (RATE * FEED)
    for factor, risk in ((0.95, 0.0), (1.05, 1.0)):
        whole = round(factor * hours * 60.0) * MINUTE
        assert run_compiled(one_layer(Trigger(kind="never"), 1, length=whole), 20.0).breakthrough_risk == risk


def test_hours_over_a_limit_below_the_clean_bed_are_unavoidable() -> None:
    """A clean bed lets e^-4.8 of 5 g/m3 through, 0.0411 g/m3, and a share of 0.002 passes every bed."""
    trigger = Trigger(kind="calendar", every=6 * HOUR)
    clean = FEED * (0.998 * exp(-COEFFICIENT * DEPTH) + 0.002)
    below, above = (one_layer(trigger, 1, limit=clean * f, unfilterable=0.002) for f in (0.99, 1.01))
    got = run_compiled(below)
    assert got.over_limit_unavoidable_h == got.over_limit_h == pytest.approx(24.0 - got.downtime_h)
    assert run_compiled(above).over_limit_unavoidable_h == 0.0
    assert got.breakthrough_risk == 0.0


def test_what_no_bed_stops_passes() -> None:
    plant = one_layer(Trigger(kind="never"), 1, unfilterable=0.3)
    got, without = run_compiled(plant), run_compiled(replace(plant, unfilterable=0.0, solids=0.7 * plant.solids))
    assert got.solids_to_service_kg - without.solids_to_service_kg == pytest.approx(0.3 * got.solids_in_kg)


def test_dirty_water_is_what_the_remnant_adds() -> None:
    """No rinse and a bed that stops nothing beside it: the remnant leaves whole, feed moves in behind it.

    With no capture the excess over a displaced bed is (C_r - C) S(B), S the tanks-in-series share, so that its
    integral is (C_r - C) V down to the 1 % where counting stops.
    """
    feed, limit = 2.0, 1.0
    plant = replace(
        one_layer(Trigger(kind="calendar", every=6 * HOUR), 1),
        layers=(replace(one_layer(Trigger(kind="never"), 1).layers[0], coefficients=(0.0,)),),
        steps=(Step(do="backwash", seconds=10 * MINUTE, flow=17.0 / HOUR, water_solids=40.0),),
        solids=np.full(24, feed),
        limit=limit,
        length=8 * HOUR,
    )
    got = run_compiled(plant, 5.0)
    turnovers = 17.0 / 6.0 / plant.water_volume
    remnant = 40.0 * (1.0 - exp(-turnovers))
    assert got.washes == 1
    assert got.dirty_water_kg * 1e3 == pytest.approx((remnant - feed) * plant.water_volume, rel=2e-3)


def test_a_run_lasts_from_wash_to_wash() -> None:
    got = run_compiled(one_layer(Trigger(kind="calendar", every=6 * HOUR), 1))
    assert got.washes == 3
    assert got.mean_run_h == pytest.approx((6.0 + 2 * (6.0 - 16 / 60)) / 3)
    assert got.drain_peak_m3_h == pytest.approx(17.0)


def test_firm_deposit_cleans_at_its_own_rate() -> None:
    """Loose and firm deposit decay apart; after two washes the firm part has had both of them."""
    plant = replace(reference_plant("volume", 2), layers=tuple(
        replace(layer, firm_share=0.25) for layer in reference_plant("volume", 2).layers
    ))  # fmt: skip
    cells = all_cells(plant)
    vessel = Filter(plant, cells, np.full(40, 100.0), 0.0, None)
    loose, firm = exp(-0.8 * 10), exp(-0.06 * 10)
    for fresh in (0.0, 50.0):
        vessel.load = vessel.load + fresh
        vessel.begin_backwash()
        for _ in range(10):
            vessel.backwash(17.0 / 60.0, 0.0, exp(-0.8), exp(-0.06))
        vessel.end_backwash()
    firm_left = (25.0 * firm + 0.25 * 50.0) * firm
    loose_left = (75.0 * loose + 0.75 * 50.0) * loose
    assert vessel.load == pytest.approx(np.full(40, firm_left + loose_left), rel=1e-12)


def test_the_gauge_may_sit_below_the_valve() -> None:
    """Without the valve's 5 kPa in its signal the set point of 14 comes later; the peak counts them either way."""
    base = replace(reference_plant("pressure drop", 10), valve_constant=5e3 / (5.5 / HOUR) ** 2)
    seen, unseen = run_compiled(base), run_compiled(replace(base, valve_seen=False))
    assert seen.wash_starts[0] < unseen.wash_starts[0]
    assert 14.0 < seen.peak_dp_kpa < 14.4  # the flow steps up in the morning
    assert 19.0 < unseen.peak_dp_kpa < 19.4


def test_a_ripe_start_captures_more_until_it_would_have_ripened() -> None:
    plant = one_layer(Trigger(kind="never"), 1, ripening_share=0.5, ripening_volume=2.0)
    ripe, unripe = run_compiled(replace(plant, ripe_at_start=True)), run_compiled(plant)
    assert ripe.solids_to_service_kg == run_compiled(replace(plant, ripening_share=0.0)).solids_to_service_kg
    assert ripe.solids_to_service_kg < unripe.solids_to_service_kg
    with pytest.raises(ValueError, match="not ripe yet"):
        replace(plant, ripe_at_start=True, initial_water_solids=1.0)
