"""Property and exact: fluidisation and expansion, their limits, inverses and the way they lean."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from hydraulics.constants import STANDARD_GRAVITY
from hydraulics.fluidise import (
    bulk_density,
    buoyant_gradient,
    ergun_porosity,
    ergun_velocity,
    expanded_depth,
    galileo_number,
    richardson_zaki_exponent,
    richardson_zaki_porosity,
    wen_yu_velocity,
)
from hydraulics.headloss import ergun_gradient
from hydraulics.water import density, viscosity
from tests.cross_checks import richardson_zaki_velocity, wen_yu_porosity

MU, RHO = 1.14e-3, 999.1
sizes = st.floats(1e-4, 5e-3)
sphericities = st.floats(0.4, 1.0)
densities = st.floats(1050.0, 4500.0)
porosities = st.floats(0.3, 0.98)
velocities = st.floats(1e-5, 0.1)
viscosities = st.floats(5e-4, 1.8e-3)
warmths = st.floats(0.0, 45.0)
KINETIC = {"viscous": 150.0, "inertial": 1.75}


def velocity(porosity, size, sphericity, grains, mu=MU, **coefficients):
    return ergun_velocity(
        porosity, mu, RHO, size=size, sphericity=sphericity, grain_density=grains, **(KINETIC | coefficients)
    )


def porosity(v, size, sphericity, grains, mu=MU, **coefficients):
    return ergun_porosity(
        v, mu, RHO, size=size, sphericity=sphericity, grain_density=grains, **(KINETIC | coefficients)
    )


@given(porosities, sizes, sphericities, densities)
def test_a_bed_lifts_where_its_head_loss_reaches_its_weight(e, size, sphericity, grains):
    lifts = velocity(e, size, sphericity, grains)
    drag = ergun_gradient(lifts, MU, RHO, size=size, sphericity=sphericity, porosity=e, **KINETIC)
    assert drag == pytest.approx(buoyant_gradient(e, grains, RHO), rel=1e-11)


@given(porosities, sizes, sphericities, densities)
def test_expansion_is_the_inverse_of_fluidisation(e, size, sphericity, grains):
    assert porosity(velocity(e, size, sphericity, grains), size, sphericity, grains) == pytest.approx(e, rel=1e-12)


@given(velocities, sizes, sphericities, densities, viscosities)
def test_the_closed_form_is_the_root_of_its_balance(v, size, sphericity, grains, mu):
    weight = (grains - RHO) * STANDARD_GRAVITY
    p = 150.0 * mu * v / (weight * (sphericity * size) ** 2)
    q = 1.75 * RHO * v**2 / (weight * sphericity * size)
    root = brentq(lambda e: e**3 + p * e - p - q, 0.0, 1.0 + q ** (1 / 3), xtol=1e-15, rtol=1e-14)
    assert porosity(v, size, sphericity, grains, mu=mu) == pytest.approx(root, rel=1e-12)


@given(velocities, st.floats(1.01, 3.0), sizes, sphericities, densities)
def test_a_bed_expands_more_with_velocity_and_viscosity_and_less_with_size_and_weight(v, more, size, phi, grains):
    e = porosity(v, size, phi, grains)
    assert porosity(more * v, size, phi, grains) > e
    assert porosity(v, size, phi, more * grains) < e
    if e < 1.0:  # a bed is still there
        assert porosity(v, more * size, phi, grains) < e
        assert porosity(v, size, phi, grains, mu=more * MU) > e


@given(warmths, st.floats(1.0, 5.0), st.floats(2e-4, 3e-3), sphericities, densities)
def test_colder_water_lifts_earlier_and_expands_more(temperature, warmer, size, phi, grains):
    cold, warm = temperature, temperature + warmer
    bed = {"size": size, "sphericity": phi, "grain_density": grains, **KINETIC}
    lifts = [ergun_velocity(0.45, viscosity(t), density(t), **bed) for t in (cold, warm)]
    by_wen_yu = [wen_yu_velocity(viscosity(t), density(t), size=size, grain_density=grains) for t in (cold, warm)]
    spread = [ergun_porosity(1.5 * lifts[1], viscosity(t), density(t), **bed) for t in (cold, warm)]
    assert lifts[0] < lifts[1]
    assert by_wen_yu[0] < by_wen_yu[1]
    assert spread[0] > spread[1] > 0.45


@given(sizes, sphericities, densities)
def test_still_water_and_a_flood_are_the_limits_of_expansion(size, phi, grains):
    assert porosity(0.0, size, phi, grains) == 0.0
    assert porosity(-0.01, size, phi, grains) == 0.0
    assert 0.0 < porosity(1e-15, size, phi, grains) < 1e-3
    assert porosity(5.0, size, phi, grains) > 1.0
    assert wen_yu_porosity(0.0, MU, RHO, size=size, grain_density=grains) == 0.0
    assert richardson_zaki_porosity(0.0, 0.05, 3.0) == 0.0
    assert richardson_zaki_porosity(0.05, 0.05, 3.0) == 1.0


@given(porosities, sizes, sphericities, densities)
def test_without_inertia_the_velocity_is_kozeny_carmans(e, size, phi, grains):
    lifts = velocity(e, size, phi, grains, inertial=0.0)
    weight = (grains - RHO) * STANDARD_GRAVITY
    assert lifts == pytest.approx(weight * e**3 * (phi * size) ** 2 / (150.0 * MU * (1.0 - e)), rel=1e-12)
    assert lifts > velocity(e, size, phi, grains)


@given(st.floats(1e-6, 1e-2), densities)
def test_wen_and_yu_is_a_linear_law_for_fine_grains_and_a_square_root_for_coarse(size, grains):
    galileo = galileo_number(MU, RHO, size=size, grain_density=grains)
    reynolds = wen_yu_velocity(MU, RHO, size=size, grain_density=grains) * RHO * size / MU
    assert reynolds == pytest.approx(math.sqrt(33.7**2 + 0.0408 * galileo) - 33.7, rel=1e-9, abs=1e-12)
    assert 0.0 < reynolds <= 0.0408 * galileo / (2.0 * 33.7)
    assert reynolds < math.sqrt(0.0408 * galileo)


def test_wen_and_yu_keeps_its_digits_where_the_root_cancels():
    tiny = wen_yu_velocity(MU, RHO, size=1e-7, grain_density=1500.0)
    galileo = galileo_number(MU, RHO, size=1e-7, grain_density=1500.0)
    assert tiny * RHO * 1e-7 / MU == pytest.approx(0.0408 * galileo / 67.4, rel=1e-9)


@given(velocities, st.floats(1.01, 2.0), sizes, densities)
def test_wen_and_yus_bed_expands_more_with_velocity_and_less_with_size(v, more, size, grains):
    def spread(rate, grain):
        return wen_yu_porosity(rate, MU, RHO, size=grain, grain_density=grains)

    assert spread(more * v, size) > spread(v, size) > spread(v, more * size)


@given(st.floats(0.0, 5000.0))
def test_the_exponent_lies_between_that_of_creeping_and_of_turbulent_settling(reynolds):
    assert 2.38 < richardson_zaki_exponent(reynolds) <= 4.65


@pytest.mark.parametrize(("edge", "step"), [(0.2, 0.02), (1.0, 0.03), (500.0, 0.001)])
def test_the_exponent_steps_no_further_than_it_says(edge, step):
    below, above = richardson_zaki_exponent(edge * (1.0 - 1e-12)), richardson_zaki_exponent(edge)
    assert below == pytest.approx(above, rel=step)


@given(st.floats(0.01, 1.0), st.floats(1e-4, 0.5), st.floats(2.3, 4.7))
def test_hindered_settling_and_its_inverse(e, terminal, exponent):
    v = richardson_zaki_velocity(e, terminal, exponent)
    assert v <= terminal
    assert richardson_zaki_porosity(v, terminal, exponent) == pytest.approx(e, rel=1e-12)


@given(st.floats(0.01, 5.0), porosities, st.floats(0.3, 0.98), densities)
def test_an_expanded_bed_keeps_its_grains_and_its_weight(depth, packed, wide, grains):
    height = expanded_depth(depth, packed, wide)
    assert height * (1.0 - wide) == pytest.approx(depth * (1.0 - packed), rel=1e-12)
    weight = depth * buoyant_gradient(packed, grains, RHO)
    assert height * buoyant_gradient(wide, grains, RHO) == pytest.approx(weight, rel=1e-12)
    excess = (bulk_density(wide, grains, RHO) - RHO) * STANDARD_GRAVITY
    assert height * excess == pytest.approx(weight, rel=1e-9)
