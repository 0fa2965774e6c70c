"""The figures that stand first of all, and what a figure is called outside a table."""

from collections.abc import Sequence

from sim.case.quantities import System
from sim.case.records import Case
from sim.plant.records import RunResult
from sim.tell.kpis import KPIS, Kpi
from sim.tell.present import Row, row

LIMIT = "breach_h"
SPOKEN = {
    LIMIT: "time over the limit",
    "bypass_kg": "solids in raw water sent on while washing",
    "dirty_return_kg": "solids in dirty water sent on after washes",
    "downstream_over_min": "time that the unit's feed was over its own limit",
    "downstream_starved_h": "time that the unit starved of water",
}


SHORT = {"bypass_min": "raw water sent on", "cost": "cost of a year"}
"""Figures whose names are too long for a first screen."""


def named(key: str) -> str:
    """What a figure is called on a first screen."""
    return SHORT.get(key) or SPOKEN.get(key) or KPIS[key].words.strip()


def leading(*, limited: bool) -> tuple[str, ...]:
    """Time over the limit, or solids sent on where there is none; water to drain; downtime."""
    return (LIMIT if limited else "solids_to_service_kg", "drain_m3", "offline_h")


def side_by_side(results: Sequence[RunResult], system: System) -> tuple[Row, ...]:
    """The figures that stand first, of every result."""
    figures = [each.site for each in results]
    keys = leading(limited=any(each[LIMIT] is not None for each in figures))
    return tuple(row(KPIS[key], figures, system) for key in keys)


def spoken(kpi: Kpi, case: Case) -> str:
    """What a figure of a site is called outside a table: where the water is judged, in a train."""
    words = SPOKEN.get(kpi.key, kpi.words.strip())
    return f"{words}{after_judged(case)}" if kpi.key == LIMIT else words


def after_judged(case: Case) -> str:
    """Behind which filter of a train the water is looked at; "" with one filter."""
    return f" after {case.judged.name}" if len(case.stages) > 1 else ""
