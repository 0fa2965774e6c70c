"""Records of a wash for tests: one bed of sand, a supply and ways to the drain."""

from dataclasses import replace
from typing import Any

from sim.case.stage.records import Stage
from sim.case.wash.records import Drain, Pipe, Restrictor, Supply
from tests.plant.builders import FILTER, M3_H
from tests.plant.builders import SAND as FINE_SAND

SAND = replace(FINE_SAND, depth=0.5)
HOLE = Restrictor(hole=0.02, pipe=0.05, discharge=0.61)


def pipe(**changes: Any) -> Pipe:
    return replace(Pipe(diameter=0.05, length=30.0, roughness=5e-5, fittings=4.0, rise=0.0), **changes)


def steady_supply(pressure: float, limit: float = 30.0 * M3_H, **changes: Any) -> Supply:
    """One pressure [Pa] up to a limit [m3/s]."""
    plain = Supply(
        flows=(0.0, limit), pressures=(pressure, pressure), pipe=None, shared_with_service=False, others=0.0
    )
    return replace(plain, **changes)


def drain(**changes: Any) -> Drain:
    return replace(Drain(pipe=None, air_gap=True, air_gap_height=None, sump=None, capacity=None), **changes)


def sand_stage(*, valve_constant: float = 0.0, **changes: Any) -> Stage:
    """Half a metre of fine sand alone; its valve counts in a wash too."""
    laws = replace(FILTER.head_loss, valve_constant=valve_constant, valve_in_wash=True)
    return replace(FILTER, layers=(SAND,), head_loss=laws, **changes)
