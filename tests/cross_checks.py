"""Laws that the program does without, in plain Python: what its own laws are checked against."""

import math

from scipy.special import gammainc, gammaincc

from hydraulics.constants import BOLTZMANN, ICE_POINT, STANDARD_GRAVITY
from hydraulics.errors import DomainError
from hydraulics.fluidise import galileo_number
from hydraulics.headloss import viscous_factor
from hydraulics.powers import square
from hydraulics.wash import attached_after, vessel_solids_after


def remaining_share(x: float, tanks: int) -> float:
    """Share of the first filling still leaving after x volumes: the regularised incomplete gamma function Q(N, N x).

    Source: tanks in series, Levenspiel, Chemical Reaction Engineering (from memory); scipy's gamma function.

    Hand arithmetic: two tanks after one volume leave 3 / e^2.
    >>> round(remaining_share(1.0, 2), 9)
    0.40600585
    """
    return float(gammaincc(tanks, tanks * x))


def remaining_integral(x: float, tanks: int) -> float:
    """Part of the first filling washed out after x volumes: x Q(N, N x) + P(N + 1, N x).

    Source: as `remaining_share`, integrated by parts.

    Hand arithmetic: two tanks after one volume have lost ((1 - 1/e^2) + (1 - 3/e^2)) / 2.
    >>> round(remaining_integral(1.0, 2), 9)
    0.729329434
    """
    return float(x * gammaincc(tanks, tanks * x) + gammainc(tanks + 1, tanks * x))


def carman_kozeny_gradient(
    v: float, mu: float, *, size: float, sphericity: float, porosity: float, viscous: float
) -> float:
    """Pressure gradient of a packed bed in creeping flow, after Kozeny and Carman.

    viscous mu v (1-e)^2 / (e^3 (phi d)^2)

    v: superficial velocity [m/s]; mu: viscosity [Pa s]; size: d > 0 [m]; sphericity: 0 < phi <= 1 [-];
    porosity: 0 < e < 1 [-]; viscous: 180 as published [-]. Returns [Pa/m].
    Laminar only: where `grain_reynolds` / (1 - e) reaches 10, the inertial term left out is 12 % of Ergun's
    viscous one.
    Source: Carman (1937), Trans. Inst. Chem. Eng. 15, 150-166.

    Hand arithmetic: 180 x 1e-3 x 1e-3 x 2 / 1e-6.
    >>> round(carman_kozeny_gradient(1e-3, 1e-3, size=1e-3, sphericity=1.0, porosity=0.5, viscous=180.0), 9)
    360.0
    """
    return viscous * mu * v * viscous_factor(porosity) / square(sphericity * size)


def gain_from_mean_deposit(head_gain: float, depth: float, rho: float) -> float:
    """Growth per local deposit from a growth of head per mean deposit of a whole bed.

    rho g k / D

    head_gain: k, metres of head per mean deposit [m per g/m3 = m per mg/L]; depth: D > 0 [m];
    rho: water density [kg/m3]. Returns [Pa/m per g/m3] for `linear_growth_gradient`.
    Source: k is that of M. L. Davis (2010), eq. 11-8; the conversion is dimensional.

    Hand arithmetic: 1000 x 9.80665 x 1.2e-3 / 2.
    >>> round(gain_from_mean_deposit(1.2e-3, 2.0, 1000.0), 9)
    5.88399
    """
    return rho * STANDARD_GRAVITY * head_gain / depth


def sphere_terminal_velocity(mu: float, rho: float, *, size: float, grain_density: float) -> float:
    """Terminal velocity of a sphere.

    Drag law and root of the public library `fluids`: Stokes where it holds, else Barati et al. (2014).

    mu > 0 [Pa s]; rho [kg/m3]; size: above 0 [m]; grain_density: above rho [kg/m3]. Returns [m/s].
    Sphere drag laws agree among themselves to about 5 %.
    Source: `fluids`, v_terminal.

    Worked figure of that library's documentation.
    >>> round(sphere_terminal_velocity(1e-3, 1000.0, size=70e-6, grain_density=2600.0), 15)
    0.004142497244531
    """
    from fluids.drag import v_terminal

    return float(v_terminal(D=size, rhop=grain_density, rho=rho, mu=mu))


