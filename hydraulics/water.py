"""Density and viscosity of water at atmospheric pressure."""

from functools import lru_cache
from typing import Final

from hydraulics.constants import ATMOSPHERE, ICE_POINT
from hydraulics.errors import DomainError

COLDEST: Final = 0.0
"""degC, lower end of the range in which this project uses water: it freezes below."""

HOTTEST: Final = 50.0
"""degC, upper end of the range in which this project uses water: beyond any supply to a filter."""


@lru_cache(maxsize=4096)
def density(temperature: float) -> float:
    """Density of water at 101325 Pa.

    IAPWS-95 equation of state.

    temperature: 0 to 50 [degC]. Returns [kg/m3]. Raises DomainError outside.
    Source: IAPWS R6-95, as implemented by the public library `chemicals`.

    >>> round(density(20.0), 6)  # IAPWS-95, two public implementations agreeing
    998.20715
    """
    from chemicals.iapws import iapws95_rho

    return float(iapws95_rho(_kelvin(temperature), ATMOSPHERE))  # type: ignore[no-untyped-call]


@lru_cache(maxsize=4096)
def viscosity(temperature: float) -> float:
    """Dynamic viscosity of water at 101325 Pa.

    IAPWS 2008 formulation at the density of `density`, without its critical enhancement.

    temperature: 0 to 50 [degC]. Returns [Pa s]. Raises DomainError outside.
    Source: IAPWS R12-08, as implemented by the public library `chemicals`.

    >>> round(viscosity(20.0), 12)  # IAPWS 2008, two public implementations agreeing
    0.001001596143
    """
    from chemicals.viscosity import mu_IAPWS

    return float(mu_IAPWS(_kelvin(temperature), density(temperature)))


def _kelvin(temperature: float) -> float:
    if not COLDEST <= temperature <= HOTTEST:
        raise DomainError("water temperature", f"{temperature:g} degC", f"{COLDEST:g} to {HOTTEST:g} degC")
    return temperature + ICE_POINT
