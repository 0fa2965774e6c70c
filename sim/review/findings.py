"""A finding of the review: a figure of the design, the band it is held against, and what to do."""

import math
from collections.abc import Iterator
from typing import Any, Final, Literal

from sim.case.quantities import QUANTITIES, Quantity
from sim.case.record import record
from sim.case.stage.records import Stage

Level = Literal["stop", "look", "fine"]

PRACTICE: Final = "common practice"


@record
class Band:
    """What is usual, from `low` to `high` (None: no bound), and who says so."""

    low: float | None = None
    high: float | None = None
    source: str = PRACTICE


@record
class Finding:
    """One thing that the review has looked at.

    stage: None for the site; what: in words, without figures that have units; value, low, high: in the SI unit of
    `measure`, None where there is none; do: what to do, empty where nothing is to be done.
    """

    level: Level
    stage: str | None
    what: str
    measure: Quantity | None = None
    value: float | None = None
    low: float | None = None
    high: float | None = None
    source: str = PRACTICE
    do: str = ""

    @property
    def unit(self) -> str | None:
        """The SI unit of the figures."""
        return None if self.measure is None else QUANTITIES[self.measure].kind.si

    @property
    def is_past_its_goal(self) -> bool:
        """Whether the figure lies outside of its band on the side on which there is nothing to do."""
        below = self.low is not None and self.value is not None and self.value < self.low
        above = self.high is not None and self.value is not None and self.value > self.high
        return self.level == "fine" and (below or above)

    def to_json(self) -> dict[str, Any]:
        """Plain data for a JSON file; what is not finite is null."""
        return {
            "level": self.level,
            "stage": self.stage,
            "what": self.what,
            "value": _finite(self.value),
            "low": _finite(self.low),
            "high": _finite(self.high),
            "unit": self.unit,
            "source": self.source,
            "do": self.do,
        }


def _finite(value: float | None) -> float | None:
    return value if value is not None and math.isfinite(value) else None


Findings = Iterator[Finding]


def noted(level: Level, stage: Stage | None, what: str, do: str = "") -> Finding:
    """What has no figure."""
    return Finding(level=level, stage=None if stage is None else stage.name, what=what, do=do)


def judged(
    stage: Stage | None,
    what: str,
    value: float,
    measure: Quantity,
    band: Band,
    *,
    below: str = "",
    above: str = "",
    outside: Level = "look",
    goal: bool = False,
) -> Finding:
    """A figure against its band: `outside` with what to do `below` or `above` it, fine within.

    A bound beyond which there is nothing to do is left out, unless the band is a goal: beyond it is fine then.
    """
    do = ""
    if band.low is not None and value < band.low:
        do = below
    elif band.high is not None and value > band.high:
        do = above
    return Finding(
        level=outside if do else "fine",
        stage=None if stage is None else stage.name,
        what=what,
        measure=measure,
        value=value,
        low=band.low if below or goal else None,
        high=band.high if above or goal else None,
        source=band.source,
        do=do,
    )
