"""Looks at a run without touching it: samples through time, and the deposit in the beds at one moment."""

import math
from collections.abc import Sequence
from typing import NamedTuple

from sim.case.records import Case
from sim.plant.simulate import Plant

HOUR, KILO = 3600.0, 1000.0


class Sample(NamedTuple):
    """One stage at one moment. The pressure is what the gauge reads; concentrations are nan without flow."""

    time_s: float
    stage: str
    phase: str
    flow_m3_h: float
    signal_kpa: float
    inlet_mg_l: float
    outlet_mg_l: float


class Slice(NamedTuple):
    """One cell of a bed: depths below the bed's surface [m] and the mean deposit between them [kg/m3]."""

    stage: str
    layer: int
    medium: str
    top_m: float
    bottom_m: float
    deposit_kg_m3: float


def trace(
    case: Case, policy: str, *, times: Sequence[float], seed: int = 1, replicate: int = 0
) -> tuple[Sample, ...]:
    """Every stage at each of some rising times [s], each read from a copy of the plant; the run stays as it is."""
    plant = Plant(case, policy, seed=seed, replicate=replicate)
    samples: list[Sample] = []
    for time in map(float, times):
        plant.run_until(time)
        line = plant.look()
        for i, name in enumerate(line.names):
            flow, pressure, inlet, outlet = line.reading(i)
            phase = line.phase(i)
            conc = (inlet, outlet) if flow > 0.0 else (math.nan, math.nan)
            samples.append(Sample(time, name, phase, flow * HOUR, pressure / KILO, *conc))
    return tuple(samples)


def bed_section(case: Case, policy: str, *, time: float, seed: int = 1, replicate: int = 0) -> tuple[Slice, ...]:
    """The deposit in every cell of every bed just before what happens at `time` [s]."""
    plant = Plant(case, policy, seed=seed, replicate=replicate)
    plant.run_until(time)
    line = plant.look()
    slices: list[Slice] = []
    for i, name in enumerate(line.names):
        top, stage = 0.0, case.stages[line.vessel[i].stage]
        cells = iter(line.deposits(i))
        for number, layer in enumerate(stage.layers):
            step = layer.depth / stage.cells_per_layer
            for _ in range(stage.cells_per_layer):
                slices.append(Slice(name, number, layer.medium, top, top + step, next(cells) / step / KILO))
                top += step
    return tuple(slices)


def beds_held(case: Case, policy: str, *, times: Sequence[float], seed: int = 1) -> tuple[tuple[float, ...], ...]:
    """Dry solids attached in the bed of each stage [g/m2], in the order of the train, at each of some rising times.

    What happens at such a time itself is still to come, as with `bed_section`.
    """
    plant = Plant(case, policy, seed=seed)
    held: list[tuple[float, ...]] = []
    for time in map(float, times):
        plant.run_until(time)
        line = plant.look()
        held.append(tuple(math.fsum(line.deposits(k)) for k in range(len(line.names))))
    return tuple(held)
