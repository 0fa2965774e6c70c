"""The water of a season's many temperatures: a fit, as good as the laws it stands for."""

import numpy as np
import pytest

from hydraulics.water import COLDEST, HOTTEST, density, viscosity
from sim.plant.build import FIT_DEGREE, _water


def test_the_fit_of_many_temperatures_is_the_law_itself() -> None:
    temperatures = np.linspace(COLDEST, HOTTEST, 999)
    mu, rho = _water(temperatures)
    assert mu == pytest.approx([viscosity(float(t)) for t in temperatures], rel=1e-12)
    assert rho == pytest.approx([density(float(t)) for t in temperatures], rel=1e-12)


def test_a_few_temperatures_are_looked_up() -> None:
    temperatures = np.linspace(3.0, 21.0, FIT_DEGREE)
    mu, rho = _water(temperatures)
    assert mu.tolist() == [viscosity(float(t)) for t in temperatures]
    assert rho.tolist() == [density(float(t)) for t in temperatures]
