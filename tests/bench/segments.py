"""The exact step beside a stiff solver: the same random segments through two different layers at equal cells."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.integrate import solve_ivp

from hydraulics.compiled import compile_kernel, is_compiled, law
from sim.plant.bed import settle
from sim.plant.build import build_tables
from sim.plant.layout import Rows
from tests.plant.builders import FILTER, make_case
from tests.twin.spec import Floats

RTOL = 1e-8
ATOL = 1e-8  # g/m2, of deposits from 1 to 5000


@dataclass(frozen=True, slots=True)
class Segment:
    """So much load [g/m2] under one factor on the filter coefficients."""

    load: float
    capture: float


def random_segments(count: int = 40) -> list[Segment]:
    """Loads of 10 to 300 g/m2 at coefficients of half to one and a half times their given value."""
    draw = np.random.default_rng(20270104)
    loads = np.exp(draw.uniform(np.log(10.0), np.log(300.0), count))
    return [Segment(float(load), float(f)) for load, f in zip(loads, draw.uniform(0.5, 1.5, count), strict=True)]


@law
def walk(loads: Floats, captures: Floats, vessel: Rows, layer: Rows, cell: Rows, control: Rows) -> None:
    """Segment after segment through the product's step, as its kernel takes piece after piece."""
    for i in range(loads.size):
        settle(0, captures[i], 1.0, vessel[0].bed_viscosity, vessel, layer, cell, control)
        vessel[0].pending = loads[i]
    settle(0, 1.0, 1.0, vessel[0].bed_viscosity, vessel, layer, cell, control)


class ExactBed:
    """The product's bed of the reference filter: its own arrays and the compiled step of its kernel."""

    def __init__(self, segments: list[Segment]) -> None:
        tables = build_tables(make_case())
        given = (tables.vessel, tables.layer, tables.cell, tables.control)
        self._rows = given if is_compiled() else tuple(table.view(np.recarray) for table in given)
        self._deposit = tables.cell["deposit"]
        self._loads = np.array([segment.load for segment in segments])
        self._captures = np.array([segment.capture for segment in segments])
        self._walk: Any = compile_kernel(walk)

    def run(self) -> Floats:
        """Every segment through a clean bed; deposit above every node of both layers [g/m2]."""
        self._deposit[:] = 0.0
        self._walk(self._loads, self._captures, *self._rows)
        return self._deposit


def solved_bed(segments: list[Segment]) -> Floats:
    """The same by LSODA: dD/dL = 1 - e^(-lambda (z - D / s_u)) at each node, the second layer fed by the first."""
    upper, lower = FILTER.layers
    cells = FILTER.cells_per_layer
    nodes = [np.arange(1, cells + 1) * layer.depth / cells for layer in (upper, lower)]
    deposit = np.zeros(2 * cells)

    def rates(_load: float, deposit: Floats, capture: float) -> Floats:
        passing, rate = 1.0, np.empty(2 * cells)
        for part, z, layer in zip((slice(cells), slice(cells, None)), nodes, (upper, lower), strict=True):
            through = np.exp(-capture * layer.filter_coefficients[0] * (z - deposit[part] / layer.ultimate_deposit))
            rate[part] = passing * (1.0 - through)
            passing *= through[-1]
        return rate

    for segment in segments:
        solution = solve_ivp(
            rates, (0.0, segment.load), deposit, method="LSODA", rtol=RTOL, atol=ATOL, args=(segment.capture,)
        )
        deposit = solution.y[:, -1]
    return deposit
