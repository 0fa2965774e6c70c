"""Keeps what happened: the log, one record per filter run, and the times off line. Never changes the plant."""

import math
from collections.abc import Callable
from typing import Any, Literal

from sim.case.records import Case
from sim.plant.layout import STANDBY
from sim.plant.line import Line
from sim.plant.records import Cause, Event, FilterRun, LogEntry, Why
from sim.plant.regeneration import Regeneration

HOUR, MINUTE, KILO = 3600.0, 60.0, 1000.0
Beginning = Literal["wash", "step", "run"]
ROUNDING = 1e-9  # of the water that a step asks for: as little less is all of it


class Recorder:
    """The written memory of one run, vessel by vessel; all times in seconds from its start."""

    def __init__(self, case: Case, line: Line) -> None:
        self.hear: Callable[[Beginning, int], None] = lambda *_: None
        self._line = line
        self._stages = [case.stages[k].name for k, _ in line.places]
        self._places = [place + 1 for _, place in line.places]
        self._steps = [case.stages[k].steps for k, _ in line.places]
        count = len(line.names)
        self.log: list[LogEntry] = []
        self.runs: list[FilterRun] = []
        self.off_line = [0.0] * count
        self.peak_drain = [0.0] * count
        self.site_peak_drain = 0.0
        self.washes = [0] * count
        self.waits = [0] * count
        self.waiting = [0.0] * count
        # Of the flow that each step asks for, the least share that any wash reached in the mean; None: not made.
        self.shares: list[list[float | None]] = [[None] * len(steps) for steps in self._steps]
        self._begun = [0.0] * count
        self._whole = [True] * count  # whether the last step of each came to its end
        self._numbers = [0] * count
        self._since: list[float] = [0.0] * count
        self._drained = [(0.0, 0.0)] * count
        self._triggers = [(0, 0)] * count  # early and missed ones, as far as they are told
        self._washing: set[int] = set()
        self._resting = {i for i in range(count) if line.of_vessel("mode", i) == STANDBY}
        self.regenerations = [0] * count
        self.without = [0] * count  # regenerations that gave nothing back
        self.make_up = [0.0] * count  # m3
        self._starved, self._unit_draws = 0.0, case.downstream is not None and case.downstream.unit is not None

    def note(self, time: float, i: int, event: Event, why: Cause | Why, **data: Any) -> None:
        """One line of the log, of a vessel; `data` of a LogEntry."""
        self.tell(time, self._line.names[i], event, why, **data)

    def tell(self, time: float, who: str, event: Event, why: Cause | Why, **data: Any) -> None:
        """One line of the log."""
        self.log.append(LogEntry(time, who, event, why, **data))

    def waited(self, time: float, i: int, seconds: float, why: Why) -> None:
        """Vessel i has waited for others [s]."""
        self.waits[i] += 1
        self.waiting[i] += seconds
        self.note(time, i, Event.WAITED, why, minutes=seconds / MINUTE)

    def end_run(self, time: float, i: int, cause: Cause, pressure_set: float) -> None:
        """A filter run ends because its wash starts."""
        self.hear("wash", i)
        run = self._run(self._line, time, i, cause, pressure_set)
        self.runs.append(run)
        self.note(time, i, Event.WASH_STARTS, cause, volume_m3=run.volume_m3)
        if run.blocked:
            self.note(time, i, Event.BLOCKED, Why.FLOOR)
        if pressure_set < math.inf and (so_far := self._line.triggers_so_far(i)) != self._triggers[i]:
            self.log += self._untold_triggers(self._line, time, i)
            self._triggers[i] = so_far
        self._since[i] = time
        self._washing.add(i)

    def _untold_triggers(self, line: Line, time: float, i: int) -> list[LogEntry]:
        """What the log has not said yet of the switch of vessel i: that a spike set it off, or that a hold broke."""
        so_far, before = line.triggers_so_far(i), self._triggers[i]
        early, missed = so_far[0] - before[0], so_far[1] - before[1]
        name, told = line.names[i], []
        if early:
            told.append(LogEntry(time, name, Event.SET_OFF_EARLY, Why.SPIKE))
        if missed:
            told.append(LogEntry(time, name, Event.MISSED, Why.HOLD, times=missed))
        return told

    def begin_step(self, time: float, i: int, flow: float) -> None:
        """A step of a wash begins, at a flow [m3/s]."""
        self.hear("step", i)
        self._begun[i] = time
        draining = flow if len(self._washing) == 1 else self._line.draining
        if flow > self.peak_drain[i]:
            self.peak_drain[i] = flow
        if draining > self.site_peak_drain:
            self.site_peak_drain = draining

    def end_step(
        self, time: float, i: int, number: int, drained: tuple[float, float], flowed: float, broken: Why | None = None
    ) -> None:
        """Step `number` of a wash ends, or is `broken` off; `drained`: all m3 and g that went to drain so far;
        `flowed`: how long its water could flow [s]."""
        before, self._drained[i] = self._drained[i], drained
        step = self._steps[i][number]
        asked = step.flow * flowed
        if asked > 0.0 and step.do != "make-up":
            self._note_share(i, number, (drained[0] - before[0]) / asked)
        event, why = (Event.STEP_ENDS, Why.TIME) if broken is None else (Event.BROKEN_OFF, broken)
        volume, solids = drained[0] - before[0], (drained[1] - before[1]) / KILO
        self._whole[i] = broken is None
        self.note(time, i, event, why, volume_m3=volume, solids_kg=solids, step=step.do)
        if self._unit_draws:
            self._note_starving(time, i)

    def regenerated(self, time: float, i: int, done: Regeneration) -> None:
        """A regenerant begins in vessel i, with what it gives back."""
        self.regenerations[i] += 1
        self.without[i] += not done.restores
        self.note(time, i, Event.REGENERATED, Why.TRIGGER, free_before=done.free_before, free_after=done.free_after)

    def made_up(self, i: int, volume: float) -> None:
        """The brine tank of vessel i has got water [m3]."""
        self.make_up[i] += volume

    def _note_share(self, i: int, number: int, share: float) -> None:
        """A step of vessel i has reached a share of the flow that it asks for."""
        known = self.shares[i][number]
        share = 1.0 if share >= 1.0 - ROUNDING else share
        self.shares[i][number] = share if known is None else min(known, share)

    def repeated(self, time: float, i: int) -> None:
        """A wash has come to its end and is followed by another at once."""
        self.washes[i] += 1
        self.note(time, i, Event.WASHES_AGAIN, Why.NOT_CLEAN)

    def rest(self, time: float, i: int) -> None:
        """A wash is over and the vessel stands by."""
        self._end_wash(time, i)
        self._resting.add(i)
        self.note(time, i, Event.STANDS_BY, Why.TIME)

    def begin_run(self, time: float, i: int) -> None:
        """A filter run begins: the wash is over, or the vessel takes over from another."""
        why = Why.TIME
        if i in self._resting:
            self._resting.discard(i)
            why = Why.SISTER
        else:
            self._end_wash(time, i)
        self._since[i] = time
        self._numbers[i] += 1
        self.note(time, i, Event.BACK, why)
        self.hear("run", i)

    def unfinished(self, line: Line, time: float, i: int) -> FilterRun | float:
        """What the end of the simulation cuts short, on a line carried there: a filter run, or off-line seconds."""
        if i in self._washing:
            return time - self._since[i]
        if i in self._resting:
            return 0.0
        return self._run(line, time, i, None, math.inf)

    def untold(self, line: Line, time: float, i: int) -> list[LogEntry]:
        """What the log has not said yet of vessel i at the end of the simulation, on a line carried there."""
        told = self._untold_triggers(line, time, i)
        if i in self._washing:
            told.append(LogEntry(time, line.names[i], Event.CUT_SHORT, Why.RUN_END))
        return told

    def _end_wash(self, time: float, i: int) -> None:
        self.off_line[i] += time - self._since[i]
        self.washes[i] += self._whole[i]
        self._washing.discard(i)

    def _note_starving(self, time: float, i: int) -> None:
        """Say so where the unit downstream found no water since the last look."""
        starved = self._line.of_unit("starved_time")
        if starved > self._starved:
            self.note(time, i, Event.UNIT_STARVED, Why.CLOSED)
        self._starved = starved

    def _run(self, line: Line, time: float, i: int, cause: Cause | None, pressure_set: float) -> FilterRun:
        treated, load, residual, clean, loaded, over, unused, blocked = line.run_figures(i, pressure_set)
        known = None if cause is None or math.isnan(unused) else unused
        return FilterRun(
            self._stages[i], self._places[i], self._numbers[i] + 1, self._since[i], time, cause, treated,
            load / line.areas[i], residual, clean / KILO, loaded / KILO, over / HOUR, known, blocked,
            line.of_vessel("broken", i) == 1, line.capacity_left(i),
        )  # fmt: skip
