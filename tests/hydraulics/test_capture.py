"""Exact and property: capture by a layer, against its differential equations and at its limits."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from hydraulics.capture import (
    coefficient_at_rate,
    collector_efficiency,
    deposit_gain,
    filter_coefficient,
    happel_parameter,
    outlet_share,
    ripening_mean,
    ultimate_deposit_at_rate,
)
from hydraulics.errors import DomainError
from tests.cross_checks import (
    breakthrough_time,
    ripening_factor,
    yao_efficiency,
)

LAYERS = ((0.45, 4.0, 12_000.0), (0.25, 10.0, 9_000.0))  # depth m, lambda 1/m, s_u g/m3
NODES = np.linspace(0.05, 1.0, 20)  # shares of a layer's depth


def march(deposits, scale, load):
    """One exact step of every node of both layers; returns the load that leaves."""
    for (depth, coefficient, ultimate), deposit in zip(LAYERS, deposits, strict=True):
        for j, node in enumerate(NODES * depth):
            free = node - deposit[j] / ultimate
            gain = deposit_gain(free, scale * coefficient, ultimate, load=load)
            deposit[j] += gain
        load -= gain
    return load


def solve(deposits, scale, solids_rate, seconds):
    """The same by a stiff solver: below depth z the water carries e^(-lambda I) of what entered."""
    depths, coefficients, ultimates = np.array(LAYERS).T

    def growth(_, flat):
        entering, rates = solids_rate, []
        for i, deposit in enumerate(flat.reshape(2, -1)):
            passing = entering * np.exp(
                -scale * coefficients[i] * (NODES * depths[i] - deposit / ultimates[i])
            )
            rates.append(entering - passing)
            entering = passing[-1]
        return np.concatenate(rates)

    run = solve_ivp(growth, (0.0, seconds), np.concatenate(deposits), method="LSODA", rtol=1e-8, atol=1e-8)
    assert run.success
    return run.y[:, -1].reshape(2, -1)


def test_the_exact_step_follows_a_stiff_solver_over_forty_random_segments():
    rng = np.random.default_rng(20270104)
    exact = [np.zeros(NODES.size), np.zeros(NODES.size)]
    solved = np.zeros((2, NODES.size))
    for _ in range(40):
        v, solids, seconds = rng.uniform(1e-3, 6e-3), rng.uniform(0.0, 15.0), rng.uniform(600.0, 6 * 3600.0)
        scale = coefficient_at_rate(1.0, v, 12.0 / 3600.0, exponent=0.5)
        march(exact, scale, v * solids * seconds)
        solved = solve(solved, scale, v * solids, seconds)
        assert np.array(exact) == pytest.approx(solved, rel=1e-6)
    assert exact[0][-1] > 0.3 * 0.45 * 12_000.0  # the first layer was loaded far enough to let through


def test_the_exact_step_solves_iwasaki_on_a_fine_grid():
    depth, coefficient, ultimate = LAYERS[0]
    v, solids, seconds, cells = 0.003, 8.0, 30 * 3600.0, 1500
    dz = depth / cells

    def capture(_, sigma):
        half = 0.5 * dz * coefficient * (1.0 - sigma / ultimate)  # trapezoidal rule along the depth
        passing = solids * np.cumprod((1.0 - half) / (1.0 + half))
        return -v * np.diff(passing, prepend=solids) / dz

    run = solve_ivp(capture, (0.0, seconds), np.zeros(cells), rtol=1e-8)
    above = np.cumsum(run.y[:, -1]) * dz
    for j in (149, 749, 1499):
        exact = deposit_gain((j + 1) * dz, coefficient, ultimate, load=v * solids * seconds)
        assert exact == pytest.approx(above[j], rel=1e-5)


@given(st.floats(0.0, 10.0), st.floats(1e-9, 30.0), st.floats(100.0, 2e4), st.floats(0.0, 1e5))
def test_a_gain_is_at_most_the_load_and_the_free_capacity(free, coefficient, ultimate, load):
    gain = deposit_gain(free, coefficient, ultimate, load=load)
    assert 0.0 <= gain <= min(load, ultimate * free) * (1.0 + 1e-14) + 1e-300


@given(st.floats(0.0, 2.0), st.floats(1.0, 1e4))
def test_gravel_and_still_water_capture_nothing(free, load):
    assert deposit_gain(free, 0.0, 9000.0, load=load) == 0.0
    assert deposit_gain(free, 10.0, 9000.0, load=0.0) == 0.0


def test_a_feeble_coefficient_captures_in_proportion():
    assert deposit_gain(0.5, 1e-9, 9000.0, load=100.0) == pytest.approx(1e-9 * 0.5 * 100.0, rel=1e-8)


@given(st.floats(0.01, 20.0), st.floats(1e-4, 1e-2), st.floats(0.0, 1.0))
def test_coefficients_at_their_reference_rate_are_the_reference(reference, v, exponent):
    assert coefficient_at_rate(reference, v, v, exponent=exponent) == reference
    assert ultimate_deposit_at_rate(reference, v, v, exponent=exponent) == reference


@given(st.floats(1e-5, 1e-2), st.floats(1.001, 10.0), st.floats(0.01, 1.0))
def test_coefficients_fall_as_the_rate_rises(v, more, exponent):
    v_ref = 12.0 / 3600.0
    for law in (coefficient_at_rate, ultimate_deposit_at_rate):
        assert law(10.0, more * v, v_ref, exponent=exponent) <= law(10.0, v, v_ref, exponent=exponent)
        assert law(10.0, v, v_ref, exponent=0.0) == 10.0


@pytest.mark.parametrize("v", [0.0, -0.003])
def test_without_forward_flow_coefficients_are_finite(v):
    assert coefficient_at_rate(10.0, v, 0.003, exponent=0.5) == 10.0
    assert ultimate_deposit_at_rate(9000.0, v, 0.003, exponent=0.25) == 9000.0 * 0.5**-0.25


@given(st.floats(0.0, 50.0), st.floats(0.0, 1.0), st.floats(0.5, 10.0))
def test_a_bed_ripens_from_its_missing_share_to_one(volume, share, ripening_volume):
    factor = ripening_factor(volume, share, ripening_volume)
    assert 1.0 - share <= factor <= 1.0
    assert ripening_factor(volume + 1.0, share, ripening_volume) >= factor
    assert ripening_factor(0.0, share, ripening_volume) == 1.0 - share
    assert ripening_factor(volume, 0.0, ripening_volume) == 1.0


@given(st.floats(0.0, 20.0), st.floats(1e-2, 20.0), st.floats(0.0, 0.9))
def test_mean_ripening_is_the_mean_of_the_factor(start, length, share):
    area, _ = quad(ripening_factor, start, start + length, args=(share, 2.0), epsabs=0.0, epsrel=1e-11)
    mean = ripening_mean(start, start + length, share, ripening_volume=2.0)
    assert mean == pytest.approx(area / length, rel=1e-10)


def test_mean_ripening_over_no_volume_is_the_factor():
    assert ripening_mean(3.0, 3.0, 0.5, ripening_volume=2.0) == ripening_factor(3.0, 0.5, 2.0)


BED = {"concentration": 8.0, "v": 0.003, "depth": 0.6}


@given(st.floats(0.02, 0.999))
def test_the_exact_step_of_a_fresh_layer_is_the_breakthrough_of_bohart_and_adams(share):
    rate, capacity = 1e-6, 9_000.0
    time = breakthrough_time(share, rate, capacity, **BED)
    if time >= 0.0:
        coefficient = rate * capacity / BED["v"]  # an uptake with a rate constant: p = 1
        load = BED["v"] * BED["concentration"] * time
        passing = outlet_share(coefficient * BED["depth"], coefficient * load / capacity)
        assert passing == pytest.approx(share, rel=1e-9)


def test_the_happel_parameter_falls_to_one_as_the_bed_opens():
    values = [happel_parameter(porosity) for porosity in (0.3, 0.5, 0.7, 0.9, 0.999999)]
    assert values == sorted(values, reverse=True)
    assert values[-1] == pytest.approx(1.0, rel=0.02)
    for porosity in (0.0, 1.0, math.nan):
        with pytest.raises(DomainError, match="porosity"):
            happel_parameter(porosity)


GRAIN = {"temperature": 15.0, "mu": 1.1376e-3, "rho": 999.1}


def test_a_particle_that_rises_is_outside_the_correlation():
    with pytest.raises(DomainError, match=r"given 950 kg/m3, allowed 999\.1 kg/m3 or more"):
        collector_efficiency(1e-6, 5e-4, 1e-3, porosity=0.4, particle_density=950.0, hamaker=1e-20, **GRAIN)


def test_both_efficiencies_are_least_for_particles_of_about_a_micrometre():
    sizes = [10.0**exponent for exponent in np.linspace(-8.0, -4.0, 81)]
    tufenkji = [
        collector_efficiency(d, 5e-4, 1e-3, porosity=0.4, particle_density=1050.0, hamaker=1e-20, **GRAIN)
        for d in sizes
    ]
    yao = [yao_efficiency(d, 5e-4, 1e-3, particle_density=1050.0, **GRAIN) for d in sizes]
    for efficiencies in (tufenkji, yao):
        assert 0.5e-6 < sizes[int(np.argmin(efficiencies))] < 5e-6


def test_the_filter_coefficient_is_proportional_to_attachment_and_grains_per_depth():
    one = filter_coefficient(0.4, 1e-3, 0.1, efficiency=0.01)
    assert filter_coefficient(0.4, 1e-3, 0.5, efficiency=0.01) == pytest.approx(5.0 * one, rel=1e-14)
    assert filter_coefficient(0.4, 0.5e-3, 0.1, efficiency=0.01) == pytest.approx(2.0 * one, rel=1e-14)
    assert filter_coefficient(1.0, 1e-3, 0.1, efficiency=0.01) == 0.0
