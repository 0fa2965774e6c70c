"""Exact and property: the dimensionless numbers of the accumulator."""

import math

import mpmath
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hydraulics.capture import exchange, load_of_exchange, outlet_share
from tests.cross_checks import exchange_to_share

positive = st.floats(1e-8, 300.0)
ROUNDING = 1e-15
GRID = [10.0 ** (-8.0 + 0.25 * i) for i in range(42)] + [300.0]  # 1e-8 to 177.8, and 300
AROUND_THE_BRANCH = [0.9, math.nextafter(1.0, 0.0), 1.0, math.nextafter(1.0, 2.0), 1.1]


def defined_exchange(a, b):
    """The definition of X(a, b) to 300 digits: enough for e^-600 beside 1."""
    with mpmath.workdps(300):
        return -mpmath.log(1 - (1 - mpmath.exp(-mpmath.mpf(a))) * (1 - mpmath.exp(-mpmath.mpf(b))))


@pytest.mark.parametrize("a", GRID + AROUND_THE_BRANCH)
def test_exchange_keeps_its_digits_over_the_whole_range(a):
    for b in GRID + AROUND_THE_BRANCH:
        assert abs(exchange(a, b) / defined_exchange(a, b) - 1) < ROUNDING


@given(positive, positive)
def test_exchange_is_symmetric_positive_and_at_most_the_lesser(a, b):
    gained = exchange(a, b)
    assert gained == exchange(b, a)
    assert 0.0 < gained <= min(a, b) * (1.0 + ROUNDING)


@given(st.floats(1e-3, 300.0), st.floats(0.0, 0.999))
def test_the_load_of_an_exchange_is_exchanged_for_it(a, share):
    """Digits are lost where the gain is a small part of what is free."""
    load = load_of_exchange(a, share * a)
    assert exchange(a, load) == pytest.approx(share * a, rel=1e-9, abs=1e-12)
    assert load_of_exchange(a, a) == math.inf


@given(positive)
def test_nothing_is_exchanged_without_load_or_without_free_capacity(a):
    assert exchange(a, 0.0) == exchange(0.0, a) == 0.0


@given(positive)
def test_an_endless_load_fills_all_that_is_free(a):
    assert exchange(a, 1e4) == pytest.approx(a, rel=ROUNDING)


@given(positive, positive, positive)
def test_two_loads_one_after_the_other_do_what_both_do_at_once(a, first, second):
    after_first = exchange(a, first)
    in_two = after_first + exchange(a - after_first, second)
    assert in_two == pytest.approx(exchange(a, first + second), rel=1e-12)


@given(st.floats(-20.0, -1e-6), positive)
def test_an_overfull_bed_gives_up_its_excess_at_most(excess, b):
    assert excess * (1.0 + 1e-9) <= exchange(excess, b) <= 0.0


@given(positive, positive)
def test_outlet_share_is_what_exchange_leaves_over(a, b):
    with mpmath.workdps(300):
        load, step = mpmath.mpf(b), mpmath.mpf(10) ** -100
        gained = (defined_exchange(a, load + step) - defined_exchange(a, load - step)) / (2 * step)
        assert abs(outlet_share(a, b) - (1 - gained)) < 1e-15


@given(positive, positive, st.floats(1e-3, 10.0))
def test_outlet_share_rises_with_load_and_falls_with_depth(a, b, more):
    share = outlet_share(a, b)
    assert 0.0 < share <= 1.0
    assert outlet_share(a, b + more) >= share
    assert outlet_share(a + more, b) <= share


@given(st.floats(0.0, 700.0))
def test_outlet_share_of_an_unloaded_layer_is_that_of_iwasaki(a):
    assert outlet_share(a, 0.0) == pytest.approx(math.exp(-a), rel=1e-15)
    assert outlet_share(0.0, a) == 1.0


@pytest.mark.parametrize("a", [0.0, 1.0, 700.0, 5000.0])
@pytest.mark.parametrize("b", [0.0, 1.0, 700.0, 5000.0])
def test_outlet_share_does_not_overflow(a, b):
    assert 0.0 <= outlet_share(a, b) <= 1.0


@given(positive, st.floats(1e-6, 1.0 - 1e-6))
def test_exchange_to_share_and_outlet_share_are_inverses(a, share):
    b = exchange_to_share(a, share)
    if b >= 0.0:
        assert outlet_share(a, b) == pytest.approx(share, rel=1e-9)
    else:
        assert share < math.exp(-a)
