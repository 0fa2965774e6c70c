"""Displacement of what a vessel holds, as tanks in series: rinsing to waste after a wash.

x is the volume passed over the volume held, N the number of equal tanks: 1 is one stirred tank, many approach
plug flow. The laws hold for N from 1 to 300; shares below 1e-100 are not to be trusted in their digits.
"""

import math

from hydraulics.compiled import law


@law
def remaining_both(x: float, tanks: int) -> tuple[float, float]:
    """Share of the first filling that the last tank still holds after x volumes, and the part washed out by then.

    Q(N, N x) = e^(-N x) sum over k < N of (N x)^k / k!, and its integral (1/N) sum over k = 1..N of 1 - Q(k, N x)

    x: volumes passed [-]; tanks: N, 1 or more. Returns both [-]: the share, from 1 down to 0, is also that of what
    leaves just then; the part to 1e-15 of the first filling. 1 and 0 for x below 0.
    Source: Levenspiel, Chemical Reaction Engineering, tanks-in-series model (from memory).

    Hand arithmetic: two tanks after one volume keep 3 / e^2 and have lost ((1 - 1/e^2) + (1 - 3/e^2)) / 2.
    >>> [round(value, 9) for value in remaining_both(1.0, 2)]
    [0.40600585, 0.729329434]
    """
    if x <= 0.0:
        return 1.0, 0.0
    term = math.exp(-tanks * x)
    gone = 1.0 - term
    share, total = term, gone
    for k in range(1, tanks):
        term *= tanks * x / k
        share += term
        gone -= term
        total += gone
    return share, total / tanks
