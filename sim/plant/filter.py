"""One vessel of the train as a process: serve, wait for its turn, wash step by step, return or stand by."""

import math
from collections.abc import Generator
from operator import attrgetter
from typing import Any, TypeAlias, TypeVar

import simpy

from sim.case.records import Case
from sim.case.train.records import NO_RULES
from sim.case.trigger.records import Trigger, singles
from sim.plant.allowed import broken_off_at, next_allowed, rule_against, washes_again
from sim.plant.clock import Order, next_time_of_day, phase_end
from sim.plant.environment import LeapingEnvironment
from sim.plant.layout import SERVICE, STANDBY
from sim.plant.line import Line
from sim.plant.plans import HourPlan, Plan, plan_of, read_at
from sim.plant.recorder import Recorder
from sim.plant.records import SHORT_OF_WATER, Cause, Event, Why
from sim.plant.shared import Shared, Site
from sim.plant.stage import StageVessels
from sim.plant.stores import NOTHING, Stores
from sim.plant.triggers import NO_WASH, LastWash, longest_run_due, pressure_set

Result = TypeVar("Result")
Process: TypeAlias = Generator[simpy.Event, Any, Result]

BY_HOUR, BY_VOLUME, BY_PRESSURE = attrgetter("hour"), attrgetter("volume"), attrgetter("pressure")


