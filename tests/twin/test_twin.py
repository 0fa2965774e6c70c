"""The twin against outside values, against exact solutions, and its two loops against each other."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import astuple, replace
from math import exp, log

import numpy as np
import pytest

from tests.twin import Layer, Plant, Step, Trigger, TwinResult, reference_plant, run_compiled, run_vectorised
from tests.twin.hand import HAND, HAND_DRAIN, HAND_TICK
from tests.twin.layout import all_cells
from tests.twin.loop import remnant_inside
from tests.twin.spec import DAY, HOUR, MINUTE, POLICIES, density, viscosity
from tests.twin.vectorised import Filter, bed_loss, left_in_tanks

NEVER = Trigger(kind="never")


def steady_plant(trigger: Trigger, days: int = 10, flow: float = 5.0, solids: float = 5.0) -> Plant:
    """The reference vessel at a steady flow (m3/h), with a trigger of its own."""
    hours = 24 * days
    steady = np.full(hours, flow / HOUR)
    return replace(reference_plant("volume", days), trigger=trigger, flow=steady, solids=np.full(hours, solids))


def varied_plant(policy: str, days: int = 12) -> Plant:
    """All at once: hourly forcing, ripening, rate exponent, raw washwater, settling, sublayers, valve."""
    draw = np.random.default_rng(20270104)
    hours = 24 * days
    base = reference_plant(policy, days)
    fine, coarse = base.layers[1], base.layers[0]
    return replace(
        base,
        layers=(
            replace(coarse, sizes=(0.9e-3, 1.0e-3, 1.1e-3, 1.2e-3), firm_share=0.1, water_exponent=0.6),
            replace(fine, coefficients=(12.0, 9.0), firm_share=0.2),
        ),
        steps=(
            Step(
                do="backwash",
                seconds=9 * MINUTE,
                flow=15.0 / HOUR,
                cleaning_rate=0.4 / MINUTE,
                firm_cleaning_rate=0.05 / MINUTE,
                water_solids=None,
            ),
            Step(do="settle", seconds=2 * MINUTE),
            Step(do="rinse", seconds=5 * MINUTE, flow=8.0 / HOUR),
        ),
        trigger=replace(base.trigger, longest_run=5.3 * DAY, above=20e3),
        flow=draw.choice([0.0, 2.0, 4.0, 6.0], hours) / HOUR,
        solids=draw.lognormal(1.5, 0.5, hours),
        temperature=draw.uniform(4.0, 28.0, hours),
        start_of_day=5.5 * HOUR,
        valve_constant=15e3 / (5.5 / HOUR) ** 2,
        velocity_exponent=0.5,
        ripening_share=0.5,
        unfilterable=0.05,
        underdrain_volume=0.03,
        initial_water_solids=2.0,
    )


def dosed_plant(policy: str, days: int = 12) -> Plant:
    """The varied plant with floc from a coagulant, more of it in some hours than in others."""
    plant = varied_plant(policy, days)
    return replace(plant, dosed=0.3 + 0.2 * plant.solids)


def one_layer(coefficient: float, ultimate: float, **changes: object) -> Plant:
    """0.6 m of one medium at 10 m/h and 20 degC for a day, never washed."""
    medium = Layer(
        depth=0.6,
        sizes=(0.55e-3,),
        sphericity=0.8,
        porosity=0.42,
        coefficients=(coefficient,),
        ultimate=ultimate,
        deposit_density=60e3,
    )
    base = steady_plant(NEVER, days=1)
    flow = np.full(24, 10.0 / HOUR * base.area)
    plant = replace(base, layers=(medium,), flow=flow, temperature=np.full(24, 20.0))
    return replace(plant, **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize("policy", POLICIES)
def test_reference_case_gives_the_hand_results(policy: str) -> None:
    washes, over, peak, served, first, half_digit = HAND[policy]
    got = run_compiled(reference_plant(policy), HAND_TICK)
    assert got.washes == washes
    assert got.over_limit_h == pytest.approx(over, abs=0.5)
    assert got.peak_dp_kpa == pytest.approx(peak, abs=0.05)
    assert got.solids_to_service_kg == pytest.approx(served, abs=1e-3)
    assert got.wash_starts[0] / DAY == pytest.approx(first, abs=half_digit)
    assert got.drain_m3 / got.washes == pytest.approx(HAND_DRAIN, abs=5e-5)


@pytest.mark.parametrize("tick", [60.0, 20.0, 5.0])
@pytest.mark.parametrize("policy", POLICIES)
def test_reference_case_hardly_depends_on_the_tick(policy: str, tick: float) -> None:
    at_30, got = run_compiled(reference_plant(policy), 30.0), run_compiled(reference_plant(policy), tick)
    assert got.washes == at_30.washes
    assert got.solids_to_service_kg == pytest.approx(at_30.solids_to_service_kg, rel=1e-3)
    assert got.peak_dp_kpa == pytest.approx(at_30.peak_dp_kpa, rel=2e-3)
    assert got.over_limit_h == pytest.approx(at_30.over_limit_h, abs=1.0)


def same(one: TwinResult, other: TwinResult) -> bool:
    return one.wash_starts == other.wash_starts and np.allclose(
        astuple(one)[:-1], astuple(other)[:-1], 1e-10, 1e-10, equal_nan=True
    )


def ten_days(policy: str) -> Plant:
    return reference_plant(policy, 10)


def linear_plant(policy: str) -> Plant:
    return replace(varied_plant(policy), growth="linear")


@pytest.mark.parametrize("policy", [
    each if each == "pressure drop" else pytest.param(each, marks=pytest.mark.long) for each in POLICIES
])  # fmt: skip
@pytest.mark.parametrize("build", [
    dosed_plant, *(pytest.param(each, marks=pytest.mark.long) for each in (ten_days, varied_plant, linear_plant))
])  # fmt: skip
def test_the_two_loops_agree(build: Callable[[str], Plant], policy: str) -> None:
    plant = build(policy)
    compiled, vectorised = run_compiled(plant), run_vectorised(plant)
    assert len(compiled.wash_starts) > 1
    assert same(compiled, vectorised), (compiled, vectorised)


@pytest.mark.parametrize("policy", POLICIES)
@pytest.mark.parametrize("build", [reference_plant, varied_plant, dosed_plant])
def test_water_and_solids_close(build: object, policy: str) -> None:
    plant: Plant = build(policy, 20)  # type: ignore[operator]
    got = run_compiled(plant)
    assert got.ledger_error < 1e-9
    assert got.treated_m3 + got.unmet_m3 == pytest.approx(HOUR * plant.flow.sum(), rel=1e-12)
    wash_hours = sum(step.seconds for step in plant.steps) / HOUR
    assert 0.0 <= got.downtime_h - got.washes * wash_hours < wash_hours


def test_water_properties_match_the_published_tables() -> None:
    """IAPWS-95 density and IAPWS 2008 viscosity at 0.101325 MPa, as two public libraries compute them."""
    warmth = np.array([4.0, 10.0, 15.0, 20.0, 30.0, 40.0])
    rho = [999.974869, 999.702470, 999.102621, 998.207150, 995.649454, 992.216353]
    mu = [1.567291773e-3, 1.305899660e-3, 1.137567559e-3, 1.001596143e-3, 7.972217998e-4, 6.527287266e-4]
    assert density(warmth) == pytest.approx(rho, rel=1e-5)
    assert viscosity(warmth) == pytest.approx(mu, rel=1e-4)


def test_clean_bed_loss_is_erguns() -> None:
    """10027.597 Pa/m: `fluids` 1.3.1 for 0.55 mm, porosity 0.42, sphericity 0.8, 10 m/h, 20 degC."""
    got = run_compiled(one_layer(0.0, 9e3))
    assert got.peak_dp_kpa == pytest.approx(0.6 * 10.027597, rel=1e-4)


def test_pore_narrowing_raises_the_loss_by_the_kozeny_ratio() -> None:
    """Porosity 0.40 narrowed by 0.05: 1.7518626 times (algebra of (1-e)^2/e^3)."""
    plant = one_layer(0.0, 9e3, inertial=0.0)
    cells = all_cells(replace(plant, layers=(replace(plant.layers[0], porosity=0.40),)))
    loads = (np.zeros(20), np.full(20, 0.05 * 60e3 * 0.6 / 20))
    clean, loaded = (bed_loss(cells, load, 1e-3, 1e-3, 1e3, 0.05) for load in loads)
    assert loaded / clean == pytest.approx(1.7518626, rel=1e-6)


def test_tanks_in_series_keep_what_the_erlang_sum_says() -> None:
    """Three tanks leave 6.232e-3 at the outlet after 3 volumes: here as the slope of what is still inside."""
    step = 1e-4
    slope = (remnant_inside(3.0 - step, 3) - remnant_inside(3.0 + step, 3)) / (2 * step)
    assert slope == pytest.approx(6.232e-3, abs=5e-7)
    assert left_in_tanks(0.0, 2.0, 3) == pytest.approx(2.0)
    assert left_in_tanks(1.4, 2.0, 3) == pytest.approx(2.0 * remnant_inside(0.7, 3), rel=1e-14)


def bohart_adams_gain(a: float, b: float) -> float:
    """-ln(1 - (1-e^-a)(1-e^-b)): deposit in units of capacity per coefficient (Bohart & Adams 1920)."""
    return -log(1.0 - (1.0 - exp(-a)) * (1.0 - exp(-b)))


def test_capture_converges_to_bohart_and_adams() -> None:
    coefficient, ultimate = 8.0, 900.0
    plant = one_layer(coefficient, ultimate)
    load = 24 * 10.0 * 5.0  # g/m2 in a day
    gain = bohart_adams_gain(coefficient * 0.6, coefficient * load / ultimate)
    exact = plant.area * (load - ultimate / coefficient * gain) / 1e3
    errors = [
        abs(run_compiled(replace(plant, cells_per_layer=320), tick).solids_to_service_kg / exact - 1)
        for tick in (60.0, 30.0, 15.0)
    ]
    assert errors[0] < 5e-3
    assert errors[1] / errors[0] == pytest.approx(0.5, abs=0.05)
    assert errors[2] / errors[1] == pytest.approx(0.5, abs=0.05)


def test_ripening_matches_the_integral_of_its_formula() -> None:
    """An inexhaustible bed passes C exp(-lambda L (1 - r e^(-B/Br))); its mean by fine quadrature over B."""
    plant = one_layer(4.0, 1e12, ripening_share=0.5, ripening_volume=20.0)
    volume = (np.arange(200_000) + 0.5) / 200_000 * 240.0
    mean = np.mean(np.exp(-4.0 * 0.6 * (1.0 - 0.5 * np.exp(-volume / 20.0))))
    got = run_compiled(plant)
    assert got.solids_to_service_kg / got.solids_in_kg == pytest.approx(mean, rel=1e-4)


def test_backwash_converges_to_its_closed_form() -> None:
    """M' = -k M, W' = k M - (Q/V) W + Q C; solved by hand for the reference wash with 5 g/m3 in the water."""
    plant = reference_plant("volume", 2)
    k, q, seconds = 0.8 / MINUTE, 17.0 / HOUR / plant.water_volume, 600.0
    mass, start, arriving = 1800.0, 3.0, 17.0 / HOUR * 5.0
    exact = start * exp(-q * seconds) + arriving / q * (1.0 - exp(-q * seconds))
    exact += k * mass / (q - k) * (exp(-k * seconds) - exp(-q * seconds))
    errors = []
    for tick in (60.0, 30.0, 15.0):
        vessel = Filter(plant, all_cells(plant), np.full(40, mass / plant.area / 40), start, None)
        for _ in range(int(seconds / tick)):
            vessel.backwash(17.0 / HOUR * tick, 5.0, exp(-k * tick), exp(-k * tick))
        errors.append(abs(vessel.vessel_solids / exact - 1.0))
    assert errors[0] < 0.04
    assert errors[2] < errors[1] / 3 < errors[0] / 9


def test_a_displaced_vessel_holds_its_feed() -> None:
    """The ledger's vessel water: full of clean water first, of feed at 5 g/m3 after many volumes."""
    plant = replace(one_layer(0.0, 9e3), initial_water_solids=0.0)
    got = run_compiled(plant)
    assert got.solids_at_start_kg == 0.0
    assert got.solids_held_kg == pytest.approx(5.0 * plant.water_volume / 1e3, rel=1e-9)


