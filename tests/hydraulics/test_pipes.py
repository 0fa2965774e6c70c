"""Exact and property: losses, supplies and the flow that comes of them."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hydraulics.errors import DomainError
from hydraulics.pipes import (
    available_pressure,
    branch_pressure,
    flow_reached,
    friction_factor,
    orifice_flow,
    orifice_loss,
    pipe_loss,
    static_pressure,
    supply_curve,
)

MU, RHO = 1.14e-3, 999.1
PUMP = supply_curve([0.0, 0.002, 0.004, 0.006], [3.2e5, 3.0e5, 2.3e5, 0.8e5])
flows = st.floats(1e-7, 0.02)


def drain_pipe(q, diameter=0.05):
    return pipe_loss(q, MU, RHO, diameter=diameter, length=12.0, roughness=1.5e-6, fittings=3.5)


def restrictor(q, hole=0.030):
    return orifice_loss(q, RHO, hole=hole, pipe=0.05, discharge=0.61)


def to_drain(q):
    return static_pressure(1.5, RHO) + restrictor(q) + drain_pipe(q)


def nothing(_):
    return 0.0


def reached(asked=1.0, supply=PUMP, shared_loss=nothing, wash_loss=to_drain, others=0.0):
    return flow_reached(asked, supply, shared_loss=shared_loss, wash_loss=wash_loss, others=others)


# Losses


@given(flows, st.floats(1.01, 3.0), st.floats(0.01, 0.2))
def test_pipe_loss_rises_with_flow_and_falls_with_width(q, more, diameter):
    assert 0.0 < drain_pipe(q, diameter) < drain_pipe(more * q, diameter)
    assert drain_pipe(q, diameter) > drain_pipe(q, more * diameter)
    assert drain_pipe(-q, diameter) == -drain_pipe(q, diameter)


def test_no_flow_loses_nothing():
    assert drain_pipe(0.0) == restrictor(0.0) == orifice_flow(0.0, RHO, hole=0.03, pipe=0.05, discharge=0.61) == 0.0
    assert static_pressure(-1.5, RHO) == -static_pressure(1.5, RHO)


@given(flows, st.floats(0.005, 0.049))
def test_restrictor_and_its_inverse(q, hole):
    assert orifice_flow(restrictor(q, hole), RHO, hole=hole, pipe=0.05, discharge=0.61) == pytest.approx(q, rel=1e-12)
    assert restrictor(-q, hole) == -restrictor(q, hole)
    assert restrictor(2.0 * q, hole) == pytest.approx(4.0 * restrictor(q, hole), rel=1e-12)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: drain_pipe(0.001, 0.0), "pipe diameter: given 0 m"),
        (lambda: friction_factor(0.0, 1e-4), "pipe Reynolds number"),
        (lambda: friction_factor(1e5, -1e-4), "relative roughness"),
        (lambda: restrictor(0.001, 0.05), "hole of a restrictor: given 0.05 m, allowed above 0 m and below 0.05 m"),
        (lambda: supply_curve([0.0], [3e5]), "supply curve: given 1 flows, 1 pressures"),
        (lambda: supply_curve([0.0, 0.1], [3e5]), "supply curve"),
        (lambda: supply_curve([0.1, 0.2], [3e5, 2e5]), "flows of a supply curve"),
        (lambda: supply_curve([0.0, 0.2, 0.2], [3e5, 2e5, 1e5]), "flows of a supply curve"),
        (lambda: supply_curve([0.0, 0.2], [2e5, 3e5]), "pressures of a supply curve"),
        (lambda: available_pressure(0.0061, PUMP), r"flow from a supply: given 0.0061 m3/s, allowed 0 to 0.006 m3/s"),
        (lambda: available_pressure(-1e-9, PUMP), "flow from a supply"),
        (lambda: reached(asked=-0.001), "wash flow"),
        (lambda: reached(others=0.0061), "flow from a supply"),
    ],
)
def test_what_means_nothing_is_refused(call, message):
    with pytest.raises(DomainError, match=message):
        call()


# Supply


def test_a_supply_goes_through_its_points_and_straight_between_them():
    points = list(zip(PUMP.flows, PUMP.pressures, strict=True))
    assert [available_pressure(q, PUMP) for q, _ in points] == [p for _, p in points]
    assert available_pressure(0.005, PUMP) == pytest.approx(1.55e5, rel=1e-12)


@given(st.floats(0.0, 0.006), st.floats(0.0, 0.006))
def test_a_supply_never_rises(one, other):
    less, more = sorted((one, other))
    assert available_pressure(less, PUMP) >= available_pressure(more, PUMP)


# The flow reached


@given(st.floats(0.0, 0.005), st.floats(0.015, 0.045), st.floats(0.02, 0.06))
def test_at_the_flow_reached_the_pressures_balance(others, hole, diameter):
    def shared(q):
        return drain_pipe(q, diameter)

    def path(q):
        return static_pressure(1.5, RHO) + restrictor(q, hole)

    q = reached(shared_loss=shared, wash_loss=path, others=others)
    if q == 0.0:
        assert branch_pressure(others, PUMP, shared) <= path(0.0)
    elif q == PUMP.flows[-1] - others:
        assert branch_pressure(PUMP.flows[-1], PUMP, shared) >= path(q)
    else:
        assert branch_pressure(others + q, PUMP, shared) == pytest.approx(path(q), rel=1e-6)


# Where the friction of a pipe jumps from laminar to turbulent there may be no balance: the root is at the jump.
@given(st.floats(100.0, 3000.0))
def test_the_jump_of_friction_is_no_obstacle(pressure):
    limit = supply_curve([0.0, 0.01], [pressure, pressure])

    def loss(q):
        return pipe_loss(q, MU, RHO, diameter=0.02, length=20.0, roughness=0.0, fittings=0.0)

    q = reached(supply=limit, wash_loss=loss)
    assert loss(q * (1.0 - 1e-9)) <= pressure <= loss(q * (1.0 + 1e-9))


def test_no_more_flows_than_is_asked_for():
    free = reached()
    assert 0.0 < free < PUMP.flows[-1]
    assert reached(asked=0.5 * free) == 0.5 * free
    assert reached(asked=0.0) == 0.0


def test_a_supply_without_pressure_for_the_rise_moves_nothing():
    assert reached(wash_loss=lambda q: static_pressure(40.0, RHO) + drain_pipe(q)) == 0.0


def test_a_limit_ends_the_flow_whatever_the_pressure():
    limit = supply_curve([0.0, 0.0011], [9e5, 9e5])
    assert reached(supply=limit) == 0.0011
    assert reached(supply=limit, others=0.0004) == pytest.approx(0.0007, rel=1e-12)
    assert reached(supply=limit, others=0.0011) == 0.0


@given(st.floats(0.0, 0.004), st.floats(1e-5, 0.001), st.floats(0.01, 0.03))
def test_what_others_draw_a_wash_misses(others, more, hole):
    def path(q):
        return restrictor(q, hole)

    alone = reached(wash_loss=path, shared_loss=drain_pipe, others=others)
    together = reached(wash_loss=path, shared_loss=drain_pipe, others=others + more)
    assert together <= alone * (1.0 + 1e-9)
    assert reached(wash_loss=lambda q: 1.2 * path(q), shared_loss=drain_pipe, others=others) <= alone * (1.0 + 1e-9)


# A second vessel that washes through a path of the same kind draws what the first does: the pair is the root of one
# balance at twice the flow.
def test_two_washes_at_once_share_what_there_is():
    alone = reached(shared_loss=drain_pipe)
    each = 0.5 * reached(shared_loss=drain_pipe, wash_loss=lambda q: to_drain(0.5 * q))
    assert 0.5 * alone < each < alone
    assert reached(shared_loss=drain_pipe, others=each) == pytest.approx(each, rel=1e-6)


def test_a_wash_takes_pressure_from_the_service_on_the_same_line():
    service = 0.0012
    wash = reached(asked=3.0 * service, shared_loss=drain_pipe, others=service)
    before = branch_pressure(service, PUMP, drain_pipe)
    during = branch_pressure(service + wash, PUMP, drain_pipe)
    assert math.isfinite(during)
    assert during < before
