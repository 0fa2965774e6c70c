"""Capture of suspended solids in a bed, and what follows from it.

Filtration is first order in concentration and in free capacity (Iwasaki): dC/dz = -lambda (1 - s/s_u) C. For
a layer of constant lambda and s_u the deposit gained over any load has a closed form from any starting
profile (Bohart & Adams 1920; Herzig, Leclerc & Le Goff 1970), carried here by two dimensionless numbers:

    a   free depth above a node times lambda: capture depth still unused
    b   load times lambda over s_u: how far the load goes toward filling it

Both are 0 or more. Lambda is given, or follows from the efficiency of one grain as a collector: the end of
this module, evaluated once per case and not in a kernel.
"""

import math
from collections.abc import Sequence

from hydraulics.compiled import law
from hydraulics.constants import BOLTZMANN, ICE_POINT, STANDARD_GRAVITY
from hydraulics.decay import decay_mean
from hydraulics.errors import DomainError


@law
def exchange(a: float, b: float) -> float:
    """Dimensionless deposit gained above a node: X(a, b).

    -ln(1 - (1 - e^-a) (1 - e^-b)), in the form that keeps its digits on either side of min(a, b) = 1

    a, b: 0 or more [-]. Returns [-]: symmetric, at most min(a, b), a b when both are small, 0 when one is 0.
    A bed filled past its capacity (a < 0) gives up the excess: negative, toward a as b grows.
    Source: Herzig, Leclerc & Le Goff (1970), Ind. Eng. Chem. 62(5), 8-35, solved for the gain.

    Hand arithmetic: with a = b = ln 2 the bracket is 3/4, and -ln(3/4) = ln 4 - ln 3.
    >>> round(exchange(math.log(2.0), math.log(2.0)), 9)
    0.287682072
    """
    least = min(a, b)
    if least < 1.0:
        return -math.log1p(-math.expm1(-a) * math.expm1(-b))
    return least - math.log1p(math.exp(-abs(a - b)) - math.exp(-max(a, b)))


def load_of_exchange(a: float, x: float) -> float:
    """The dimensionless load b whose gain above a node is x: X(a, b) = x, `exchange` solved for b.

    x - ln(1 - e^-(a - x)) + ln(1 - e^-a)

    a: above 0 [-]; x: 0 to a [-]. Returns [-]; inf where the gain is all that is free, x >= a.
    Source: as `exchange`.

    Hand arithmetic: a load of b = ln 2 on a = ln 2 gains ln(4/3).
    >>> round(math.exp(load_of_exchange(math.log(2.0), math.log(4.0 / 3.0))), 12)
    2.0
    """
    if x >= a:
        return math.inf
    return x - math.log(-math.expm1(x - a)) + math.log(-math.expm1(-a))


@law
def deposit_gain(free_depth: float, coefficient: float, ultimate: float, *, load: float) -> float:
    """Deposit gained above a node while a load enters the layer.

    (s_u / lambda) X(lambda I, lambda L / s_u)

    free_depth: I = z - D / s_u, depth above the node less its filled part [m]; coefficient: lambda [1/m];
    ultimate: s_u > 0 [g/m3]; load: L [g/m2]. Returns [g/m2], at most min(s_u I, L).
    No load or no capture (lambda = 0, gravel) gives 0.
    Source: as `exchange`.

    Hand arithmetic: a = b = ln 2, so the gain is (1000 / ln 2) ln(4/3).
    >>> round(deposit_gain(math.log(2.0), 1.0, 1000.0, load=1000.0 * math.log(2.0)), 6)
    287.682072
    """
    if coefficient == 0.0 or load == 0.0:
        return 0.0
    return ultimate / coefficient * exchange(coefficient * free_depth, coefficient * load / ultimate)


@law
def outlet_share(a: float, b: float) -> float:
    """Share of the inlet concentration that leaves a layer once a load has entered.

    e^-a / (e^-a + e^-b - e^(-a-b)), written so that nothing overflows

    a: of the last node BEFORE the load [-]; b: of the load so far [-]; both 0 or more. Returns [-], 0 to 1:
    e^-a at b = 0, rising in b, falling in a.
    Source: as `exchange`; 1 - dX/db.

    Hand arithmetic: with a = b = ln 2, (1/2) / (3/4).
    >>> round(outlet_share(math.log(2.0), math.log(2.0)), 9)
    0.666666667
    """
    if a <= b:
        return 1.0 / (1.0 - math.exp(a - b) * math.expm1(-a))
    passed = math.exp(b - a)
    return passed / (passed - math.expm1(-a))