def starts_h(trigger: Trigger, days: int = 10, **changes: object) -> list[float]:
    plant = replace(steady_plant(trigger, days), **changes)  # type: ignore[arg-type]
    return [start / HOUR for start in run_compiled(plant).wash_starts]


def test_calendar_answers_the_first_hour_on_or_after_it_is_due() -> None:
    assert starts_h(Trigger(kind="calendar", every=2 * DAY, at=3 * HOUR)) == [51.0, 99.0, 147.0, 195.0]
    late = starts_h(Trigger(kind="calendar", every=2 * DAY, at=3 * HOUR), start_of_day=4 * HOUR)
    assert late == [71.0, 119.0, 167.0, 215.0]
    assert starts_h(Trigger(kind="calendar", every=60 * HOUR)) == [60.0, 120.0, 180.0]


def test_the_longest_run_counts_from_the_start_of_the_last_wash_and_ends_at_its_last_hour() -> None:
    assert starts_h(replace(NEVER, longest_run=3 * DAY)) == [72.0, 144.0, 216.0]
    nightly = replace(NEVER, longest_run=3 * DAY, at=5 * HOUR)
    assert starts_h(nightly) == [53.0, 125.0, 197.0]
    assert starts_h(replace(nightly, longest_run_at=22 * HOUR)) == [70.0, 142.0, 214.0]
    assert starts_h(replace(nightly, longest_run=20 * HOUR))[:3] == [5.0, 25.0, 29.0]


