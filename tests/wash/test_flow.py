"""Exact and property: the flow that a backwash reaches."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hydraulics import water
from hydraulics.pipes import orifice_flow
from sim.case.stage.records import Step
from sim.case.wash.records import Sump
from sim.wash.flow import SHARED_RELATIVE, branch_pressure, wash_flow, wash_flows, wash_loss
from tests.plant.builders import BACKWASH, M3_H, RINSE, make_case
from tests.wash.made import HOLE, drain, pipe, sand_stage, steady_supply

COLD, WARM = 5.0, 25.0
SETTLE = Step(do="settle", seconds=120.0, flow=0.0, water="raw", water_solids=None, cleaning_rate=None)
PUMP = replace(steady_supply(0.0), flows=(0.0, 10 * M3_H, 20 * M3_H), pressures=(4e5, 3.4e5, 1.8e5))


def test_without_a_supply_any_flow_is_reached() -> None:
    assert wash_flow(make_case(drain=drain(pipe=pipe(diameter=0.01))), sand_stage(), BACKWASH, COLD) == BACKWASH.flow


def test_a_plentiful_supply_gives_what_is_asked() -> None:
    assert wash_flow(make_case(supply=steady_supply(4e5)), sand_stage(), BACKWASH, COLD) == BACKWASH.flow


def test_a_weak_supply_gives_what_balances_the_lifted_bed_and_the_valve() -> None:
    """By hand: 20 kPa less the bed's weight under water, 0.5 m x 0.58 x (2650 - 999.103) x 9.80665, over 1e9 q^2."""
    weight = 0.5 * 0.58 * (2650.0 - 999.102619) * 9.80665
    assert weight == pytest.approx(4695.0, abs=0.1)
    stage = sand_stage(valve_constant=1e9)
    reached = wash_flow(make_case(supply=steady_supply(20e3)), stage, BACKWASH, 15.0)
    assert reached == pytest.approx(math.sqrt((20e3 - weight) / 1e9), rel=1e-7)
    assert reached < BACKWASH.flow


def test_a_restrictor_alone_lets_through_what_its_law_says() -> None:
    stage = sand_stage(restrictor=HOLE)
    weight = wash_loss(sand_stage(), None, BACKWASH.flow, 15.0)
    alone = orifice_flow(1e5, water.density(15.0), hole=HOLE.hole, pipe=HOLE.pipe, discharge=HOLE.discharge)
    reached = wash_flow(make_case(supply=steady_supply(1e5 + weight)), stage, BACKWASH, 15.0)
    assert reached == pytest.approx(alone, rel=1e-9)
    assert reached < BACKWASH.flow


def test_rises_on_both_sides_count() -> None:
    """By hand: 10 m of water column cost 98 kPa, wherever they stand."""
    stage = sand_stage(valve_constant=1e9)
    low = wash_flow(make_case(supply=steady_supply(20e3)), stage, BACKWASH, 15.0)
    lift = water.density(15.0) * 9.80665 * 10.0
    flat = pipe(length=0.0, fittings=0.0, rise=10.0)
    before = make_case(supply=steady_supply(20e3 + lift, pipe=flat))
    behind = make_case(supply=steady_supply(20e3 + lift), drain=drain(pipe=flat))
    assert wash_flow(before, stage, BACKWASH, 15.0) == pytest.approx(low, rel=1e-9)
    assert wash_flow(behind, stage, BACKWASH, 15.0) == pytest.approx(low, rel=1e-9)


def test_what_others_draw_leaves_less() -> None:
    stage = sand_stage(restrictor=HOLE)
    shared = make_case(supply=replace(PUMP, pipe=pipe(rise=1.0)))
    alone = wash_flow(shared, stage, BACKWASH, COLD)
    beside = wash_flow(shared, stage, BACKWASH, COLD, others=5.5 * M3_H)
    told = make_case(supply=replace(PUMP, pipe=pipe(rise=1.0), others=5.5 * M3_H))
    assert 0.0 < beside < alone < BACKWASH.flow
    assert wash_flow(told, stage, BACKWASH, COLD) == beside
    # With a pipe that loses nothing to speak of, what is left over is the end of the curve.
    bare = make_case(supply=steady_supply(4e5, limit=15 * M3_H))
    assert wash_flow(bare, sand_stage(), BACKWASH, COLD, others=5 * M3_H) == pytest.approx(10 * M3_H)
    assert wash_flow(bare, sand_stage(), BACKWASH, COLD, others=15 * M3_H) == 0.0
    assert wash_flow(bare, sand_stage(), BACKWASH, COLD, others=99 * M3_H) == 0.0


