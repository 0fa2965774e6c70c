"""One law of growth fitted to a log: residuals, bounded least squares, what is left of the readings as noise.

A constant goes in as it is where the readings are straight in it (valve, clean bed, gain of head loss), else as its
logarithm; either way it stays positive. Every kind of reading has its own noise, told by what the fit leaves.
"""

import math
from collections.abc import Mapping, Sequence

import numpy as np
from scipy.optimize import least_squares, lsq_linear

from sim.fit.forward import Forward, Predicted
from sim.fit.records import Constant
from sim.log.pieces import Values
from sim.log.records import What

BY_RATIO = (What.TURBIDITY_OUT, What.CHLORINE_OUT)
"""What errs by a share of itself: meters do, and so does what comes through of a feed that was misread."""
OFFSET = 0.2  # of the middle reading; what is less errs no less

AT_ZERO = 0.1  # share of readings of nothing from which the others may be no more than errors

STEP = 1e-5  # of a free number, for its slope
FINE = 1e-12  # least noise, relative to the greatest reading
BLOCKS = 8  # at least: a log of fewer runs is cut finer
FAILURES = 3  # steps that bring nothing
SHORTER = 0.25  # of the step before, after one that brings nothing
STEPS = 12  # at most along a profile, at each of its points
PRECISE = 1e-7  # relative change of cost or numbers at which a search for the best ends