def test_volume_counts_service_only_and_may_wait_for_its_hour() -> None:
    wash = 16 / 60
    at_once = starts_h(Trigger(kind="volume", volume=302.5))
    assert at_once == pytest.approx([60.5, 121.0 + wash, 181.5 + 2 * wash], abs=1.1 / 60)
    assert starts_h(Trigger(kind="volume", volume=302.5, at=3 * HOUR)) == [75.0, 147.0, 219.0]


def test_reserve_that_runs_out_before_its_hour_starts_at_once() -> None:
    ample = Trigger(kind="volume with reserve", volume=300.0, reserve=125.0, at=3 * HOUR)
    assert starts_h(ample, 4) == [51.0]
    short = starts_h(replace(ample, reserve=10.0, at=1 * HOUR), 4)
    assert short == pytest.approx([60.0], abs=1.1 / 60)


def test_stop_and_go_resets_the_hold() -> None:
    """Flow on every other hour, the clean bed already above the set value: only a short hold gets through."""
    go = np.tile([0.0, 5.0 / HOUR], 24)
    above = Trigger(kind="pressure drop", above=1e3, hold=61 * MINUTE)
    assert starts_h(above, 2, flow=go) == []
    short = starts_h(replace(above, hold=20 * MINUTE), 1, flow=go)
    assert short[:3] == pytest.approx([1 + 20 / 60, 1 + 56 / 60, 3 + 20 / 60])  # a wash takes 16 min


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match="whole number"):
        run_compiled(reference_plant("volume", 1), 7.0)
    with pytest.raises(ValueError, match="no water above"):
        replace(reference_plant("volume", 1), height=0.5)
    with pytest.raises(ValueError, match="the run needs"):
        run_compiled(replace(reference_plant("volume", 1), length=2 * DAY))


def test_floc_counts_as_solids_that_a_bed_can_stop() -> None:
    """With nothing non-filterable, so many g/m3 of floc load a bed as so many more of solids do."""
    plain = replace(reference_plant("pressure drop", 20), first_water_counts=False)
    floc = run_compiled(replace(plain, solids=0.6 * plain.solids, dosed=0.4 * plain.solids))
    solids = run_compiled(plain)
    assert floc.wash_starts == solids.wash_starts
    assert floc.solids_to_service_kg == pytest.approx(solids.solids_to_service_kg, rel=1e-9)
    assert floc.solids_in_kg + floc.solids_dosed_kg == pytest.approx(solids.solids_in_kg, rel=1e-9)
    assert floc.solids_dosed_kg == pytest.approx(0.4 * solids.solids_in_kg, rel=1e-9)