def test_no_pressure_moves_nothing() -> None:
    up = make_case(supply=steady_supply(50e3), drain=drain(pipe=pipe(rise=6.0)))
    assert wash_flow(up, sand_stage(), BACKWASH, COLD) == 0.0


def test_only_a_backwash_is_driven_by_the_supply() -> None:
    weak = make_case(supply=steady_supply(1e3))
    assert wash_flow(weak, sand_stage(valve_constant=1e9), RINSE, COLD) == RINSE.flow
    assert wash_flow(weak, sand_stage(), SETTLE, COLD) == 0.0


def test_a_drain_that_takes_less_overflows_and_throttles_nothing() -> None:
    small = drain(capacity=M3_H, sump=Sump(flow_limit=M3_H, daily_limit=1.0))
    assert wash_flow(make_case(supply=steady_supply(4e5), drain=small), sand_stage(), BACKWASH, COLD) == BACKWASH.flow


@given(st.floats(1e3, 4e5), st.floats(0.0, 30.0), st.floats(0.0, 10.0))
def test_the_flow_reached_balances_the_pressures(pressure: float, temperature: float, others: float) -> None:
    case = make_case(supply=steady_supply(pressure, pipe=pipe(rise=1.0)), drain=drain(pipe=pipe(rise=0.5)))
    stage = sand_stage(valve_constant=1e9, restrictor=HOLE)
    reached = wash_flow(case, stage, BACKWASH, temperature, others * M3_H)
    assert 0.0 <= reached <= BACKWASH.flow
    if 0.0 < reached < BACKWASH.flow:
        assert case.supply is not None
        assert case.drain is not None
        given_here = branch_pressure(case.supply, reached + others * M3_H, temperature)
        assert given_here == pytest.approx(wash_loss(stage, case.drain.pipe, reached, temperature), rel=1e-6)


@given(st.floats(5e3, 4e5), st.floats(1.0, 3.0))
def test_more_pressure_never_gives_less(pressure: float, more: float) -> None:
    def at(each: float) -> float:
        return wash_flow(make_case(supply=steady_supply(each)), sand_stage(valve_constant=1e9), BACKWASH, 15.0)

    assert at(pressure) <= at(more * pressure) * (1.0 + 1e-9)


def test_equal_washes_share_what_a_supply_has_and_others_leave() -> None:
    """By hand: 15 m3/h at most, 3 m3/h of them drawn elsewhere, so each of two washes gets 6 m3/h."""
    bare = make_case(supply=steady_supply(4e5, limit=15 * M3_H))
    both = wash_flows(bare, ((sand_stage(), BACKWASH),) * 2, COLD, others=3 * M3_H)
    assert both == pytest.approx((6 * M3_H, 6 * M3_H), rel=1e-6)
    told = make_case(supply=replace(steady_supply(4e5, limit=15 * M3_H), others=3 * M3_H))
    assert wash_flows(told, ((sand_stage(), BACKWASH),) * 2, COLD) == both


@pytest.mark.parametrize("count", [2, 3])
def test_unlike_washes_each_get_what_the_others_leave(count: int) -> None:
    shared = make_case(supply=replace(PUMP, pipe=pipe(rise=1.0)), drain=drain(pipe=pipe(rise=0.5)))
    stages = (sand_stage(restrictor=HOLE), sand_stage(valve_constant=2e11), sand_stage(valve_constant=5e11))[:count]
    washes = tuple((stage, BACKWASH) for stage in stages)
    flows = wash_flows(shared, washes, COLD, others=M3_H)
    assert len(set(flows)) == count
    for (stage, step), flow in zip(washes, flows, strict=True):
        left = wash_flow(shared, stage, step, COLD, others=M3_H + sum(flows) - flow)
        assert flow == pytest.approx(left, rel=10 * len(washes) * SHARED_RELATIVE)
    alone = [wash_flow(shared, stage, step, COLD, others=M3_H) for stage, step in washes]
    assert all(less < more for less, more in zip(flows, alone, strict=True))


def test_one_wash_and_washes_without_a_supply_share_nothing() -> None:
    bare = make_case(supply=steady_supply(4e5, limit=15 * M3_H))
    assert wash_flows(bare, ((sand_stage(), BACKWASH),), COLD, 5 * M3_H) == (pytest.approx(10 * M3_H),)
    assert wash_flows(make_case(), ((sand_stage(), BACKWASH),) * 2, COLD) == (BACKWASH.flow,) * 2
