"""The figures that stand first of all, and what a figure is called outside a table."""

from collections.abc import Sequence

from plots.words import Label, Name, Term, label, term
from sim.case.quantities import System
from sim.case.records import Case
from sim.plant.records import RunResult
from sim.tell.kpis import KPIS, Kpi
from sim.tell.present import Row, row

LIMIT = "over_limit_h"
SPOKEN = frozenset({
    LIMIT, "bypass_min", "bypass_kg", "cost", "dirty_water_kg", "downstream_over_min", "downstream_starved_h",
})  # fmt: skip
"""Figures whose names say too little, or are too long, where they are not in a table of all figures."""


def named(key: str) -> Term:
    """What a figure is called outside a table of all figures."""
    return term("spoken", key) if key in SPOKEN else KPIS[key].words


def leading(*, limited: bool) -> tuple[str, ...]:
    """Time over the limit, or solids sent on where there is none; water to drain; downtime."""
    return (LIMIT if limited else "solids_to_service_kg", "drain_m3", "downtime_h")


def side_by_side(results: Sequence[RunResult], system: System) -> tuple[Row, ...]:
    """The figures that stand first, of every result."""
    figures = [each.site for each in results]
    keys = leading(limited=any(each[LIMIT] is not None for each in figures))
    return tuple(row(KPIS[key], figures, system) for key in keys)


def spoken(kpi: Kpi, case: Case) -> Label | Term:
    """What a figure of a site is called on a figure: where the water is judged, in a train."""
    if kpi.key == LIMIT and len(case.stages) > 1:
        return label("figure.over_after", stage=Name(case.judged.name))
    return named(kpi.key)
