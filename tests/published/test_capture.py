"""Published: capture, run length and growth of head loss."""

import math
from itertools import pairwise

import pytest
from scipy.optimize import minimize_scalar

from hydraulics import water
from hydraulics.capture import collector_efficiency, filter_coefficient, happel_parameter
from hydraulics.constants import BOLTZMANN, ICE_POINT, STANDARD_GRAVITY
from hydraulics.headloss import linear_growth_gradient, narrowed_porosity, viscous_factor
from hydraulics.media import DEFAULTS
from tests.cross_checks import (
    breakthrough_time,
    gain_from_mean_deposit,
    run_length_by_breakthrough,
    run_length_by_head_loss,
    yao_efficiency,
)

HOUR = 3600.0


def as_if_gravity(particle_density, rho, gravity):
    """A particle density that weighs under standard gravity what the given one weighs under another."""
    return rho + (particle_density - rho) * gravity / STANDARD_GRAVITY


# M. L. Davis (2010), eq. 11-7 and 11-8, computed for D 1.8 m, 15 m/h, 2 and 0.05 mg/L, 1500 mg/L,
# 1.2e-3 L m/mg, 2.5 and 0.5 m.
def test_run_lengths(printed):
    v = 15.0 / HOUR
    by_quality = run_length_by_breakthrough(1500.0, 1.8, v, inlet=2.0, outlet=0.05)
    by_head = run_length_by_head_loss(2.5, 0.5, 1.8, head_gain=1.2e-3, v=v, inlet=2.0, outlet=0.05)
    assert by_quality / HOUR == printed("92.3077")
    assert by_head / HOUR == printed("102.5641")


def test_davis_gain_and_ours_give_the_same_head():
    depth, deposit, rho = 1.8, 1500.0, 1000.0
    gain = gain_from_mean_deposit(1.2e-3, depth, rho)
    gradient = linear_growth_gradient(gain, deposit, v=0.004, v_ref=0.004, mu=1e-3, mu_ref=1e-3)
    assert gradient * depth / (rho * STANDARD_GRAVITY) == pytest.approx(1.2e-3 * 1500.0, rel=1e-14)


# Happel's parameter at porosity 0.51: printed 20.35, computed 20.354801.
def test_happel_parameter(printed):
    assert happel_parameter(0.51) == printed("20.35")
    assert happel_parameter(0.51) == printed("20.354801")


# Tufenkji & Elimelech (2004), eq. 17; its N_A, N_G and diffusion coefficient from memory. Computed at g 9.81.
def test_collector_efficiency_of_tufenkji_and_elimelech(printed):
    rho = 998.207
    eta = collector_efficiency(
        1e-6, 0.5e-3, 5.0 / HOUR,
        porosity=0.42, temperature=293.15 - ICE_POINT, mu=1.0016e-3, rho=rho,
        particle_density=as_if_gravity(1050.0, rho, 9.81), hamaker=1e-20,
    )  # fmt: skip
    assert eta == printed("7.2175398e-4")


# Yao, Habibian & O'Melia (1971), computed at g 9.81 and Boltzmann's constant of 2014 (1.38064852e-23 J/K):
# the constant enters with the temperature, so a little less of it stands for a little less of the other.
def yao(particle_size):
    kelvin = 298.15 * 1.38064852e-23 / BOLTZMANN
    return yao_efficiency(
        particle_size, 500e-6, 1.358e-3,
        temperature=kelvin - ICE_POINT, mu=8.90e-4, rho=997.0,
        particle_density=as_if_gravity(1050.0, 997.0, 9.81),
    )  # fmt: skip


def test_collector_efficiency_of_yao_and_where_it_is_least(printed):
    assert yao(1e-6) == printed("3.5330507e-4")
    least = minimize_scalar(lambda um: yao(um * 1e-6), bounds=(0.5, 5.0), method="bounded")
    assert least.fun == printed("3.12928e-4")
    assert least.x == printed("1.618")


# Bohart & Adams (1920), form from memory: K 0.005 L/mg/h, N0 30000 mg/L, C0 100 mg/L, 10 m/h, 1 m.
@pytest.mark.parametrize(("share", "hours"), [(0.50, "30.000"), (0.05, "24.111")])
def test_breakthrough_of_bohart_and_adams(share, hours, printed):
    time = breakthrough_time(share, 0.005 / HOUR, 30_000.0, concentration=100.0, v=10.0 / HOUR, depth=1.0)
    assert time / HOUR == printed(hours)


# Algebra of the Kozeny function: ratio to the clean bed at porosity 0.40 with a share s of the bed filled.
@pytest.mark.parametrize(("filled", "ratio"), [(0.02, "1.2454034"), (0.05, "1.7518626"), (0.10, "3.2263374")])
def test_pore_narrowing_raises_the_viscous_loss(filled, ratio, printed):
    loaded = narrowed_porosity(0.40, filled * 60_000.0, 60_000.0, floor=0.05)
    assert viscous_factor(loaded) / viscous_factor(0.40) == printed(ratio)


# Tobiason & Vigneswaran (1994), abstract: at constant rate depth filters gain head loss linearly with time.
def test_linear_growth_gains_the_same_head_for_every_equal_deposit():
    gradients = [
        linear_growth_gradient(5.0, deposit, v=0.003, v_ref=0.0033, mu=1.3e-3, mu_ref=1.1e-3)
        for deposit in (0.0, 500.0, 1000.0, 1500.0)
    ]
    steps = [late - early for early, late in pairwise(gradients)]
    assert gradients[0] == 0.0
    assert steps == pytest.approx([gradients[1]] * 3, rel=1e-14)


# Tufenkji & Elimelech (2004), eq. 17, at 12 m/h through grains of 0.4 to 2 mm at a porosity of 0.45: what this law
# makes of size and viscosity, for particles from floc (1050 and 1100 kg/m3) to silt (2650 kg/m3).
def collected(size, particle_size, particle_density, temperature, rate=12.0):
    eta = collector_efficiency(
        particle_size, size, rate / HOUR, porosity=0.45, temperature=temperature, mu=water.viscosity(temperature),
        rho=water.density(temperature), particle_density=particle_density, hamaker=1e-20,
    )  # fmt: skip
    return filter_coefficient(0.45, size, 0.5, efficiency=eta)


@pytest.mark.parametrize("particle_density", [1050.0, 1100.0, 2650.0])
@pytest.mark.parametrize("particle_size", [1e-6, 2e-6, 5e-6, 10e-6, 20e-6])
def test_collector_theory_lies_in_the_ranges_of_the_exponents(particle_size, particle_density):
    particle = particle_size, particle_density
    by_size = DEFAULTS["size_exponent"]
    for temperature in (5.0, 30.0):
        more = collected(0.4e-3, *particle, temperature) / collected(2.0e-3, *particle, temperature)
        assert by_size.low <= math.log(more) / math.log(5.0) <= by_size.high
    thinner = water.viscosity(5.0) / water.viscosity(30.0)
    p_mu = math.log(collected(1e-3, *particle, 30.0) / collected(1e-3, *particle, 5.0)) / math.log(thinner)
    slower = collected(1e-3, *particle, 17.5, rate=6.0) / collected(1e-3, *particle, 17.5, rate=24.0)
    p_v = math.log(slower) / math.log(4.0)
    by_viscosity = DEFAULTS["viscosity_exponent"]
    assert by_viscosity.low - by_viscosity.value <= p_mu - p_v <= by_viscosity.high - by_viscosity.value
