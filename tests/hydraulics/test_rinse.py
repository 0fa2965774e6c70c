"""Exact and property: tanks in series."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.special import gammainc, gammaincc

from hydraulics.errors import DomainError
from hydraulics.rinse import (
    pulse_moments,
    remaining_both,
    remaining_integral,
    remaining_share,
    tanks_from_pulse,
)

volumes = st.floats(1e-8, 20.0)
tank_counts = st.integers(1, 100)


@given(volumes, tank_counts)
def test_remaining_share_is_the_regularised_gamma_function(x, tanks):
    expected = gammaincc(tanks, tanks * x)
    assert remaining_share(x, tanks) == pytest.approx(expected, rel=1e-11, abs=1e-100)


@given(volumes, tank_counts)
def test_the_integral_is_its_textbook_form(x, tanks):
    expected = x * gammaincc(tanks, tanks * x) + gammainc(tanks + 1, tanks * x)
    assert remaining_integral(x, tanks) == pytest.approx(expected, rel=1e-12)


@given(volumes, tank_counts)
def test_both_at_once_are_what_they_are_one_by_one(x, tanks):
    share, integral = remaining_both(x, tanks)
    assert share == remaining_share(x, tanks)
    assert integral == pytest.approx(remaining_integral(x, tanks), rel=1e-12, abs=1e-15)


@given(st.floats(1e-3, 8.0), st.integers(1, 20))
def test_the_integral_is_the_integral(x, tanks):
    area, _ = quad(remaining_share, 0.0, x, args=(tanks,), epsabs=0.0, epsrel=1e-11, limit=200)
    assert remaining_integral(x, tanks) == pytest.approx(area, rel=1e-10)


@given(volumes, st.floats(0.0, 5.0), tank_counts)
def test_what_is_left_falls_and_what_is_gone_rises(x, more, tanks):
    left, later = remaining_share(x, tanks), remaining_share(x + more, tanks)
    assert 0.0 <= later <= left * (1.0 + 1e-13) + 1e-100
    assert left <= 1.0 + 1e-13
    assert remaining_integral(x, tanks) <= remaining_integral(x + more, tanks) * (1.0 + 1e-13) <= 1.0 + 1e-12


@pytest.mark.parametrize("tanks", [1, 3, 50])
def test_at_the_ends(tanks):
    assert remaining_share(0.0, tanks) == remaining_share(-1.0, tanks) == 1.0
    assert remaining_integral(0.0, tanks) == remaining_integral(-1.0, tanks) == 0.0
    assert remaining_integral(1e-9, tanks) == pytest.approx(1e-9, rel=1e-7)
    assert remaining_share(1e6, tanks) == 0.0
    assert remaining_integral(1e6, tanks) == pytest.approx(1.0, rel=1e-13)
    assert remaining_both(0.0, tanks) == remaining_both(-1.0, tanks) == (1.0, 0.0)


@given(volumes)
def test_one_tank_is_a_stirred_tank(x):
    assert remaining_share(x, 1) == math.exp(-x)


@pytest.mark.parametrize("tanks", [1, 2, 3, 8])
def test_a_pulse_and_its_number_of_tanks_are_inverses(tanks):
    times = [0.001 * i for i in range(20_000)]
    signal = [t ** (tanks - 1) * math.exp(-tanks * t) for t in times]
    mean, _ = pulse_moments(times, signal)
    assert mean == pytest.approx(1.0, rel=1e-5)
    assert tanks_from_pulse(times, signal) == pytest.approx(tanks, rel=1e-4)


@pytest.mark.parametrize(
    ("times", "signal", "what"),
    [
        ([], [], "area under the pulse"),
        ([0.0, 1.0, 2.0], [0.0, 0.0, 0.0], "area under the pulse"),
        ([0.0, 2.0, 1.0], [0.0, 1.0, 0.0], "one signal for each rising time"),
        ([0.0, 1.0], [0.0, 1.0, 0.0], "one signal for each rising time"),
        ([0.0, 1.0, 2.0], [0.0, 1.0, 0.0], "variance of the pulse"),
    ],
)
def test_a_pulse_that_says_nothing_is_refused(times, signal, what):
    with pytest.raises(DomainError, match=what):
        tanks_from_pulse(times, signal)
