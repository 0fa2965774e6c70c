"""What to measure at a plant once its washes are set, and what the model of its case expects of each reading.

Each figure is worked out for the case as it is and for DRAWS draws of the constants that it assumes or gives with a
range. Its band holds nine in ten of the draws, and the error of a reading besides.
"""

import math
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from functools import partial
from pathlib import Path
from statistics import median
from typing import Literal, NamedTuple

import numpy as np

from sim.case.record import record
from sim.case.records import Case
from sim.case.stage.records import Do, Stage
from sim.case.units import DAY, MINUTE
from sim.plant.errors import RunError
from sim.plant.line import Line
from sim.plant.records import Event, FilterRun
from sim.plant.simulate import Plant, simulate
from sim.review.site import Site, site_of
from sim.study.faults_read import ERRORS
from sim.study.many.draws import Draws
from sim.study.sheet_runs import Progress, SheetRuns, reading_flows
from sim.wash.clean_bed import clean_loss, expanded_bed, expanded_height, packed_depth
from sim.wash.flow import is_supplied, wash_flow
from sim.wash.regeneration import brings_salt, made_up_brine
from sim.weather import build_forcing

What = Literal["clean", "rise", "drain", "lift", "clear", "brine"]
"""Pressure drop right after a wash, and its rise in the next day [Pa]; flow to the drain in a step [m3/s]; rise of
the bed in the backwash [m]; rinse until the water is clear [s]; brine drawn by the regenerant [m3]."""

DRAWS, BEYOND = 20, 0.05  # share of what the draws show that is beyond each end of a band
WASHES = 3  # of a run, spread over it
LOOKS = 15.0  # s between two looks at a rinse
LIFTED = 0.02  # share of its depth: a bed that rises less is not seen to rise
SET_BY_HAND, SEEN, TIMED = 0.1, 0.02, 0.5 * MINUTE
"""Common practice, from memory: how near a flow is set by hand and read, how well a bed is seen [m] and a clear
sample timed [s]. Gauges err as in a morning's readings."""


class Key(NamedTuple):
    """One reading of a stage: of a step by its place, in water of a temperature [degC], where it hangs on them."""

    stage: str
    what: What
    step: int | None = None
    temperature: float | None = None


@record
class Expected:
    """What a reading shows [SI of its kind] in water of a temperature [degC], None: in any; inf: not in this wash."""

    temperature: float | None
    value: float
    low: float
    high: float


@record
class Measurement:
    """One thing to read: at a flow [m3/s] or in a step, where that matters.

    `error`: the share and the amount by which a reading may be off; `drawn`: whether it hangs on constants with a
    range.
    """

    stage: Stage
    measured: What
    flow: float | None
    step: Do | None
    expected: tuple[Expected, ...]
    error: tuple[float, float]
    drawn: bool


def measurements(runs: SheetRuns, path: Path, progress: Progress = lambda *_: None) -> tuple[Measurement, ...]:
    """What to measure of each stage, in the order of the train, with nothing failing.

    `path` has the case of the runs of the sheet, to be read with its draws.
    """
    case = replace(runs.case, faults=())
    base = _Base(site_of(case), reading_flows(case, runs.water), runs.policy, runs.seed)
    draws, drawn = Draws(path, case, runs.seed), defaultdict[Key, list[float]](list)
    usual = dict(_figures(base.site, base, 0))
    count = DRAWS if case.ranged or case.is_random else 0
    for number in range(count):
        progress(runs.policy, number, count)
        with suppress(RunError):
            for key, values in list(_figures(site_of(replace(draws(number), faults=())), base, number)):
                drawn[key] += values
    return tuple(each for stage in case.stages for each in _of_stage(base, stage, usual, drawn))


class _Base(NamedTuple):
    """What all draws have in common: the ends of the case's water, by stage the flow at which gauges are read."""

    site: Site
    flows: Mapping[str, float]
    policy: str
    seed: int


