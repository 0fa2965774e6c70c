"""Displacement of what a vessel holds, as tanks in series: rinsing to waste after a wash.

x is the volume passed over the volume held, N the number of equal tanks: 1 is one stirred tank, many approach
plug flow. The laws hold for N from 1 to 300; shares below 1e-100 are not to be trusted in their digits.
"""

import math
from collections.abc import Sequence
from itertools import pairwise

from hydraulics.compiled import law
from hydraulics.errors import DomainError


@law
def remaining_share(x: float, tanks: int) -> float:
    """Share of the first filling still leaving, and still held by the last tank, after x volumes.

    Q(N, N x) = e^(-N x) sum over k < N of (N x)^k / k!

    x: volumes passed [-]; tanks: N, 1 or more. Returns [-], from 1 at x = 0 down to 0; 1 for x below 0.
    Source: Levenspiel, Chemical Reaction Engineering, tanks-in-series model (from memory).

    Hand arithmetic: two tanks after one volume leave 3 / e^2.
    >>> round(remaining_share(1.0, 2), 9)
    0.40600585
    """
    if x <= 0.0:
        return 1.0
    term = math.exp(-tanks * x)
    total = term
    for k in range(1, tanks):
        term *= tanks * x / k
        total += term
    return total


@law
def remaining_integral(x: float, tanks: int) -> float:
    """Part of the first filling washed out after x volumes: the integral of `remaining_share` from 0 to x.

    (1/N) sum over k = 1..N of P(k, N x), which is x Q(N, N x) + P(N + 1, N x)

    x: volumes passed [-]; tanks: N, 1 or more. Returns [-], from x when x is small to 1; 0 for x below 0.
    Source: term-by-term integral of the tanks-in-series sum.

    Hand arithmetic: two tanks after one volume have lost ((1 - 1/e^2) + (1 - 3/e^2)) / 2.
    >>> round(remaining_integral(1.0, 2), 9)
    0.729329434
    """
    if x <= 0.0:
        return 0.0
    term = math.exp(-tanks * x)
    gone = -math.expm1(-tanks * x)
    total = gone
    for k in range(1, tanks):
        term *= tanks * x / k
        gone -= term
        total += gone
    return total / tanks


@law
def remaining_both(x: float, tanks: int) -> tuple[float, float]:
    """`remaining_share` and `remaining_integral` for the price of one, to 1e-15 of the first filling.

    x: volumes passed [-]; tanks: N, 1 or more. Returns both [-].
    Source: as theirs, the integral being (1/N) sum over k = 1..N of 1 - Q(k, N x).

    Hand arithmetic: two tanks after one volume, as above.
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


def pulse_moments(times: Sequence[float], signal: Sequence[float]) -> tuple[float, float]:
    """Mean and variance of the time at which a pulse of tracer leaves.

    First moment and second central moment of the signal, by the trapezoidal rule.

    times: rising [s]; signal: at least as far as it is back at 0, in any unit. Returns ([s], [s2]).
    Raises DomainError for times that do not rise and for a signal without area.
    Source: Levenspiel, Chemical Reaction Engineering (from memory).

    Hand arithmetic: equal signals at 1 and 3.
    >>> pulse_moments([0.0, 1.0, 2.0, 3.0, 4.0], [0.0, 1.0, 0.0, 1.0, 0.0])
    (2.0, 1.0)
    """
    if len(times) != len(signal) or any(late <= early for early, late in pairwise(times)):
        given = f"{len(times)} times, {len(signal)} signals"
        raise DomainError("pulse", given, "one signal for each rising time")
    area = _trapezoid(times, signal)
    if not area > 0.0:
        raise DomainError("area under the pulse", f"{area:g}", "above 0")
    mean = _trapezoid(times, [t * c for t, c in zip(times, signal, strict=True)]) / area
    spread = _trapezoid(times, [(t - mean) ** 2 * c for t, c in zip(times, signal, strict=True)]) / area
    return mean, spread


def tanks_from_pulse(times: Sequence[float], signal: Sequence[float]) -> float:
    """Number of tanks in series that spreads a pulse as a measured one was.

    mean^2 / variance

    times: rising [s]; signal: in any unit. Returns N [-], not rounded. Raises DomainError, as `pulse_moments`
    and for a pulse that has no width.
    Source: Levenspiel, Chemical Reaction Engineering (from memory).

    Hand arithmetic: a mean of 2 and a variance of 1.
    >>> tanks_from_pulse([0.0, 1.0, 2.0, 3.0, 4.0], [0.0, 1.0, 0.0, 1.0, 0.0])
    4.0
    """
    mean, variance = pulse_moments(times, signal)
    if not variance > 0.0:
        raise DomainError("variance of the pulse", f"{variance:g} s2", "above 0")
    return mean**2 / variance


def _trapezoid(x: Sequence[float], y: Sequence[float]) -> float:
    return sum((x[i + 1] - x[i]) * (y[i] + y[i + 1]) / 2.0 for i in range(len(x) - 1))
