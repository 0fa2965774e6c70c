"""One week of one run: flow, tank, signals and every wash step by step, as the figure of a week shows them."""

import math
from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise
from typing import NamedTuple, assert_never

import pandas as pd

from plots.inputs import DissolvedSignal, FaultSpan, Measure, Span, VesselSignal, WashBars, WeekPicture
from plots.words import label
from sim.case.fault.records import Fault
from sim.case.quantities import System
from sim.case.records import Case
from sim.case.units import MINUTE, PA_PER_KPA
from sim.plant.records import Cause, Event, RunResult
from sim.plant.regeneration import Regeneration
from sim.plant.trace import Moment, moments
from sim.plant.triggers import pressure_set
from sim.study.errors import RequestError
from sim.study.moments import moment
from sim.study.single import place_of, triggers_of
from sim.study.vessel_past import role
from sim.study.vessels import OneVessel, vessels, vessels_of
from sim.study.weeks import WEEK, Week
from sim.tell.faults.fault_words import fault_label
from sim.tell.present import UNITS, converted
from sim.tell.run.dissolved import Followed, followed

STEP = 15 * MINUTE  # between looks
CLOSE = MINUTE  # between looks while something washes
JUST_AFTER = 0.5  # s after an event
LOOKS_AT_MOST = 3000
WAIT = "wait"
NOTHING = 1e-6  # s, below which a wait is rounding


class StepSpan(NamedTuple):
    """One step of a wash of a vessel, or the wait for its line before it [s from the start of the run]."""

    who: str
    step: str
    start_s: float
    end_s: float


def require_week(case: Case, number: int) -> None:
    """RequestError for a week that the run does not have."""
    count = math.ceil(case.run.length / WEEK)
    if not 1 <= number <= count:
        raise RequestError(f"--week: given {number}; allowed: 1 to {count}, the weeks of the run; try: {count}")


def wash_steps(case: Case, result: RunResult) -> tuple[StepSpan, ...]:
    """Every step of every wash that came to its end or was broken off, read from the log."""
    steps = {each.name: each.stage.steps for each in vessels(case)}
    washing: dict[str, tuple[int, float]] = {}  # the place of the step that is under way, the end of the one before
    found: list[StepSpan] = []
    for entry in result.log:
        who, time = entry.who, entry.time_s
        match role(entry.event):
            case "begins":
                washing[who] = 0, time
            case "step":
                place, before = washing[who]
                step = steps[who][place]
                start = before if entry.event is Event.BROKEN_OFF else max(time - step.seconds, before)
                if start > before + NOTHING:
                    found.append(StepSpan(who, WAIT, before, start))
                found.append(StepSpan(who, step.do, start, time))
                washing[who] = place + 1, time
            case "over":
                washing.pop(who, None)
            case "waits" | "aside":
                pass
            case unknown:
                assert_never(unknown)
    return tuple(found)


def week_picture(case: Case, result: RunResult, week: Week, system: System) -> WeekPicture:
    """What the figure of a week shows; the run is looked at and stays as it is."""
    start, end = week.start_s, week.end_s
    steps = tuple(each for each in wash_steps(case, result) if each.start_s < end and each.end_s > start)
    looks = tuple(
        moments(case, result.policy, times=_times(result, steps, start, end), seed=result.seed,
                replicate=result.replicate)
    )  # fmt: skip
    flow, volume = UNITS[system]["flow"], UNITS[system]["volume"]
    begin = case.run.start
    table = pd.DataFrame({"time": [moment(begin, each.train.time_s) for each in looks]})
    table["flow"] = [each.train.service_m3_h * flow.per_result_unit for each in looks]
    table["level"] = [each.train.level_m3 * volume.per_result_unit for each in looks]
    tank = case.downstream.unit.tank if case.downstream and case.downstream.unit else None
    known = [converted(mark, volume) or 0.0 for mark in (tank.start_below, tank.stop_above)] if tank else None
    return WeekPicture(
        policy=result.policy,
        place=place_of(case, result.policy),
        number=week.number,
        start=moment(begin, start),
        end=moment(begin, end),
        table=table,
        flow=Measure(label("measure.service"), flow.symbol),
        level=Measure(label("measure.level"), volume.symbol) if tank else None,
        marks=None if known is None else (known[0], known[1]),
        signals=tuple(_signal(case, result, each, looks, system) for each in vessels(case)),
        dissolved=tuple(
            _dissolved(case, result, each, looks, system) for stage in case.stages for each in followed(case, stage)
        ),
        washes=_bars(case, steps),
        held=_spans(case, looks, lambda look: look.train.held),
        raw=_spans(case, looks, lambda look: bool(look.train.round_stages)),
        starved=_spans(case, looks, lambda look: look.train.starved),
        faults=tuple(_fault(case, each, week, system) for each in case.faults if _meets(each, start, end)),
    )


def _meets(fault: Fault, start: float, end: float) -> bool:
    return fault.start < end and fault.end > start


