"""What one run and a few beside it give a settings sheet: when washes start, usual readings, how far settings go."""

import math
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any, Literal, assert_never

import numpy as np

from sim.case.record import record
from sim.case.records import Case
from sim.case.stage.longest_run import longest_run_of
from sim.case.stage.records import Stage
from sim.case.trigger.records import (
    AnyOf,
    Calendar,
    Pressure,
    Signal,
    SingleTrigger,
    Trigger,
    Volume,
    VolumeLearned,
    VolumeReserve,
    singles,
)
from sim.case.units import DAY, HOUR, PA_PER_KPA
from sim.plant.errors import RunError
from sim.plant.records import Cause, Figure, RunResult
from sim.plant.triggers import causes_of
from sim.study import faults_read
from sim.study.gauges import Gauges, Shown, gauges
from sim.study.hours_washed import HALF_HOUR, HALF_HOURS, Arc, arcs, since_midnight, usual
from sim.study.many.outcome import Outcome
from sim.study.ranking import EQUAL_SHARE, keeping, on_the_same_water
from sim.study.settable import TriggerPart
from sim.study.single import policy_named
from sim.study.vessel_past import role
from sim.study.vessels import vessels_of
from sim.weather.forcing import build_forcing

FACTORS = (0.9, 0.8), (1.1, 1.2)  # times a setting, down and up
DAYS_TRIED = 2  # more and fewer between washes by the calendar
ROUNDING = 1e-9
NO_MORE = (
    "breakthrough_risk", "bypass_min", "hardness_over_h", "iron_over_h", "manganese_over_h",
    "oxidant_over_h", "regenerations_without",
)  # fmt: skip
"""Figures of the site that a setting may not raise."""

Reading = Literal["clean", "before", "between", "drained", "metered"]
_READ: Mapping[Reading, faults_read.Reading] = {
    "clean": "clean", "before": "pressure", "between": "hours", "drained": "water per wash", "metered": "metered",
}  # fmt: skip
Progress = Callable[[str, int, int], None]


@record
class Band:
    """What a reading usually is: Pa, s, m3; `stage` None: of the site. From `low` to `high` in the run; the error of
    a reading makes it `least` to `most`."""

    reading: Reading
    stage: str | None
    low: float
    high: float
    least: float
    most: float


@record
class TriedRange:
    """How far a setting went, with all others as they are, and the limits held: SI; `place` among the triggers."""

    stage: str
    place: int
    part: TriggerPart
    low: float
    high: float


@record
class SheetRuns:
    """`water` [m3/s] asked for in each half hour of the day, in the mean; `arcs` of every stage, and what its gauges
    have `shown`; `tried` of triggers that started a wash. Nothing fails."""

    case: Case
    policy: str
    seed: int
    result: RunResult
    water: tuple[float, ...]
    arcs: Mapping[str, tuple[Arc, ...]]
    shown: Mapping[str, Shown]
    bands: tuple[Band, ...]
    tried: tuple[TriedRange, ...]


def started(result: RunResult, stage: str, causes: Collection[Cause] = tuple(Cause)) -> int:
    """How many washes of a stage these causes started."""
    return sum(run.stage == stage and run.cause in causes for run in result.runs)


def sheet_runs(case: Case, policy: str, *, seed: int = 1, progress: Progress = lambda *_: None) -> SheetRuns:
    """Run a policy day by day, then with each of its principal settings moved, on the same water."""
    triggers = dict(policy_named(case, policy).triggers)
    progress(policy, 0, 1)
    water = _water(case, seed)
    seen = gauges(replace(case, faults=()), policy, reading_flows(case, water), seed=seed)
    result = seen.result
    trials = [(stage, place, *each) for stage in case.stages
              for place, trigger in enumerate(singles(triggers[stage.name]))
              if started(result, stage.name, causes_of(trigger))
              for each in _trials(case, stage, triggers[stage.name], trigger)]  # fmt: skip
    count = 1 + len(trials)
    tried = []
    for done, (stage, place, part, sides) in enumerate(trials, 1):
        progress(policy, done, count)
        value = float(getattr(singles(triggers[stage.name])[place], part))
        low, high = (_farthest(case, policy, stage.name, place, part, (value, *side), result) for side in sides)
        tried.append(TriedRange(stage=stage.name, place=place, part=part, low=low, high=high))
    return SheetRuns(
        case=case, policy=policy, seed=seed, result=result, water=water,
        arcs=arcs(case, policy, result),
        shown=seen.shown, bands=(*_bands(case, seen), *_band(case, "metered", None, seen.metered)),
        tried=tuple(tried),
    )  # fmt: skip


def reading_flows(case: Case, water: Sequence[float]) -> dict[str, float]:
    """The flow [m3/s] at which the gauges of each stage are read: what its vessel takes in the busiest half hour of
    the mean day, or of what the unit draws, to two figures in m3/h."""
    unit = None if case.downstream is None else case.downstream.unit
    whole = max(water) if unit is None else unit.feed_flow
    return {each.name: float(f"{whole / each.vessels.sharing * HOUR:.2g}") / HOUR for each in case.stages}


