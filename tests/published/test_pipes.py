"""Published: friction of pipes and flow through a restrictor."""

import math

import pytest

from hydraulics.pipes import flow_reached, friction_factor, orifice_flow, orifice_loss, pipe_loss, supply_curve
from hydraulics.water import density, viscosity


# Colebrook's equation, public library fluids 1.3.1, printed in its documentation.
def test_friction_factor_of_colebrook():
    assert friction_factor(1e5, 1e-4) == pytest.approx(0.018513866077471648, rel=1e-14)


# Colebrook's equation itself, 1/sqrt(f) = -2 log10(e/(3.7 D) + 2.51/(R sqrt(f))); laminar flow has 64/R.
@pytest.mark.parametrize("reynolds", [5e3, 4e4, 1e6])
@pytest.mark.parametrize("roughness", [0.0, 1e-5, 2e-3])
def test_friction_factor_solves_its_equation(reynolds, roughness):
    root = math.sqrt(friction_factor(reynolds, roughness))
    assert 1.0 / root == pytest.approx(-2.0 * math.log10(roughness / 3.7 + 2.51 / (reynolds * root)), rel=1e-9)
    assert friction_factor(1500.0, roughness) == pytest.approx(64.0 / 1500.0, rel=1e-15)


# Q = C A sqrt(2 dp / rho) for 10 mm, C 0.61, 2 bar, water at 20 degC (998.207 kg/m3): computed. The pipe is wide
# enough not to count.
def test_flow_through_a_restrictor(printed):
    flow = orifice_flow(2e5, 998.207, hole=0.010, pipe=10.0, discharge=0.61)
    assert flow * 60e3 == printed("57.54276")


# The drain flow follows the square root of the supply pressure, where nothing but a restrictor holds it back.
@pytest.mark.parametrize("times", [2.0, 4.0, 9.0])
def test_drain_flow_goes_with_the_root_of_the_supply_pressure(times):
    rho = density(20.0)

    def drain(pressure):
        return flow_reached(
            1.0, supply_curve([0.0, 1.0], [pressure, pressure]), shared_loss=lambda q: 0.0,
            wash_loss=lambda q: orifice_loss(q, rho, hole=0.010, pipe=10.0, discharge=0.61), others=0.0,
        )  # fmt: skip

    assert drain(1e5) == pytest.approx(orifice_flow(1e5, rho, hole=0.010, pipe=10.0, discharge=0.61), rel=1e-9)
    assert drain(times * 1e5) == pytest.approx(math.sqrt(times) * drain(1e5), rel=1e-9)


# Hagen & Poiseuille: laminar flow loses 128 mu L Q / (pi D^4).
def test_laminar_pipe():
    mu, rho = viscosity(10.0), density(10.0)
    flow = 1000.0 * mu / rho * math.pi * 0.020 / 4.0  # Reynolds number 1000
    loss = pipe_loss(flow, mu, rho, diameter=0.020, length=7.0, roughness=1.5e-6, fittings=0.0)
    assert loss == pytest.approx(128.0 * mu * 7.0 * flow / (math.pi * 0.020**4), rel=1e-12)