def wen_yu_porosity(v: float, mu: float, rho: float, *, size: float, grain_density: float) -> float:
    """Porosity of an expanded bed after Wen and Yu, for spheres of equal settling.

    ((18 R + 2.7 R^1.687) / Ga)^(1/4.7), R = d v rho / mu

    v: 0 or more [m/s]; mu > 0 [Pa s]; rho [kg/m3]; size: d > 0 [m]; grain_density: rho_s, above rho [kg/m3].
    Returns [-], rising in v from 0; 1 and more where the grains are carried away.
    Source: Wen & Yu (1966), Chem. Eng. Prog. Symp. Ser. 62, 100-111, as D. Hendricks (2011), Example 12.9.

    Hand arithmetic: R = 1 makes 20.7, and Ga = 20.7 x 2^4.7 halves.
    >>> round(wen_yu_porosity(1e-3, 1e-3, 1000.0, size=1e-3,
    ...                       grain_density=1000.0 + 20.7 * 2.0**4.7 / 9.80665), 12)
    0.5
    """
    reynolds = size * v * rho / mu
    drag = 18.0 * reynolds + 2.7 * reynolds**1.687
    return float((drag / galileo_number(mu, rho, size=size, grain_density=grain_density)) ** (1.0 / 4.7))


def richardson_zaki_velocity(porosity: float, terminal: float, exponent: float) -> float:
    """Velocity at which a bed of settling grains keeps a porosity: the inverse of `richardson_zaki_porosity`.

    v_t e^n

    porosity: e, 0 to 1 [-]; terminal: v_t [m/s]; exponent: n [-]. Returns [m/s].
    Source: as `richardson_zaki_porosity`.

    Hand arithmetic: a sixteenth of 0.08.
    >>> richardson_zaki_velocity(0.5, 0.08, 4.0)
    0.005
    """
    return float(terminal * porosity**exponent)


def solids_drained(
    suspended: float,
    attached: float,
    rate: float,
    *,
    seconds: float,
    flow: float,
    water_volume: float,
    water_solids: float,
) -> float:
    """Solids sent to the drain over a time of washing one pool, by balance.

    W + M + Q C_w t - W(t) - M(t)

    Arguments as `vessel_solids_after`. Returns [g]; good to rounding of what was there at the start.
    Source: conservation of mass.

    Hand arithmetic: nothing attached, clean water, ln 2 turnovers: half of it goes.
    >>> round(solids_drained(100.0, 0.0, 0.0, seconds=60.0 * math.log(2.0), flow=1 / 60, water_volume=1.0,
    ...                      water_solids=0.0), 9)
    50.0
    """
    left = vessel_solids_after(
        suspended,
        attached,
        rate,
        seconds=seconds,
        flow=flow,
        water_volume=water_volume,
        water_solids=water_solids,
    )
    before = suspended + attached + flow * water_solids * seconds
    return before - left - attached_after(attached, rate, seconds)


def exchange_to_share(a: float, share: float) -> float:
    """Dimensionless load b at which the outlet reaches a share: the inverse of `outlet_share`.

    ln(e^a - 1) + ln(share / (1 - share))

    a: above 0 [-]; share: above 0 and below 1 [-]. Returns [-]; negative when the share is below e^-a, what
    the layer lets through from the start. Raises DomainError.
    Source: `outlet_share` solved for b.

    Hand arithmetic: e^a - 1 = 1 leaves ln(3/1).
    >>> round(exchange_to_share(math.log(2.0), 0.75), 9)
    1.098612289
    """
    if not a > 0.0:
        raise DomainError("capture depth a", f"{a:g}", "above 0")
    if not 0.0 < share < 1.0:
        raise DomainError("outlet share", f"{share:g}", "above 0 and below 1")
    return a + math.log(-math.expm1(-a)) + math.log(share) - math.log1p(-share)


def ripening_factor(volume_per_area: float, share: float, ripening_volume: float) -> float:
    """Factor on the filter coefficient of a bed that is not yet ripe.

    1 - r e^(-B / B_r)

    volume_per_area: B filtered since the wash, 0 or more [m]; share: r missing at first, 0 to 1 [-];
    ripening_volume: B_r > 0 [m]. Returns [-], from 1 - r up to 1.
    Source: first-order ripening, an assumption of this model.

    Hand arithmetic: at B = B_r ln 2 half of the missing share is made up.
    >>> round(ripening_factor(2.0 * math.log(2.0), 0.5, 2.0), 12)
    0.75
    """
    return 1.0 - share * math.exp(-volume_per_area / ripening_volume)


