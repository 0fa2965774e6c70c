"""Terminal velocity of single grains in still water, of spheres and of grains with a shape of their own."""

import math

from hydraulics.compiled import law
from hydraulics.fluidise import galileo_number
from hydraulics.powers import cube, square


@law
def haider_levenspiel_drag(reynolds: float, sphericity: float) -> float:
    """Drag of a grain of any compact shape, as coefficient times the square of the Reynolds number.

    24 R (1 + A R^B) + C R^3 / (R + D), A to D polynomials of the sphericity in an exponent

    reynolds: R of the sphere of equal volume, 0 to 2.5e4 [-]; sphericity: phi, above 0, at most 1 [-].
    Returns C_D R^2 [-], rising in R from 0. C_D itself falls to a minimum near R = 100 for angular grains and rises
    a little beyond.
    Source: Haider & Levenspiel (1989), Powder Technol. 58, 63-70, coefficients as two public libraries print them.

    Octahedra fall at high Reynolds numbers with C_D = 5.31 - 4.88 phi = 1.18, Pettyjohn & Christiansen (1948)
    (from memory).
    >>> round(haider_levenspiel_drag(1e4, 0.846) / 1e8, 1)
    1.2
    """
    a = math.exp(2.3288 - 6.4581 * sphericity + 2.4486 * square(sphericity))
    b = 0.0964 + 0.5565 * sphericity
    c = math.exp(4.9050 - 13.8944 * sphericity + 18.4222 * square(sphericity) - 10.2599 * cube(sphericity))
    d = math.exp(1.4681 + 12.2584 * sphericity - 20.7322 * square(sphericity) + 15.8855 * cube(sphericity))
    return float(24.0 * reynolds * (1.0 + a * reynolds**b) + c * cube(reynolds) / (reynolds + d))


@law
def terminal_velocity(mu: float, rho: float, *, size: float, sphericity: float, grain_density: float) -> float:
    """Terminal velocity of a grain of its own shape.

    The root in R of C_D R^2 = 4/3 Ga, times mu / (rho d). Bisection between 0 and Stokes' Ga / 18, which no drag
    law exceeds: 60 halvings, to 1e-12 of the answer for Ga up to 1e10.

    mu > 0 [Pa s]; rho [kg/m3]; size: d > 0, of the sphere of equal volume [m]; sphericity: phi, above 0, at most 1
    [-]; grain_density: rho_s [kg/m3]. Returns [m/s]; 0 for grains that do not sink.
    Source: `haider_levenspiel_drag`.

    The same authors' approximation in closed form gives 0.8857 m/s here (printed by a public library, g 9.81).
    >>> 0.97 < terminal_velocity(1.8e-5, 1.2, size=160e-6, sphericity=0.67, grain_density=2600.0) / 0.8857 < 1.03
    True
    """
    drag = 4.0 / 3.0 * galileo_number(mu, rho, size=size, grain_density=grain_density)
    if drag <= 0.0:
        return 0.0
    low, high = 0.0, drag / 24.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        if haider_levenspiel_drag(middle, sphericity) < drag:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high) * mu / (rho * size)
