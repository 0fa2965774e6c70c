"""Beds lifted by upflow: when they lift, how far they expand, what they weigh.

A bed of alike grains is packed until the drag of the water carries its weight less buoyancy. From there on
the pressure gradient stays at that weight and the porosity grows with the velocity. Colder water is more
viscous: it lifts a bed earlier and expands it more.

Velocities are superficial and count upward. The laws take the grains of one sublayer, of one size each.
"""

import math

from hydraulics.compiled import law
from hydraulics.constants import STANDARD_GRAVITY
from hydraulics.powers import cube, square


@law
def galileo_number(mu: float, rho: float, *, size: float, grain_density: float) -> float:
    """Galileo number of a grain: weight less buoyancy against viscosity.

    d^3 rho (rho_s - rho) g / mu^2

    mu: viscosity > 0 [Pa s]; rho: water density [kg/m3]; size: d [m]; grain_density: rho_s [kg/m3].
    Returns [-]; negative for grains that float.
    Source: as D. Hendricks, Fundamentals of Water Treatment Unit Processes (2011), eq. 12.56 to 12.58.

    Hand arithmetic: 1e-9 x 1e6 x 9.80665 / 1e-6.
    >>> round(galileo_number(1e-3, 1000.0, size=1e-3, grain_density=2000.0), 9)
    9806.65
    """
    return cube(size) * rho * (grain_density - rho) * STANDARD_GRAVITY / square(mu)


@law
def wen_yu_velocity(mu: float, rho: float, *, size: float, grain_density: float) -> float:
    """Velocity at which a bed just lifts, after Wen and Yu, who need neither porosity nor shape.

    mu R / (rho d), R = sqrt(33.7^2 + 0.0408 Ga) - 33.7, written without the cancellation in small Ga

    mu: viscosity > 0 [Pa s]; rho: water density [kg/m3]; size: d > 0, for a graded layer that which 90 % of it
    passes [m]; grain_density: rho_s, at least rho [kg/m3]. Returns [m/s].
    Measured values run to 40 % above it for fine sand.
    Source: Wen & Yu (1966), AIChE J. 12, 610-612, as D. Hendricks, Fundamentals of Water Treatment Unit
    Processes (2011), eq. 12.56 to 12.58.

    Hand arithmetic: 0.0408 Ga = 34.7^2 - 33.7^2 = 68.4 makes R 1, so v = 1e-6 / 1e-3.
    >>> round(wen_yu_velocity(1e-3, 1000.0, size=1e-3, grain_density=1000.0 + 68.4 / 0.0408 / 9.80665), 12)
    0.001
    """
    part = 0.0408 * galileo_number(mu, rho, size=size, grain_density=grain_density)
    reynolds = part / (math.sqrt(square(33.7) + part) + 33.7)
    return mu * reynolds / (rho * size)


@law
def ergun_velocity(
    porosity: float,
    mu: float,
    rho: float,
    *,
    size: float,
    sphericity: float,
    grain_density: float,
    viscous: float,
    inertial: float,
) -> float:
    """Velocity that carries a bed of a given porosity: with the packed porosity, that at which it just lifts.

    The positive root of viscous mu v (1-e) / (phi d)^2 + inertial rho v^2 / (phi d) = e^3 (rho_s - rho) g

    porosity: e, above 0 and below 1 [-]; mu > 0 [Pa s]; rho [kg/m3]; size: d > 0 [m]; sphericity: 0 < phi <= 1
    [-]; grain_density: rho_s, at least rho [kg/m3]; viscous > 0, inertial: 150 and 1.75 as published [-].
    Returns [m/s], rising in e: the inverse of `ergun_porosity`.
    Source: Ergun (1952), Chem. Eng. Prog. 48(2), 89-94, set equal to the weight less buoyancy.

    Hand arithmetic: 600 + 14 Pa/m at 1 mm/s (both terms over 1 - e = 1/2, e^3 = 1/8).
    >>> round(ergun_velocity(0.5, 1e-3, 1000.0, size=1e-3, sphericity=1.0,
    ...                      grain_density=1000.0 + 614.0 / 9.80665, viscous=150.0, inertial=1.75), 12)
    0.001
    """
    grain = sphericity * size
    weight = cube(porosity) * (grain_density - rho) * STANDARD_GRAVITY
    laminar = viscous * mu * (1.0 - porosity) / square(grain)
    return 2.0 * weight / (laminar + math.sqrt(square(laminar) + 4.0 * weight * inertial * rho / grain))


