"""What every vessel, the unit and the tank are doing at one moment of a run, and why, as figures and names.

Read from the log and the filter runs of a run, and from looks at a plant carried to the moment; nothing is changed.
"""

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from datetime import timedelta
from typing import Any, Literal, assert_never

from sim.case.records import Case
from sim.case.stage.longest_run import longest_run_of
from sim.case.trigger.records import (
    Calendar,
    Pressure,
    SingleTrigger,
    Volume,
    VolumeLearned,
    VolumeReserve,
    singles,
)
from sim.case.units import DAY
from sim.plant.allowed import next_allowed
from sim.plant.clock import next_time_of_day
from sim.plant.learned import learned_reserve, volumes_of
from sim.plant.plans import read_at
from sim.plant.records import Cause, Event, RunResult
from sim.plant.simulate import Plant, simulate
from sim.plant.trace import Moment, Sample, TrainSample, moment_of
from sim.plant.triggers import NO_WASH, LastWash, calendar_slot, causes_of, longest_run_due
from sim.study.compare import heading
from sim.study.moments import moment
from sim.study.single import require_policy, triggers_of
from sim.study.vessel_past import Past, next_wash, past, washes
from sim.study.vessels import OneVessel, vessels

JUST_AFTER, JUST_BEFORE = 1e-3, 1e-3  # s from a moment at which something happens

Kind = Literal[
    "calendar", "volume", "volume with reserve", "volume with learned reserve", "pressure drop", "longest run"
]


@dataclass(frozen=True, slots=True, kw_only=True)
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


@dataclass(frozen=True, slots=True, kw_only=True)
class VesselNow:
    """A vessel at the moment. `why`: what its last wash was set to wait for, with the figures of when it was due.

    `latest_s`: the first hour at which a wash is due whatever the water does, by the clock alone, as the rules of the
    site allow it so far; None without any. `next_*`: what follows in this run.
    """

    name: str
    doing: Sample
    until_s: float | None
    treated_m3: float
    past: Past
    why: Wait | None
    waits_for: tuple[Wait, ...]
    latest_s: float | None
    next_s: float | None
    next_cause: Cause | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Explained:
    """Everything at one moment of a run [s]; `washing`: the vessels that are being washed."""

    case: Case
    result: RunResult
    time_s: float
    train: TrainSample
    vessels: tuple[VesselNow, ...]
    washing: tuple[str, ...]

    def to_json(self) -> dict[str, Any]:
        """Plain data for a JSON file: SI, None where a figure does not apply."""
        train = {**self.train._asdict(), "level_m3": _known(self.train.level_m3)}
        return {
            **heading(self.case, self.result.days, self.result.seed),
            "policy": self.result.policy,
            "time": moment(self.case.run.start, self.time_s).isoformat(),
            "time_s": self.time_s,
            "train": {key: value for key, value in train.items() if key != "time_s"},
            "vessels": [_vessel_json(each) for each in self.vessels],
        }


