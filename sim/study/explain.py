"""What every vessel, the unit and the tank are doing at one moment of a run, and why, as figures and names.

Read from the log and the filter runs of a run, and from looks at a plant carried to the moment; nothing is changed.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import asdict, replace
from datetime import timedelta
from typing import Any, Literal, assert_never

from sim.case.fault.records import Fault, What
from sim.case.record import record
from sim.case.records import Case
from sim.case.stage.longest_run import longest_run_of
from sim.case.trigger.records import (
    Calendar,
    Pressure,
    Sensed,
    Signal,
    SingleTrigger,
    Volume,
    VolumeLearned,
    VolumeReserve,
    singles,
)
from sim.plant.allowed import next_allowed
from sim.plant.learned import learned_reserve, volumes_of
from sim.plant.line import Line
from sim.plant.plans import read_at
from sim.plant.records import Cause, RunResult
from sim.plant.simulate import Plant, simulate
from sim.plant.trace import Moment, Sample, SentOn, TrainSample, moment_of
from sim.plant.triggers import NO_WASH, LastWash, calendar_slot, causes_of, contact_due, longest_run_due
from sim.study.changed import Changed, changed
from sim.study.compare import heading
from sim.study.moments import moment
from sim.study.single import require_policy, triggers_of
from sim.study.vessel_past import Past, next_wash, past, role, washes
from sim.study.vessels import OneVessel, vessels

JUST_AFTER, JUST_BEFORE = 1e-3, 1e-3  # s from a moment at which something happens

Kind = Literal[
    "calendar", "volume", "volume with reserve", "volume with learned reserve", "pressure drop", "signal",
    "longest run",
]


@record
class Wait:
    """One thing that would start a wash: an hour [s], a treated volume, a signal; None where it does not apply."""

    kind: Kind
    at_s: float | None = None
    every_s: float | None = None
    volume_m3: float | None = None
    reserve_m3: float | None = None
    treated_m3: float | None = None
    above_kpa: float | None = None
    hold_s: float | None = None
    signal_kpa: float | None = None
    spike_kpa: float | None = None
    of: Sensed | None = None
    above: float | None = None


@record
class VesselNow:
    """A vessel at the moment. `why`: what its last wash was set to wait for, with the figures of when it was due.

    `wash_flow_m3_s`: that of the step of its wash. `latest_s`: the first hour at which a wash is due whatever the
    water does, by the clock alone, as the rules of the site allow it so far; None without any. `next_*`: what follows
    in this run.

    `sent`: what its stage sends on of what is dissolved, `sent_before` as its last wash started, None without one.
    `capacity_left`: of the capacity with which its filter run began, None where nothing restores it.
    """

    name: str
    doing: Sample
    until_s: float | None
    wash_flow_m3_s: float
    treated_m3: float
    past: Past
    why: Wait | None
    waits_for: tuple[Wait, ...]
    latest_s: float | None
    next_s: float | None
    next_cause: Cause | None
    sent: SentOn
    sent_before: SentOn | None
    capacity_left: float | None


@record
class Explained:
    """Everything at one moment of a run [s]; `washing`: the vessels that are being washed; `failed`: the faults of
    that moment, among them the power cut that lasts until `power_back_s`."""

    case: Case
    result: RunResult
    time_s: float
    train: TrainSample
    vessels: tuple[VesselNow, ...]
    washing: tuple[str, ...]
    failed: tuple[Fault, ...] = ()
    changed: Changed | None = None

    @property
    def power_back_s(self) -> float | None:
        return next((fault.end for fault in self.failed if fault.what is What.POWER_CUT), None)

    def to_json(self) -> dict[str, Any]:
        """Plain data for a JSON file: SI, None where a figure does not apply."""
        train = {**self.train._asdict(), "level_m3": _known(self.train.level_m3)}
        return {
            **heading(self.case, self.result.days, self.result.seed),
            "policy": self.result.policy,
            "time": moment(self.case.run.start, self.time_s).isoformat(),
            "time_s": self.time_s,
            "failed": [{"what": each.what.value, "stage": each.stage, "from_s": each.start} for each in self.failed],
            "changed": None if self.changed is None else asdict(self.changed),
            "train": {key: value for key, value in train.items() if key != "time_s"},
            "vessels": [_vessel_json(each) for each in self.vessels],
        }


def explain(case: Case, policy: str, time: float, *, seed: int = 1) -> Explained:
    """What goes on just after everything that happens at `time` [s]."""
    require_policy(case, policy)
    return _Asked(case, simulate(case, policy, seed=seed), time).explained()


class _Asked:
    """A run, and the moment [s] at which it is asked about."""

    def __init__(self, case: Case, result: RunResult, time: float) -> None:
        self._case, self._result, self._time = case, result, time
        self._triggers, self._washes = triggers_of(case, result.policy), washes(result)
        start = case.run.start  # midnight as the plant counts it
        self._midnight = (start.replace(hour=0, minute=0, second=0, microsecond=0) - start) / timedelta(seconds=1)
        self._plant = Plant(case, result.policy, seed=result.seed)
        self._plant.run_until(min(time + JUST_AFTER, case.run.length))
        self._clocks = {stage.name: clock for stage, clock in zip(case.stages, self._plant.clocks, strict=True)}
        self._failed = tuple(each for each in case.faults if each.start <= time < each.end)
        self._busy = tuple(
            each.who for each in self._washes if each.start_s <= time and (each.end_s is None or each.end_s > time)
        )
        self._readings = self._meters()

    def explained(self) -> Explained:
        line = self._plant.look()
        looked = moment_of(self._case, line)
        found = tuple(
            self._vessel(place, vessel, looked, line)
            for place, vessel in enumerate(vessels(self._case))
        )
        return Explained(
            case=self._case, result=self._result, time_s=self._time, train=looked.train, vessels=found,
            washing=self._busy, failed=self._failed,
            changed=changed(self._case, self._result.policy, self._result.seed, self._time, self._failed),
        )  # fmt: skip

    def _carried(self, time: float) -> Line:
        plant = Plant(self._case, self._result.policy, seed=self._result.seed)
        plant.run_until(time)
        return plant.look()

    def _meters(self) -> dict[tuple[str, float], list[tuple[float, list[float]]]]:
        """What the meter of every vessel showed at every `at` of a stage's learned reserves, up to the moment."""
        plant = Plant(self._case, self._result.policy, seed=self._result.seed)
        kept: dict[tuple[str, float], list[tuple[float, list[float]]]] = {}
        read = ((stage, read_at(each)) for stage, trigger in self._triggers.items() for each in singles(trigger))
        slots = ((time, stage, at) for stage, at in read if at is not None for time in self._slots(stage, at))
        for time, stage, at in sorted(slots):
            plant.run_until(time)
            shown = [plant.shown(i).total for i in range(len(plant.look().names))]
            kept.setdefault((stage, at), []).append((time, shown))
        return kept

    def _slots(self, stage: str, at: float) -> Iterator[float]:
        time = self._clocks[stage].next_hour(0.0, (at,))
        while time <= self._time:
            yield time
            time = self._clocks[stage].next_hour(time + 1.0, (at,))

    def _vessel(self, place: int, vessel: OneVessel, looked: Moment, line: Line) -> VesselNow:
        told, time = past(self._result, vessel, self._time), self._time
        doing, treated, stage = looked.vessels[place], float(line.vessel[place].treated), line.places[place][0]
        serves = doing.phase in ("service", "stopped") and told.waiting is None and vessel.name not in self._busy
        serves = serves and not any(fault.what is What.POWER_CUT for fault in self._failed)
        waits = tuple(self._waits(place, vessel, told, doing, self._plant.treated_shown(place))) if serves else ()
        next_s, next_cause = next_wash(self._result, vessel, time) or (None, None)
        return VesselNow(
            name=vessel.name,
            doing=doing,
            until_s=self._step_end(vessel, doing),
            wash_flow_m3_s=line.of_vessel("wash_flow", place) if vessel.name in self._busy else 0.0,
            treated_m3=treated,
            past=told,
            why=self._why(place, vessel, told),
            waits_for=waits,
            latest_s=self._latest(waits),
            next_s=next_s,
            next_cause=next_cause,
            sent=looked.stages[stage],
            sent_before=self._sent_before(told, stage) if line.control.dissolves == 1 else None,
            capacity_left=line.capacity_left(place),
        )

    def _sent_before(self, told: Past, stage: int) -> SentOn | None:
        if told.start_s is None:
            return None
        return moment_of(self._case, self._carried(max(told.start_s - JUST_BEFORE, 0.0))).stages[stage]

    def _waits(self, place: int, vessel: OneVessel, told: Past, doing: Sample, treated: float) -> Iterator[Wait]:
        """All that a vessel in service waits for."""
        last, trigger = NO_WASH, self._triggers[vessel.stage.name]
        if told.last is not None and told.start_s is not None:
            last = LastWash(told.start_s, told.last.cause, told.last.due_s)
        told = replace(told, since_s=self._anew(vessel, told.since_s))
        for each in singles(trigger):
            yield self._wait(each, last, told, doing, treated, place, self._time, vessel)
        ends = longest_run_due(vessel.stage, trigger, last, told.since_s, self._clocks[vessel.stage.name])
        if ends < math.inf:
            yield Wait(kind="longest run", at_s=ends, every_s=longest_run_of(vessel.stage, trigger))

    def _anew(self, vessel: OneVessel, since: float) -> float:
        """When what was begun at a moment was last taken up anew, since something failed or was mended [s]."""
        mine = (each for each in self._case.faults if each.stage in (None, vessel.stage.name))
        moments = (time for each in mine for time in (each.start, each.end) if time <= self._time)
        return max(since, *moments, since)

    def _wait(
        self, each: SingleTrigger, last: LastWash, told: Past, doing: Sample, treated: float, place: int, time: float,
        vessel: OneVessel,
    ) -> Wait:
        """What one trigger waits for at a time [s], as its plan in the plant does."""
        clock = self._clocks[vessel.stage.name]

        def booked(at: float | None) -> float | None:
            since = told.booked_s
            return None if since is None or at is None else clock.next_hour(self._anew(vessel, since), (at,))

        match each:
            case Calendar():
                at = calendar_slot(each, last, told.since_s, clock, self._case.washing.closed_days)
                return Wait(kind="calendar", at_s=at, every_s=each.every)
            case Volume():
                return Wait(kind="volume", volume_m3=each.volume, treated_m3=treated, at_s=booked(each.at))
            case VolumeReserve():
                return Wait(kind="volume with reserve", volume_m3=each.volume, reserve_m3=each.reserve,
                            treated_m3=treated, at_s=booked(each.at))  # fmt: skip
            case VolumeLearned():
                readings = [row[place] for slot, row in self._readings.get((vessel.stage.name, each.at), ())
                            if slot <= time + JUST_AFTER]
                return Wait(kind="volume with learned reserve", volume_m3=each.volume,
                            reserve_m3=learned_reserve(each, volumes_of(readings)), treated_m3=treated,
                            at_s=clock.next_hour(time + 1.0, (each.at,)))  # fmt: skip
            case Pressure():
                return Wait(kind="pressure drop", above_kpa=each.above / 1e3, hold_s=each.hold,
                            signal_kpa=doing.signal_kpa, spike_kpa=doing.spike_kpa)  # fmt: skip
            case Signal():
                answered = last.answered if last.cause is Cause.SIGNAL else -math.inf
                hour = booked(each.at)
                if each.contact is not None and hour is None:
                    due = contact_due(each, answered, told.since_s, clock)
                    hour = due if due < math.inf else None
                return Wait(kind="signal", of=each.of, above=each.above, hold_s=each.hold, at_s=hour)
            case _:
                assert_never(each)

    def _why(self, place: int, vessel: OneVessel, told: Past) -> Wait | None:
        """What started the last wash, with the figures of the moment at which it was due."""
        if told.last is None or told.last.cause is None or told.run is None:
            return None
        trigger, due, cause = self._triggers[vessel.stage.name], told.last.due_s, told.last.cause
        if cause is Cause.LONGEST_RUN:
            return Wait(kind="longest run", at_s=due, every_s=longest_run_of(vessel.stage, trigger))
        each = next((each for each in singles(trigger) if cause in causes_of(each)), None)
        if each is None:
            return None
        line = self._carried(max(due - JUST_BEFORE, 0.0))
        doing, treated = moment_of(self._case, line).vessels[place], float(line.vessel[place].treated)
        found = self._wait(each, NO_WASH, told, doing, treated, place, due, vessel)
        return replace(found, at_s=due) if cause is Cause.CALENDAR else found

    def _step_end(self, vessel: OneVessel, doing: Sample) -> float | None:
        """When the step of a wash that is under way ends in this run [s]; None where there is none."""
        if any(each.valve == "home" for each in self._failed):
            return None
        for each in self._result.log:
            is_end = role(each.event) == "step" and each.step == doing.phase
            if is_end and each.who == vessel.name and each.time_s > self._time:
                return each.time_s
        return None

    def _latest(self, waits: Sequence[Wait]) -> float | None:
        """The first hour by which the clock alone starts a wash, put off as the rules of the site do so far."""
        hours = [each.at_s for each in waits if each.at_s is not None and each.kind != "volume with learned reserve"]
        if not hours:
            return None
        starts = sorted(each.start_s for each in self._washes if each.start_s <= self._time)
        allowed = next_allowed(self._case.washing, min(hours), starts, self._midnight)
        return allowed if allowed < math.inf else None


def _known(value: float) -> float | None:
    return None if math.isnan(value) else value


def _vessel_json(each: VesselNow) -> dict[str, Any]:
    doing = {key: value for key, value in each.doing._asdict().items() if key not in ("stage", "time_s")}
    data = asdict(each) | {
        "doing": {key: _known(value) if isinstance(value, float) else value for key, value in doing.items()},
    }
    for name, sent in (("sent", each.sent), ("sent_before", each.sent_before)):
        data[name] = None if sent is None else {
            key: _known(value) for key, value in sent._asdict().items() if key not in ("stage", "time_s")
        }  # fmt: skip
    data["past"]["run"] = None if each.past.run is None else each.past.run._asdict()
    return data
