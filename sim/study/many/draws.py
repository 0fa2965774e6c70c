"""Constants drawn from their ranges: all of them once for each replicate, the same for all policies.

A draw is triangular between the low and the high end of the range, highest at the typical value: three numbers are
all that is known of such a constant, and a triangle claims no more. It is a triangle in the value or, where low is
above zero and the typical value lies nearer to the middle of the range of logarithms, in the logarithm of the value:
ranges such as 0.75 / 1.5 / 3 say "half to twice", and a triangle in the value would put two draws in three above the
typical one. Whole numbers and choices between two take the nearest whole number. All constants are drawn apart from
one another; what the case then cannot be (a deposit without room in the pores) is fitted as in the range test, or
else drawn again.
"""

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from sim.case.load import load_case
from sim.case.records import Assumption, Case
from sim.errors import CaseError
from sim.study.errors import StudyError
from sim.study.many.assumed_settings import settings_of
from sim.weather.streams import stream

DRAWS_AT_MOST = 100  # of one replicate


@dataclass(frozen=True, slots=True)
class Draws:
    """The case in `path`, read anew with the drawn constants of a replicate."""

    path: Path
    case: Case
    seed: int

    def __call__(self, replicate: int) -> Case:
        """The case of a replicate; the same seed and replicate give the same one."""
        assumed = self.case.ranged
        streams = [stream(f"assumed {each.key}", seed=self.seed, replicate=replicate) for each in assumed]
        for _ in range(DRAWS_AT_MOST):
            values = {each: drawn(each, random) for each, random in zip(assumed, streams, strict=True)}
            try:
                return load_case(self.path, settings_of(self.case, values))
            except CaseError as error:
                refused = error
        raise StudyError(f"none of {DRAWS_AT_MOST} draws of the assumed constants can be run: {refused.problems[0]}")


def drawn(assumption: Assumption, random: np.random.Generator) -> float:
    """A value between low and high."""
    low, typical, high = assumption.low, assumption.value, assumption.high
    if not low < high:
        return typical
    if in_logarithms(low, typical, high):
        value = math.exp(random.triangular(math.log(low), math.log(typical), math.log(high)))
    else:
        value = random.triangular(low, typical, high)
    return min(max(value, low), high)


def in_logarithms(low: float, typical: float, high: float) -> bool:
    """Whether the typical value lies nearer to the middle of the range of logarithms than to that of values.

    >>> in_logarithms(0.75, 1.5, 3.0), in_logarithms(6.0, 12.0, 18.0), in_logarithms(0.0, 0.5, 1.0)
    (True, False, False)
    """
    if low <= 0.0:
        return False
    along = (typical - low) / (high - low)
    along_logarithms = math.log(typical / low) / math.log(high / low)
    return abs(along_logarithms - 0.5) < abs(along - 0.5)
