"""Exact, published and property: the bed that a wash lifts, and the clean bed in service."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hydraulics.errors import DomainError
from hydraulics.media import sublayer_sizes
from sim.case.stage.records import HeadLoss
from sim.wash.clean_bed import (
    clean_loss,
    expanded_bed,
    expanded_height,
    freeboard,
    packed_depth,
    upflow_loss,
    water_volume,
)
from tests.plant.builders import ANTHRACITE, FILTER, HOUR, M3_H
from tests.wash.made import SAND, sand_stage

AREA = FILTER.vessel.area
temperatures = st.floats(0.0, 40.0)


def test_a_published_expansion_of_one_bed() -> None:
    """Ergun on the expanded bed (form of Akgiray & Saatci 2001, from memory), computed outside this project with g
    9.81, which is 2e-4 of the answer: 0.5 mm, 2650 kg/m3, 15 degC, 40 m/h, coefficients 112 and 2.25, 0.9 m at
    porosity 0.42 come to 1.212730 m at 0.569566.
    """
    laws = HeadLoss(law="ergun", viscous=112.0, inertial=2.25, growth="linear", valve_constant=0.0, tap="vessel")
    spheres = replace(SAND, depth=0.9, sphericity=1.0, porosity=0.42)
    stage = replace(FILTER, layers=(spheres,), head_loss=laws)
    bed = expanded_bed(stage, 40.0 / HOUR * AREA, 15.0)
    assert expanded_height(bed) == pytest.approx(1.212730, rel=2e-4)
    assert bed[0].sublayers[0].porosity == pytest.approx(0.569566, rel=2e-4)
    assert freeboard(stage, 40.0 / HOUR * AREA, 15.0) == pytest.approx(1.5 - 1.212730, abs=3e-4)


def test_a_bed_at_rest() -> None:
    """By hand: 0.45 m and 0.25 m; grains take 0.52 and 0.58 of them."""
    assert packed_depth(FILTER) == pytest.approx(0.70)
    assert freeboard(FILTER, 0.0, 15.0) == pytest.approx(0.80)
    assert water_volume(FILTER) == pytest.approx(AREA * (1.5 - 0.45 * 0.52 - 0.25 * 0.58))
    assert upflow_loss(FILTER, 0.0, 15.0) == clean_loss(FILTER, 0.0, 15.0) == 0.0


def test_the_laminar_law_lifts_as_the_published_law_of_ergun() -> None:
    laminar = replace(FILTER.head_loss, law="carman-kozeny", viscous=180.0, inertial=0.0)
    stage = replace(FILTER, head_loss=laminar)
    assert expanded_bed(stage, 17 * M3_H, 15.0) == expanded_bed(FILTER, 17 * M3_H, 15.0)


def test_the_other_law_of_expansion_may_have_no_answer() -> None:
    """Richardson and Zaki's form is below the packed porosity just above Ergun's velocity of fluidisation."""
    lifts = expanded_bed(sand_stage(), 0.0, 15.0)[0].sublayers[0].fluidising * AREA
    with pytest.raises(DomainError, match="expanded porosity"):
        expanded_bed(sand_stage(), 1.01 * lifts, 15.0, "richardson-zaki")
    assert expanded_height(expanded_bed(sand_stage(), 4.0 * lifts, 15.0, "richardson-zaki")) > 0.5


def test_grains_that_are_carried_leave_no_room() -> None:
    assert freeboard(sand_stage(), 1.0, 15.0) == -math.inf


def test_the_gauge_sees_the_valve_or_not() -> None:
    vessel = sand_stage(valve_constant=1e9)
    bed = replace(vessel, head_loss=replace(vessel.head_loss, tap="bed"))
    flow = 5.5 * M3_H
    assert clean_loss(vessel, flow, 15.0) - clean_loss(bed, flow, 15.0) == pytest.approx(1e9 * flow**2)


def test_clean_loss_of_a_computed_bed() -> None:
    """By fluids 1.3.1: 0.55 mm, porosity 0.42, 10 m/h, 20 degC give 6456.0328 Pa/m; with sphericity 0.8 10027.597."""
    for sphericity, gradient in ((1.0, 6456.0328), (0.8, 10027.597)):
        layer = replace(SAND, depth=1.0, size=0.55e-3, sublayer_sizes=(0.55e-3,), sphericity=sphericity)
        stage = replace(FILTER, layers=(layer,))
        assert clean_loss(stage, 10.0 / HOUR * AREA, 20.0) == pytest.approx(gradient, rel=1e-6)


@given(st.floats(0.0, 25.0), st.floats(0.0, 5.0), temperatures)
def test_more_flow_never_lifts_or_costs_less(flow: float, more: float, temperature: float) -> None:
    graded = replace(ANTHRACITE, uniformity=1.5, sublayer_sizes=sublayer_sizes(1e-3, 1.5, 8))
    stage = replace(FILTER, layers=(graded, SAND))
    slow, fast = flow * M3_H, (flow + more) * M3_H
    assert upflow_loss(stage, slow, temperature) <= upflow_loss(stage, fast, temperature) * (1.0 + 1e-12)
    assert freeboard(stage, slow, temperature) >= freeboard(stage, fast, temperature) - 1e-12


@given(st.floats(1.0, 25.0), temperatures, st.floats(0.1, 10.0))
def test_colder_water_never_lifts_less(flow: float, temperature: float, colder: float) -> None:
    cold = max(temperature - colder, 0.0)
    assert freeboard(FILTER, flow * M3_H, cold) <= freeboard(FILTER, flow * M3_H, temperature) + 1e-9
