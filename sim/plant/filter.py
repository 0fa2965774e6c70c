"""One filter of the train as a process: serve, wait for its turn, wash step by step, return."""

import math
from collections.abc import Generator
from typing import Any, TypeAlias, TypeVar

import simpy

from sim.case.records import AnyOf, Calendar, Pressure, Stage, Trigger, Volume, VolumeLearned
from sim.plant.clock import Order, next_time_of_day, phase_end
from sim.plant.environment import LeapingEnvironment
from sim.plant.line import Line
from sim.plant.recorder import Recorder
from sim.plant.records import Cause, Why
from sim.plant.triggers import NO_WASH, LastWash, calendar_slot, first_volume, latest_due, pressure_set
from sim.plant.turn import Turn

SHORT_OF_WATER = 0.99  # of the flow that a step asks for: reaching less is written down

Result = TypeVar("Result")
Process: TypeAlias = Generator[simpy.Event, Any, Result]


class Filter:
    """The process of stage k; `turn` lets one stage of the train wash at a time."""

    def __init__(
        self,
        env: LeapingEnvironment,
        line: Line,
        recorder: Recorder,
        turn: Turn,
        *,
        k: int,
        stage: Stage,
        trigger: Trigger,
        midnight: float,
    ) -> None:
        self._env, self._line, self._recorder, self._turn = env, line, recorder, turn
        self._k, self._stage, self._trigger, self._midnight = k, stage, trigger, midnight
        self._last = NO_WASH
        env.process(self._live())

    def _live(self) -> Process[None]:
        env, k = self._env, self._k
        while True:
            cause, due = yield from self._serve()
            wait = self._turn.take(k)
            if wait is not None:
                self._recorder.note(env.now, k, "waits for its turn", Why.TRIGGER)
                yield wait
            self._last = LastWash(env.now, cause, due)
            self._recorder.end_run(env.now, k, cause, pressure_set(self._trigger))
            yield from self._wash()
            self._recorder.begin_run(env.now, k)
            self._turn.give_back()

    def _wash(self) -> Process[None]:
        env, line, k = self._env, self._line, self._k
        for number, step in enumerate(self._stage.steps):
            flow = line.begin(k, number)
            if flow < SHORT_OF_WATER * step.flow:
                self._recorder.note(env.now, k, f"{step.do} short of water", Why.SUPPLY)
            yield env.at(phase_end(env.now, step.seconds), Order.PHASE, k)
            self._recorder.end_step(env.now, k, step, flow, line.finish(k))
        line.serve(k)

    def _serve(self) -> Process[tuple[Cause, float]]:
        """Stay in service until something starts a wash; its cause and the time it was due."""
        trigger, line, now = self._trigger, self._line, self._env.now
        latest = latest_due(trigger, self._last, now)
        hours = [] if latest == math.inf else [(latest, Cause.LATEST)]
        if isinstance(trigger, Calendar):
            slot = calendar_slot(trigger, self._last, now, self._midnight)
            return (yield from self._wait([(slot, Cause.CALENDAR), *hours]))
        met = self._env.event()
        if isinstance(trigger, Pressure):
            line.watch_pressure(self._k, met, trigger.above, trigger.hold)
            return (yield from self._wait(hours, met, Cause.PRESSURE))
        if isinstance(trigger, AnyOf | VolumeLearned):
            raise NotImplementedError(f"{type(trigger).__name__}: no process waits for it yet")
        line.watch_volume(self._k, met, first_volume(trigger))
        cause, due = yield from self._wait(hours, met, Cause.VOLUME)
        if cause is Cause.LATEST or trigger.at is None:
            return cause, due
        self._recorder.note(due, self._k, "wash booked", Why.TRIGGER)
        slot = next_time_of_day(due, trigger.at, self._midnight)
        if isinstance(trigger, Volume):
            return (yield from self._wait([(slot, Cause.VOLUME), *hours]))
        spent = self._env.event()
        line.watch_volume(self._k, spent, trigger.volume)
        return (yield from self._wait([(slot, Cause.RESERVE_HOUR), *hours], spent, Cause.RESERVE_SPENT))

    def _wait(
        self, hours: list[tuple[float, Cause]], met: simpy.Event | None = None, cause: Cause = Cause.VOLUME
    ) -> Process[tuple[Cause, float]]:
        """Wait for the first of some hours [s] and of what the line watches for; its cause and time.

        What did not happen is taken back, so that it can neither wake a later phase nor cut the water's pieces.
        """
        env = self._env
        if met is not None and not hours:
            yield met
            return cause, env.now
        choices = [(env.at(hour, Order.POLICY, self._k), why) for hour, why in hours]
        if met is not None:
            choices.insert(0, (met, cause))
        yield choices[0][0] if len(choices) == 1 else env.any_of([event for event, _ in choices])
        first = next(why for event, why in choices if event.processed)
        for event, _ in choices:
            if not event.processed:
                self._line.unwatch(self._k) if event is met else env.withdraw(event)
        return first, env.now
