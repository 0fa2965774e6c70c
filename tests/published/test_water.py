"""Published: water at 101325 Pa."""

import pytest

from hydraulics.water import density, viscosity


# IAPWS-95 density and IAPWS 2008 viscosity, computed once with two public libraries that agree to all digits.
@pytest.mark.parametrize(
    ("temperature", "rho", "mu"),
    [
        (4.0, "999.974869", "1.567291773e-3"),
        (10.0, "999.702470", "1.305899660e-3"),
        (15.0, "999.102621", "1.137567559e-3"),
        (20.0, "998.207150", "1.001596143e-3"),
        (30.0, "995.649454", "7.972217998e-4"),
        (40.0, "992.216353", "6.527287266e-4"),
    ],
)
def test_density_and_viscosity_are_those_of_iapws(temperature, rho, mu, printed):
    assert density(temperature) == printed(rho)
    assert viscosity(temperature) == printed(mu)


# IAPWS R12-08, table of verification points without critical enhancement.
@pytest.mark.parametrize(
    ("kelvin", "rho", "micropascal_seconds"), [(298.15, 998.0, "889.735100"), (373.15, 1000.0, "307.883622")]
)
def test_the_library_behind_viscosity_meets_the_verification_points(
    kelvin, rho, micropascal_seconds, printed
):
    from chemicals.viscosity import mu_IAPWS

    assert 1e6 * mu_IAPWS(kelvin, rho) == printed(micropascal_seconds)