def _figures(site: Site, base: _Base, replicate: int) -> Iterator[tuple[Key, list[float]]]:
    """Every figure of a case, at the flows and temperatures of the case that it was drawn from."""
    found = _Run(site.case, base, replicate).figures()
    for stage in site.case.stages:
        name = stage.name
        left = found.pop(Key(name, "clean"), [0.0])
        for _, temperature in base.site.temperatures:
            clean = clean_loss(stage, base.flows[name], temperature)
            yield Key(name, "clean", None, temperature), [clean + each for each in left]
            yield Key(name, "lift", None, temperature), [_lift(site, stage, temperature)]
            for place in _to_drain(stage):
                step = stage.steps[place]
                yield Key(name, "drain", place, temperature), [wash_flow(site.case, stage, step, temperature)]
        for place, step in enumerate(stage.steps):
            if brings_salt(step) and step.salt is None:
                yield Key(name, "brine", place), [min(step.flow * step.seconds, made_up_brine(stage))]
    yield from found.items()


def _to_drain(stage: Stage) -> list[int]:
    """The places of the steps whose water can be measured at the drain."""
    return [place for place, step in enumerate(stage.steps)
            if step.do in ("backwash", "displacement", "rinse") and step.flow > 0.0]  # fmt: skip


def free_height(stage: Stage) -> float:
    """Between the settled bed and the top of its vessel [m]."""
    return stage.vessel.height - packed_depth(stage)


def _lift(site: Site, stage: Stage, temperature: float) -> float:
    """How far the strongest backwash lifts the bed [m], at most to the top of its vessel."""
    depth = packed_depth(stage)
    height = expanded_height(expanded_bed(stage, site.reached(stage, temperature), temperature))
    return min(height, stage.vessel.height) - depth


class _Run:
    """One run, looked at after a few washes of the first vessel of each stage, and in their rinses."""

    def __init__(self, case: Case, base: _Base, replicate: int) -> None:
        self.case, self.base = case, base
        self.result = simulate(case, base.policy, seed=base.seed, replicate=replicate)
        self.plant = Plant(case, base.policy, seed=base.seed, replicate=replicate)
        self.water = build_forcing(case.run, case.feed, case.demand, seed=base.seed, replicate=replicate)
        self.found: dict[Key, list[float]] = defaultdict(list)
        self.looks: dict[float, list[Callable[[Line], None]]] = defaultdict(list)

    def figures(self) -> dict[Key, list[float]]:
        """What each wash left in the bed, as pressure drop; its rise in a day; how long until the rinse was clear."""
        line = self.plant.look()
        for k, stage in enumerate(self.case.stages):
            self._plan(stage, self.base.flows[stage.name], line.vessels_of(k)[0], line)
        times = sorted(self.looks)

        def visit(number: int, line: Line) -> None:
            for look in self.looks[times[number]]:
                look(line)

        if times:
            self.plant.visit(times, visit)
            self.plant.run_until(min(times[-1] + 1.0, self.case.run.length))
        return self.found

    def _plan(self, stage: Stage, flow: float, i: int, line: Line) -> None:
        runs = [run for run in self.result.runs if (run.stage, run.vessel) == (stage.name, 1) and run.number > 1]
        rinsed = [entry.time_s for entry in self.result.log
                  if (entry.who, entry.event, entry.step) == (line.names[i], Event.STEP_ENDS, "rinse")]  # fmt: skip
        for run in spread_over(runs, WASHES):
            self.looks[run.start_s].append(partial(self._returns, stage, flow, i))
            if run.end_s >= run.start_s + DAY:
                self.looks[run.start_s + DAY].append(partial(self._a_day_later, stage, flow, i))
            if stage.limit is not None and (place := bisect_right(rinsed, run.start_s)):
                self._watch(stage, stage.limit, i, rinsed[place - 1])

    def _returns(self, stage: Stage, flow: float, i: int, line: Line) -> None:
        row = min(bisect_right(self.water.end, line.time), len(self.water.end) - 1)
        clean = clean_loss(stage, flow, float(self.water.temperature[row]))
        self.found[Key(stage.name, "clean")].append(line.reading_at(i, flow)[0] - clean)

    def _a_day_later(self, stage: Stage, flow: float, i: int, line: Line) -> None:
        then, now = line.reading_at(i, flow)
        self.found[Key(stage.name, "rise")].append(now - then)

    def _watch(self, stage: Stage, limit: float, i: int, end: float) -> None:
        """Look at the last rinse of a wash, which ends at a time [s], until its water keeps the limit."""
        seconds = [step.seconds for step in stage.steps if step.do == "rinse"][-1]
        times, place = self.found[Key(stage.name, "clear")], len(self.found[Key(stage.name, "clear")])
        times.append(math.inf)

        def look(after: float, line: Line) -> None:
            flow, _, _, outlet = line.reading(i)
            if flow > 0.0 and outlet <= limit:
                times[place] = min(times[place], after)

        for after in np.arange(LOOKS, seconds, LOOKS).tolist():
            self.looks[end - seconds + after].append(partial(look, after))


