"""What each filter run of a log shows, in a few figures, and what the model shows in their place.

A run goes from the start of one wash to that of the next; what was before the first wash is left out. What the bed
does is compared with the model under the flow and the washes of the log, reading by reading; when washes come, and
what they drain, with the model under the way in which the case starts washes.
"""

import copy
import math
from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta
from enum import StrEnum
from typing import Any, TypeAlias

import numpy as np

from sim.case.record import record
from sim.case.records import Case
from sim.case.train.records import ByHand
from sim.case.trigger.records import Policy, Pressure, devices
from sim.case.units import DAY, HOUR
from sim.fit.forward import Forward, comparable
from sim.fit.tried import GRADUAL, Tried
from sim.log.pieces import pieces
from sim.log.records import Log, Series, What
from sim.plant.records import Cause, Event
from sim.plant.simulate import simulate
from sim.study.faults_possible import has_clock
from sim.study.single import triggers_of

Table: TypeAlias = np.ndarray[Any, np.dtype[np.float64]]
"""A row for each feature, a column for each run; nan where there is none."""


class Feature(StrEnum):
    """A figure of a run: logarithms, but the hour [h]."""

    CLEAN = "pressure drop after the wash"
    LOADED = "pressure drop before the next"
    AFTER_WASH = "turbidity out after the wash"
    LATE = "turbidity out before the next"
    HARDNESS = "hardness out before the next"
    METERED = "total against flow x time"
    AT_WASH = "pressure drop at which washes start"
    VOLUME = "volume between washes"
    HOUR = "hour of the wash"
    DRAINED = "water to drain"


FEATURES = tuple(Feature)
ENDS = {
    What.PRESSURE_DROP: (Feature.CLEAN, Feature.LOADED),
    What.TURBIDITY_OUT: (Feature.AFTER_WASH, Feature.LATE),
    What.HARDNESS_OUT: (None, Feature.HARDNESS),
}
"""Readings of which those soon after a wash and those long after it are features."""
PART, READINGS, MOST_RUNS = 1.0 / 3.0, 3, 40
"""Of a run, its first and its last third; of each so many readings at the greatest flow; of so many runs at most, so
that `Forward` compares all of them."""
KILO, SHORT, LEAST, NOTHING = 1000.0, 0.5, 0.1, 1e-2
GAUGE = 100.0  # Pa, of a mean of readings; what a log itself shows comes on top
SMOOTHED, OFTEN = 5, 2.0 * HOUR  # runs; flows read so often tell what passed, others need the total
CHANCE = (Feature.AT_WASH, Feature.VOLUME)
"""Where a pressure drop starts the washes, of one run much of this is chance."""
"""Of the usual volume: runs of less are not read; the least of a run, and of a total that stands still, whose
logarithm is taken."""


@record
class Washes:
    """The washes of a run of the model: their starts [s], what they drained [m3], the volume up to the next [m3], and
    the pressure drop that starts that [kPa], nan where something else does."""

    starts: Table
    drained: Table
    volumes: Table
    pressures: Table

    @property
    def by_pressure(self) -> bool:
        """Whether a pressure drop has started any."""
        return bool(np.isfinite(self.pressures).any())


