"""The page cases/RESULTS.md: every figure of a result, by its key in JSON and CSV."""

from typing import Literal

from plots.words import Kind, Label, Sentence, catalogue, label, say
from sim.case.quantities import QUANTITIES, System
from sim.tell.kpis import EVERY, Kpi

Side = Literal["less", "more", "neither"]
"""Which side of a figure is better."""


def results_page() -> str:
    """The text of cases/RESULTS.md."""
    heads = (
        label("results.key"), label("results.figure"), "SI", "US", label("results.better"), label("results.meaning"),
        label("results.absent"),
    )  # fmt: skip
    lines = [
        f"# {label('results.title')}", "",
        say("results.made_by"), say("results.units"), say("results.marks"), say("results.totals"),
        say("results.sums"), say("results.judged"), say("results.ledger"), say("results.compiled"), "",
        f"| {' | '.join(heads)} |", "|---" * len(heads) + "|", *(_line(kpi) for kpi in EVERY.values()),
    ]  # fmt: skip
    return "\n".join(lines) + "\n"


def _line(kpi: Kpi) -> str:
    si, us = (QUANTITIES[kpi.quantity].symbol(system) for system in _SYSTEMS)
    side: Side = kpi.better or "neither"
    better = label("results.side", better=Kind(side))
    cells = (f"`{kpi.key}`", kpi.words, si, us, better, meaning(kpi.key), when_null(kpi.key))
    return f"| {' | '.join(cells)} |"


_SYSTEMS: tuple[System, System] = "si", "us"


def meaning(key: str) -> Sentence:
    """What a figure is, in a sentence or two."""
    return say(f"result.{key}")


def when_null(key: str) -> Label:
    """When a figure is null."""
    return label(f"null.{key}") if key in catalogue.found("labels.null") else label("results.never")
