"""How far figures spread over the ranges of what is assumed, as plain data for a JSON file."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from sim.study.over_ranges import Move, OverRanges, Span
from sim.study.ranking import RangeTest
from sim.tell.review.measurements import TOLD, measurement, settling


def range_json(test: RangeTest) -> dict[str, Any]:
    """A range test of a comparison."""
    return {
        "assumed": test.assumed,
        "constants": test.constants,
        "runs": test.runs,
        "holds": not test.turns,
        "turns": [asdict(turn) for turn in test.turns],
        "refused": [{"key": key, "end": end, "why": why} for key, end, why in test.refused],
        "endless": [{"key": key, "end": end, "name": way} for key, end, way in test.endless],
        **over_json(test.over, test.moves),
    }


def over_json(over: OverRanges, moves: Sequence[Move]) -> dict[str, Any]:
    """The spread of every way and what moves it; None where a figure does not apply or an end could not be run."""
    return {
        "runs_each": over.runs,
        "spread": [
            {
                "name": way,
                "figures": {key: _span_json(over.span(way, key)) for key in shown},
                "keep_the_limit": over.keeping(way) if over.limited else None,
            }
            for way, shown in over.typical.items()
        ],
        "moves": [
            {"key": each.key, "name": each.way, "figure": each.figure, "at_low": _known(each.at_low),
             "typical": each.typical, "at_high": _known(each.at_high), "measure": measurement(each.key)}
            for each in moves[:TOLD]
        ],
        "measurements": list(settling(moves)),
    }  # fmt: skip


def _span_json(span: Span | None) -> dict[str, float] | None:
    return None if span is None else {"typical": span.typical, "low": span.low, "high": span.high}


def _known(value: float) -> float | None:
    return value if value == value else None