class Signature:
    """What the runs of a log show of a stage, and what the model shows for them."""

    def __init__(self, log: Log, case: Case, stage: str, policy: str) -> None:
        log = comparable(log)
        flow, self._total = log.of(What.FLOW), None
        if flow is not None and len(flow.times) * OFTEN >= log.length:  # then what a meter says may be wrong
            self._total, log = log.of(What.TOTAL), _without(log, What.TOTAL)
        self._log = log
        starts = [wash.start for wash in log.washes if wash.start < log.length] or [0.0]
        self._marked = bool(log.washes)
        self.starts = np.array(starts)
        self._ends = np.array([*starts[1:], log.length])
        self._places = np.unique(np.linspace(0, len(starts) - 1, MOST_RUNS).round().astype(int))
        steps = next(each for each in case.stages if each.name == stage).steps
        told = pieces(log, wash_length=math.fsum(each.seconds for each in steps))
        self._until, self._flow = np.array(told.end), np.array(told.flow)
        self._passed = np.concatenate([[0.0], np.cumsum(self._flow * np.diff(self._until, prepend=0.0))])
        spans = zip(starts, self._ends, strict=True)
        self._usual = max(float(np.median([self._between(*span) for span in spans])), 1e-9)
        self._groups: dict[Feature, dict[int, list[int]]] = {}
        self.forward = Forward(self._thinned(log), case, stage)
        self.alone = self._with_policy(case, stage, policy, starts)
        self._hours = has_clock(self.alone.stages[0], triggers_of(self.alone, policy)[stage])
        starts_by = devices(triggers_of(self.alone, policy)[stage])
        self._switch = starts_by.switch
        self.steady = self._switch is None and not starts_by.signals
        self._policy = policy
        self._washes = self._run(self.alone)
        self._shown = self.forward.at()
        if len(self._washes.volumes) > 1:
            self._usual = float(np.median(self._washes.volumes[:-1]))
        self.read, self.healthy = self._of_log(), self._of_model(self._shown, self._washes)

    @property
    def since(self) -> Table:
        """When each run begins [s]."""
        return np.asarray(self.starts[self._places])

    @property
    def of_gauges(self) -> Table:
        """The error of every feature that its gauge alone has, which counts where little is read."""
        found = np.zeros_like(self.read)
        rows = [FEATURES.index(Feature.CLEAN), FEATURES.index(Feature.LOADED)]
        found[rows] = np.nan_to_num(GAUGE / np.exp(self.read[rows]))
        return found

    def shift(self, tried: Tried, size: float) -> Table:
        """How the features of all runs change with a fault or a change that is there from the start."""
        shown: Mapping[What, Table] = self._shown
        if not tried.of_what_starts:
            forward = copy.copy(self.forward)
            forward.case = tried.put(self.forward.case, size)
            shown = forward.at()
        moves = not (self.steady and tried.of_the_bed)
        washes = self._run(self._held(tried.put(self.alone, size))) if moves else self._washes
        table = self._of_model(shown, washes) - self.healthy
        table[FEATURES.index(Feature.METERED)] = 0.0
        if tried.what in ("meter low", "meter high", "meter stuck"):
            table[FEATURES.index(Feature.METERED)] = math.log(size) if tried.sizes else math.log(NOTHING)
        if tried.what == "raw water past the bed":  # the meter of a filter counts what its bed filters
            table[FEATURES.index(Feature.METERED)] = math.log1p(-size)
        if tried.what == "tap plugged":
            table[[FEATURES.index(each) for each in (Feature.CLEAN, Feature.LOADED)]] += math.log(size)
        if not self.steady:  # which wash comes when is chance there, how many come is not
            row = table[FEATURES.index(Feature.VOLUME)]
            row[:] = _smooth(row, SMOOTHED if tried.what in GRADUAL else 2 * len(row))
        if self._switch is not None and washes.by_pressure:
            table[FEATURES.index(Feature.AT_WASH)] = self._set_point(tried, size, self._switch)
        overdue = self.read[FEATURES.index(Feature.VOLUME), -1] - self.healthy[FEATURES.index(Feature.VOLUME), -1]
        last = table[FEATURES.index(Feature.VOLUME), -1]
        table[FEATURES.index(Feature.VOLUME), -1] = min(max(last, 0.0), overdue)  # its end is still to come
        return np.nan_to_num(table)

    def _set_point(self, tried: Tried, size: float, switch: Pressure) -> Table:
        """How the true pressure drop at which a switch is met changes, its logarithm."""
        higher = np.zeros(len(self._places))
        if tried.what == "switch chatters":
            higher += size if switch.hold > 0.0 else -size
        elif tried.what in ("switch drifts low", "switch drifts high"):
            higher -= size * (self._ends[self._places] - self.since[0]) / DAY
        return np.log(np.maximum(1.0 + higher / switch.above, LEAST))

    def _held(self, case: Case) -> Case:
        """The case, its washes not without end: none sooner than after the least part of a usual run."""
        (stage,) = case.stages
        interval = LEAST * float(np.median(np.diff(self._washes.starts))) if len(self._washes.starts) > 1 else 0.0
        return replace(case, stages=(replace(stage, least_interval=max(stage.least_interval, interval)),))

    def _of_log(self) -> Table:
        values = {each.what: np.array(each.values) for each in self._thin.series if each.what in ENDS}
        table = self._by_readings(values)
        if self._switch is not None:
            table[FEATURES.index(Feature.AT_WASH)] = self._highest(values)
        for n, place in enumerate(self._places):
            start, end = self.starts[place], self._ends[place]
            volume = math.log(max(self._between(start, end), LEAST * self._usual))
            if place == len(self.starts) - 1:  # not over: it counts where it is overdue
                volume = max(volume, math.log(self._usual))
            table[FEATURES.index(Feature.VOLUME), n] = volume
            if self._hours and self._marked:
                table[FEATURES.index(Feature.HOUR), n] = self._hour(start)
            drained = self._log.washes[place].drained if self._marked else None
            if drained is not None and drained > 0.0:
                table[FEATURES.index(Feature.DRAINED), n] = math.log(drained)
            table[FEATURES.index(Feature.METERED), n] = self._metered(start, end)
        return table

    def _metered(self, start: float, end: float) -> float:
        if self._total is None:
            return math.nan
        inside = [n for n, time in enumerate(self._total.times) if start < time <= end]
        if len(inside) < 2:
            return math.nan
        first, last = inside[0], inside[-1]
        passed = self._between(self._total.times[first], self._total.times[last])
        counted = self._total.values[last] - self._total.values[first]
        if passed < SHORT * self._usual or counted < -NOTHING * passed:
            return math.nan
        return math.log(max(counted / passed, NOTHING))

    def _of_model(self, shown: Mapping[What, Table], washes: Washes) -> Table:
        table = self._by_readings(shown)
        middles = (self.since + self._ends[self._places]) / 2.0
        at = np.maximum(np.searchsorted(washes.starts, middles, side="right") - 1, 0)
        last = FEATURES.index(Feature.VOLUME)
        table[last] = np.log(np.maximum(washes.volumes[at], LEAST * self._usual))
        if self._places[-1] == len(self.starts) - 1:
            table[last, -1] = max(table[last, -1], math.log(self._usual))
        if washes.by_pressure:
            table[FEATURES.index(Feature.AT_WASH)] = math.log(float(np.nanmedian(washes.pressures)))
        else:
            table[FEATURES.index(Feature.AT_WASH)] = self._highest(shown)
        table[FEATURES.index(Feature.DRAINED)] = np.log(np.maximum(washes.drained[at], 1e-6))
        for n, start in enumerate(washes.starts[at]):
            apart = self._hour(float(start)) - self._hour(float(self.since[n]))
            table[FEATURES.index(Feature.HOUR), n] = self._hour(float(self.since[n])) + (apart + 12.0) % 24.0 - 12.0
        table[FEATURES.index(Feature.METERED)] = 0.0
        return table

    def _by_readings(self, values: Mapping[What, Table]) -> Table:
        table = np.full((len(FEATURES), len(self._places)), math.nan)
        for what, pair in ENDS.items():
            for feature in pair:
                if feature is None or what not in values:
                    continue
                for n, group in self._groups[feature].items():
                    seen = np.array([each for each in values[what][group] if each > 0.0])
                    if len(seen):
                        table[FEATURES.index(feature), n] = np.log(seen).mean()
        return table

    def _highest(self, values: Mapping[What, Table]) -> Table:
        """The highest pressure drop late in each run that is over, not by its longest run; its logarithm."""
        highest = np.full(len(self._places), math.nan)
        longest = self.alone.stages[0].longest_run or math.inf
        for n, group in self._groups.get(Feature.LOADED, {}).items():
            most = np.nanmax([*values[What.PRESSURE_DROP][group], 1.0])
            place = self._places[n]
            if place < len(self.starts) - 1 and self._ends[place] - self.starts[place] < 0.98 * longest:
                highest[n] = math.log(most / KILO)
        return highest

    def _hour(self, time: float) -> float:
        return (self._log.start + timedelta(seconds=time) - self._log.start.replace(hour=0, minute=0, second=0,
                microsecond=0)) / timedelta(hours=1) % 24.0  # fmt: skip

    def _between(self, start: float, end: float) -> float:
        """What flowed [m3]."""
        ends = np.concatenate([[0.0], self._until])
        return float(np.interp(end, ends, self._passed) - np.interp(start, ends, self._passed))

    def _thinned(self, log: Log) -> Log:
        """The log with no more of what runs show than the readings that are looked at."""
        kept = []
        for series in log.series:
            pair = ENDS.get(series.what)
            if pair is None:
                kept.append(series)
                continue
            chosen = self._chosen(series)
            every = sorted({each for end in chosen for group in end.values() for each in group})
            place = {each: n for n, each in enumerate(every)}
            for feature, end in zip(pair, chosen, strict=True):
                if feature is not None:
                    self._groups[feature] = {n: [place[each] for each in group] for n, group in end.items()}
            kept.append(replace(series, times=tuple(series.times[each] for each in every),
                                values=tuple(series.values[each] for each in every)))  # fmt: skip
        self._thin = replace(log, series=tuple(kept))
        return self._thin

    def _chosen(self, series: Series) -> tuple[dict[int, list[int]], dict[int, list[int]]]:
        """Of each run the readings near its beginning and near its end, those at the greatest flow."""
        at, values = np.array(series.times), series.values
        flow = self._flow[np.minimum(np.searchsorted(self._until, at, side="left"), len(self._flow) - 1)]
        early: dict[int, list[int]] = {}
        late: dict[int, list[int]] = {}
        for n, place in enumerate(self._places):
            start, end = float(self.starts[place]), float(self._ends[place])
            if self._between(start, end) < SHORT * self._usual:
                continue
            part = PART * (end - start)
            for found, low, high in ((early, start, start + part), (late, end - part, end)):
                inside = [each for each in np.flatnonzero((at > low) & (at <= high)).tolist()
                          if values[each] > 0.0 and flow[each] > 0.0]  # fmt: skip
                if inside:
                    found[n] = sorted(sorted(inside, key=lambda each: -flow[each])[:READINGS])
        return early, late

    def _with_policy(self, case: Case, name: str, policy: str, starts: list[float]) -> Case:
        """The stage alone under the log's water, with the way to start washes that the case has."""
        own = next(stage for stage in case.stages if stage.name == name)
        (alone,) = self.forward.case.stages
        stage = replace(
            alone, longest_run=own.longest_run, longest_run_at=own.longest_run_at, switch=own.switch, clock=own.clock,
            start_spike=own.start_spike, valve_spike=own.valve_spike, least_interval=own.least_interval,
        )  # fmt: skip
        by_hand = (ByHand(stage=name, at=starts[0]),) if self._marked else ()
        return replace(
            self.forward.case, stages=(stage,), washing=replace(case.washing, by_hand=by_hand, aborts=()),
            policies=(Policy(name=policy, triggers=((name, triggers_of(case, policy)[name]),)),),
        )  # fmt: skip

    def _run(self, case: Case) -> Washes:
        """The washes of the model from the first one of the log on."""
        found: list[list[float]] = [] if self._marked else [[0.0, 0.0]]
        of: dict[str, list[float]] = {}
        result = simulate(case, self._policy)
        met = {run.end_s: run.end_dp_kpa for run in result.runs if run.cause is Cause.PRESSURE}
        for entry in result.log:
            if entry.event is Event.WASH_STARTS:
                of[entry.who] = [entry.time_s, 0.0]
                if entry.time_s >= self.starts[0]:
                    found.append(of[entry.who])
            elif entry.volume_m3 is not None and entry.who in of:
                of[entry.who][1] += entry.volume_m3
        found = found or [[0.0, 0.0]]
        starts = np.array([each[0] for each in found])
        ends = np.concatenate([[0.0], self._until])
        passed = np.interp(np.append(starts, self._log.length), ends, self._passed)
        return Washes(
            starts=starts, drained=np.array([each[1] for each in found]), volumes=np.diff(passed),
            pressures=np.array([*(met.get(float(start), math.nan) for start in starts[1:]), math.nan]),
        )  # fmt: skip


def _smooth(row: Table, runs: int) -> Table:
    """The mean over so many runs about each."""
    at = np.arange(len(row))
    near = np.abs(at[:, None] - at) <= runs // 2
    return np.asarray(near @ row / near.sum(axis=1))


def _without(log: Log, *what: What) -> Log:
    return replace(log, series=tuple(each for each in log.series if each.what not in what))