@law
def ergun_porosity(
    v: float,
    mu: float,
    rho: float,
    *,
    size: float,
    sphericity: float,
    grain_density: float,
    viscous: float,
    inertial: float,
) -> float:
    """Porosity at which a bed floats at a velocity: that of the expanded bed, once it lifts.

    The one positive root of e^3 + p e = p + q, p = viscous mu v / (D (phi d)^2), q = inertial rho v^2 / (D phi d),
    D = (rho_s - rho) g, in closed form: 2 sqrt(p/3) sinh(asinh(3 (p+q) sqrt(3/p) / (2 p)) / 3)

    v: 0 or more [m/s]; mu > 0 [Pa s]; rho [kg/m3]; size: d > 0 [m]; sphericity: 0 < phi <= 1 [-]; grain_density:
    rho_s, above rho [kg/m3]; viscous > 0, inertial: 150 and 1.75 as published [-]. Returns [-], rising in v: 0 at
    v = 0, below the packed porosity where the bed stays packed, 1 and more where the grains are carried away.
    Source: form of Akgiray & Saatci (2001), Water Sci. Technol. Water Supply 1(2), 65-72 (from memory): Ergun's
    law on the expanded bed.

    Hand arithmetic: as `ergun_velocity`.
    >>> round(ergun_porosity(1e-3, 1e-3, 1000.0, size=1e-3, sphericity=1.0,
    ...                      grain_density=1000.0 + 614.0 / 9.80665, viscous=150.0, inertial=1.75), 12)
    0.5
    """
    grain = sphericity * size
    weight = (grain_density - rho) * STANDARD_GRAVITY
    p = viscous * mu * v / (weight * square(grain))
    q = inertial * rho * square(v) / (weight * grain)
    if p <= 0.0:
        return 0.0
    return 2.0 * math.sqrt(p / 3.0) * math.sinh(math.asinh(1.5 * (p + q) / p * math.sqrt(3.0 / p)) / 3.0)


@law
def richardson_zaki_exponent(reynolds: float) -> float:
    """Exponent n of hindered settling.

    4.65 below R = 0.2, 4.35 R^-0.03 below 1, 4.45 R^-0.1 below 500, then 2.39

    reynolds: R of one grain at its terminal velocity, 0 or more [-]. Returns [-], with steps of 2 % at 0.2 and 1.
    The wall of the vessel is left out: it is hundreds of grains away.
    Source: Richardson & Zaki (1954), Trans. Inst. Chem. Eng. 32, 35-53.

    M. L. Davis (2010), Example 11-3, prints 1/n = 0.362 at R = 118.14.
    >>> round(1.0 / richardson_zaki_exponent(118.14), 3)
    0.362
    """
    if reynolds < 0.2:
        return 4.65
    if reynolds < 1.0:
        return float(4.35 * reynolds**-0.03)
    if reynolds < 500.0:
        return float(4.45 * reynolds**-0.1)
    return 2.39


@law
def richardson_zaki_porosity(v: float, terminal: float, exponent: float) -> float:
    """Porosity of an expanded bed from the settling of one grain.

    (v / v_t)^(1/n)

    v: 0 or more [m/s]; terminal: v_t > 0, that of the grain's own shape [m/s]; exponent: n > 0 [-]. Returns [-],
    rising in v: 0 at v = 0, 1 and more from v_t on, where the grains are carried away.
    Source: Richardson & Zaki (1954), Trans. Inst. Chem. Eng. 32, 35-53.

    M. L. Davis (2010), Example 11-3, prints 0.537 at 1 cm/s for a grain that settles at 0.072715 m/s (R 28.10).
    >>> round(richardson_zaki_porosity(0.01, 0.072715, richardson_zaki_exponent(28.10)), 3)
    0.537
    """
    return float((v / terminal) ** (1.0 / exponent))


@law
def expanded_depth(depth: float, porosity: float, expanded: float) -> float:
    """Depth that a bed takes once its porosity has changed; the grains keep their volume.

    L (1 - e0) / (1 - e)

    depth: L of the packed bed [m]; porosity: packed e0 [-]; expanded: e, below 1 [-]. Returns [m].
    Source: volume balance.

    Hand arithmetic: 0.6 m of grains in 1 m, then in half of 1.2 m.
    >>> round(expanded_depth(1.0, 0.4, 0.5), 12)
    1.2
    """
    return depth * (1.0 - porosity) / (1.0 - expanded)


@law
def bulk_density(porosity: float, grain_density: float, rho: float) -> float:
    """Density of grains and water together.

    (1 - e) rho_s + e rho

    porosity: e, 0 to 1 [-]; grain_density: rho_s [kg/m3]; rho [kg/m3]. Returns [kg/m3].
    Source: mass balance.

    Hand arithmetic: half and half.
    >>> bulk_density(0.5, 2650.0, 1000.0)
    1825.0
    """
    return (1.0 - porosity) * grain_density + porosity * rho


@law
def buoyant_gradient(porosity: float, grain_density: float, rho: float) -> float:
    """Weight less buoyancy of a bed per volume: the pressure gradient of a fluidised bed at any velocity.

    (1 - e) (rho_s - rho) g

    porosity: e, 0 to 1 [-]; grain_density: rho_s [kg/m3]; rho [kg/m3]. Returns [Pa/m of the depth at which e
    holds]: with the packed porosity it goes with the packed depth.
    Source: balance of forces.

    Hand arithmetic: 0.6 x 1500 x 9.80665.
    >>> round(buoyant_gradient(0.4, 2500.0, 1000.0), 9)
    8825.985
    """
    return (1.0 - porosity) * (grain_density - rho) * STANDARD_GRAVITY
