"""Assumed constants as settings of a case file: what moves together, and what the pores have room for, by hand."""

from pathlib import Path
from statistics import fmean

import pytest

from sim.study.many.assumed_settings import settings_of
from tests.case.samples import MEDIUM, NAME, added, load_text
from tests.case.test_grains import case_of, sieve_curve


def test_what_follows_an_exponent_moves_with_it(tmp_path: Path) -> None:
    """Both drawn at once: the viscosity's exponent keeps its distance, the gain its ratio to that at usual grains."""
    case = case_of(tmp_path, "", 'size = "0.8 mm"\nuniformity = 1')
    by_name = {each.key.removeprefix("stage.filter."): each for each in case.assumptions}
    velocity, viscosity = by_name["velocity_exponent"], by_name["viscosity_exponent"]
    settings = settings_of(case, {velocity: 0.8, viscosity: 0.45})
    assert settings["stage.filter.viscosity_exponent"] == pytest.approx(0.75)
    gain, exponent = by_name["layer.0.head_loss_gain"], by_name["gain_size_exponent"]
    told = settings_of(case, {gain: 2.0 * gain.value, exponent: 2.0})["stage.filter.layer.0.head_loss_gain"]
    usual = sieve_curve(0.5e-3, 1.5)
    expected = 2.0 * 5.0 * 0.8e-3**-2.0 / fmean(d**-2.0 for d in usual)
    assert float(str(told).split()[0]) == pytest.approx(expected, rel=1e-12)


def test_a_valve_is_given_at_the_flow_at_which_its_loss_is_typical(tmp_path: Path) -> None:
    """A typical loss is told at 12 m/h through the bed: by hand 12 x pi/4 x 0.762^2 = 5.4724 m3/h."""
    case = load_text(tmp_path, added())
    (valve,) = [each for each in case.assumptions if each.key == "stage.filter.head_loss.valve"]
    (said,) = settings_of(case, {valve: 2.0 * valve.value}).values()
    loss, _, flow = str(said).partition(" Pa at ")
    assert float(loss) == 2.0 * valve.value
    assert float(flow.removesuffix(" m3/h")) == pytest.approx(5.4724, rel=1e-5)


@pytest.mark.parametrize(("growth", "most"), [("pore-narrowing", 0.9 * 40.0 * (0.40 - 0.05)), ("linear", None)])
def test_an_ultimate_deposit_is_tried_up_to_what_the_pores_have_room_for(
    growth: str, most: float | None, tmp_path: Path
) -> None:
    """By hand: nine tenths of 40 kg/m3 in pores of 0.40 less 0.05; linear growth lets the typical one be."""
    layer = 'porosity = 0.40\ndeposit_density = "40 kg/m3"'
    case = load_text(tmp_path, added((NAME, f'head_loss = {{ growth = "{growth}" }}'), (MEDIUM, layer)))
    (ultimate,) = [each for each in case.assumptions if each.key.endswith("ultimate_deposit")]
    floor = case.stages[0].porosity_floor
    assert floor == 0.05
    (said,) = settings_of(case, {ultimate: 1e6}).values()
    expected = 1e3 * most if most is not None else max(0.9 * 40e3 * 0.35, ultimate.value)
    assert float(str(said).split()[0]) == pytest.approx(expected, rel=1e-12)
    (lower,) = settings_of(case, {ultimate: 0.5 * ultimate.value}).values()
    assert float(str(lower).split()[0]) == pytest.approx(0.5 * ultimate.value, rel=1e-12)