def spread_over(runs: Sequence[FilterRun], count: int) -> list[FilterRun]:
    """So many of some filter runs, evenly spread.

    >>> spread_over(list("abcdef"), 3), spread_over(list("a"), 3)
    (['b', 'd', 'f'], ['a'])
    """
    few = min(count, len(runs))
    return [runs[(2 * part + 1) * len(runs) // (2 * few)] for part in range(few)]


def _of_stage(
    base: _Base, stage: Stage, usual: Mapping[Key, list[float]], drawn: Mapping[Key, list[float]]
) -> Iterator[Measurement]:
    """The measurements of a stage, in the order in which they are made; those that the model has no figure for left
    out."""
    case, flow = base.site.case, base.flows[stage.name]
    ranged = bool(case.ranged)

    def measured(
        what: What, error: tuple[float, float], number: int | None = None, at: float | None = None, *,
        hangs: bool = ranged, most: float = math.inf,
    ) -> Iterator[Measurement]:  # fmt: skip
        expected = tuple(_expected(usual, drawn, key, error, most) for key in usual
                         if key[:3] == (stage.name, what, number))  # fmt: skip
        if expected:
            step = None if number is None else stage.steps[number]
            yield Measurement(stage=stage, measured=what, flow=at, step=None if step is None else step.do,
                              expected=_alike(expected), error=error, drawn=hangs)  # fmt: skip

    yield from measured("clean", ERRORS["clean"], at=flow)
    yield from measured("rise", (0.0, ERRORS["clean"][1]), at=flow)
    for number in _to_drain(stage):
        supplied = case.supply is not None and is_supplied(stage, stage.steps[number])
        yield from measured("drain", (SET_BY_HAND, 0.0), number, hangs=ranged and supplied)
    lifts = [values[0] for key, values in usual.items() if key[:2] == (stage.name, "lift")]
    if max(lifts) > LIFTED * packed_depth(stage):
        yield from measured("lift", (0.0, SEEN), at=base.site.reached(stage, base.site.coldest),
                            most=free_height(stage) - SEEN)  # fmt: skip
    yield from measured("clear", (0.0, TIMED))
    for number, step in enumerate(stage.steps):
        if step.do == "regenerant":
            yield from measured("brine", (SET_BY_HAND, 0.0), number, hangs=ranged)


def _expected(
    usual: Mapping[Key, list[float]], drawn: Mapping[Key, list[float]], key: Key, error: tuple[float, float],
    most: float,
) -> Expected:  # fmt: skip
    """The middle of what the case shows, and what nine in ten of all that its draws show, with the error of a
    reading, up to the `most` that may be."""
    values = sorted(drawn.get(key, usual[key]))
    beyond = int(BEYOND * len(values))
    low, high = values[beyond], values[-1 - beyond]
    share, plus = error
    value = median(usual[key])
    return Expected(temperature=key.temperature, value=value, low=min(min(low, value) * (1.0 - share) - plus, most),
                    high=min(max(high, value) * (1.0 + share) + plus, most))  # fmt: skip


def _alike(expected: tuple[Expected, ...]) -> tuple[Expected, ...]:
    """One in place of several that show the same in all water."""
    same = all(replace(each, temperature=None) == replace(expected[0], temperature=None) for each in expected)
    return (replace(expected[0], temperature=None),) if same else expected
