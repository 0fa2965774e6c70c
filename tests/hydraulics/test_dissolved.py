"""Exact and property: oxidants in the water, iron by air, carbon and brine."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hydraulics.brine import brine_strength, brine_volume, dissolved_after
from hydraulics.carbon import grown_half_length, passing_share
from hydraulics.errors import DomainError
from hydraulics.oxidation import air_converted, air_rate, water_exponent
from hydraulics.stoichiometry import EQUIVALENTS, converted

amounts = st.floats(0.0, 1e4)
needs = st.floats(1e-2, 1e2)


@given(amounts, amounts, needs)
def test_one_is_spent_and_the_other_keeps_what_it_did_not_meet(reduced, oxidant, need):
    left, surplus = converted(reduced, oxidant, need)
    assert min(left, surplus) == 0.0
    assert 0.0 <= left <= reduced
    assert 0.0 <= surplus <= oxidant
    rounding = 1e-12 * (oxidant + need * reduced)
    assert need * (reduced - left) == pytest.approx(oxidant - surplus, rel=1e-9, abs=rounding)


@given(amounts, amounts, amounts, needs)
def test_oxidant_in_two_doses_does_what_it_does_at_once(reduced, first, second, need):
    left, surplus = converted(reduced, first, need)
    left, surplus = converted(left, surplus + second, need)
    at_once = converted(reduced, first + second, need)
    assert (left, surplus) == pytest.approx(at_once, rel=1e-6, abs=1e-6)


def test_sulphate_takes_four_times_the_oxidant_of_sulphur():
    """Definition: eight electrons and two."""
    assert EQUIVALENTS["sulphide to sulphate"] == 4.0 * EQUIVALENTS["sulphide to sulphur"]
    assert EQUIVALENTS["free_chlorine"] == EQUIVALENTS["combined_chlorine"]


@given(amounts, st.floats(0.0, 10.0), st.floats(0.0, 3600.0), st.floats(0.0, 3600.0))
def test_air_converts_in_two_stays_what_it_does_in_one(iron, rate, first, second):
    once = air_converted(iron, rate, first)
    assert 0.0 <= once <= iron
    again = once + air_converted(iron - once, rate, second)
    assert again == pytest.approx(air_converted(iron, rate, first + second), rel=1e-12, abs=1e-12)


@given(st.floats(0.0, 13.0), st.floats(0.0, 49.0))
def test_air_is_faster_at_a_higher_ph_and_in_warmer_water(acidity, temperature):
    rate = air_rate(acidity, temperature)
    assert 0.0 < rate < air_rate(acidity, temperature + 1.0)
    assert air_rate(acidity + 1.0, temperature) == pytest.approx(100.0 * rate, rel=1e-9)


@given(st.floats(0.0, 3.0), st.floats(0.01, 3.0), st.floats(0.0, 3.0))
def test_chlorine_through_two_beds_passes_as_through_one(depth, half_length, more):
    both = passing_share(depth, half_length) * passing_share(more, half_length)
    assert both == pytest.approx(passing_share(depth + more, half_length), rel=1e-12)
    assert 0.0 <= both <= 1.0


@given(st.floats(0.01, 1.0), st.floats(0.0, 2.0), st.floats(0.0, 5.0), st.floats(0.0, 5.0))
def test_a_half_length_grows_by_the_same_factor_each_year(half_length, growth, years, more):
    later = grown_half_length(grown_half_length(half_length, growth, years), growth, more)
    assert later == pytest.approx(grown_half_length(half_length, growth, years + more), rel=1e-12)
    assert later >= half_length


@given(st.floats(1e-3, 1.0), st.floats(0.0, 358.0))
def test_brine_is_more_than_its_water_and_holds_all_its_salt(water, grams_per_litre):
    salt = 1e3 * grams_per_litre * water
    assert water <= brine_volume(water, salt) <= 1.13 * water
    assert brine_strength(water, salt) * brine_volume(water, salt) == pytest.approx(salt, rel=1e-12)


@given(amounts, amounts, st.floats(0.0, 1e5), st.floats(0.0, 1e5), st.floats(60.0, 1e5))
def test_salt_dissolves_toward_what_the_water_holds_and_never_comes_out(dissolved, most, first, second, dissolving):
    once = dissolved_after(dissolved, most, first, dissolving)
    assert dissolved <= once <= max(dissolved, most) * (1.0 + 1e-12)
    again = dissolved_after(once, most, second, dissolving)
    assert again == pytest.approx(dissolved_after(dissolved, most, first + second, dissolving), rel=1e-9)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: air_rate(-0.1, 20.0), "pH: given -0.1, allowed 0 to 14"),
        (lambda: air_rate(14.1, 20.0), "pH: given 14.1"),
        (lambda: water_exponent(-0.1), "water temperature: given -0.1 degC, allowed 0 to 50 degC"),
        (lambda: air_rate(7.0, 50.1), "water temperature: given 50.1 degC"),
        (lambda: passing_share(-0.1, 0.05), "depth of carbon: given -0.1 m"),
        (lambda: passing_share(1.0, 0.0), "half-length: given 0 m"),
        (lambda: grown_half_length(0.0, 0.1, 1.0), "half-length: given 0 m"),
        (lambda: grown_half_length(0.1, -0.1, 1.0), "growth of the half-length: given -0.1 a year"),
        (lambda: grown_half_length(0.1, 0.1, -1.0), "years in service: given -1"),
        (lambda: brine_volume(-1.0, 1.0), "water of a brine: given -1 m3, allowed 0 m3 or more"),
        (lambda: brine_volume(1.0, -1.0), "salt of a brine: given -1 g"),
        (lambda: brine_strength(0.0, 1.0), "water of a brine: given 0 m3, allowed above 0 m3"),
        (lambda: dissolved_after(-1.0, 1.0, 1.0, 1.0), "dissolved salt: given -1 g"),
        (lambda: dissolved_after(1.0, math.nan, 1.0, 1.0), "most that dissolves: given nan g"),
        (lambda: dissolved_after(1.0, 1.0, -1.0, 1.0), "time to dissolve: given -1 s"),
        (lambda: dissolved_after(1.0, 1.0, 1.0, -1.0), "dissolving time of salt: given -1 s"),
    ],
)
def test_what_lies_outside_a_law_is_refused(call, message):
    with pytest.raises(DomainError, match=message):
        call()


def test_the_ends_of_the_ranges_belong_to_them():
    assert air_rate(0.0, 0.0) < air_rate(14.0, 50.0)
    assert passing_share(0.0, 0.05) == 1.0
    assert grown_half_length(0.05, 0.0, 0.0) == 0.05
    assert brine_volume(0.0, 0.0) == 0.0
    assert brine_strength(1.0, 0.0) == 0.0
    assert dissolved_after(0.0, 0.0, 0.0, 1.0) == 0.0


@given(amounts, amounts, st.floats(0.0, 1e5))
def test_salt_that_takes_no_time_is_dissolved_at_once(dissolved, most, seconds):
    assert dissolved_after(dissolved, most, seconds, 0.0) == max(dissolved, most)