@law
def coefficient_at_rate(reference: float, v: float, v_ref: float, *, exponent: float) -> float:
    """Filter coefficient at a velocity other than that at which it was given.

    lambda_ref (v / v_ref)^-p

    reference: lambda_ref [1/m]; v, v_ref > 0 [m/s]; exponent: p, 0 for none, about 0.5 for solids, 1 for an
    uptake limited by its rate constant [-]. Returns [1/m].
    Without forward flow (v <= 0) nothing is carried to the grains: the reference value comes back, for a load
    of 0 to meet.
    Source: power law, common practice; p = 1 is Bohart & Adams' k N0 / v.

    Hand arithmetic: four times the velocity at p = 0.5 halves it.
    >>> coefficient_at_rate(10.0, 4.0e-3, 1.0e-3, exponent=0.5)
    5.0
    """
    if exponent == 0.0 or v <= 0.0:
        return reference
    return float(reference * (v / v_ref) ** -exponent)


@law
def coefficient_in_water(reference: float, mu: float, mu_ref: float, *, exponent: float) -> float:
    """Filter coefficient in water of another viscosity than that in which it was given.

    lambda_ref (mu_ref / mu)^p

    reference: lambda_ref [1/m]; mu, mu_ref > 0 [Pa s]; exponent: p, 0 for none, about that of the velocity for
    solids [-]. Returns [1/m].
    Source: power law through what one grain collects (`collector_efficiency`), where mu and v stand side by side.

    Hand arithmetic: a quarter of the viscosity at p = 0.5 doubles it.
    >>> coefficient_in_water(10.0, 0.25e-3, 1.0e-3, exponent=0.5)
    20.0
    """
    if exponent == 0.0:
        return reference
    return float(reference * (mu_ref / mu) ** exponent)


def shares_by_size(sizes: Sequence[float], reference: Sequence[float], exponent: float) -> tuple[float, ...]:
    """What each sublayer captures, or adds to the head loss, over the mean of a layer of the reference grains.

    d_i^-p / mean_j(d_j^-p)

    sizes: d_i > 0 of the sublayers [m]; reference: d_j > 0 of the equal sublayers of the reference layer [m];
    exponent: p, 0 for no influence of size [-]. Returns [-], one for each of `sizes`; their mean is 1 where these
    are the reference's own.
    Source: power law through what one grain collects (`collector_efficiency`); the mean keeps a layer's total.

    Hand arithmetic: grains of 1 and 2 at p = 1 have a mean of 3/4.
    >>> shares_by_size((1.0, 2.0, 4.0), (1.0, 2.0), 1.0)
    (1.3333333333333333, 0.6666666666666666, 0.3333333333333333)
    """
    mean = math.fsum(size**-exponent for size in reference) / len(reference)
    return tuple(size**-exponent / mean for size in sizes)


@law
def ultimate_deposit_at_rate(reference: float, v: float, v_ref: float, *, exponent: float) -> float:
    """Ultimate deposit at a velocity other than that at which it was given, for a bed that sloughs.

    s_u,ref max(v / v_ref, 0.5)^-m

    reference: s_u,ref [g/m3]; v, v_ref > 0 [m/s]; exponent: m, 0 for none [-]. Returns [g/m3], constant below
    half the reference velocity, standing and reverse flow included.
    Source: power law, an assumption of this model.

    Hand arithmetic: four times the velocity at m = 0.25 divides by the square root of 2.
    >>> round(ultimate_deposit_at_rate(9000.0, 4.0e-3, 1.0e-3, exponent=0.25), 3)
    6363.961
    """
    return float(reference * max(v / v_ref, 0.5) ** -exponent)


@law
def ripening_mean(start: float, end: float, share: float, *, ripening_volume: float) -> float:
    """Mean factor on the filter coefficient of a bed that is not yet ripe, between two filtered volumes.

    That of 1 - r e^(-B / B_r): 1 - r e^(-B1 / B_r) (1 - e^-x) / x, x = (B2 - B1) / B_r

    start, end: B1, B2 [m]; share: r, 0 to 1 [-]; ripening_volume: B_r > 0 [m]. Returns [-]; the factor itself
    where B1 = B2.
    Source: first-order ripening, an assumption of this model.

    Hand arithmetic: r = 1, B from 0 to B_r leaves 1 - (1 - 1/e) = 1/e.
    >>> round(ripening_mean(0.0, 2.0, 1.0, ripening_volume=2.0) - math.exp(-1.0), 12)
    0.0
    """
    return 1.0 - share * math.exp(-start / ripening_volume) * decay_mean((end - start) / ripening_volume)


