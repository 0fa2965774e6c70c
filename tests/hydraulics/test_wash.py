"""Exact and property: detachment, flushing and their balance."""

import math

import mpmath
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from hydraulics.decay import decay_mean
from hydraulics.shear import sublayer_cleaning
from hydraulics.wash import attached_after, vessel_solids_after
from tests.cross_checks import solids_drained

VOLUME = 0.5
rates = st.one_of(st.just(0.0), st.floats(1e-6, 0.1))
flows = st.one_of(st.just(0.0), st.floats(1e-6, 0.05))
masses = st.floats(0.0, 5000.0)
times = st.floats(0.0, 3600.0)
solids = st.floats(0.0, 50.0)


def left(suspended, attached, rate, seconds, flow, water_solids):
    return vessel_solids_after(
        suspended, attached, rate,
        seconds=seconds, flow=flow, water_volume=VOLUME, water_solids=water_solids,
    )  # fmt: skip


def drained(suspended, attached, rate, seconds, flow, water_solids):
    return solids_drained(
        suspended, attached, rate,
        seconds=seconds, flow=flow, water_volume=VOLUME, water_solids=water_solids,
    )  # fmt: skip


@given(masses, masses, rates, times, flows, solids)
def test_the_wash_closes_its_balance(suspended, attached, rate, seconds, flow, water_solids):
    wash = (suspended, attached, rate, seconds, flow, water_solids)
    came = suspended + attached + flow * water_solids * seconds
    went = drained(*wash) + left(*wash) + attached_after(attached, rate, seconds)
    assert went == pytest.approx(came, rel=1e-12)
    assert left(*wash) >= 0.0
    assert drained(*wash) >= -1e-12 * came


@given(masses, masses, rates, times, times, flows, solids)
def test_a_wash_in_two_parts_is_the_wash_in_one(suspended, attached, rate, first, second, flow, water_solids):
    halfway = left(suspended, attached, rate, first, flow, water_solids)
    in_two = left(halfway, attached_after(attached, rate, first), rate, second, flow, water_solids)
    whole = left(suspended, attached, rate, first + second, flow, water_solids)
    assert in_two == pytest.approx(whole, rel=1e-11, abs=1e-12)


@pytest.mark.parametrize("rate", [0.0, 0.002, 0.0133, 0.05])
@pytest.mark.parametrize("flow", [0.0, 0.001, 0.0133 * VOLUME, 0.02])
def test_the_closed_form_is_the_solution_of_the_balance(rate, flow):
    seconds, start = 600.0, (120.0, 900.0)

    def change(_, held):
        released = rate * held[1]
        return [released - flow / VOLUME * held[0] + flow * 4.0, -released]

    run = solve_ivp(change, (0.0, seconds), start, method="DOP853", rtol=1e-13, atol=1e-11)
    assert left(*start, rate, seconds, flow, 4.0) == pytest.approx(run.y[0, -1], rel=1e-10)
    assert attached_after(start[1], rate, seconds) == pytest.approx(run.y[1, -1], rel=1e-10, abs=1e-10)


@pytest.mark.parametrize("rate", [0.002, 0.0133, 0.05])
def test_drained_solids_are_the_integral_of_what_leaves(rate):
    flow = 0.007
    leaving, _ = quad(lambda t: flow / VOLUME * left(120.0, 900.0, rate, t, flow, 4.0), 0.0, 600.0,
                      epsabs=0.0, epsrel=1e-12)  # fmt: skip
    assert drained(120.0, 900.0, rate, 600.0, flow, 4.0) == pytest.approx(leaving, rel=1e-10)


def test_pools_add_up():
    loose, firm = (800.0, 0.0133), (100.0, 0.001)
    flow, seconds = 0.007, 600.0

    def change(_, held):
        released = loose[1] * held[1] + firm[1] * held[2]
        return [released - flow / VOLUME * held[0] + flow * 4.0, -loose[1] * held[1], -firm[1] * held[2]]

    run = solve_ivp(
        change, (0.0, seconds), (120.0, loose[0], firm[0]), method="DOP853", rtol=1e-13, atol=1e-11
    )
    together = left(120.0, *loose, seconds, flow, 4.0) + left(0.0, *firm, seconds, flow, 0.0)
    assert together == pytest.approx(run.y[0, -1], rel=1e-10)


@pytest.mark.parametrize("apart", [0.0, 1e-18, 1e-12, 1e-9, 1e-6, 1e-3, 0.02])
@pytest.mark.parametrize("side", [-1.0, 1.0])
def test_nearly_equal_rates_lose_no_digits(apart, side):
    turnover, seconds = 0.0133, 600.0
    rate = max(turnover + side * apart, 0.0)
    with mpmath.workdps(60):
        k, q, t = mpmath.mpf(rate), mpmath.mpf(turnover), mpmath.mpf(seconds)
        exact = k * t * mpmath.exp(-k * t)
        if k != q:
            exact = k * (mpmath.exp(-k * t) - mpmath.exp(-q * t)) / (q - k)
    released = vessel_solids_after(
        0.0, 1.0, rate, seconds=seconds, flow=turnover, water_volume=1.0, water_solids=0.0
    )
    assert released == pytest.approx(float(exact), rel=1e-14)


