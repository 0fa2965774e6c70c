"""Washing of a bed: detachment from its pools of solids, and flushing of the vessel.

A pool loses solids to the vessel's water at its own rate; the water, well mixed, gives them to the drain:

    dM/dt = -k M            dW/dt = k M - (Q / V) W + Q C_w

The equation for W is linear. With several pools, give the first call the suspended solids and the wash
water, call again for each further pool with none of either, and add.
"""

import math

from hydraulics.compiled import law
from hydraulics.decay import decay_mean


@law
def attached_after(mass: float, rate: float, seconds: float) -> float:
    """Solids still attached after a time of washing.

    M e^(-k t)

    mass: M, any unit of mass, in total or per area; rate: k, 0 or more [1/s]; seconds: t, 0 or more [s].
    Returns as given. Rate or time 0 changes nothing.
    Source: first-order cleaning of each pool, an assumption of this model.

    Hand arithmetic: ten half-lives.
    >>> round(attached_after(1024.0, math.log(2.0) / 60.0, 600.0), 9)
    1.0
    """
    return mass * math.exp(-rate * seconds)


@law
def vessel_solids_after(
    suspended: float,
    attached: float,
    rate: float,
    *,
    seconds: float,
    flow: float,
    water_volume: float,
    water_solids: float,
) -> float:
    """Solids suspended in a vessel's water after a time of washing one pool.

    W e^(-q t) + Q C_w (1 - e^(-q t)) / q + k M (e^(-k t) - e^(-q t)) / (q - k), q = Q / V

    suspended, attached: W, M at the start [g]; rate: k, 0 or more [1/s]; seconds: t, 0 or more [s];
    flow: Q, 0 or more [m3/s]; water_volume: V > 0 [m3]; water_solids: C_w of the wash water [g/m3].
    Returns [g]. No flow leaves everything in the vessel; equal rates are no special case: the divided
    difference is t e^(-min(k, q) t) times the mean decay over |q - k| t.
    Source: solution of the balance above.

    Hand arithmetic: equal rates, 1/min over 1 min, leave M k t e^(-k t) = 100 / e.
    >>> round(vessel_solids_after(0.0, 100.0, 1 / 60, seconds=60.0, flow=1 / 60, water_volume=1.0,
    ...                           water_solids=0.0), 6)
    36.787944
    """
    turnover = flow / water_volume
    kept = suspended * math.exp(-turnover * seconds)
    brought = flow * water_solids * seconds * decay_mean(turnover * seconds)
    slower = min(rate, turnover)
    release = seconds * math.exp(-slower * seconds) * decay_mean(abs(rate - turnover) * seconds)
    return kept + brought + rate * attached * release
