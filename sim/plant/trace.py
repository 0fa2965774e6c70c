"""Looks at a run without touching it: samples through time, and the deposit in the beds at one moment."""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from hydraulics.capture import deposit_gain, load_of_exchange
from sim.case.records import Case
from sim.plant.line import Line, Used
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


class SentOn(NamedTuple):
    """What is dissolved in the water that a stage sends on at one moment, as its limits count it.

    Iron and manganese with what of them is in the passing solids, all oxidants as the chlorine that oxidises as much.
    nan without flow, and where the case follows nothing dissolved.
    """

    time_s: float
    stage: str
    hardness_mg_l: float = math.nan
    iron_mg_l: float = math.nan
    manganese_mg_l: float = math.nan
    oxidant_mg_l: float = math.nan


class Moment(NamedTuple):
    """Everything that is looked at at one time."""

    train: TrainSample
    vessels: tuple[Sample, ...]
    stages: tuple[SentOn, ...]


class Slice(NamedTuple):
    """One cell of a bed: depths below the bed's surface [m] and the mean deposit between them [kg/m3]."""

    stage: str
    layer: int
    medium: str
    top_m: float
    bottom_m: float
    deposit_kg_m3: float


class UsedSlice(NamedTuple):
    """One cell of a layer that takes something up: the share of its capacity that is used between two depths [m]."""

    stage: str
    top_m: float
    bottom_m: float
    share: float


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
            if service > 0.0 and row.passes_raw == 1 and row.serving == 0
        ),
        level_m3=float(unit.level) if there else math.nan,
        running=running,
        held=held,
        starved=running and not held and service <= 0.0,
    )
    return Moment(train, vessels, tuple(_sent_on(line, k, stage.name) for k, stage in enumerate(case.stages)))


def _sent_on(line: Line, k: int, name: str) -> SentOn:
    return SentOn(line.time, name, *(line.sent_on(k) or ()))


def _sample(line: Line, i: int) -> Sample:
    flow, pressure, inlet, outlet = line.reading(i)
    conc = (inlet, outlet) if flow > 0.0 else (math.nan, math.nan)
    spike = line.spike(line.of_vessel("stage", i))
    return Sample(
        line.time, line.names[i], line.phase(i), flow * HOUR, pressure / KILO, *conc, spike / KILO,
        *line.triggers_so_far(i),
    )  # fmt: skip


def bed_sections(
    case: Case, policy: str, *, times: Sequence[float], seed: int = 1, replicate: int = 0
) -> Iterator[tuple[tuple[Slice, ...], tuple[UsedSlice, ...]]]:
    """The deposit in every cell of every bed just before what happens at each of some rising times [s], and what it
    has used up."""
    plant = Plant(case, policy, seed=seed, replicate=replicate)
    for time in times:
        plant.run_until(time)
        line = plant.look()
        yield slices_of(case, line), used_slices(case, line)


def slices_of(case: Case, line: Line) -> tuple[Slice, ...]:
    """The deposit in every cell of every bed of a line whose cells are up to date."""
    slices: list[Slice] = []
    for i, name in enumerate(line.names):
        top, stage, left = 0.0, case.stages[line.vessel[i].stage], line.of_vessel("media_left", i)
        cells = iter(line.deposits(i))
        for number, layer in enumerate(stage.layers):
            step = left * layer.depth / stage.cells_per_layer
            for _ in range(stage.cells_per_layer):
                slices.append(Slice(name, number, layer.medium, top, top + step, next(cells) / step / KILO))
                top += step
    return tuple(slices)


def used_slices(case: Case, line: Line) -> tuple[UsedSlice, ...]:
    """How much of its capacity every layer that takes something up has used, cell by cell.

    The run knows the total alone, on which all that passes depends. The profile is that of the exact step for this
    total, from a bed of which all depths had used the same share as the filter run began, at its present coefficient.
    Of several uptakes of a layer the one that has used the greatest share.
    """
    slices: list[UsedSlice] = []
    for i, name in enumerate(line.names):
        stage, top = case.stages[line.vessel[i].stage], 0.0
        uptakes, left = line.used_up(i), line.of_vessel("media_left", i)
        for number, layer in enumerate(stage.layers):
            depth = left * layer.depth
            step, mine = depth / stage.cells_per_layer, [each for each in uptakes if each.layer == number]
            if mine:
                most = max(mine, key=lambda each: each.used / each.capacity)
                nodes = [top + place * step for place in range(stage.cells_per_layer + 1)]
                held = [used_above(most, node - top) for node in nodes]
                slices += [
                    UsedSlice(name, upper, lower, (below - above) / step / most.capacity)
                    for (upper, lower), (above, below) in zip(pairwise(nodes), pairwise(held), strict=True)
                ]
            top += depth
    return tuple(slices)


def used_above(uptake: Used, depth: float) -> float:
    """What an uptake has taken up above a depth [equivalents per m2], by the exact step for its total."""
    even = min(uptake.fresh, uptake.used) / uptake.depth
    free, gain = uptake.depth - even * uptake.depth / uptake.capacity, uptake.used - even * uptake.depth
    if gain <= 0.0 or free <= 0.0:
        return even * depth
    scale = uptake.coefficient / uptake.capacity
    load = load_of_exchange(uptake.coefficient * free, scale * gain) / scale
    share = depth / uptake.depth
    return even * depth + deposit_gain(share * free, uptake.coefficient, uptake.capacity, load=load)
