"""How narrow the intervals have to be before a study ends: `KPI=REL` or `risk=ABS`."""

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from sim.study.errors import RequestError
from sim.study.many.intervals import Interval

RISK = "risk"
GROWTH = 1.5  # in all after each look; few looks keep what looking costs in confidence small


@dataclass(frozen=True, slots=True)
class Precision:
    """Half the interval's width is to be at most `most`: of the mean for a figure, as it stands for the risk."""

    key: str
    most: float

    def met(self, intervals: Sequence[Interval | None]) -> bool:
        """Whether the interval of every policy is narrow enough; a figure that nobody has never is."""
        return all(each is not None and self._narrow(each) for each in intervals)

    def _narrow(self, interval: Interval) -> bool:
        if interval.half is None:
            return False
        return interval.half <= self.most * (1.0 if self.key == RISK else abs(interval.mean))

    def __str__(self) -> str:
        return f"{self.key}={self.most:g}"


def precision_of(text: str, figures: Collection[str]) -> Precision:
    """Read one wish for the risk or one of these figures; RequestError says what is allowed.

    >>> precision_of("drain_m3=0.02", ["drain_m3"])
    Precision(key='drain_m3', most=0.02)
    """
    key, _, number = text.partition("=")
    key = key.strip()
    if key != RISK and key not in figures:
        near = get_close_matches(key, [RISK, *figures], n=1, cutoff=0.5)
        raise RequestError(
            f'--precision {text}: there is no figure "{key}";' + (f' did you mean "{near[0]}"?' if near else "")
            + f" allowed: {', '.join([RISK, *figures])}"
        )  # fmt: skip
    try:
        most = float(number)
    except ValueError:
        most = math.nan
    if not 0.0 < most < 1.0:
        raise RequestError(
            f"--precision {text}: wanted is half the interval's width"
            + ("" if key == RISK else " as a share of the mean") + f", between 0 and 1; try {key}=0.05"
        )  # fmt: skip
    return Precision(key, most)


def more(replicates: int, at_most: int) -> int:
    """How many replicates to have in all for the next look.

    >>> more(20, 1000), more(900, 1000)
    (30, 1000)
    """
    return min(math.ceil(GROWTH * replicates), at_most)
