"""Property and exact: head loss, its signs, its limits, and where the laws meet."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hydraulics.headloss import (
    ergun_gradient,
    grain_reynolds,
    inertial_factor,
    linear_growth_gradient,
    mat_loss,
    narrowed_porosity,
    square_law_loss,
    viscous_factor,
)
from tests.cross_checks import carman_kozeny_gradient

velocities = st.floats(1e-6, 0.05)
porosities = st.floats(0.1, 0.9)
sizes = st.floats(1e-4, 5e-3)
sphericities = st.floats(0.3, 1.0)
MU, RHO = 1.1e-3, 999.1


def ergun(v, size, sphericity, porosity, mu=MU, viscous=150.0, inertial=1.75):
    return ergun_gradient(
        v, mu, RHO, size=size, sphericity=sphericity, porosity=porosity, viscous=viscous, inertial=inertial
    )


def kozeny(v, size, sphericity, porosity, mu=MU, viscous=180.0):
    return carman_kozeny_gradient(v, mu, size=size, sphericity=sphericity, porosity=porosity, viscous=viscous)


@given(sizes, sphericities, porosities)
def test_still_water_has_no_loss(size, sphericity, porosity):
    assert ergun(0.0, size, sphericity, porosity) == 0.0
    assert kozeny(0.0, size, sphericity, porosity) == 0.0
    assert linear_growth_gradient(5.0, 900.0, v=0.0, v_ref=0.003, mu=MU, mu_ref=MU) == 0.0
    assert square_law_loss(4e9, 0.0) == 0.0
    assert mat_loss(1e10, MU, 0.0, mass_per_area=50.0) == 0.0


@given(velocities, sizes, sphericities, porosities)
def test_reverse_flow_has_the_opposite_loss(v, size, sphericity, porosity):
    assert ergun(-v, size, sphericity, porosity) == -ergun(v, size, sphericity, porosity)
    assert kozeny(-v, size, sphericity, porosity) == -kozeny(v, size, sphericity, porosity)
    assert square_law_loss(4e9, -v) == -square_law_loss(4e9, v)


@given(velocities, st.floats(1.01, 3.0), sizes, sphericities, porosities)
def test_loss_rises_with_rate_and_viscosity_and_falls_with_size_and_porosity(
    v, more, size, sphericity, porosity
):
    loss = ergun(v, size, sphericity, porosity)
    assert loss > 0.0
    assert ergun(more * v, size, sphericity, porosity) > more * loss * (1.0 - 1e-12)
    assert ergun(v, size, sphericity, porosity, mu=more * MU) > loss
    assert ergun(v, more * size, sphericity, porosity) < loss
    assert ergun(v, size, sphericity, 1.0 - (1.0 - porosity) / more) < loss


@given(velocities, sizes, sphericities, porosities)
def test_ergun_without_its_inertial_term_is_carman_kozeny_with_its_coefficient(v, size, sphericity, porosity):
    laminar = ergun(v, size, sphericity, porosity, inertial=0.0)
    assert laminar == pytest.approx(kozeny(v, size, sphericity, porosity, viscous=150.0), rel=1e-14)


@given(velocities, sizes, sphericities, porosities)
def test_the_reynolds_number_is_the_ratio_of_the_terms_of_ergun(v, size, sphericity, porosity):
    laminar = ergun(v, size, sphericity, porosity, inertial=0.0)
    inertial = ergun(v, size, sphericity, porosity, viscous=0.0)
    reynolds = grain_reynolds(v, size, sphericity=sphericity, rho=RHO, mu=MU)
    assert inertial / laminar == pytest.approx(1.75 / 150.0 * reynolds / (1.0 - porosity), rel=1e-12)


@given(porosities, st.floats(0.0, 0.09))
def test_porosity_factors_fall_as_pores_widen(porosity, more):
    assert viscous_factor(porosity + more) <= viscous_factor(porosity)
    assert inertial_factor(porosity + more) <= inertial_factor(porosity)
    assert viscous_factor(1.0) == inertial_factor(1.0) == 0.0


@given(porosities, st.floats(0.0, 60_000.0), st.floats(0.0, 5000.0))
def test_porosity_narrows_with_deposit_down_to_the_floor(porosity, deposit, more):
    def left(held):
        return narrowed_porosity(porosity, held, 60_000.0, floor=0.05)

    assert left(0.0) == porosity
    assert 0.05 <= left(deposit + more) <= left(deposit) <= porosity
    assert left(math.inf) == 0.05


@given(st.floats(0.0, 10_000.0), st.floats(0.1, 4.0))
def test_linear_growth_is_proportional_to_deposit_rate_and_viscosity(deposit, factor):
    def added(held, v, mu):
        return linear_growth_gradient(5.0, held, v=v, v_ref=0.0033, mu=mu, mu_ref=MU)

    base = added(deposit, 0.0033, MU)
    assert base == pytest.approx(5.0 * deposit, rel=1e-14)
    assert added(factor * deposit, 0.0033, MU) == pytest.approx(factor * base, rel=1e-14)
    assert added(deposit, factor * 0.0033, MU) == pytest.approx(factor * base, rel=1e-14)
    assert added(deposit, 0.0033, factor * MU) == pytest.approx(factor * base, rel=1e-14)


@given(st.floats(0.0, 500.0), st.floats(0.0, 500.0))
def test_two_mats_on_one_another_lose_what_they_lose_apart(first, second):
    def loss(mass):
        return mat_loss(1e10, MU, 0.003, mass_per_area=mass)

    assert loss(first + second) == pytest.approx(loss(first) + loss(second), rel=1e-12)
