"""Property: water over the range in which it is used."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hydraulics.errors import DomainError
from hydraulics.water import density, viscosity

temperatures = st.floats(0.0, 50.0)


@given(temperatures, temperatures)
def test_viscosity_falls_as_water_warms(one, other):
    cold, warm = sorted((one, other))
    if warm - cold > 1e-6:
        assert viscosity(cold) > viscosity(warm) > 0.0


def test_density_is_greatest_near_four_degrees():
    densest = max(range(51), key=lambda celsius: density(float(celsius)))
    assert densest == 4


@pytest.mark.parametrize("temperature", [-0.001, 50.001, math.nan, math.inf])
@pytest.mark.parametrize("law", [density, viscosity])
def test_outside_the_range_is_refused(law, temperature):
    with pytest.raises(DomainError, match=r"water temperature: given .* degC, allowed 0 to 50 degC"):
        law(temperature)


@pytest.mark.parametrize("law", [density, viscosity])
def test_the_ends_of_the_range_are_allowed(law):
    assert law(0.0) > 0.0
    assert law(50.0) > 0.0