def happel_parameter(porosity: float) -> float:
    """Porosity function of the flow around a grain among others.

    2 (1 - g^5) / (2 - 3 g + 3 g^5 - 2 g^6), g = (1 - e)^(1/3)

    porosity: above 0 and below 1 [-]. Returns A_S [-], falling to 1 as e approaches 1. Raises DomainError.
    Source: Happel (1958), AIChE J. 4, 197-201, as used by Tufenkji & Elimelech (2004).

    Hand arithmetic: g = 1/2 gives 2 (31/32) / (2 - 3/2 + 3/32 - 1/32) = 62/18.
    >>> round(happel_parameter(0.875) - 62 / 18, 12)
    0.0
    """
    if not 0.0 < porosity < 1.0:
        raise DomainError("porosity", f"{porosity:g}", "above 0 and below 1")
    g = (1.0 - porosity) ** (1.0 / 3.0)
    return float(2.0 * (1.0 - g**5) / (2.0 - 3.0 * g + 3.0 * g**5 - 2.0 * g**6))


def collector_efficiency(
    particle_size: float,
    size: float,
    v: float,
    *,
    porosity: float,
    temperature: float,
    mu: float,
    rho: float,
    particle_density: float,
    hamaker: float,
) -> float:
    """Share of the particles approaching a grain that touch it, after Tufenkji and Elimelech.

    2.4 A_S^(1/3) N_R^-0.081 N_Pe^-0.715 N_vdW^0.052 + 0.55 A_S N_R^1.675 N_A^0.125
    + 0.22 N_R^-0.24 N_G^1.11 N_vdW^0.053

    particle_size, size: diameters of particle and grain [m]; v: superficial, above 0 [m/s]; porosity [-];
    temperature [degC]; mu [Pa s]; rho, particle_density at least rho [kg/m3]; hamaker [J]. Returns [-].
    Raises DomainError for a particle that rises, which the correlation does not cover.
    Source: Tufenkji & Elimelech (2004), Environ. Sci. Technol. 38, 529-536, eq. 17; the forms of N_A, N_G and
    of the diffusion coefficient from memory.
    """
    if particle_density < rho:
        raise DomainError("particle density", f"{particle_density:g} kg/m3", f"{rho:g} kg/m3 or more")
    thermal = BOLTZMANN * (temperature + ICE_POINT)
    radius = particle_size / 2.0
    happel = happel_parameter(porosity)
    n_size = particle_size / size
    n_peclet = v * size * 6.0 * math.pi * mu * radius / thermal
    n_waals = hamaker / thermal
    n_attraction = hamaker / (12.0 * math.pi * mu * radius**2 * v)
    n_gravity = 2.0 / 9.0 * radius**2 * (particle_density - rho) * STANDARD_GRAVITY / (mu * v)
    diffusion = 2.4 * happel ** (1.0 / 3.0) * n_size**-0.081 * n_peclet**-0.715 * n_waals**0.052
    interception = 0.55 * happel * n_size**1.675 * n_attraction**0.125
    settling = 0.22 * n_size**-0.24 * n_gravity**1.11 * n_waals**0.053
    return float(diffusion + interception + settling)


def filter_coefficient(porosity: float, size: float, attachment: float, *, efficiency: float) -> float:
    """Filter coefficient of a clean bed of equal grains.

    1.5 (1 - e) / d alpha eta

    porosity [-]; size: d > 0 [m]; attachment: alpha, share of touching particles that stay, 0 to 1 [-];
    efficiency: eta of one collector [-]. Returns lambda [1/m].
    Source: Yao, Habibian & O'Melia (1971), Environ. Sci. Technol. 5, 1105-1112.

    Hand arithmetic: 1.5 x 0.6 / 1e-3 x 0.5 x 0.01.
    >>> round(filter_coefficient(0.4, 1e-3, 0.5, efficiency=0.01), 12)
    4.5
    """
    return 1.5 * (1.0 - porosity) / size * attachment * efficiency
