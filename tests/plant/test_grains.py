"""Grain size and temperature through the simulator: what passes a bed, how its pressure drop grows."""

import math
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from hydraulics import water
from sim.case.records import Case
from sim.case.series.records import Profile, Seasonal
from sim.case.stage.clean_run import CleanRun, inflow_of
from sim.plant.simulate import Plant, simulate
from sim.plant.trace import trace
from tests.case.samples import load_text
from tests.plant.builders import DAY, HOUR, M3_H, VOLUME, policy

TEXT = """title = "One bed of one medium"
[run]
start = 2027-01-04T00:00:00
length = "12 h"
[feed]
temperature = "{temperature} degC"
suspended_solids = "5 mg/L"
[demand]
flow = "5.5 m3/h"
[[stage]]
name = "filter"
vessel = {{ diameter = "30 in", height = "1.5 m" }}
ripening = "none"
unfilterable = 0.1
{stage}
[[stage.layer]]
medium = "anthracite"
depth = "0.7 m"
size = "{size} mm"
uniformity = 1.0
ultimate_deposit = "{most} kg/m3"
{layer}
[[stage.step]]
do = "backwash"
minutes = 10
flow = "17 m3/h"
[policy.volume.filter]
start_on = "volume"
volume = "9000 m3"
"""
COLLECTOR = 'filter_coefficient = { particle_size = "5 um", particle_density = "1100 kg/m3" }'
FLOW, AREA = 5.5 * M3_H, math.pi * 0.762**2 / 4.0


def bed(folder: Path, size: float, temperature: float, stage: str = "", layer: str = "", most: float = 12.0) -> Case:
    return load_text(folder, TEXT.format(size=size, temperature=temperature, stage=stage, layer=layer, most=most))


def depth_of_capture(case: Case) -> float:
    """-ln of the filterable share that passes the clean bed, as the plant shows it after its first second."""
    (sample,) = trace(case, "volume", times=[1.0])
    return -math.log((sample.outlet_mg_l - 0.5) / 4.5)


@pytest.mark.parametrize(("p_d", "p_mu"), [(1.5, 0.5), (0.8, 0.3), (2.5, 1.0)])
def test_a_clean_bed_follows_the_exponents(p_d: float, p_mu: float, tmp_path: Path) -> None:
    """By hand: the depth of capture goes with d^-p_d and mu^-p_mu; two clean beds each that differ in one of them.

    Source: the power laws stated in DEVELOPERS.md; viscosity from IAPWS, checked on its own.
    """
    stage = f"size_exponent = {p_d}\nviscosity_exponent = {p_mu}"
    fine, coarse, warm = (
        depth_of_capture(bed(tmp_path, size, temperature, stage, most=1000.0))
        for size, temperature in ((0.8, 2.0), (2.0, 2.0), (0.8, 30.0))
    )
    assert math.log(fine / coarse) / math.log(2.0 / 0.8) == pytest.approx(p_d, rel=1e-6)
    thinner = water.viscosity(2.0) / water.viscosity(30.0)
    assert math.log(warm / fine) / math.log(thinner) == pytest.approx(p_mu, rel=1e-6)


def test_a_given_coefficient_is_that_of_the_reference_water(tmp_path: Path) -> None:
    """By hand: 4 1/m over 0.7 m in water of 15 degC, (mu_15 / mu_4)^0.5 of that at 4 degC, in any grains."""
    stage, layer = 'velocity_exponent = 0.5\nreference_rate = "12.06 m/h"', 'filter_coefficient = "4 1/m"'
    at_rate = 4.0 * 0.7 * (FLOW / AREA * HOUR / 12.06) ** -0.5
    for size in (0.8, 2.0):
        warm, cold = (depth_of_capture(bed(tmp_path, size, at, stage, layer, most=1000.0)) for at in (15.0, 4.0))
        assert warm == pytest.approx(at_rate, rel=1e-7)
        assert cold == pytest.approx(at_rate * (water.viscosity(15.0) / water.viscosity(4.0)) ** 0.5, rel=1e-7)


def test_size_and_temperature_change_what_passes(tmp_path: Path) -> None:
    """12 hours: more passes coarser grains and colder water."""
    passed = [
        simulate(bed(tmp_path, size, temperature), "volume").site["solids_to_service_kg"] or 0.0
        for size, temperature in ((0.8, 30.0), (0.8, 2.0), (2.0, 30.0), (2.0, 2.0))
    ]
    assert all(less < 0.97 * more for less, more in pairwise(passed)), passed


