"""First-order decay, shared by ripening and washing."""

import math

from hydraulics.compiled import law


@law
def decay_mean(x: float) -> float:
    """Mean of exp(-s) over s from 0 to x.

    (1 - e^-x) / x, and 1 at x = 0, without loss of digits in between.

    x: any [-]; negative x gives a mean above 1. Returns [-].

    Hand arithmetic: half of 1 - 1/e^2.
    >>> round(decay_mean(2.0), 7)
    0.4323324
    """
    if x == 0.0:
        return 1.0
    return -math.expm1(-x) / x
