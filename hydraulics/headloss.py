"""Head loss of a packed bed, clean and loaded, and of what surrounds it.

All gradients are pressure per depth [Pa/m], odd in the velocity: v = 0 gives 0 and reverse flow the negative.
"""

from hydraulics.compiled import law
from hydraulics.constants import GRAMS_PER_KILOGRAM
from hydraulics.powers import cube, square


@law
def viscous_factor(porosity: float) -> float:
    """Porosity function of the viscous head-loss term.

    (1 - e)^2 / e^3

    porosity: 0 < e < 1 [-]. Returns [-], falling in e, 0 at e = 1. Zero porosity divides by zero.
    Source: Kozeny-Carman, as in Carman (1937), Trans. Inst. Chem. Eng. 15, 150-166.

    Hand arithmetic: 0.25 / 0.125.
    >>> viscous_factor(0.5)
    2.0
    """
    return square(1.0 - porosity) / cube(porosity)


@law
def inertial_factor(porosity: float) -> float:
    """Porosity function of the inertial head-loss term.

    (1 - e) / e^3

    porosity: 0 < e < 1 [-]. Returns [-], falling in e, 0 at e = 1. Zero porosity divides by zero.
    Source: Ergun (1952), Chem. Eng. Prog. 48(2), 89-94.

    Hand arithmetic: 0.5 / 0.125.
    >>> inertial_factor(0.5)
    4.0
    """
    return (1.0 - porosity) / cube(porosity)


@law
def ergun_gradient(
    v: float,
    mu: float,
    rho: float,
    *,
    size: float,
    sphericity: float,
    porosity: float,
    viscous: float,
    inertial: float,
) -> float:
    """Pressure gradient of a packed bed, laminar to turbulent, after Ergun.

    viscous mu v (1-e)^2 / (e^3 (phi d)^2) + inertial rho v |v| (1-e) / (e^3 phi d)

    v: superficial velocity [m/s]; mu: viscosity [Pa s]; rho: water density [kg/m3]; size: d > 0 [m];
    sphericity: 0 < phi <= 1 [-]; porosity: 0 < e < 1 [-]; viscous, inertial: 150 and 1.75 as published [-].
    Returns [Pa/m].
    Source: Ergun (1952), Chem. Eng. Prog. 48(2), 89-94.

    The worked figure of the public library `fluids` 1.3.1, printed there as 1338.8671874999995.
    >>> round(ergun_gradient(1e-3, 1e-3, 1000.0, size=0.8e-3, sphericity=1.0, porosity=0.4,
    ...                      viscous=150.0, inertial=1.75), 7)
    1338.8671875
    """
    grain = sphericity * size
    laminar = viscous * mu * v * viscous_factor(porosity) / square(grain)
    return laminar + inertial * rho * v * abs(v) * inertial_factor(porosity) / grain


@law
def grain_reynolds(v: float, size: float, *, sphericity: float, rho: float, mu: float) -> float:
    """Reynolds number of the grains at the superficial velocity.

    phi d v rho / mu

    v [m/s]; size: d [m]; sphericity: phi [-]; rho [kg/m3]; mu > 0 [Pa s]. Returns [-], with the sign of v.
    Source: M. L. Davis, Water and Wastewater Engineering (2010), Example 11-2, R = phi d v / nu.

    Hand arithmetic: 0.8 x 1e-3 x 2.5e-3 / 1e-6.
    >>> round(grain_reynolds(2.5e-3, 1e-3, sphericity=0.8, rho=1000.0, mu=1e-3), 12)
    2.0
    """
    return sphericity * size * v * rho / mu


@law
def narrowed_porosity(porosity: float, deposit: float, deposit_density: float, *, floor: float) -> float:
    """Porosity left beside a deposit, at least the floor at which a bed counts as blocked.

    max(e0 - sigma / rho_d, floor)

    porosity: clean [-]; deposit: dry solids per volume of bed [g/m3]; deposit_density: dry solids per volume
    of deposit > 0 [g/m3]; floor [-]. Returns [-]. A result equal to the floor means blocked.
    Source: volume balance.

    Hand arithmetic: 6 of 60 kg/m3 fill a tenth of the bed.
    >>> round(narrowed_porosity(0.40, 6000.0, 60000.0, floor=0.05), 12)
    0.3
    """
    return max(porosity - deposit / deposit_density, floor)


@law
def linear_growth_gradient(
    gain: float, deposit: float, *, v: float, v_ref: float, mu: float, mu_ref: float
) -> float:
    """Pressure gradient that a deposit adds to the clean one when growth is linear in the deposit.

    k sigma (v / v_ref) (mu / mu_ref)

    gain: k at v_ref and mu_ref [Pa/m per g/m3]; deposit: sigma [g/m3]; v, v_ref > 0 [m/s];
    mu, mu_ref > 0 [Pa s]. Returns [Pa/m].
    The gain is calibrated on plant data, never predicted.
    Source: growth observed in depth filters at constant rate, Tobiason & Vigneswaran (1994), abstract; on
    prediction M. L. Davis, Water and Wastewater Engineering (2010), p. 11-16.

    Hand arithmetic: 5 x 1000 at the reference rate, half of it at half the rate.
    >>> linear_growth_gradient(5.0, 1000.0, v=1e-3, v_ref=2e-3, mu=1e-3, mu_ref=1e-3)
    2500.0
    """
    return gain * deposit * (v / v_ref) * (mu / mu_ref)


@law
def square_law_loss(coefficient: float, flow: float) -> float:
    """Pressure loss of underdrain, valve and piping.

    K Q |Q|

    coefficient: K [Pa/(m3/s)2]; flow: Q [m3/s]. Returns [Pa], with the sign of the flow.
    Source: turbulent local loss, a textbook form.

    Hand arithmetic: 15 kPa at 2 L/s is a quarter of that at 1 L/s.
    >>> round(square_law_loss(15000.0 / 0.002**2, 0.001), 9)
    3750.0
    """
    return coefficient * flow * abs(flow)


@law
def mat_loss(resistance: float, mu: float, v: float, *, mass_per_area: float) -> float:
    """Pressure loss of a surface mat, after Ruth.

    a mu v w

    resistance: a, specific [m/kg]; mu [Pa s]; v [m/s]; mass_per_area: dry solids of the mat [g/m2], taken
    as kg/m2 inside. Returns [Pa], with the sign of v.
    Source: Ruth (1935), Ind. Eng. Chem. 27, 708-723 (from memory).

    Hand arithmetic: 1e10 x 1e-3 x 1e-3 x 0.1 kg/m2.
    >>> round(mat_loss(1e10, 1e-3, 1e-3, mass_per_area=100.0), 9)
    1000.0
    """
    return resistance * mu * v * mass_per_area / GRAMS_PER_KILOGRAM