class Problem:
    """The readings of a log against the model with some constants free.

    `within`: of those that the log says nothing of by itself, the range in which they are free beside the others.
    """

    def __init__(
        self, forward: Forward, free: Sequence[Constant], within: Mapping[Constant, tuple[float, float]]
    ) -> None:
        self.forward, self.free = forward, tuple(free)
        known = [forward.known[each] for each in free]
        linear = forward.case.stages[0].head_loss.growth == "linear"
        straight = {Constant.VALVE, Constant.CLEAN_BED} | ({Constant.GROWTH} if linear else set())
        self._straight = np.array([each in straight for each in free])
        self._base = np.array([each.value for each in known])
        ends = [within.get(each, (k.least, k.most)) for each, k in zip(free, known, strict=True)]
        self.low, self.high = (self.numbers(np.array(end)) for end in zip(*ends, strict=True))
        self.start = self.numbers(self._base)
        before = forward.at()
        self.kinds = [what for what in forward.times if np.isfinite(before[what]).any()]
        self._used = {what: np.isfinite(before[what]) for what in self.kinds}
        self.kind = np.repeat(np.arange(len(self.kinds)), [self._used[what].sum() for what in self.kinds])
        self.read, self.time = self._stacked(forward.read), self._stacked(forward.times)
        self._of = [self.kind == k for k in range(len(self.kinds))]
        own = [self.read[mine] for mine in self._of]
        self.floor = np.array([self._floor(what) for what in self.kinds])
        self._offset, self._middle = self._ratios()
        self._at_zero = np.array([float(np.mean(read <= 0.0)) > AT_ZERO for read in own])
        least = np.where(self._at_zero, [math.sqrt(float(np.mean(read**2))) for read in own], 0.0)
        self.floor, self._spare = np.maximum(self.floor, least), least
        self.scale = np.maximum(self.floor, [0.02 * np.ptp(read) for read in own])
        self.weight = np.ones(len(self.read))
        self._last: tuple[Values, Values] | None = None
        self.lowest = self.start, math.inf  # what a search along a profile has come to, and the cost there
        self.run = np.searchsorted([end for _, end in forward.log.runs()[:-1]], self.time, side="left")

    def numbers(self, values: Values) -> Values:
        """The free numbers of values [SI]."""
        ratio = values / self._base
        found: Values = np.where(self._straight, ratio, np.log(ratio))
        return found

    def values(self, x: Values) -> dict[Constant, float]:
        """The constants [SI] of free numbers."""
        ratio = np.where(self._straight, x, np.exp(np.where(self._straight, 0.0, x)))
        return dict(zip(self.free, (self._base * ratio).tolist(), strict=True))

    def predicted(self, x: Values) -> Values:
        """What the readings would be; the last is kept, since searches ask for it twice."""
        if self._last is None or not np.array_equal(self._last[0], x):
            self._last = x.copy(), self._stacked(self.forward.at(self.values(x)))
        found: Values = self._last[1]
        return found

    def residuals(self, x: Values) -> Values:
        """Readings less what is predicted, over the noise of their kind."""
        found: Values = np.sqrt(self.weight) * self.left(self.predicted(x)) / self.scale[self.kind]
        return found

    def left(self, predicted: Values) -> Values:
        """Readings less what is predicted [SI]; of what errs by a share, in proportion to the middle reading.

        A gauge that is at its zero at times shows no less than nothing: only what is predicted by more than its
        noise above a reading is wrong.
        """
        by_ratio = self._offset < math.inf
        least = np.where(by_ratio, self._offset, 1.0)
        ratio = (self.read + least) / (np.maximum(predicted, 0.0) + least)
        found = np.where(by_ratio, self._middle * np.log(np.where(by_ratio, ratio, 1.0)), self.read - predicted)
        short = np.minimum(self.read + self._spare[self.kind] - predicted, 0.0)
        found = np.where(self._at_zero[self.kind], short, found)
        left: Values = np.nan_to_num(found, nan=0.0)
        return left

    def slopes(self, x: Values) -> Values:
        """Of the residuals, by differences away from the nearer bound."""
        at = self.residuals(x)  # which `predicted` has kept
        steps = np.where(x + STEP <= self.high, STEP, -STEP)
        moved = [self.residuals(x + step) for step in np.diag(steps)]
        return np.column_stack([(each - at) / step for each, step in zip(moved, steps, strict=True)])

    def best(self, start: Values, tolerance: float = PRECISE) -> Values:
        """The numbers that leave least."""
        room = 1e-6 * (self.high - self.low)
        inside = np.clip(np.clip(start, self.low, self.high), self.low + room, self.high - room)
        done = least_squares(
            self.residuals, inside, jac=self.slopes, bounds=(self.low, self.high), ftol=tolerance,
            xtol=1e-4 * tolerance, gtol=1e-12, max_nfev=30,
        )  # fmt: skip
        found: Values = done.x
        return found

    def eased(self, start: Values, held: Sequence[int], slopes: Values, enough: float) -> tuple[Values, Values]:
        """The numbers, some held, that leave least to within `enough`, and the slopes there, from slopes nearby.

        Gauss and Newton's steps within the bounds, shorter after one that brings nothing, the slopes kept up to date
        by what each step shows (Broyden 1965): one run of the model a step.
        """
        x, slopes = np.clip(start, self.low, self.high), slopes.copy()
        left, reach, failed = self.residuals(x), math.inf, 0
        open_ = np.array([n not in held and self.low[n] < self.high[n] for n in range(len(x))])
        for _ in range(STEPS if open_.any() else 0):
            step = np.zeros(len(x))
            ends = self.low[open_] - x[open_], self.high[open_] - x[open_]
            step[open_] = lsq_linear(slopes[:, open_], -left, bounds=ends, method="bvls").x
            said = slopes @ step  # by how much the residuals would change
            step *= min(1.0, reach / max(float(np.linalg.norm(said)), 1e-300))
            moved = np.clip(x + step, self.low, self.high)
            step = moved - x
            if not step.any():
                break
            tried, said = self.residuals(moved), slopes @ step
            slopes += np.outer(tried - left - said, step) / (step @ step)
            gained, length = float(left @ left - tried @ tried), float(np.linalg.norm(said))
            reach = 2.0 * max(reach, length) if gained > 0.0 else SHORTER * length
            if gained > 0.0:
                x, left = moved, tried
                if left @ left < self.lowest[1]:
                    self.lowest = x, float(left @ left)
            failed += gained <= 0.0
            if 0.0 < gained < enough or failed > FAILURES:
                break
        return x, slopes

    def cost(self, x: Values) -> float:
        """The sum of squares of what is left over the noise: -2 ln L, a constant apart, where the noise stands."""
        left = self.residuals(x)
        return float(left @ left)

    def settle_noise(self, x: Values, slopes: Values) -> Values:
        """Take the noise of every kind from what is left at x; its degrees of freedom by kind.

        The slopes are brought to the noise as it then is.
        """
        left, hat = self.residuals(x), leverage(slopes)
        freedom = np.array([self.weight[mine].sum() - hat[mine].sum() for mine in self._of])
        square = np.array([left[mine] @ left[mine] for mine in self._of])
        found = np.maximum(self.scale * np.sqrt(square / np.maximum(freedom, 1.0)), self.floor)
        slopes *= (self.scale / found)[self.kind][:, None]
        self.scale = found
        freed: Values = np.maximum(freedom, 0.0)
        return freed

    @property
    def block(self) -> Values:
        """The block of each reading: its run, or an equal part of it where there are few runs."""
        runs = np.unique(self.run)
        parts = math.ceil(BLOCKS / len(runs))
        found = np.zeros(len(self.run))
        for run in runs:
            mine = self.run == run
            order = np.argsort(np.argsort(self.time[mine], kind="stable"), kind="stable")
            found[mine] = run * parts + (order * parts) // max(mine.sum(), 1)
        return found

    def _ratios(self) -> tuple[Values, Values]:
        """For each reading what is added before a ratio is taken, inf where errors are alike at all sizes; and what
        the middle reading of its kind then is."""
        offset, middle = np.full(len(self.read), math.inf), np.ones(len(self.read))
        for what, mine in zip(self.kinds, self._of, strict=True):
            if what in BY_RATIO:
                usual = float(np.median(self.read[mine]))
                offset[mine] = max(OFFSET * usual, self._floor(what))
                middle[mine] = usual + offset[mine]
        return offset, middle

    def _stacked(self, columns: Mapping[What, Values] | Predicted) -> Values:
        return np.concatenate([np.zeros(0), *(columns[what][self._used[what]] for what in self.kinds)])

    def _floor(self, what: What) -> float:
        """Least noise: that of rounding to the last digit written, evenly spread."""
        series = self.forward.log.of(what)
        resolution = 0.0 if series is None else series.resolution
        return max(resolution / math.sqrt(12.0), FINE * float(np.abs(self.forward.read[what]).max()), 1e-300)


def leverage(slopes: Values) -> Values:
    """What each reading has to say in its own fit, 0 to 1."""
    u, s, _ = np.linalg.svd(slopes, full_matrices=False)
    kept = u[:, s > 1e-9 * s.max(initial=0.0)] if s.size else u
    found: Values = (kept**2).sum(axis=1)
    return found
