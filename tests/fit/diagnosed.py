"""Logs of a plant in which something fails, as records: its constants are a little off its case, and devices are read
with errors."""

import math
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np

from sim.case.fault.records import Fault
from sim.case.fault.records import What as Failed
from sim.case.load import load_case
from sim.case.records import Case
from sim.case.units import DAY, HOUR
from sim.log.records import Log, Series, Washed, What
from sim.plant.records import Event
from sim.plant.simulate import Plant
from sim.weather import build_forcing

FILE = Path(__file__).parent / "plant_to_diagnose.toml"
NOISE: Mapping[What, tuple[float, float]] = {
    What.FLOW: (0.01, 0.0), What.TOTAL: (0.0, 0.05), What.PRESSURE_DROP: (0.01, 100.0),
    What.TURBIDITY_OUT: (0.05, 0.01), What.TEMPERATURE: (0.0, 0.2), What.DRAIN: (0.02, 0.02),
}  # fmt: skip
"""Standard error as a share of the value, and besides it [SI]."""
ALL = (*NOISE, What.WASH)
SPREAD = {"valve": 0.03, "gain": 0.05, "coefficient": 0.05, "cleaning": 0.05}
"""By how much constants of the plant stray from those of its case, standard deviation of the logarithm."""


def plant_of(random: np.random.Generator, days: float = 40.0) -> Case:
    """A plant whose constants are a little off those of the case."""
    case = load_case(FILE)
    valve, gain, coefficient, cleaning = (math.exp(each * random.standard_normal()) for each in SPREAD.values())
    (stage,) = case.stages
    (layer,) = stage.layers
    layer = replace(
        layer, head_loss_gain=gain * layer.head_loss_gain,
        filter_coefficients=tuple(coefficient * each for each in layer.filter_coefficients),
    )  # fmt: skip
    loss = replace(stage.head_loss, valve_constant=valve * stage.head_loss.valve_constant)
    stage = replace(
        stage, layers=(layer,), head_loss=loss, loose_rate=cleaning * stage.loose_rate,
        firm_rate=cleaning * stage.firm_rate,
    )  # fmt: skip
    return replace(case, stages=(stage,), run=replace(case.run, length=days * DAY))


def log_of(
    plant: Case, policy: str, faults: tuple[Fault, ...], *, seed: int, every: float = HOUR,
    columns: tuple[What, ...] = ALL, noise: float = 1.0,
) -> Log:  # fmt: skip
    """What was read every so often [s], with `noise` times the usual errors; the flow is that of the outlet."""
    case = replace(plant, faults=faults)
    running, forcing = Plant(case, policy, seed=seed), build_forcing(case.run, case.feed, case.demand, seed=seed)
    times = np.arange(every, case.run.length, every)
    seen: dict[What, list[float]] = {what: [] for what in NOISE if what is not What.DRAIN}
    random, ratio = np.random.default_rng(seed), case.feed.turbidity_ratio or 1.0
    for time in times:
        running.run_until(float(time))
        line, shown = running.look(), running.shown(0)
        piece = min(int(np.searchsorted(forcing.end, time, side="left")), len(forcing.end) - 1)
        serves, past = line.phase(0) == "service", sum(each.share or 0.0 for each in faults
                                                       if each.what is Failed.RAW_PAST and each.start < time)
        flow, _, inlet, outlet = line.reading(0)
        seen[What.FLOW].append(flow / (1.0 - past) if serves else 0.0)
        seen[What.TOTAL].append(shown.total)
        seen[What.PRESSURE_DROP].append(shown.dp_pa if serves else 0.0)
        seen[What.TURBIDITY_OUT].append(((1.0 - past) * outlet + past * inlet) / ratio if serves else 0.0)
        seen[What.TEMPERATURE].append(float(forcing.temperature[piece]))

    def read(value: float, what: What) -> float:
        share, besides = NOISE[what]
        error = noise * math.hypot(share * value, besides) * random.standard_normal()
        return max(value + error, 0.0) if value > 0.0 else value

    series = tuple(
        Series(
            what=what, times=tuple(times.tolist()), values=tuple(read(each, what) for each in rows), resolution=0.0
        )
        for what, rows in seen.items() if what in columns
    )  # fmt: skip
    washes = tuple(replace(each, drained=read(each.drained or 0.0, What.DRAIN) if What.DRAIN in columns else None)
                   for each in _washes(running))  # fmt: skip
    return Log(file="made", start=case.run.start, length=case.run.length, series=series, washes=washes)


def _washes(running: Plant) -> list[Washed]:
    found: list[Washed] = []
    start, drained = 0.0, 0.0
    for entry in running.result().log:
        if entry.event is Event.WASH_STARTS:
            start, drained = entry.time_s, 0.0
        elif entry.event in (Event.STEP_ENDS, Event.BROKEN_OFF):
            drained += entry.volume_m3 or 0.0
        elif entry.event is Event.BACK and entry.time_s > 0.0:
            found.append(Washed(start=start, end=entry.time_s, drained=drained, found="marked"))
    return found