def explain(case: Case, policy: str, time: float, *, seed: int = 1) -> Explained:
    """What goes on just after everything that happens at `time` [s]."""
    require_policy(case, policy)
    result = simulate(case, policy, seed=seed)
    looked = _look(case, policy, seed, min(time + JUST_AFTER, case.run.length))
    meters = _Meters(case, policy, seed, time)
    found = tuple(_vessel(case, result, each, looked, meters, time) for each in vessels(case))
    busy = [each for each in washes(result) if each.start_s <= time and (each.end_s is None or each.end_s > time)]
    return Explained(
        case=case, result=result, time_s=time, train=looked.moment.train, vessels=found,
        washing=tuple(each.who for each in busy),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Looked:
    moment: Moment
    treated: tuple[float, ...]


def _look(case: Case, policy: str, seed: int, time: float) -> _Looked:
    plant = Plant(case, policy, seed=seed)
    plant.run_until(time)
    line = plant.look()
    return _Looked(moment_of(case, line), tuple(float(row.treated) for row in line.vessel))


class _Meters:
    """What the meter of every vessel showed at every `at` of the learned reserves, up to a moment."""

    def __init__(self, case: Case, policy: str, seed: int, until: float) -> None:
        self.midnight = midnight_of(case)
        read = (read_at(each) for trigger in triggers_of(case, policy).values() for each in singles(trigger))
        hours = {at: self._slots(at, until) for at in read if at is not None}
        shown: dict[float, tuple[float, ...]] = {}
        plant = Plant(case, policy, seed=seed)
        for time in sorted({time for slots in hours.values() for time in slots}):
            plant.run_until(time)
            shown[time] = tuple(float(row.served_total) for row in plant.look().vessel)
        self._read = {at: [(time, shown[time]) for time in slots] for at, slots in hours.items()}

    def _slots(self, at: float, until: float) -> list[float]:
        first = next_time_of_day(0.0, at, self.midnight)
        return [first + day * DAY for day in range(int((until - first) // DAY) + 1)]

    def reserve(self, trigger: VolumeLearned, place: int, time: float) -> float:
        """The reserve of vessel `place` for the day that began at the last `at` up to a time [m3]."""
        readings = [row[place] for slot, row in self._read[trigger.at] if slot <= time + JUST_AFTER]
        return learned_reserve(trigger, volumes_of(readings))


def midnight_of(case: Case) -> float:
    """The midnight before the run starts [s], as the plant counts it."""
    start = case.run.start
    return (start.replace(hour=0, minute=0, second=0, microsecond=0) - start) / timedelta(seconds=1)


def _vessel(
    case: Case, result: RunResult, vessel: OneVessel, looked: _Looked, meters: _Meters, time: float
) -> VesselNow:
    place = [each.name for each in vessels(case)].index(vessel.name)
    doing, told = looked.moment.vessels[place], past(result, vessel, time)
    trigger = triggers_of(case, result.policy)[vessel.stage.name]
    waits: tuple[Wait, ...] = ()
    if doing.phase in ("service", "stopped") and told.waiting is None and vessel.name not in _washing(result, time):
        last = _last_wash(told)
        kinds = [
            _wait(each, last, told, doing, looked.treated[place], meters, place, time) for each in singles(trigger)
        ]
        ends = longest_run_due(vessel.stage, trigger, last, told.since_s, meters.midnight)
        if ends < math.inf:
            kinds.append(Wait(kind="longest run", at_s=ends, every_s=longest_run_of(vessel.stage, trigger)))
        waits = tuple(kinds)
    coming = next_wash(result, vessel, time)
    return VesselNow(
        name=vessel.name,
        doing=doing,
        until_s=_step_end(result, vessel, doing, time),
        treated_m3=looked.treated[place],
        past=told,
        why=_why(case, result, vessel, told, meters, place),
        waits_for=waits,
        latest_s=_latest(case, result, waits, time),
        next_s=None if coming is None else coming[0],
        next_cause=None if coming is None else coming[1],
    )


def _washing(result: RunResult, time: float) -> set[str]:
    return {each.who for each in washes(result) if each.start_s <= time and (each.end_s or math.inf) > time}


def _last_wash(told: Past) -> LastWash:
    if told.last is None or told.start_s is None:
        return NO_WASH
    return LastWash(told.start_s, told.last.cause, told.last.due_s)


def _wait(
    each: SingleTrigger, last: LastWash, told: Past, doing: Sample, treated: float, meters: _Meters, place: int,
    time: float,
) -> Wait:  # fmt: skip
    """What one trigger waits for now, as its plan in the plant does."""
    midnight = meters.midnight

    def booked(at: float | None) -> float | None:
        return None if told.booked_s is None or at is None else next_time_of_day(told.booked_s, at, midnight)

    match each:
        case Calendar():
            return Wait(kind="calendar", at_s=calendar_slot(each, last, told.since_s, midnight), every_s=each.every)
        case Volume():
            return Wait(kind="volume", volume_m3=each.volume, treated_m3=treated, at_s=booked(each.at))
        case VolumeReserve():
            return Wait(kind="volume with reserve", volume_m3=each.volume, reserve_m3=each.reserve,
                        treated_m3=treated, at_s=booked(each.at))  # fmt: skip
        case VolumeLearned():
            return Wait(kind="volume with learned reserve", volume_m3=each.volume,
                        reserve_m3=meters.reserve(each, place, time), treated_m3=treated,
                        at_s=next_time_of_day(time + 1.0, each.at, midnight))  # fmt: skip
        case Pressure():
            return Wait(kind="pressure drop", above_kpa=each.above / 1e3, hold_s=each.hold,
                        signal_kpa=doing.signal_kpa, spike_kpa=doing.spike_kpa)  # fmt: skip
        case _:
            assert_never(each)


def _why(
    case: Case, result: RunResult, vessel: OneVessel, told: Past, meters: _Meters, place: int
) -> Wait | None:
    """What started the last wash, with the figures of the moment at which it was due."""
    if told.last is None or told.last.cause is None or told.run is None:
        return None
    trigger, due, cause = triggers_of(case, result.policy)[vessel.stage.name], told.last.due_s, told.last.cause
    if cause is Cause.LONGEST_RUN:
        return Wait(kind="longest run", at_s=due, every_s=longest_run_of(vessel.stage, trigger))
    each = next((each for each in singles(trigger) if cause in causes_of(each)), None)
    if each is None:
        return None
    seen = _look(case, result.policy, result.seed, max(due - JUST_BEFORE, 0.0))
    doing, treated = seen.moment.vessels[place], seen.treated[place]
    found = _wait(each, NO_WASH, told, doing, treated, meters, place, due)
    return replace(found, at_s=due) if cause is Cause.CALENDAR else found


def _step_end(result: RunResult, vessel: OneVessel, doing: Sample, time: float) -> float | None:
    """When the step of a wash that is under way ends in this run [s]; None where there is none."""
    if doing.phase not in {step.do for step in vessel.stage.steps}:
        return None
    own = (
        each for each in result.log
        if each.who == vessel.name and each.time_s > time and each.step == doing.phase
        and each.event in (Event.STEP_ENDS, Event.BROKEN_OFF)
    )  # fmt: skip
    return next((each.time_s for each in own), None)


def _latest(case: Case, result: RunResult, waits: Sequence[Wait], time: float) -> float | None:
    """The first hour by which the clock alone starts a wash, put off as the rules of the site do so far."""
    hours = [each.at_s for each in waits if each.at_s is not None and each.kind != "volume with learned reserve"]
    if not hours:
        return None
    starts = sorted(each.start_s for each in washes(result) if each.start_s <= time)
    allowed = next_allowed(case.washing, min(hours), starts, midnight_of(case))
    return allowed if allowed < math.inf else None


def _known(value: float) -> float | None:
    return None if math.isnan(value) else value


def _vessel_json(each: VesselNow) -> dict[str, Any]:
    doing = {key: value for key, value in each.doing._asdict().items() if key not in ("stage", "time_s")}
    data = asdict(each) | {
        "doing": {key: _known(value) if isinstance(value, float) else value for key, value in doing.items()},
    }
    data["past"]["run"] = None if each.past.run is None else each.past.run._asdict()
    return data
