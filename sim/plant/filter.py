"""One vessel of the train as a process: serve, wait for its turn, wash step by step, return or stand by."""

import math
from operator import attrgetter
from typing import Any

import simpy

from sim.case.fault.records import What
from sim.case.records import Case
from sim.case.trigger.records import Signal, Trigger, singles
from sim.plant.allowed import broken_off_at, next_allowed, rule_against, washes_again
from sim.plant.clock import Order
from sim.plant.environment import LeapingEnvironment, Process
from sim.plant.failing import Failing
from sim.plant.layout import SERVICE, STANDBY
from sim.plant.line import Line
from sim.plant.plans import ContactPlan, HourPlan, Plan, by_the_clock_anew, plan_of, read_at
from sim.plant.recorder import Recorder
from sim.plant.records import SHORT_OF_WATER, Cause, Event, Why
from sim.plant.shared import Shared, Site
from sim.plant.stage import StageVessels
from sim.plant.stores import NOTHING, Stores
from sim.plant.triggers import NO_WASH, LastWash, longest_run_due, pressure_set

MINUTE = 60.0  # s between two looks at the unit and its tank
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
        failing: Failing,
        *,
        i: int,
        case: Case,
        trigger: Trigger,
        midnight: float,
    ) -> None:
        self._env, self._line, self._recorder, self._site, self._sisters = env, line, recorder, site, sisters
        self._stores, self._drawn, self._failing, self._power = stores, NOTHING, failing, failing.power
        self._i, self._stage, self._washing = i, sisters.stage, case.washing
        self._trigger, self._pressure_set, self._midnight = trigger, pressure_set(trigger), midnight
        self._singles, self._clock, self._turn = singles(trigger), sisters.clock, site.turn_of(sisters.stage)
        self._lines = [site.lines_for(step, sisters.stage) for step in sisters.stage.steps]  # one set a step
        self._signalled = any(isinstance(each, Signal) for each in self._singles)
        self._devices = failing.devices[sisters.k]
        self._meter, self._closed_since = self._devices.meters[i], math.inf
        self._last, self._previous_start, self._began = NO_WASH, -math.inf, 0.0
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
            self._turn.give_back()
            self._site.ends_wash(self._stage)
            self._sister_changes()
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

    @property
    def washed(self) -> float:
        """When its last wash began [s]; before any, the start of the run."""
        return self._last.start

    # In service

    def _serve(self) -> Process[tuple[Cause, float]]:
        """Stay in service until something starts a wash; its cause and the time it was due."""
        self._meter.begin_run()
        self._closed_since, self._began = math.inf, self._env.now
        plans = self._plans()
        while True:
            changed = self._devices.changed
            cause = yield from self._wait(plans)
            if changed.processed and self._power.back(self._env.now) is None:  # a clock without power shows no hour
                self._anew(plans)
            if cause is not None:
                if cause is Cause.SIGNAL:
                    self._sisters.signalled = self._env.now
                return cause, self._env.now

    def _plans(self) -> list[Plan]:
        """What a filter run waits for from now on."""
        now = self._env.now
        plans = [
            plan_of(
                each, self._last, now, self._clock, self._readings.get(place, []), self._washing.closed_days
            )
            for place, each in enumerate(self._singles)
        ]
        ends = longest_run_due(self._stage, self._trigger, self._last, now, self._clock, self._began)
        if ends < math.inf:
            plans.append(HourPlan(hour=ends, cause=Cause.LONGEST_RUN))
        return plans

    def _anew(self, plans: list[Plan]) -> None:
        """Something has failed or been mended: the hours to come are worked out anew."""
        for plan, fresh in zip(plans, self._plans(), strict=True):
            by_the_clock_anew(plan, fresh, self._env.now)

    def _wait(self, plans: list[Plan]) -> Process[Cause | None]:
        """Wait for the first thing that any plan waits for; the cause of a wash if that is one.

        What did not happen is taken back, so that it can neither wake a later phase nor cut the water's pieces.
        """
        env, line, i, changed = self._env, self._line, self._i, self._devices.changed
        if self._power.back(env.now) is not None:
            self._closed_since = math.inf
            yield changed
            return None
        is_next = self._sisters.is_next(i)
        for each in plans:
            if isinstance(each, ContactPlan):
                each.look(env.now, self._sisters.signalled, self._power.since(env.now), is_next=is_next)
        if is_next and self._sisters.by_hand:
            plans = [*plans, HourPlan(hour=max(self._sisters.by_hand[0], env.now), cause=Cause.HAND)]
        fullest, switch = min(plans, key=BY_VOLUME), min(plans, key=BY_PRESSURE)
        if is_next and (closed := self._closed(switch)) < math.inf:
            plans = [*plans, HourPlan(hour=closed, cause=Cause.PRESSURE)]
        first = min(plans, key=BY_HOUR)
        monitored = next((each for each in plans if each.monitor is not None), None)
        events: list[simpy.Event] = []
        met = hour = None
        volume, above = self._meter.due(fullest.volume), self._devices.met_at(switch.pressure, switch.hold)
        if volume < math.inf or (is_next and (above < math.inf or monitored is not None)):
            met = env.event()
            watched: dict[str, Any] = {"above": above, "hold": switch.hold} if is_next else {}
            if is_next and monitored is not None:
                watched |= {"monitor": monitored.monitor, "monitor_hold": monitored.monitor_hold}
            line.watch(i, met, volume=volume, **watched)
            events.append(met)
        if first.hour < math.inf:
            hour = env.at(first.hour, Order.POLICY, i)
            events.append(hour)
        if not is_next and (switch.pressure < math.inf or self._sisters.by_hand or self._signalled):
            events.append(self._sisters.call(i))
        if self._failing.any or not events:
            events.append(changed)
        yield events[0] if len(events) == 1 else env.any_of(events)
        self._take_back(met, hour)
        if met is not None and met.processed:
            return self._met(fullest, switch, monitored)
        if hour is not None and hour.processed:
            cause = first.at_hour(env.now, self._meter.treated(line.of_vessel("treated", i)))
            if cause is None and isinstance(first, ContactPlan):
                self._recorder.note(env.now, i, Event.BOOKED, Why.TRIGGER)
            return cause
        return None

    def _closed(self, switch: Plan) -> float:
        """When a switch that is stuck closed has been so for its hold, no sister washing; inf where it is not [s]."""
        vessels, row = self._stage.vessels, self._line.stage[self._sisters.k]
        stuck = switch.pressure < math.inf and self._devices.stuck is What.SWITCH_CLOSED
        if not stuck or (vessels.inhibit_while_sister_washes and row.serving < vessels.sharing):
            self._closed_since = math.inf
        else:
            self._closed_since = min(self._closed_since, self._env.now)
        return max(self._closed_since + switch.hold, self._env.now)

    def _sister_changes(self) -> None:
        """This vessel goes off line or comes back, which inhibits a switch of its stage or does so no more."""
        if self._devices.stuck is What.SWITCH_CLOSED:
            self._failing.wake(self._sisters.k)

    def _met(self, fullest: Plan, switch: Plan, monitored: Plan | None) -> Cause | None:
        """The water has tripped: on the volume of one plan, the pressure of another, or what a third one monitors."""
        tripped, now = self._line.tripped_on(self._i), self._env.now
        if tripped == "monitor" and monitored is not None:
            cause = monitored.at_monitor(now)
        else:
            cause = fullest.at_volume(now) if tripped == "volume" else switch.at_pressure(now)
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
        since = env.now
        while True:
            changed, time = self._devices.changed, self._clock.next_hour(since, (at,))
            if time == math.inf:
                yield changed
                continue
            hour = env.at(time, Order.PHASE, self._i)
            yield env.any_of([hour, changed]) if self._failing.any else hour
            if hour.processed:
                readings.append(self._meter.total(self._line.of_vessel("served_total", self._i)))
                since = env.now + 1.0
            else:
                env.withdraw(hour)
                since = max(since, env.now)

    # The wash

    def _permission(self, cause: Cause) -> Process[None]:
        """Wait until the rules of the stage, the site and the others let this vessel wash: its turn, and its first
        step's lines.

        A wash by hand asks no rules; without power none starts.
        """
        env, i = self._env, self._i
        told: set[Why] = set()
        while True:
            against = self._against(cause)
            if against is not None:
                why, until = against
                if why not in told:
                    self._recorder.note(env.now, i, Event.PUT_OFF, why)
                    told.add(why)
                if until < math.inf:
                    yield env.at(until, Order.POLICY, i)
                else:
                    yield self._site.wash_over(i) if why is Why.SISTER else env.event()
                continue
            handed_over = self._turn.claim(i)
            if handed_over is not None:
                self._recorder.note(env.now, i, Event.WAITS_FOR_TURN, Why.TRIGGER)
                since = env.now
                yield handed_over
                self._recorder.waited(env.now, i, env.now - since, Why.SISTER)
            for line in self._lines[0]:
                yield from self._take(line)
            if self._against(cause) is None:
                return
            for line in self._lines[0]:
                line.give_back()
            self._turn.give_back()

    def _against(self, cause: Cause) -> tuple[Why, float] | None:
        """What lets no wash start now, and when to look again [s]; None where one may start.

        inf: as the next wash is over, behind a sister's; else never.
        """
        now, stage, starts = self._env.now, self._stage, self._site.starts
        if (back := self._power.back(now)) is not None:
            return Why.POWER, back
        if cause is Cause.HAND:
            return None
        allowed, why = next_allowed(self._washing, now, starts, self._midnight), None
        if allowed > now:
            why = rule_against(self._washing, now, starts, self._midnight)
        own = self._sisters.starts[-1] + stage.least_interval if self._sisters.starts else -math.inf
        if own > max(allowed, now):
            allowed, why = own, Why.INTERVAL
        if why is not None:
            return why, allowed
        only = stage.only_while
        if only is not None and only.unit_idle and not self._line.unit_idle():
            return Why.UNIT_RUNS, now + MINUTE
        if only is not None and only.tank_above is not None and not self._line.tank_level() > only.tank_above:
            return Why.TANK_LOW, now + MINUTE
        if any(name in stage.not_while for name in self._site.washing):
            return Why.SISTER, math.inf
        return None

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
        self._site.washing.append(self._stage.name)
        while True:
            self._site.starts.append(env.now)
            self._sisters.starts.append(env.now)
            whole = yield from self._wash(claimed)
            claimed = False
            yield from self._power_on()
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
        aborted = broken_off_at(self._washing.aborts, stage.name, start, self._previous_start)
        home = self._power.sends_home(start)
        broken, why = (home, Why.POWER) if home < aborted else (aborted, Why.ABORT)
        self._previous_start = start
        hold, holds = stage.hold_unit, False
        for number, step in enumerate(stage.steps):
            if number > 0 or not claimed:
                for line in self._lines[number]:
                    yield from self._take(line)
            yield from self._power_on()
            begun = env.now
            self._begin(number)
            if hold is not None and number == hold.start:
                holds = True
                self._line.hold(1)
                self._recorder.note(begun, i, Event.UNIT_HELD, Why.WASH)
            end = self._power.after(env.now, step.seconds)
            is_broken = broken < end
            wait = env.leap(max(broken, env.now) if is_broken else end, Order.PHASE, i)
            if wait is not None:
                yield wait
            ran = self._power.ran(begun, env.now)
            flowed = self._failing.flowed(self._sisters.k, number, begun, env.now)
            self._recorder.end_step(env.now, i, number, self._line.finish(i), flowed, why if is_broken else None)
            if step.do == "regenerant" and is_broken:
                self._stores.put_back(self._drawn, 1.0 - ran / step.seconds)
            if step.do == "make-up":
                self._recorder.made_up(i, self._stores.make_up(step.flow * ran, env.now))
            for line in self._lines[number]:
                line.give_back()
            last = len(stage.steps) - 1 if hold is None or hold.end is None else hold.end
            if hold is not None and holds and (is_broken or number == last):
                holds = False
                if hold.plus > 0.0:
                    env.process(self._hold_on(self._power.after(env.now, hold.plus)))
                else:
                    self._release(why if is_broken else Why.TIME)
            if is_broken:
                return False
        return True

    def _power_on(self) -> Process[None]:
        """Wait for the end of a power cut, if there is one."""
        back = self._power.back(self._env.now)
        if back is not None:
            yield self._env.at(back, Order.PHASE, self._i)

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
            self._sister_changes()
        if flow < SHORT_OF_WATER * step.flow:
            why = self._failing.short(flow, step.flow)
            self._recorder.note(self._env.now, i, Event.SHORT_OF_WATER, why, step=step.do)

    def _regenerate(self, number: int) -> None:
        """A regenerant begins: it brings what the store has, and gives the bed back what that restores."""
        now, i, step = self._env.now, self._i, self._stage.steps[number]
        self._drawn = drawn = self._stores.draw(step, now)
        done = self._line.regenerate(i, number, drawn.salt, drawn.permanganate)
        if drawn.short:
            self._recorder.note(now, i, Event.STORE_EMPTY, Why.STORE)
        self._recorder.regenerated(now, i, done)

    def _hold_on(self, until: float) -> Process[None]:
        """Hold the unit downstream beyond its part of the wash [s]."""
        yield self._env.at(until, Order.PHASE, self._i)
        self._release(Why.TIME)

    def _release(self, why: Why) -> None:
        self._line.hold(-1)
        self._recorder.note(self._env.now, self._i, Event.UNIT_RELEASED, why)
