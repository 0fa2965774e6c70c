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
from enum import IntEnum
from typing import Any, TypeAlias

import numpy as np

from sim.case.record import record
from sim.case.records import Case
from sim.case.train.records import ByHand
from sim.case.trigger.records import Policy, Pressure, devices
from sim.case.units import DAY, HOUR
from sim.fit.forward import Forward, comparable
from sim.fit.tried import GRADUAL, Tried
from sim.log.pieces import Values, pieces
from sim.log.records import Log, Series, What
from sim.plant.records import Cause, Event
from sim.plant.simulate import simulate
from sim.study.faults_possible import has_clock
from sim.study.single import triggers_of

Table: TypeAlias = Values
"""A row for each feature, a column for each run; nan where there is none."""
Groups: TypeAlias = dict[int, np.ndarray[Any, np.dtype[np.int64]]]
"""Places of readings, by run."""


class Feature(IntEnum):
    """A figure of a run, by its row of a table: logarithms, but the hour [h]."""

    CLEAN = 0  # pressure drop after the wash
    LOADED = 1  # and before the next
    AFTER_WASH = 2  # turbidity out after the wash
    LATE = 3  # and before the next
    HARDNESS = 4  # hardness out before the next
    METERED = 5  # total against flow x time
    AT_WASH = 6  # pressure drop at which washes start
    VOLUME = 7  # between washes
    HOUR = 8  # of the wash
    DRAINED = 9  # water to drain


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
"""Pa in kPa; of the usual volume: runs of less are not read; the least of a run, and of a total that stands still,
whose logarithm is taken."""
GAUGE = 100.0  # Pa, of a mean of readings; what a log itself shows comes on top
SMOOTHED, OFTEN = 5, 2.0 * HOUR  # runs; flows read so often tell what passed, others need the total
DROPS, CHANCE = [Feature.CLEAN, Feature.LOADED], [Feature.AT_WASH, Feature.VOLUME]
"""Pressure drops; where one starts the washes, of one run much of the others is chance."""


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
            self._total = log.of(What.TOTAL)
            log = replace(log, series=tuple(each for each in log.series if each.what is not What.TOTAL))
        self._log = log
        starts = [wash.start for wash in log.washes if wash.start < log.length] or [0.0]
        self._marked = bool(log.washes)
        self.starts = np.array(starts)
        self._ends = np.array([*starts[1:], log.length])
        self._places = np.unique(np.linspace(0, len(starts) - 1, MOST_RUNS).round().astype(int))
        steps = next(each for each in case.stages if each.name == stage).steps
        told = pieces(log, wash_length=math.fsum(each.seconds for each in steps))
        self._edges, self._flow = np.array((0.0, *told.end)), np.array(told.flow)
        self._passed = np.concatenate([[0.0], np.cumsum(self._flow * np.diff(self._edges))])
        spans = zip(starts, self._ends, strict=True)
        self._usual = max(float(np.median([self._between(*span) for span in spans])), 1e-9)
        self._groups: dict[Feature, Groups] = {}
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
        found[DROPS] = np.nan_to_num(GAUGE / np.exp(self.read[DROPS]))
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
        if tried.what in ("meter low", "meter high", "meter stuck"):
            table[Feature.METERED] = math.log(size if tried.sizes else NOTHING)
        if tried.what == "raw water past the bed":  # the meter of a filter counts what its bed filters
            table[Feature.METERED] = math.log1p(-size)
        if tried.what == "tap plugged":
            table[DROPS] += math.log(size)
        if not self.steady:  # which wash comes when is chance there, how many come is not
            row = table[Feature.VOLUME]
            row[:] = _smooth(row, SMOOTHED if tried.what in GRADUAL else 2 * len(row))
        if self._switch is not None and washes.by_pressure:
            table[Feature.AT_WASH] = self._set_point(tried, size, self._switch)
        last = Feature.VOLUME, -1  # whose end is still to come
        table[last] = min(max(table[last], 0.0), self.read[last] - self.healthy[last])
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
        table = self._by_readings(values := {each.what: np.array(each.values) for each in self._thin.series})
        if self._switch is not None:
            table[Feature.AT_WASH] = self._highest(values)
        for n, place in enumerate(self._places):
            start, end = self.starts[place], self._ends[place]
            table[Feature.VOLUME, n] = math.log(max(self._between(start, end), LEAST * self._usual))
            table[Feature.METERED, n] = self._metered(start, end)
            if self._hours and self._marked:
                table[Feature.HOUR, n] = self._hour(start)
            if self._marked and (self._log.washes[place].drained or 0.0) > 0.0:
                table[Feature.DRAINED, n] = math.log(self._log.washes[place].drained or 0.0)
        table[Feature.VOLUME, -1] = max(table[Feature.VOLUME, -1], math.log(self._usual))  # not over: overdue at most
        return table

    def _metered(self, start: float, end: float) -> float:
        if self._total is None:
            return math.nan
        times, values = np.array(self._total.times), self._total.values
        inside = np.flatnonzero((start < times) & (times <= end))
        if len(inside) < 2:
            return math.nan
        first, last = inside[0], inside[-1]
        passed, counted = self._between(times[first], times[last]), values[last] - values[first]
        if passed < SHORT * self._usual or counted < -NOTHING * passed:
            return math.nan
        return math.log(max(counted / passed, NOTHING))

    def _of_model(self, shown: Mapping[What, Table], washes: Washes) -> Table:
        table = self._by_readings(shown)
        middles = (self.since + self._ends[self._places]) / 2.0
        at = np.maximum(np.searchsorted(washes.starts, middles, side="right") - 1, 0)
        table[Feature.METERED] = 0.0
        table[Feature.VOLUME] = np.log(np.maximum(washes.volumes[at], LEAST * self._usual))
        table[Feature.DRAINED] = np.log(np.maximum(washes.drained[at], 1e-6))
        by_pressure = washes.by_pressure
        table[Feature.AT_WASH] = math.log(np.nanmedian(washes.pressures)) if by_pressure else self._highest(shown)
        for n, start in enumerate(washes.starts[at]):
            own = self._hour(float(self.since[n]))
            table[Feature.HOUR, n] = own + (self._hour(float(start)) - own + 12.0) % 24.0 - 12.0
        table[Feature.VOLUME, -1] = max(table[Feature.VOLUME, -1], math.log(self._usual))
        return table

    def _by_readings(self, values: Mapping[What, Table]) -> Table:
        table = np.full((len(Feature), len(self._places)), math.nan)
        for feature, groups in self._groups.items():
            what = next(what for what, pair in ENDS.items() if feature in pair)
            for n, group in groups.items():
                seen = values[what][group]
                if (seen > 0.0).any():
                    table[feature, n] = np.log(seen[seen > 0.0]).mean()
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
        return float(np.interp(end, self._edges, self._passed) - np.interp(start, self._edges, self._passed))

    def _thinned(self, log: Log) -> Log:
        """The log with no more of what runs show than the readings that are looked at."""
        kept = []
        for series in log.series:
            if series.what in ENDS:
                chosen = self._chosen(series)
                every = sorted({each for end in chosen for group in end.values() for each in group.tolist()})
                for feature, end in zip(ENDS[series.what], chosen, strict=True):
                    if feature is not None:
                        self._groups[feature] = {n: np.searchsorted(every, group) for n, group in end.items()}
                series = series.only(every)
            kept.append(series)
        self._thin = replace(log, series=tuple(kept))
        return self._thin

    def _chosen(self, series: Series) -> tuple[Groups, Groups]:
        """Of each run the readings near its beginning and near its end, those at the greatest flow."""
        at, found = np.array(series.times), (Groups(), Groups())
        flow = self._flow[np.searchsorted(self._edges[1:], at).clip(max=len(self._flow) - 1)]
        shows = (np.array(series.values) > 0.0) & (flow > 0.0)
        for n, place in enumerate(self._places):
            start, end = float(self.starts[place]), float(self._ends[place])
            if self._between(start, end) < SHORT * self._usual:
                continue
            part = PART * (end - start)
            for groups, low, high in zip(found, (start, end - part), (start + part, end), strict=True):
                inside = np.flatnonzero((at > low) & (at <= high) & shows)
                if inside.size:
                    groups[n] = np.sort(inside[np.argsort(-flow[inside], kind="stable")[:READINGS]])
        return found

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
        starts, drained = np.array(found).T
        passed = np.interp(np.append(starts, self._log.length), self._edges, self._passed)
        return Washes(
            starts=starts, drained=drained, volumes=np.diff(passed),
            pressures=np.array([*(met.get(float(start), math.nan) for start in starts[1:]), math.nan]),
        )  # fmt: skip


def _smooth(row: Table, runs: int) -> Table:
    """The mean over so many runs about each."""
    at = np.arange(len(row))
    near = np.abs(at[:, None] - at) <= runs // 2
    return np.asarray(near @ row / near.sum(axis=1))
