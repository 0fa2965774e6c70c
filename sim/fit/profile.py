"""Intervals by profile likelihood, widened where what is left of the readings hangs together within blocks of them.

The sum of squares over the noise is followed along one constant, all others fitted anew, until it has risen by a
threshold: the square of the quantile of Student's t, since the noise is itself estimated. Errors that last (a dirty
day read as clean, a flow meter that was off for a week) make readings of one run alike; the jackknife that leaves out
one block at a time (Bell and McCaffrey 2002 call it CR3) tells by how much the variance of each constant is then
greater, and the threshold rises by that factor, 1 at least. Its degrees of freedom are theirs too: less than blocks,
where a few of them have most to say of a constant.
"""

import math
from typing import NamedTuple

import numpy as np
from scipy.stats import t as student

from sim.fit.problem import Problem
from sim.log.pieces import Values

RIDGE = 1e-12  # of the greatest information: constants that cannot be parted get a great variance, not an error
LEAST = 1e-4  # information on a free number: a standard error of 100 is as good as none
CLOSE = 0.02  # relative, of the threshold, at which a profile has reached it
TRIES = 8  # points of a profile on one side
LEVEL = 0.975  # of the quantile: 95 % in the middle


class Side(NamedTuple):
    """Where a profile ends on one side: the free number, and whether it had risen by the threshold there."""

    at: float
    bounded: bool


class Spread(NamedTuple):
    """What readings say near the best of the free numbers: covariance, how far a profile has to rise for each, slopes
    of the residuals."""

    covariance: Values
    threshold: Values
    slopes: Values


def spread(problem: Problem, x: Values, slopes: Values, freedom: Values) -> Spread:
    """`freedom`: degrees of freedom of each kind of reading, as `Problem.settle_noise` tells."""
    information = slopes.T @ slopes
    size = np.sqrt(np.maximum(np.diag(information), LEAST))
    count = len(size)
    scaled = information / np.outer(size, size)
    np.fill_diagonal(scaled, 1.0 + RIDGE)
    inverse = np.linalg.inv(scaled)
    covariance = inverse / np.outer(size, size)
    factor, blocks = _by_blocks(problem, x, slopes, covariance)
    threshold = np.full(count, math.inf)
    for n in range(count):
        pulls = (slopes @ covariance[:, n]) ** 2
        shares = np.array([pulls[problem.kind == k].sum() for k in range(len(problem.kinds))])
        if not shares.any():  # no slope here; further off there may be one
            shares = np.maximum(freedom, 1e-300)
        shares = shares / shares.sum()
        needed = shares > 1e-6
        if (freedom[needed] < 1.0).any():
            continue
        own = 1.0 / (shares[needed] ** 2 / freedom[needed]).sum()  # Satterthwaite
        alone = float(student.ppf(LEVEL, own)) ** 2
        together = float(student.ppf(LEVEL, max(blocks[n], 1.0))) ** 2 * factor[n]
        threshold[n] = max(alone, together if factor[n] > 1.0 else 0.0)
    return Spread(covariance, threshold, slopes)


def _by_blocks(problem: Problem, x: Values, slopes: Values, covariance: Values) -> tuple[Values, Values]:
    """By how much each variance is greater than with independent errors, and the degrees of freedom of that."""
    left, block = problem.residuals(x), problem.block
    pulls, own, weights = [], [], []
    for one in np.unique(block):
        mine = block == one
        j = slopes[mine]
        rest = np.eye(len(j)) - j @ covariance @ j.T
        freed, *_ = np.linalg.lstsq(rest, np.column_stack([left[mine], j @ covariance]), rcond=1e-6)
        pulls.append(covariance @ j.T @ freed[:, 0])
        own.append((freed[:, 1:] ** 2).sum(axis=0))
        weights.append(j.T @ freed[:, 1:])
    count, freedom = len(pulls), np.zeros(len(covariance))
    for n in range(len(covariance)):
        b = np.array([each[:, n] for each in weights])
        shared = np.diag([each[n] for each in own]) - b @ covariance @ b.T
        freedom[n] = np.trace(shared) ** 2 / max((shared**2).sum(), 1e-300)
    robust = (np.array(pulls) ** 2).sum(axis=0) * (count - 1) / count
    return np.maximum(robust / np.diag(covariance), 1.0), np.minimum(freedom, count - 1)


def profile(problem: Problem, x: Values, found: Spread, n: int, upward: bool) -> Side:
    """Follow free number n from the best x, up or down, to where the threshold is reached or the search ends."""
    end = problem.high[n] if upward else problem.low[n]
    farthest = abs(end - x[n])
    threshold = found.threshold[n]
    if math.isinf(threshold) or farthest <= 0.0:
        return Side(end, False)
    sign = 1.0 if upward else -1.0
    along = found.covariance[:, n] / found.covariance[n, n]
    least, target = problem.cost(x), math.sqrt(threshold)
    step = min(target * math.sqrt(found.covariance[n, n]), farthest)
    below, above, at_below, at_above = 0.0, math.inf, 0.0, math.inf
    inner, slopes = x, found.slopes
    for _ in range(TRIES):
        moved = inner + sign * (step - below) * along
        moved[n] = x[n] + sign * step
        near, steeper = problem.eased(moved, [n], slopes, CLOSE * threshold)
        root = math.sqrt(max(problem.cost(near) - least, 0.0))
        if root > target * (1.0 - CLOSE):  # slopes from elsewhere may have led astray
            near, steeper = problem.eased(near, [n], problem.slopes(near), CLOSE * threshold)
            root = math.sqrt(max(problem.cost(near) - least, 0.0))
        if abs(root / target - 1.0) < CLOSE:
            return Side(x[n] + sign * step, True)
        if root < target:
            if step >= farthest:
                return Side(end, False)
            below, at_below, inner, slopes = step, root, near, steeper
            further = step * min(max(target / max(root, 1e-300), 1.1), 5.0)
        else:
            above, at_above = step, root
        if above < math.inf:
            part = (target - at_below) / (at_above - at_below)
            further = below + min(max(part, 0.1), 0.9) * (above - below)
        step = min(further, farthest)
    return Side(x[n] + sign * min(above, farthest), True)


def alike(found: Spread, n: int, m: int) -> float:
    """How far one free number can be exchanged for another: their correlation, without its sign."""
    covariance = found.covariance
    return abs(float(covariance[n, m] / math.sqrt(covariance[n, n] * covariance[m, m])))