@given(masses, masses, rates, times)
def test_without_flow_everything_stays_in_the_vessel(suspended, attached, rate, seconds):
    assert left(suspended, attached, rate, seconds, 0.0, 50.0) == pytest.approx(
        suspended + attached - attached_after(attached, rate, seconds), rel=1e-12, abs=1e-9
    )


@given(masses, masses, rates, flows, solids)
def test_no_time_changes_nothing(suspended, attached, rate, flow, water_solids):
    assert left(suspended, attached, rate, 0.0, flow, water_solids) == suspended
    assert attached_after(attached, rate, 0.0) == attached


def test_an_endless_wash_leaves_the_wash_water():
    assert left(120.0, 900.0, 0.0133, 1e6, 0.007, 4.0) == pytest.approx(4.0 * VOLUME, rel=1e-12)


@given(st.floats(-50.0, 700.0))
def test_the_mean_decay_keeps_its_digits(x):
    with mpmath.workdps(40):
        exact = float(-mpmath.expm1(-mpmath.mpf(x)) / mpmath.mpf(x)) if x else 1.0
    assert decay_mean(x) == pytest.approx(exact, rel=1e-15)
    assert math.isfinite(decay_mean(x))


# A wash with shear: two pools in each sublayer, cleaned at the rates that its grains and the upflow give.

LOOSE, FIRM = 0.8 / 60.0, 0.06 / 60.0
GRAINS = (0.45e-3, 0.6e-3, 0.75e-3, 1.0e-3)


def pools(upflow, loose=900.0, firm=100.0):
    """Mass and rate of each pool of each sublayer."""
    held = []
    for size in GRAINS:
        factor = sublayer_cleaning(
            upflow, 1.14e-3, 999.1, size=size, sphericity=0.8, porosity=0.43, grain_density=2650.0,
            viscous=150.0, inertial=1.75,
        )  # fmt: skip
        held += [(loose / len(GRAINS), LOOSE * factor), (firm / len(GRAINS), FIRM * factor)]
    return held


def washed(held, suspended, seconds, flow, water_solids):
    """What each pool keeps, what floats in the vessel, what went to the drain."""
    kept = [attached_after(mass, rate, seconds) for mass, rate in held]
    floats = left(suspended, 0.0, 0.0, seconds, flow, water_solids)
    gone = drained(suspended, 0.0, 0.0, seconds, flow, water_solids)
    for mass, rate in held:
        floats += left(0.0, mass, rate, seconds, flow, 0.0)
        gone += drained(0.0, mass, rate, seconds, flow, 0.0)
    return kept, floats, gone


@given(st.floats(0.0, 0.02), masses, masses, masses, times, flows, solids)
def test_the_split_of_a_wash_with_shear_closes(upflow, loose, firm, suspended, seconds, flow, water_solids):
    held = pools(upflow, loose, firm)
    kept, floats, gone = washed(held, suspended, seconds, flow, water_solids)
    came = suspended + sum(mass for mass, _ in held) + flow * water_solids * seconds
    assert sum(kept) + floats + gone == pytest.approx(came, rel=1e-12)
    assert all(0.0 <= after <= mass for after, (mass, _) in zip(kept, held, strict=True))
    assert floats >= 0.0
    assert gone >= -1e-12 * came


@pytest.mark.parametrize("upflow", [0.0, 0.002, 0.005, 0.0075, 0.0125])
@pytest.mark.parametrize("flow", [0.0, 0.004, 0.010])
def test_the_closed_form_of_a_wash_with_shear_is_its_integral(upflow, flow):
    held, seconds = pools(upflow), 600.0

    def change(_, state):
        freed = [rate * mass for (_, rate), mass in zip(held, state[2:], strict=True)]
        out = flow / VOLUME * state[0]
        return [sum(freed) - out + flow * 4.0, out, *(-each for each in freed)]

    start = [120.0, 0.0, *(mass for mass, _ in held)]
    run = solve_ivp(change, (0.0, seconds), start, method="DOP853", rtol=1e-13, atol=1e-11)
    kept, floats, gone = washed(held, 120.0, seconds, flow, 4.0)
    assert [floats, gone, *kept] == pytest.approx(list(run.y[:, -1]), rel=1e-10, abs=1e-10)


def test_a_weak_wash_leaves_what_lies_in_the_sublayers_that_never_lift():
    weak, strong = (washed(pools(v), 0.0, 600.0, 0.008, 0.0)[0] for v in (16.0 / 3600.0, 45.0 / 3600.0))
    fines, coarse = slice(0, 2), slice(-2, None)
    assert sum(weak[fines]) < 2.0 * sum(strong[fines])
    assert sum(weak[coarse]) > 5.0 * sum(strong[coarse])
