"""Figures of a lesson, as it found them or made up."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from sim.lessons.lesson import Studied


def figures(studied: Studied, key: str) -> list[Any]:
    """One figure of every way."""
    return [row[key] for row in studied.rows]


def with_figures(studied: Studied, key: str, values: Sequence[Any]) -> Studied:
    """The same with these values of one figure."""
    return replace(studied, rows=tuple({**row, key: value} for row, value in zip(studied.rows, values, strict=True)))
