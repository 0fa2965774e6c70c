"""Supply and drain of a wash: what pipes and restrictors lose, what a supply gives, what flow comes of it.

Friction and orifices are those of the public library `fluids`. Pressures are above ambient; a loss has the sign of
its flow. Whether the drain ends in an air gap is for the case to state: no law here knows.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from hydraulics.compiled import law
from hydraulics.constants import STANDARD_GRAVITY
from hydraulics.errors import DomainError


@law
def static_pressure(height: float, rho: float) -> float:
    """Pressure that a rise costs, whatever the flow.

    rho g h

    height: from where the pressure is known up to the free outlet [m]; rho: water density [kg/m3]. Returns [Pa],
    negative for a fall.
    Source: hydrostatics.

    Hand arithmetic: 2 x 1000 x 9.80665.
    >>> static_pressure(2.0, 1000.0)
    19613.3
    """
    return rho * STANDARD_GRAVITY * height


def friction_factor(reynolds: float, relative_roughness: float) -> float:
    """Darcy's friction factor of a round pipe.

    64 / R while laminar (R below 2040), else Colebrook's equation, solved by `fluids` after Clamond (2009)

    reynolds: R, above 0 [-]; relative_roughness: roughness over diameter, 0 or more [-]. Returns [-]. Raises
    DomainError. At 2040 the factor jumps up.
    Source: Colebrook (1939), as the public library `fluids` solves it.

    That library's worked figure for Colebrook's equation, printed as 0.018513866077471648.
    >>> round(friction_factor(1e5, 1e-4), 15)
    0.018513866077472
    """
    from fluids.friction import friction_factor as darcy

    if not reynolds > 0.0:
        raise DomainError("pipe Reynolds number", f"{reynolds:g}", "above 0")
    if not relative_roughness >= 0.0:
        raise DomainError("relative roughness", f"{relative_roughness:g}", "0 or more")
    return float(darcy(Re=reynolds, eD=relative_roughness))


def pipe_loss(
    flow: float, mu: float, rho: float, *, diameter: float, length: float, roughness: float, fittings: float
) -> float:
    """Pressure loss of a pipe running full and of its fittings.

    (f L / D + K) rho u^2 / 2, u = 4 Q / (pi D^2)

    flow: Q [m3/s]; mu > 0 [Pa s]; rho [kg/m3]; diameter: D, inner, above 0 [m]; length: L, 0 or more [m]; roughness
    of the wall, 0 or more [m]; fittings: K, their loss coefficients added up, an outlet's 1 included [-].
    Returns [Pa], with the sign of the flow. Raises DomainError.
    Source: Darcy & Weisbach, with `friction_factor`.

    Hand arithmetic: laminar, R 1000: f = 0.064 and u = 0.1 m/s, so 0.064 x 100 x 5 Pa and 2 x 5 Pa.
    >>> area = math.pi * 0.01**2 / 4.0
    >>> round(pipe_loss(0.1 * area, 1e-3, 1000.0, diameter=0.01, length=1.0, roughness=0.0, fittings=2.0), 9)
    42.0
    """
    from fluids.core import K_from_f, Reynolds, dP_from_K

    if not diameter > 0.0:
        raise DomainError("pipe diameter", f"{diameter:g} m", "above 0 m")
    speed = 4.0 * abs(flow) / (math.pi * diameter**2)
    reynolds = Reynolds(V=speed, D=diameter, rho=rho, mu=mu)
    if reynolds < 1.0:  # multiplied out: the factor itself grows beyond bounds as the flow ceases
        loss = 32.0 * mu * length * speed / diameter**2 + dP_from_K(fittings, rho=rho, V=speed)
    else:
        factor = friction_factor(reynolds, roughness / diameter)
        loss = dP_from_K(K_from_f(factor, length, diameter) + fittings, rho=rho, V=speed)
    return math.copysign(float(loss), flow)


def orifice_flow(pressure: float, rho: float, *, hole: float, pipe: float, discharge: float) -> float:
    """Flow that a pressure drives through a round sharp-edged restrictor.

    C (pi d^2 / 4) sqrt(2 dp / rho) / sqrt(1 - (d / D)^4)

    pressure: dp across it [Pa]; rho [kg/m3]; hole: d > 0 [m]; pipe: D before it, above d [m]; discharge: C, about
    0.61 [-]. Returns [m3/s], with the sign of the pressure. Raises DomainError.
    Source: ISO 5167-2, as the public library `fluids` computes it; all of dp counts as lost.

    Hand arithmetic: without a pipe to speak of, 0.61 x 7.853982e-5 m2 x 20 m/s at 200 kPa and 1000 kg/m3.
    >>> round(60e3 * orifice_flow(200e3, 1000.0, hole=0.010, pipe=1.0, discharge=0.61), 4)  # L/min
    57.4911
    """
    from fluids.flow_meter import flow_meter_discharge

    if not 0.0 < hole < pipe:
        raise DomainError("hole of a restrictor", f"{hole:g} m", f"above 0 m and below {pipe:g} m, the pipe's")
    mass = flow_meter_discharge(  # type: ignore[no-untyped-call]
        D=pipe, Do=hole, P1=abs(pressure), P2=0.0, rho=rho, C=discharge
    )
    return math.copysign(float(mass) / rho, pressure)


def orifice_loss(flow: float, rho: float, *, hole: float, pipe: float, discharge: float) -> float:
    """Pressure that a flow loses in a restrictor: the inverse of `orifice_flow`.

    (Q / Q_1)^2 x 1 Pa, Q_1 the flow that 1 Pa drives

    flow: Q [m3/s]; the rest as `orifice_flow`. Returns [Pa], with the sign of the flow. Raises DomainError.
    Source: as `orifice_flow`.

    Hand arithmetic: the flow of `orifice_flow`.
    >>> round(orifice_loss(57.4911 / 60e3, 1000.0, hole=0.010, pipe=1.0, discharge=0.61), -1)
    200000.0
    """
    unit = orifice_flow(1.0, rho, hole=hole, pipe=pipe, discharge=discharge)
    return flow * abs(flow) / unit**2


@dataclass(frozen=True, slots=True)
class Supply:
    """What a supply gives: pressures [Pa] at flows [m3/s] that rise from 0; nothing beyond the last flow.

    `supply_curve` makes it. A limit alone is two points of one pressure.
    """

    flows: tuple[float, ...]
    pressures: tuple[float, ...]


def supply_curve(flows: Sequence[float], pressures: Sequence[float]) -> Supply:
    """A supply from the points of its curve.

    flows: rising from 0 [m3/s]; pressures: one for each, none above that before it [Pa]. Raises DomainError.
    Source: data sheet or reading of the site.

    Hand arithmetic: 3 bar up to 2 L/s.
    >>> supply_curve([0.0, 0.002], [3e5, 3e5]).flows[-1]
    0.002
    """
    if len(flows) < 2 or len(flows) != len(pressures):
        given = f"{len(flows)} flows, {len(pressures)} pressures"
        raise DomainError("supply curve", given, "two points or more, each a flow and a pressure")
    if flows[0] != 0.0 or not all(less < more for less, more in pairwise(flows)):
        raise DomainError("flows of a supply curve", f"from {flows[0]:g} to {flows[-1]:g} m3/s", "rising from 0")
    if not all(before >= after for before, after in pairwise(pressures)):
        raise DomainError("pressures of a supply curve", "one above that before it", "falling, or the same")
    return Supply(tuple(flows), tuple(pressures))


def available_pressure(flow: float, supply: Supply) -> float:
    """Pressure that a supply gives at a flow, along straight lines between its points.

    flow: 0 up to the last of the curve [m3/s]. Returns [Pa], not rising in the flow. Raises DomainError.
    Source: interpolation.

    Hand arithmetic: half way down from 4 to 2 bar.
    >>> available_pressure(0.001, supply_curve([0.0, 0.002], [4e5, 2e5]))
    300000.0
    """
    points = zip(supply.flows, supply.pressures, strict=True)
    for (less, before), (more, after) in pairwise(points):
        if less <= flow <= more:
            return before + (after - before) * (flow - less) / (more - less)
    raise DomainError("flow from a supply", f"{flow:g} m3/s", f"0 to {supply.flows[-1]:g} m3/s, as its curve goes")


def branch_pressure(flow: float, supply: Supply, shared_loss: Callable[[float], float]) -> float:
    """Pressure left where a shared line branches, at all the flow that it carries.

    flow: of wash, service and everyone else [m3/s]; shared_loss: pressure lost up to the branch [Pa] at a flow.
    Returns [Pa]. Raises DomainError, as `available_pressure`.
    Source: balance of pressures.

    Hand arithmetic: 3 bar less 1e11 x 0.001^2.
    >>> branch_pressure(0.001, supply_curve([0.0, 0.002], [3e5, 3e5]), lambda q: 1e11 * q**2)
    200000.0
    """
    return available_pressure(flow, supply) - shared_loss(flow)


def flow_reached(
    asked: float,
    supply: Supply,
    *,
    shared_loss: Callable[[float], float],
    wash_loss: Callable[[float], float],
    others: float,
) -> float:
    """Flow of a wash that its supply and its way to the drain allow, at most what is asked for.

    The root of supply pressure less shared loss, both at others + q, less wash loss at q: bracketed between none and
    what is asked for or the supply ends with, to 1e-12 of that.

    asked: 0 or more [m3/s]; shared_loss: of the line that others draw through as well, wash_loss: of vessel, bed,
    restrictor, drain pipe and rise, each [Pa] and not falling in its flow [m3/s]; others: what everyone else draws
    meanwhile, service or another wash [m3/s]. Returns [m3/s]: 0 where the pressure moves nothing. Raises DomainError,
    also where the others alone leave the supply's curve.
    Source: balance of pressures.

    Hand arithmetic: 300 kPa less 50 kPa of rise through 1e11 q^2 is 1.5811 L/s.
    >>> supply = supply_curve([0.0, 0.01], [3e5, 3e5])
    >>> q = flow_reached(0.005, supply, shared_loss=lambda q: 0.0, wash_loss=lambda q: 5e4 + 1e11 * q**2, others=0.0)
    >>> round(1e3 * q, 4)
    1.5811
    """
    from fluids.numerics import brenth

    if not asked >= 0.0:
        raise DomainError("wash flow", f"{asked:g} m3/s", "0 m3/s or more")
    standing = branch_pressure(others, supply, shared_loss) - wash_loss(0.0)
    most = min(asked, supply.flows[-1] - others)
    if standing <= 0.0 or most == 0.0:
        return 0.0

    def surplus(q: float) -> float:
        drawn = min(others + q, supply.flows[-1])  # rounding may carry the sum past the end of the curve
        return branch_pressure(drawn, supply, shared_loss) - wash_loss(q)

    if surplus(most) >= 0.0:
        return most
    return float(brenth(surplus, 0.0, most, xtol=1e-12 * most, maxiter=200))  # type: ignore[no-untyped-call]