def _fault(case: Case, fault: Fault, week: Week, system: System) -> FaultSpan:
    """What fails within a week, with the stage where there are several."""
    words = str(fault_label(fault, system))
    if fault.stage is not None and len(case.stages) > 1:
        words = f"{words} ({fault.stage})"
    spans = (max(fault.start, week.start_s), min(fault.end, week.end_s))
    return FaultSpan(words, *(moment(case.run.start, each) for each in spans))


def _times(result: RunResult, steps: Sequence[StepSpan], start: float, end: float) -> list[float]:
    """When to look: regularly, closely while something washes, and just after every event."""
    count = round((end - start) / STEP)
    times = {start + place * (end - start) / count for place in range(count + 1)}
    events = {entry.time_s + JUST_AFTER for entry in result.log if start <= entry.time_s < end}
    for each in steps:
        first, last = max(each.start_s, start), min(each.end_s, end)
        times |= {first + place * CLOSE for place in range(int((last - first) // CLOSE) + 1)}
    chosen = sorted(time for time in times | events if start <= time <= end)
    every = -(-len(chosen) // LOOKS_AT_MOST)
    return sorted({*chosen[::every], start, end})


def _signal(
    case: Case, result: RunResult, vessel: OneVessel, looks: Sequence[Moment], system: System
) -> VesselSignal:
    """What the gauge of a vessel shows while it serves, and where its switch went wrong."""
    unit = UNITS[system]["pressure"]
    place = [each.name for each in vessels(case)].index(vessel.name)
    samples = [look.vessels[place] for look in looks]
    begin = case.run.start
    table = pd.DataFrame({"time": [moment(begin, each.time_s) for each in samples]})
    serving = [each.phase == "service" and each.flow_m3_h > 0.0 for each in samples]
    shown = [each.signal_kpa - each.spike_kpa for each in samples]
    table["pressure"] = [
        value * unit.per_result_unit if there else math.nan for value, there in zip(shown, serving, strict=True)
    ]
    above = pressure_set(triggers_of(case, result.policy)[vessel.stage.name]) / PA_PER_KPA
    by_pressure = [run.end_s for run in vessel.runs(result) if run.cause is Cause.PRESSURE]
    rises = [
        (before.time_s, after.time_s) for before, after in pairwise(samples) if after.early > before.early
    ]
    missed = _never_less([each.missed for each in samples])
    return VesselSignal(
        name=vessel.name,
        table=table,
        pressure=Measure(vessel.name, unit.symbol),
        set_point=converted(above if above < math.inf else None, unit),
        early=tuple(
            moment(begin, time) for time in by_pressure if any(low <= time <= high for low, high in rises)
        ),
        missed=tuple(
            moment(begin, samples[number].time_s)
            for number in range(1, len(samples))
            if missed[number] > missed[number - 1]
        ),
    )


def _dissolved(
    case: Case, result: RunResult, each: Followed, looks: Sequence[Moment], system: System
) -> DissolvedSignal:
    """What a stage sends on of something dissolved, and the regenerations of its vessels meanwhile."""
    place, unit, begin = [stage.name for stage in case.stages].index(each.stage), each.unit(system), case.run.start
    mine = {vessel.name for vessel in vessels_of(case.stages[place])}
    start, end = looks[0].train.time_s, looks[-1].train.time_s
    restored = [
        (moment(begin, entry.time_s), Regeneration(entry.free_before, entry.free_after).restores)
        for entry in result.log
        if entry.who in mine and start <= entry.time_s < end
        if entry.free_before is not None and entry.free_after is not None
    ]
    return DissolvedSignal(
        measure=each.measure(system),
        table=pd.DataFrame(
            {
                "time": [moment(begin, look.train.time_s) for look in looks],
                "dissolved": [each.of(look.stages[place]) * unit.per_result_unit for look in looks],
            }
        ),
        limit=converted(each.limit, unit),
        regenerated=tuple(time for time, gained in restored if gained),
        unrestored=tuple(time for time, gained in restored if not gained),
    )


def _never_less(counts: Sequence[int]) -> list[int]:
    """Counts without those that a later one takes back: a hold that was still running."""
    least, found = counts[-1], []
    for count in reversed(counts):
        least = min(least, count)
        found.append(least)
    return found[::-1]


def _bars(case: Case, steps: Iterable[StepSpan]) -> WashBars:
    begin = case.run.start
    rows = [(each.who, each.step, moment(begin, each.start_s), moment(begin, each.end_s)) for each in steps]
    return WashBars(
        vessels=tuple(each.name for each in vessels(case)),
        table=pd.DataFrame(rows, columns=["vessel", "step", "start", "end"]),
    )


def _spans(case: Case, looks: Sequence[Moment], is_so: Callable[[Moment], bool]) -> tuple[Span, ...]:
    """Stretches between looks over which something is so."""
    begin, found = case.run.start, list[Span]()
    since: float | None = None
    for look in looks:
        if is_so(look) and since is None:
            since = look.train.time_s
        elif not is_so(look) and since is not None:
            found.append(Span(moment(begin, since), moment(begin, look.train.time_s)))
            since = None
    if since is not None:
        found.append(Span(moment(begin, since), moment(begin, looks[-1].train.time_s)))
    return tuple(found)
