"""Exact and property: tanks in series."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from hydraulics.rinse import remaining_both
from tests.cross_checks import remaining_integral, remaining_share

volumes = st.floats(1e-8, 20.0)
tank_counts = st.integers(1, 100)


@given(volumes, tank_counts)
def test_what_is_left_and_what_is_gone_are_incomplete_gamma_functions(x, tanks):
    share, integral = remaining_both(x, tanks)
    assert share == pytest.approx(remaining_share(x, tanks), rel=1e-11, abs=1e-100)
    assert integral == pytest.approx(remaining_integral(x, tanks), rel=1e-12, abs=1e-15)


@given(st.floats(1e-3, 8.0), st.integers(1, 20))
def test_the_integral_is_the_integral(x, tanks):
    area, _ = quad(lambda y: remaining_both(y, tanks)[0], 0.0, x, epsabs=0.0, epsrel=1e-11, limit=200)
    assert remaining_both(x, tanks)[1] == pytest.approx(area, rel=1e-10)


@given(volumes, st.floats(0.0, 5.0), tank_counts)
def test_what_is_left_falls_and_what_is_gone_rises(x, more, tanks):
    (left, gone), (left_later, gone_later) = remaining_both(x, tanks), remaining_both(x + more, tanks)
    assert 0.0 <= left_later <= left * (1.0 + 1e-13) + 1e-100
    assert left <= 1.0 + 1e-13
    assert gone <= gone_later * (1.0 + 1e-13) + 1e-15
    assert gone_later <= 1.0 + 1e-12


@pytest.mark.parametrize("tanks", [1, 3, 50])
def test_at_the_ends(tanks):
    assert remaining_both(0.0, tanks) == remaining_both(-1.0, tanks) == (1.0, 0.0)
    assert remaining_both(1e-9, tanks)[1] == pytest.approx(1e-9, rel=1e-5)
    left, gone = remaining_both(1e6, tanks)
    assert left == 0.0
    assert gone == pytest.approx(1.0, rel=1e-13)


@given(volumes)
def test_one_tank_is_a_stirred_tank(x):
    assert remaining_both(x, 1)[0] == math.exp(-x)