def run_length_by_breakthrough(
    deposit: float, depth: float, v: float, *, inlet: float, outlet: float
) -> float:
    """Time until a bed holds the mean deposit at which its outlet reaches the limit.

    s_B D / (v (C0 - C_E))

    deposit: s_B [g/m3]; depth: D [m]; v > 0 [m/s]; inlet > outlet: C0, C_E [g/m3]. Returns [s].
    Source: M. L. Davis, Water and Wastewater Engineering (2010), eq. 11-7.

    Hand arithmetic: 1000 g/m2 at 0.01 g/(m2 s).
    >>> round(run_length_by_breakthrough(1000.0, 1.0, 0.005, inlet=3.0, outlet=1.0), 6)
    100000.0
    """
    return deposit * depth / (v * (inlet - outlet))


def run_length_by_head_loss(
    available: float, clean: float, depth: float, *, head_gain: float, v: float, inlet: float, outlet: float
) -> float:
    """Time until the head loss of a bed has risen to what is available.

    (H_T - h_L) D / (k v (C0 - C_E))

    available, clean: H_T, h_L [m of head]; depth: D [m]; head_gain: k > 0 [m per g/m3]; v > 0 [m/s];
    inlet > outlet: C0, C_E [g/m3]. Returns [s].
    Source: M. L. Davis, Water and Wastewater Engineering (2010), eq. 11-8.

    Hand arithmetic: 2 m of head take 2000 g/m2, at 0.01 g/(m2 s).
    >>> round(run_length_by_head_loss(2.5, 0.5, 1.0, head_gain=1e-3, v=0.005, inlet=3.0, outlet=1.0), 6)
    200000.0
    """
    return (available - clean) * depth / (head_gain * v * (inlet - outlet))


def breakthrough_time(
    share: float, rate_constant: float, capacity: float, *, concentration: float, v: float, depth: float
) -> float:
    """Time at which the outlet of a fresh bed reaches a share of its inlet concentration.

    (ln(e^(K N0 X / U) - 1) - ln(1/share - 1)) / (K C0)

    share: above 0 and below 1 [-]; rate_constant: K [m3/(g s)]; capacity: N0 [g/m3]; concentration: C0
    [g/m3]; v: U [m/s]; depth: X [m]; all above 0. Returns [s]; negative when the fresh bed already lets more
    through. Raises DomainError.
    Source: Bohart & Adams (1920), J. Am. Chem. Soc. 42, 523-544 (form from memory).

    Hand arithmetic: e^(ln 3) - 1 = 2 and a share of 1/3 cancel.
    >>> abs(round(breakthrough_time(1 / 3, 1.0, math.log(3.0), concentration=1.0, v=1.0, depth=1.0), 12))
    0.0
    """
    b = exchange_to_share(rate_constant * capacity * depth / v, share)
    return b / (rate_constant * concentration)


def yao_efficiency(
    particle_size: float,
    size: float,
    v: float,
    *,
    temperature: float,
    mu: float,
    rho: float,
    particle_density: float,
) -> float:
    """Share of the particles approaching a lone grain that touch it, after Yao, Habibian and O'Melia.

    0.9 (k T / (mu d_p d v))^(2/3) + 1.5 (d_p / d)^2 + (rho_p - rho) g d_p^2 / (18 mu v)

    particle_size, size: d_p, d [m]; v: superficial, above 0 [m/s]; temperature [degC]; mu [Pa s];
    rho, particle_density [kg/m3]. Returns [-]; least near 1-2 um.
    Source: Yao, Habibian & O'Melia (1971), Environ. Sci. Technol. 5, 1105-1112.
    """
    thermal = BOLTZMANN * (temperature + ICE_POINT)
    diffusion = 0.9 * (thermal / (mu * particle_size * size * v)) ** (2.0 / 3.0)
    interception = 1.5 * (particle_size / size) ** 2
    settling = (particle_density - rho) * STANDARD_GRAVITY * particle_size**2 / (18.0 * mu * v)
    return float(diffusion + interception + settling)
