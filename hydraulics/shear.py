"""How hard a wash cleans the grains of a sublayer, against the hardest it could.

Grains of a lifted bed are scoured by the shear of the water between them. It passes through a maximum: a bed
barely lifted has little room to move, a bed far apart shares its drag among few grains.
"""

import math
from typing import Final

from hydraulics.compiled import law
from hydraulics.fluidise import ergun_porosity, ergun_velocity, richardson_zaki_exponent
from hydraulics.headloss import grain_reynolds
from hydraulics.settle import terminal_velocity

PACKED_CLEANING: Final = 0.05
"""-, cleaning of a bed that does not move: typical, from memory, to be calibrated."""

STIRRING: Final = 0.8
"""-, share of the velocity that lifts a bed at which its grains begin to move: typical, from memory."""


@law
def shear_factor(porosity: float, exponent: float) -> float:
    """Shear between the grains of a fluidised bed over the largest that any expansion gives.

    sqrt((1 - e) e^(n-1)) over its value at e = (n - 1) / n

    porosity: e [-]; exponent: n of hindered settling, above 1 [-]. Returns [-], 1 at the maximum; 0 where there is
    no water (e <= 0) or no bed (e >= 1).
    Source: Amirtharajah (1971), thesis, Iowa State University (from memory).

    Hand arithmetic: n = 2 peaks at 1/2 with sqrt(1/4); at 1/5 it is sqrt(4/25).
    >>> shear_factor(0.5, 2.0), round(shear_factor(0.2, 2.0), 12)
    (1.0, 0.8)
    """
    if porosity <= 0.0 or porosity >= 1.0:
        return 0.0
    best = (exponent - 1.0) / exponent
    relative = (1.0 - porosity) / (1.0 - best) * (porosity / best) ** (exponent - 1.0)
    return math.sqrt(relative)


@law
def cleaning_factor(v: float, fluidising: float, *, porosity: float, exponent: float) -> float:
    """Factor on the rate of cleaning of a sublayer at an upflow.

    `shear_factor` once the sublayer is lifted; 0.05 up to 0.8 of the velocity that lifts it; a straight line between

    v: 0 or more [m/s]; fluidising: the velocity that lifts the sublayer, above 0 [m/s]; porosity: at v, the packed
    one while it is not lifted [-]; exponent: n of hindered settling, above 1 [-]. Returns [-], continuous in v.
    Source: Amirtharajah (1971) for the lifted bed (from memory); the rest is an assumption of this model.

    Hand arithmetic: half way up the line between 0.05 and 1.
    >>> round(cleaning_factor(0.009, 0.010, porosity=0.5, exponent=2.0), 12)
    0.525
    """
    lifted = shear_factor(porosity, exponent)
    moved = min(max((v / fluidising - STIRRING) / (1.0 - STIRRING), 0.0), 1.0)
    return PACKED_CLEANING + moved * (lifted - PACKED_CLEANING)


@law
def sublayer_cleaning(
    v: float,
    mu: float,
    rho: float,
    *,
    size: float,
    sphericity: float,
    porosity: float,
    grain_density: float,
    viscous: float,
    inertial: float,
) -> float:
    """Factor on the rate of cleaning of a sublayer of alike grains, from its grains and the water.

    `cleaning_factor` with Ergun's velocity of fluidisation and expansion, and n from the grain's terminal velocity

    v: 0 or more [m/s]; mu > 0 [Pa s]; rho [kg/m3]; size > 0 [m]; sphericity: above 0, at most 1 [-]; porosity:
    packed, above 0 and below 1 [-]; grain_density: above rho [kg/m3]; viscous > 0, inertial: of Ergun's law [-].
    Returns [-]; 0 where the grains are carried away.
    Source: `cleaning_factor`, `ergun_velocity`, `ergun_porosity`, `richardson_zaki_exponent`.

    Hand arithmetic: a bed that 1 mm/s lifts (see `ergun_velocity`) does not move at 0.8 mm/s.
    >>> round(sublayer_cleaning(0.8e-3, 1e-3, 1000.0, size=1e-3, sphericity=1.0, porosity=0.5,
    ...                         grain_density=1000.0 + 614.0 / 9.80665, viscous=150.0, inertial=1.75), 9)
    0.05
    """
    fluidising = ergun_velocity(
        porosity, mu, rho, size=size, sphericity=sphericity, grain_density=grain_density,
        viscous=viscous, inertial=inertial,
    )  # fmt: skip
    afloat = ergun_porosity(
        v, mu, rho, size=size, sphericity=sphericity, grain_density=grain_density,
        viscous=viscous, inertial=inertial,
    )  # fmt: skip
    terminal = terminal_velocity(mu, rho, size=size, sphericity=sphericity, grain_density=grain_density)
    exponent = richardson_zaki_exponent(grain_reynolds(terminal, size, sphericity=1.0, rho=rho, mu=mu))
    return cleaning_factor(v, fluidising, porosity=max(porosity, afloat), exponent=exponent)
