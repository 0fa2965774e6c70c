"""How far figures spread over the ranges of what is assumed, and which few constants move them most."""

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Literal

from sim.case.record import record

End = Literal["low", "high"]
Shown = Mapping[str, Mapping[str, float]]
"""By way and figure, what one run showed; nan where a figure does not apply."""

LEAST_SHARE = 0.05  # a constant that moves what decides by a smaller share is not named


@record
class At:
    """What every way showed with these assumed constants at an end; `kept`: the ways whose water kept the limit."""

    keys: tuple[str, ...]
    end: End
    shown: Shown
    kept: frozenset[str]


@record
class Span:
    """A figure of one way: as assumed, and the least and the most over all runs."""

    typical: float
    low: float
    high: float


@record
class Move:
    """What one constant does to the figure that it moves most: nan at an end that could not be run.

    `share` is how much it moves of the figure's whole spread or, where that is more, of the most of it as assumed.
    """

    key: str
    way: str
    figure: str
    at_low: float
    typical: float
    at_high: float
    share: float


@record
class OverRanges:
    """What every way showed with all constants as assumed, and with them at the ends of their ranges.

    `limited`: whether there is a limit that a run can keep.
    """

    typical: Shown
    kept: frozenset[str]
    limited: bool
    trials: tuple[At, ...]

    @property
    def runs(self) -> int:
        """Of each way, the one with everything as assumed among them."""
        return 1 + len(self.trials)

    def span(self, way: str, figure: str) -> Span | None:
        """How far a figure of a way spreads; None where it does not apply."""
        typical = self.typical[way].get(figure, math.nan)
        values = [value for each in self.trials if (value := each.shown[way].get(figure, math.nan)) == value]
        if typical != typical:
            return None
        return Span(typical=typical, low=min([typical, *values]), high=max([typical, *values]))

    def keeping(self, way: str) -> int:
        """In how many of the runs the way kept the limit."""
        return sum(way in kept for kept in (self.kept, *(each.kept for each in self.trials)))

    def moves(self, least: Mapping[str, float], first: Sequence[str] = ()) -> tuple[Move, ...]:
        """Each constant with the figure that it moves most, the one that moves the answer most first.

        `least` are the figures that make the answer, each with the change below which it counts as the same; `first`
        the constants that turn the answer by themselves.
        """
        keys = dict.fromkeys(each.keys[0] for each in self.trials if len(each.keys) == 1)
        known = [max(found, key=lambda move: move.share) for key in keys if (found := list(self._of(key, least)))]
        named = [each for each in known if each.share >= LEAST_SHARE or each.key in first]
        return tuple(sorted(named, key=lambda each: (each.key not in first, -each.share)))

    def _of(self, key: str, least: Mapping[str, float]) -> Iterator[Move]:
        ends = {each.end: each.shown for each in self.trials if each.keys == (key,)}
        for figure, smallest in least.items():
            spans = [span for way in self.typical if (span := self.span(way, figure)) is not None]
            whole = max([smallest, *(max(span.high - span.low, abs(span.typical)) for span in spans)])
            for way, shown in self.typical.items():
                typical = shown.get(figure, math.nan)
                low, high = (ends[end][way][figure] if end in ends else math.nan for end in ("low", "high"))
                known = [value for value in (low, typical, high) if value == value]
                if typical == typical and whole > 0.0 and (swing := max(known) - min(known)) >= smallest:
                    yield Move(
                        key=key, way=way, figure=figure, at_low=low, typical=typical, at_high=high,
                        share=swing / whole,
                    )  # fmt: skip