def test_the_typical_gain_goes_with_the_grains(tmp_path: Path) -> None:
    """By hand: what one and the same deposit adds, coefficients given, goes with d^-p_k; a given gain does not."""
    capture = 'filter_coefficient = "4 1/m"'

    def growth(size: float, exponent: float, layer: str = "") -> float:
        case = bed(tmp_path, size, 15.0, f"gain_size_exponent = {exponent}", f"{capture}\n{layer}")
        first, last = trace(case, "volume", times=[0.0, 11.0 * HOUR])
        return last.signal_kpa - first.signal_kpa

    for exponent in (0.5, 1.0, 2.0):
        assert growth(0.8, exponent) / growth(2.0, exponent) == pytest.approx(2.5**exponent, rel=1e-9)
    own = 'head_loss_gain = "4 Pa/m per g/m3"'
    assert growth(0.8, 1.0, own) == pytest.approx(growth(2.0, 1.0, own), rel=1e-9)


def test_no_exponent_touches_a_run_of_the_collector_route(tmp_path: Path) -> None:
    exponents = "size_exponent = 2.5\nviscosity_exponent = 1.5"
    plain, other = (simulate(bed(tmp_path, 0.8, 4.0, each, COLLECTOR), "volume") for each in ("", exponents))
    assert other.site == plain.site


@pytest.mark.parametrize("temperature", [4.0, 27.0])
def test_a_clean_run_is_that_of_the_plant(temperature: float, tmp_path: Path) -> None:
    case = bed(tmp_path, 0.8, temperature, 'size_exponent = 1.2\nhead_loss = { growth = "pore-narrowing" }')
    (stage,), seconds = case.stages, 11.0 * HOUR
    run = CleanRun(stage=stage, flow=FLOW, temperature=temperature)
    inflow = inflow_of(case.stages, 0, case.feed, flow=FLOW, temperature=temperature)
    load = inflow.filterable * FLOW * seconds / AREA
    first, last = trace(case, "volume", times=[0.0, seconds])
    assert last.outlet_mg_l == pytest.approx(run.passing(inflow, load) + inflow.fine, rel=1e-9)
    assert last.signal_kpa - first.signal_kpa == pytest.approx(run.rise(load) / 1e3, rel=1e-6)


def seasonal(folder: Path) -> Case:
    """Forty days of water from 2 to 24 degC, graded grains and equal ones, two of its layers following the water."""
    stage = 'velocity_exponent = 0.5\nhead_loss = { growth = "pore-narrowing" }'
    case = bed(folder, 0.8, 13.0, stage)
    (stage_record,) = case.stages
    (top,) = stage_record.layers
    apart = replace(top, medium="sand", depth=0.2, filter_coefficients=(9.0,), viscosity_exponent=0.0)
    graded = replace(
        top, depth=0.3, uniformity=1.5, sublayer_sizes=tuple(1e-3 * (0.8 + 0.1 * i) for i in range(4)),
        filter_coefficients=(5.0, 4.0, 3.0, 2.5), viscosity_exponent=1.2,
    )  # fmt: skip
    stages = (replace(stage_record, layers=(replace(top, depth=0.3), graded, apart), cells_per_layer=20),)
    flow = Profile(hourly=tuple([0.0] * 5 + [5.5 * M3_H] * 15 + [2.0 * M3_H] * 4), weekday=(1.0,) * 7)
    return replace(
        case,
        stages=stages,
        run=replace(case.run, length=40.0 * DAY),
        feed=replace(case.feed, temperature=Seasonal(mean=13.0, swing=11.0, peak_day=20)),
        demand=replace(case.demand, flow=flow),
        policies=(policy("volume", VOLUME, stages=stages),),
    )


def test_a_run_in_parts_is_a_run_in_one_while_the_water_cools(tmp_path: Path) -> None:
    case = seasonal(tmp_path)
    whole, plant = simulate(case, "volume"), Plant(case, "volume")
    for i in range(1, 97):
        plant.run_until(i * case.run.length / 96.7)
        plant.result()
    plant.run_until(case.run.length)
    parts = plant.result()
    assert (parts.log, parts.runs, parts.site, parts.stages) == (whole.log, whole.runs, whole.site, whole.stages)
    assert whole.site["washes"]
    out = sum(whole.site[f"solids_{way}_kg"] or 0.0 for way in ("to_service", "to_drain", "held"))
    assert out == pytest.approx(whole.site["solids_in_kg"], rel=1e-9)


def test_compiled_and_plain_agree_while_the_water_cools(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    case = replace(seasonal(tmp_path), run=replace(seasonal(tmp_path).run, length=5.0 * DAY))
    fast = simulate(case, "volume")
    monkeypatch.setenv("FILTERRUN_PLAIN", "1")
    plain = simulate(case, "volume")
    assert (plain.log, plain.runs, plain.site, plain.stages) == (fast.log, fast.runs, fast.site, fast.stages)