class Filter:
    """The process of vessel i of a stage, under one trigger and the rules of the site."""

    def __init__(
        self,
        env: LeapingEnvironment,
        line: Line,
        recorder: Recorder,
        site: Site,
        sisters: StageVessels,
        stores: Stores,
        *,
        i: int,
        case: Case,
        trigger: Trigger,
        midnight: float,
    ) -> None:
        self._env, self._line, self._recorder, self._site, self._sisters = env, line, recorder, site, sisters
        self._stores, self._drawn = stores, NOTHING
        self._i, self._stage, self._washing = i, sisters.stage, case.washing
        self._trigger, self._pressure_set, self._midnight = trigger, pressure_set(trigger), midnight
        self._singles, self._has_rules = singles(trigger), case.washing != NO_RULES
        self._lines = [site.lines_for(step, sisters.stage) for step in sisters.stage.steps]  # one set a step
        self._last, self._previous_start = NO_WASH, -math.inf
        self._readings: dict[int, list[float]] = {}
        for place, each in enumerate(self._singles):
            if (at := read_at(each)) is not None:
                env.process(self._read_meter(place, at))
        env.process(self._live())

    def _live(self) -> Process[None]:
        env, i = self._env, self._i
        if self._line.of_vessel("mode", i) == STANDBY:
            yield from self._stand_by()
        while True:
            cause, due = yield from self._serve()
            yield from self._permission(cause)
            self._last = LastWash(env.now, cause, due)
            self._recorder.end_run(env.now, i, cause, self._pressure_set)
            serves = yield from self._wash_until_clean()
            self._site.turn.give_back()
            if serves:
                self._recorder.begin_run(env.now, i)
            else:
                self._line.rest(i)
                self._recorder.rest(env.now, i)
                yield from self._stand_by()

    def _stand_by(self) -> Process[None]:
        """Stand by until called; what counts in time counts from there."""
        yield self._sisters.call(self._i)
        self._last = LastWash(self._env.now, None, self._env.now)
        self._recorder.begin_run(self._env.now, self._i)

    # In service

    def _serve(self) -> Process[tuple[Cause, float]]:
        """Stay in service until something starts a wash; its cause and the time it was due."""
        now = self._env.now
        plans = [
            plan_of(each, self._last, now, self._midnight, self._readings.get(place, []))
            for place, each in enumerate(self._singles)
        ]
        ends = longest_run_due(self._stage, self._trigger, self._last, now, self._midnight)
        if ends < math.inf:
            plans.append(HourPlan(hour=ends, cause=Cause.LONGEST_RUN))
        while True:
            cause = yield from self._wait(plans)
            if cause is not None:
                return cause, self._env.now

    def _wait(self, plans: list[Plan]) -> Process[Cause | None]:
        """Wait for the first thing that any plan waits for; the cause of a wash if that is one.

        What did not happen is taken back, so that it can neither wake a later phase nor cut the water's pieces.
        """
        env, line, i = self._env, self._line, self._i
        is_next = self._sisters.is_next(i)
        if is_next and self._sisters.by_hand:
            plans = [*plans, HourPlan(hour=max(self._sisters.by_hand[0], env.now), cause=Cause.HAND)]
        first, fullest, switch = min(plans, key=BY_HOUR), min(plans, key=BY_VOLUME), min(plans, key=BY_PRESSURE)
        watched = is_next and switch.pressure < math.inf
        events: list[simpy.Event] = []
        met = hour = None
        if watched or fullest.volume < math.inf:
            met = env.event()
            line.watch(
                i, met, volume=fullest.volume, above=switch.pressure if watched else math.inf, hold=switch.hold
            )
            events.append(met)
        if first.hour < math.inf:
            hour = env.at(first.hour, Order.POLICY, i)
            events.append(hour)
        if not is_next and (switch.pressure < math.inf or self._sisters.by_hand):
            events.append(self._sisters.call(i))
        yield events[0] if len(events) == 1 else env.any_of(events)
        self._take_back(met, hour)
        if met is not None and met.processed:
            return self._met(fullest, switch)
        if hour is not None and hour.processed:
            return first.at_hour(env.now, line.of_vessel("treated", i))
        return None

    def _met(self, fullest: Plan, switch: Plan) -> Cause | None:
        """The water has tripped: on the volume of one plan, or on the pressure of the other."""
        on_volume, now = self._line.tripped_on(self._i) == "volume", self._env.now
        cause = fullest.at_volume(now) if on_volume else switch.at_pressure(now)
        if cause is None:
            self._recorder.note(self._env.now, self._i, Event.BOOKED, Why.TRIGGER)
        return cause

    def _take_back(self, met: simpy.Event | None, hour: simpy.Event | None) -> None:
        self._sisters.withdraw(self._i)
        if met is not None and not met.processed:
            self._line.unwatch(self._i)
        if hour is not None and not hour.processed:
            self._env.withdraw(hour)

    def _read_meter(self, place: int, at: float) -> Process[None]:
        """Read the meter of this vessel at every `at`, before anything is decided there."""
        env, readings = self._env, self._readings.setdefault(place, [])
        time = next_time_of_day(env.now, at, self._midnight)
        while True:
            yield env.at(time, Order.PHASE, self._i)
            readings.append(self._line.of_vessel("served_total", self._i))
            time = next_time_of_day(time + 1.0, at, self._midnight)

    # The wash

    def _permission(self, cause: Cause) -> Process[None]:
        """Wait until the rules of the site and the others let this vessel wash: its turn, and its first step's lines.

        A wash by hand asks no rules.
        """
        env, i, site = self._env, self._i, self._site
        free = cause is Cause.HAND or not self._has_rules
        told: set[Why] = set()
        while True:
            allowed = env.now if free else next_allowed(self._washing, env.now, site.starts, self._midnight)
            if allowed > env.now:
                why = rule_against(self._washing, env.now, site.starts, self._midnight)
                if why not in told:
                    self._recorder.note(env.now, i, Event.PUT_OFF, why)
                    told.add(why)
                yield env.at(allowed, Order.POLICY, i) if allowed < math.inf else env.event()
                continue
            handed_over = site.turn.claim(i)
            if handed_over is not None:
                self._recorder.note(env.now, i, Event.WAITS_FOR_TURN, Why.TRIGGER)
                since = env.now
                yield handed_over
                self._recorder.waited(env.now, i, env.now - since, Why.SISTER)
            for line in self._lines[0]:
                yield from self._take(line)
            if free or next_allowed(self._washing, env.now, site.starts, self._midnight) <= env.now:
                return
            for line in self._lines[0]:
                line.give_back()
            site.turn.give_back()

    def _take(self, line: Shared) -> Process[None]:
        """Claim a line, and wait for it while it is taken."""
        handed_over = line.claim(self._i)
        if handed_over is not None:
            since = self._env.now
            self._recorder.note(since, self._i, Event.WAITS_FOR_LINE, Why.LINE, line=line.name)
            yield handed_over
            self._recorder.waited(self._env.now, self._i, self._env.now - since, Why.LINE)

    def _wash_until_clean(self) -> Process[bool]:
        """Wash, and again where the wash was broken off or did not clean; whether the vessel is back in service.

        The lines of its very first step have been claimed.
        """
        env, line, i = self._env, self._line, self._i
        while self._sisters.by_hand and self._sisters.by_hand[0] <= env.now:
            self._sisters.by_hand.pop(0)
        claimed, repeats = True, 0
        while True:
            self._site.starts.append(env.now)
            whole = yield from self._wash(claimed)
            claimed = False
            if not whole and self._washing.after_abort == "wash again":
                self._recorder.note(env.now, i, Event.WASHES_AGAIN, Why.ABORT)
                continue
            if not self._sisters.takes_over():
                return False
            line.serve(i)
            rule = self._washing.repeat_wash
            if not whole or rule is None or not washes_again(rule, line.rise_on_return(i), repeats):
                return True
            repeats += 1
            self._recorder.repeated(env.now, i)

    def _wash(self, claimed: bool) -> Process[bool]:
        """Every step of one wash, the lines of its first claimed or not yet; whether it came to its end."""
        env, i, stage = self._env, self._i, self._stage
        start = env.now
        broken = broken_off_at(self._washing.aborts, stage.name, start, self._previous_start)
        self._previous_start = start
        over = None
        if stage.hold_unit is not None:
            over = env.event()
            env.process(self._hold_unit(start + stage.hold_unit.start, start + stage.hold_unit.end, over))
        for number, step in enumerate(stage.steps):
            if number > 0 or not claimed:
                for line in self._lines[number]:
                    yield from self._take(line)
            begun = env.now
            self._begin(number)
            end = phase_end(env.now, step.seconds)
            is_broken = broken < end
            wait = env.leap(max(broken, env.now) if is_broken else end, Order.PHASE, i)
            if wait is not None:
                yield wait
            self._recorder.end_step(env.now, i, number, self._line.finish(i), broken=is_broken)
            if step.do == "regenerant" and is_broken:
                self._stores.put_back(self._drawn, 1.0 - (env.now - begun) / step.seconds)
            if step.do == "make-up":
                volume = step.flow * (env.now - begun)
                self._stores.make_up(volume, env.now)
                self._recorder.made_up(i, volume)
            for line in self._lines[number]:
                line.give_back()
            if is_broken:
                if over is not None:
                    env.trigger(over, Order.PHASE, i)
                return False
        return True

    def _begin(self, number: int) -> None:
        """Begin a step of the wash, off line from the first one on."""
        i, step = self._i, self._stage.steps[number]
        leaves = number == 0 and self._line.of_vessel("mode", i) == SERVICE
        flow = self._line.begin(i, number)
        self._recorder.begin_step(self._env.now, i, 0.0 if step.do == "make-up" else flow)
        if step.do == "regenerant":
            self._regenerate(number)
        if leaves:
            self._sisters.starts_wash(i)
        if flow < SHORT_OF_WATER * step.flow:
            self._recorder.note(self._env.now, i, Event.SHORT_OF_WATER, Why.SUPPLY, step=step.do)

    def _regenerate(self, number: int) -> None:
        """A regenerant begins: it brings what the store has, and gives the bed back what that restores."""
        now, i, step = self._env.now, self._i, self._stage.steps[number]
        self._drawn = drawn = self._stores.draw(step, now)
        done = self._line.regenerate(i, number, drawn.salt, drawn.permanganate)
        if drawn.short:
            self._recorder.note(now, i, Event.STORE_EMPTY, Why.STORE)
        self._recorder.regenerated(now, i, done)

    def _hold_unit(self, start: float, end: float, over: simpy.Event) -> Process[None]:
        """Hold the unit downstream over its part of the wash, or until the wash is broken off."""
        env, i = self._env, self._i
        if start > env.now:
            yield from self._first_of(start, over)
        if over.processed:
            return
        self._line.hold(1)
        self._recorder.note(env.now, i, Event.UNIT_HELD, Why.WASH)
        yield from self._first_of(end, over)
        self._line.hold(-1)
        self._recorder.note(env.now, i, Event.UNIT_RELEASED, Why.ABORT if over.processed else Why.TIME)

    def _first_of(self, time: float, over: simpy.Event) -> Process[None]:
        """Wait for the end of a phase [s], or for another event if that comes first."""
        hour = self._env.at(time, Order.PHASE, self._i)
        yield self._env.any_of([hour, over])
        if not hour.processed:
            self._env.withdraw(hour)
