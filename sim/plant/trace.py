"""Looks at a run without touching it: samples through time, and the deposit in the beds at one moment."""

import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from sim.case.records import Case
from sim.plant.line import Line
from sim.plant.simulate import Plant

HOUR, KILO = 3600.0, 1000.0


class Sample(NamedTuple):
    """One vessel at one moment; `stage` is its name, that of its stage where it stands alone.

    The signal is what the gauge reads, of which `spike_kpa` passes in seconds; concentrations are nan without flow.
    `early` and `missed` count the triggers of its switch so far: those that a spike alone set off, and those that
    never came though the signal was at the set point. A hold that is still running counts as missed.
    """

    time_s: float
    stage: str
    phase: str
    flow_m3_h: float
    signal_kpa: float
    inlet_mg_l: float
    outlet_mg_l: float
    spike_kpa: float = 0.0
    early: int = 0
    missed: int = 0


class TrainSample(NamedTuple):
    """The train and what stands behind it at one moment.

    `service_m3_h` leaves the train. `round_stages` are those with no vessel in service that let water round them on
    its way to service. Without a unit downstream the rest is nan and False. The unit is `running` between its levels,
    `held` by a wash, `starved` where it asks and gets nothing.
    """

    time_s: float
    service_m3_h: float
    round_stages: tuple[str, ...]
    level_m3: float
    running: bool
    held: bool
    starved: bool


class Moment(NamedTuple):
    """Everything that is looked at at one time."""

    train: TrainSample
    vessels: tuple[Sample, ...]


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
    looked = moments(case, policy, times=times, seed=seed, replicate=replicate)
    return tuple(sample for moment in looked for sample in moment.vessels)


def moments(
    case: Case, policy: str, *, times: Sequence[float], seed: int = 1, replicate: int = 0
) -> Iterator[Moment]:
    """Vessels, train and tank at each of some rising times [s], each read from a copy of the plant."""
    plant = Plant(case, policy, seed=seed, replicate=replicate)
    for time in map(float, times):
        plant.run_until(time)
        yield moment_of(case, plant.look())


def moment_of(case: Case, line: Line) -> Moment:
    """What a copy of the line shows where it was carried to."""
    vessels = tuple(_sample(line, i) for i in range(len(line.names)))
    service = float(line.control.service)  # as the readings have just worked it out
    unit = line.unit
    there = bool(unit.exists)
    running, held = there and bool(unit.running), there and bool(unit.held)
    train = TrainSample(
        time_s=line.time,
        service_m3_h=service * HOUR,
        round_stages=tuple(
            stage.name
            for stage, row in zip(case.stages, line.stage, strict=True)
            if row.passes_raw == 1 and row.serving == 0 and service > 0.0
        ),
        level_m3=float(unit.level) if there else math.nan,
        running=running,
        held=held,
        starved=running and not held and service <= 0.0,
    )
    return Moment(train, vessels)


def _sample(line: Line, i: int) -> Sample:
    flow, pressure, inlet, outlet = line.reading(i)
    conc = (inlet, outlet) if flow > 0.0 else (math.nan, math.nan)
    row = line.vessel[i]
    spike = float(line.stage[int(row.stage)].spike)
    return Sample(
        line.time, line.names[i], line.phase(i), flow * HOUR, pressure / KILO, *conc, spike / KILO, int(row.early),
        int(row.missed),
    )  # fmt: skip


def bed_section(case: Case, policy: str, *, time: float, seed: int = 1, replicate: int = 0) -> tuple[Slice, ...]:
    """The deposit in every cell of every bed just before what happens at `time` [s]."""
    plant = Plant(case, policy, seed=seed, replicate=replicate)
    plant.run_until(time)
    return slices_of(case, plant.look())


def slices_of(case: Case, line: Line) -> tuple[Slice, ...]:
    """The deposit in every cell of every bed of a line whose cells are up to date."""
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
