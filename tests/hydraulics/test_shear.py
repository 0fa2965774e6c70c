"""Exact and property: where shear is largest, and what a wash makes of it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from hydraulics.expansion import Sublayer, expand, hindered_exponent
from hydraulics.shear import PACKED_CLEANING, cleaning_factor, shear_factor, sublayer_cleaning

MU, RHO = 1.14e-3, 999.1
exponents = st.floats(2.39, 4.65)
porosities = st.floats(0.01, 0.99)


@pytest.mark.parametrize("exponent", [2.39, 3.0, 3.2, 4.0, 4.65])
def test_shear_is_largest_at_n_less_one_over_n(exponent):
    best = minimize_scalar(lambda e: -shear_factor(e, exponent), bounds=(0.2, 0.95), method="bounded")
    assert best.x == pytest.approx((exponent - 1.0) / exponent, abs=1e-5)
    assert shear_factor((exponent - 1.0) / exponent, exponent) == 1.0


# Amirtharajah (1971, from memory): for filter sand the maximum lies at a porosity of 0.68 to 0.71.
@pytest.mark.parametrize(("exponent", "at"), [(3.2, 0.6875), (3.4, 0.7059)])
def test_for_sand_the_maximum_lies_where_it_was_found(exponent, at):
    assert 0.68 <= at <= 0.71
    assert shear_factor(at, exponent) > max(shear_factor(at - 0.02, exponent), shear_factor(at + 0.02, exponent))


@given(porosities, exponents)
def test_shear_is_a_share_of_the_largest(e, exponent):
    best = (exponent - 1.0) / exponent
    assert 0.0 < shear_factor(e, exponent) <= 1.0
    assert shear_factor(0.5 * (e + best), exponent) >= shear_factor(e, exponent)


@given(st.floats(0.42, 0.85), st.floats(2.8, 3.6))
def test_over_the_range_of_washes_shear_hardly_falls(e, exponent):
    assert shear_factor(e, exponent) > 0.7


@given(exponents)
def test_without_water_or_without_a_bed_there_is_no_shear(exponent):
    assert [shear_factor(e, exponent) for e in (-0.1, 0.0, 1.0, 1.7)] == [0.0] * 4


@given(st.floats(0.0, 0.8), st.floats(0.3, 0.6), exponents)
def test_a_bed_that_does_not_move_is_hardly_cleaned(share, e, exponent):
    assert cleaning_factor(share * 0.008, 0.008, porosity=e, exponent=exponent) == PACKED_CLEANING


@given(st.floats(0.0, 0.05), st.floats(0.0, 1e-6), st.floats(0.3, 0.6), exponents)
def test_cleaning_has_no_steps_while_the_bed_is_packed(v, more, e, exponent):
    first, second = (cleaning_factor(x, 0.010, porosity=e, exponent=exponent) for x in (v, v + more))
    assert abs(second - first) <= 1.01 * more / (0.2 * 0.010) + 1e-12


SAND = Sublayer(depth=0.2, size=0.7e-3, sphericity=0.8, porosity=0.43, grain_density=2650.0)


def cleaned(v, mu=MU, grains=SAND):
    return sublayer_cleaning(
        v, mu, RHO, size=grains.size, sphericity=grains.sphericity, porosity=grains.porosity,
        grain_density=grains.grain_density, viscous=150.0, inertial=1.75,
    )  # fmt: skip


@given(st.floats(0.0, 0.04), st.floats(2e-4, 2.5e-3), st.floats(6e-4, 1.8e-3))
def test_a_sublayer_is_cleaned_as_its_expansion_says(v, size, mu):
    grains = Sublayer(depth=0.2, size=size, sphericity=0.8, porosity=0.43, grain_density=2650.0)
    lifted = expand(v, mu, RHO, grains, viscous=150.0, inertial=1.75)
    exponent = hindered_exponent(mu, RHO, grains)
    expected = cleaning_factor(v, lifted.fluidising, porosity=lifted.porosity, exponent=exponent)
    assert cleaned(v, mu, grains) == pytest.approx(expected, rel=1e-9)


def test_what_a_weak_wash_loses_is_what_never_lifts():
    coarse = Sublayer(depth=0.2, size=1.4e-3, sphericity=0.8, porosity=0.43, grain_density=2650.0)
    weak, strong = 25.0 / 3600.0, 60.0 / 3600.0
    assert cleaned(weak) > 0.9
    assert cleaned(weak, grains=coarse) == PACKED_CLEANING
    assert cleaned(strong, grains=coarse) > 0.7


def test_warm_water_cleans_less_where_it_no_longer_lifts():
    v = 15.0 / 3600.0
    assert cleaned(v, mu=1.5e-3) > 0.7 > cleaned(v, mu=0.83e-3)


def test_grains_that_are_carried_away_are_not_cleaned():
    assert cleaned(0.2) == 0.0
