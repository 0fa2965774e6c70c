"""What to measure at a plant once its washes are set, and what the model of its case expects of each reading.

Each figure is worked out for the case as it is and for DRAWS draws of the constants that it assumes or gives with a
range. Its band holds nine in ten of the draws, and the error of a reading besides.
"""

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from statistics import median
from typing import Literal, NamedTuple

from sim.case.record import record
from sim.case.stage.records import Do, Stage
from sim.case.units import MINUTE
from sim.plant.errors import RunError
from sim.review.site import Site, site_of
from sim.study.faults_read import ERRORS
from sim.study.gauges import Shown, gauges
from sim.study.many.draws import Draws
from sim.study.sheet_runs import Progress, SheetRuns, reading_flows
from sim.wash.clean_bed import clean_loss, expanded_bed, expanded_height, packed_depth
from sim.wash.flow import is_supplied, wash_flow
from sim.wash.regeneration import brings_salt, made_up_brine

What = Literal["clean", "rise", "drain", "lift", "clear", "brine"]
"""Pressure drop right after a wash, and its rise in the next day [Pa]; flow to the drain in a step [m3/s]; rise of
the bed in the backwash [m]; rinse until the water is clear [s]; brine drawn by the regenerant [m3]."""

DRAWS, BEYOND = 20, 0.05  # share of what the draws show that is beyond each end of a band
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
    base = _Base(site_of(case), reading_flows(case, runs.water))
    draws, drawn = Draws(path, case, runs.seed), defaultdict[Key, list[float]](list)
    usual = dict(_figures(base.site, base, runs.shown))
    count = DRAWS if case.ranged or case.is_random else 0
    for number in range(count):
        progress(runs.policy, number, count)
        with suppress(RunError):
            site = site_of(replace(draws(number), faults=()))
            seen = gauges(site.case, runs.policy, base.flows, seed=runs.seed, replicate=number, rinses=False)
            for key, values in _figures(site, base, seen.shown):
                drawn[key] += values
    return tuple(each for stage in case.stages for each in _of_stage(base, stage, usual, drawn))


class _Base(NamedTuple):
    """What all draws have in common: the ends of the case's water, by stage the flow at which gauges are read."""

    site: Site
    flows: Mapping[str, float]


def _figures(site: Site, base: _Base, shown: Mapping[str, Shown]) -> Iterator[tuple[Key, list[float]]]:
    """Every figure of a case, at the flows and temperatures of the case that it was drawn from."""
    for stage in site.case.stages:
        name, seen = stage.name, shown[stage.name]
        for _, temperature in base.site.temperatures:
            clean = clean_loss(stage, base.flows[name], temperature)
            yield Key(name, "clean", None, temperature), [clean + each for each in seen.left or [0.0]]
            yield Key(name, "lift", None, temperature), [_lift(site, stage, temperature)]
            for place in _to_drain(stage):
                step = stage.steps[place]
                yield Key(name, "drain", place, temperature), [wash_flow(site.case, stage, step, temperature)]
        for place, step in enumerate(stage.steps):
            if brings_salt(step) and step.salt is None:
                yield Key(name, "brine", place), [min(step.flow * step.seconds, made_up_brine(stage))]
        if seen.rise:
            yield Key(name, "rise"), seen.rise
        if seen.clear:
            yield Key(name, "clear"), seen.clear


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