def _water(case: Case, seed: int) -> tuple[float, ...]:
    """What is asked for in each half hour of the day, in the mean of the run [m3/s]."""
    given = build_forcing(case.run, case.feed, case.demand, seed=seed)
    middle = np.arange(HALF_HOUR / 2, case.run.length, HALF_HOUR)
    flow = given.flow[np.searchsorted(given.end, middle, side="right")]
    of_day = ((since_midnight(case.run.start, 0.0) + middle) % DAY // HALF_HOUR).astype(int)
    sums = np.bincount(of_day, weights=flow, minlength=HALF_HOURS)
    return tuple(map(float, sums / np.maximum(np.bincount(of_day, minlength=HALF_HOURS), 1)))


def _bands(case: Case, seen: Gauges) -> Iterator[Band]:
    for stage in case.stages:
        runs = [run for run in seen.result.runs if run.stage == stage.name and run.cause is not None]
        of_vessels = [[run.end_s for run in runs if run.vessel == each.number] for each in vessels_of(stage)]
        washed = [water for each in vessels_of(stage) for water in _drained(seen.result, each.name)]
        yield from _band(case, "clean", stage, seen.shown[stage.name].clean)
        yield from _band(case, "before", stage, seen.shown[stage.name].before)
        yield from _band(case, "between", stage, [b - a for starts in of_vessels for a, b in pairwise(starts)])
        yield from _band(case, "drained", stage, washed)


def _band(case: Case, reading: Reading, stage: Stage | None, values: Sequence[float]) -> tuple[Band, ...]:
    if not values:
        return ()
    low, high = usual(values)
    share, plus = faults_read.error_of(case, _READ[reading])
    if reading == "between":
        plus *= HOUR
    least, most = max(low - share * low - plus, 0.0), high + share * high + plus
    name = None if stage is None else stage.name
    return (Band(reading=reading, stage=name, low=low, high=high, least=least, most=most),)


def _drained(result: RunResult, vessel: str) -> Iterator[float]:
    """What each whole wash of a vessel sent to drain [m3]."""
    water = 0.0
    for entry in result.log:
        if entry.who == vessel:
            match role(entry.event):
                case "begins":
                    water = 0.0
                case "step" if entry.step != "make-up":
                    water += entry.volume_m3 or 0.0
                case "over":
                    yield water


def _trials(
    case: Case, stage: Stage, trigger: Trigger, single: SingleTrigger
) -> Iterator[tuple[TriggerPart, tuple[Sequence[float], Sequence[float]]]]:
    """The principal setting of a trigger, and what is tried below and above it, the nearest first.

    Where people may drink the water, nothing that lengthens a filter run.
    """
    longest = longest_run_of(stage, trigger) or math.inf
    match single:
        case Calendar(every=float(every), at=float()):
            days = [(every - n * DAY, every + n * DAY) for n in range(1, DAYS_TRIED + 1)]
            down, up = [each for each, _ in days if each >= DAY], [each for _, each in days if each <= longest]
            part: TriggerPart = "every"
        case Calendar(every=float(every)):
            part, (down, up) = "every", _times(every)
            up = [each for each in up if each <= longest]
        case Volume(volume=volume):
            part, (down, up) = "volume", _times(volume)
        case VolumeReserve(volume=volume, reserve=reserve) | VolumeLearned(volume=volume, reserve=reserve):
            part, (down, up) = "volume", _times(volume)
            down = [each for each in down if each > reserve]
        case Pressure(above=above):
            part, (down, up) = "above", _times(above)
        case Calendar() | Signal():
            return
        case _:
            assert_never(single)
    yield part, (down, [] if case.may_be_drunk else up)


def _times(value: float) -> tuple[list[float], list[float]]:
    down, up = ([factor * value for factor in factors] for factors in FACTORS)
    return down, up


def _farthest(
    case: Case, policy: str, stage: str, place: int, part: TriggerPart, values: Sequence[float], result: RunResult
) -> float:
    """The last of some values, the setting first, up to which the limits hold as they do at the setting."""
    farthest, *others = values
    for value in others:
        changed = _with(case, policy, stage, place, part, value)
        try:
            tried = on_the_same_water(changed, policy, result.seed, 0)
        except RunError:
            break
        if not _hold(case, result, tried):
            break
        farthest = value
    return farthest


def _with(case: Case, policy: str, stage: str, place: int, part: TriggerPart, value: float) -> Case:
    """The case with one setting of one trigger of a policy."""

    own: dict[str, Any] = {part: value}

    def changed(trigger: Trigger) -> Trigger:
        new = tuple(replace(each, **own) if place == number else each
                    for number, each in enumerate(singles(trigger)))  # fmt: skip
        return replace(trigger, triggers=new) if isinstance(trigger, AnyOf) else new[0]

    policies = (
        replace(each, triggers=tuple((name, changed(trigger) if name == stage else trigger)
                                     for name, trigger in each.triggers))
        if each.name == policy else each
        for each in case.policies
    )  # fmt: skip
    return replace(case, policies=tuple(policies))


def _hold(case: Case, at_setting: RunResult, tried: Outcome) -> bool:
    """Whether a trial washes to an end, keeps the hours over the limit that the case allows, if the setting does, and
    else has no more of them nor of NO_MORE; and bears on no vessel beyond its rating."""
    if tried.site["drain_m3"] == math.inf:
        return False
    now, then = at_setting.site, tried.site
    kept, keeps = ("" in keeping(case, {"": site}) for site in (now, then))
    over = keeps if kept else (then["over_limit_h"] or 0.0) <= (now["over_limit_h"] or 0.0)
    return over and all(_no_more(now[key], then[key]) for key in NO_MORE) and all(
        _no_more(max(stage.vessel.pressure_rating / PA_PER_KPA, at_setting.stages[stage.name]["peak_dp_kpa"] or 0.0),
                 tried.stages[stage.name]["peak_dp_kpa"])
        for stage in case.stages if stage.vessel.pressure_rating is not None
    )  # fmt: skip


def _no_more(now: Figure, then: Figure) -> bool:
    return (then or 0.0) <= (now or 0.0) * (1.0 + EQUAL_SHARE) + ROUNDING
