"""A meter or a switch that fails or errs: the same setting as its trigger then acts on it."""

from collections.abc import Callable
from dataclasses import replace
from typing import assert_never

from sim.case.records import Case
from sim.case.series.records import Measured, Profile, Steady
from sim.case.spelling import plain_duration
from sim.case.stage.longest_run import longest_run_of, with_usual_longest_runs
from sim.case.trigger.records import (
    AnyOf,
    Calendar,
    Policy,
    Pressure,
    SingleTrigger,
    Trigger,
    Volume,
    VolumeLearned,
    VolumeReserve,
    devices,
)
from sim.case.units import DAY, HOUR
from sim.study.decide.trials import Candidate

USUAL_ERROR = 0.05  # share of the reading, where the case does not say: a range to try, not a property of any meter
NEVER_VOLUME, NEVER_PRESSURE = 1e8, 1e9  # m3, Pa: what a device that is stuck never sees


def what_ifs(case: Case, candidate: Candidate, device: str) -> tuple[tuple[str, Candidate], ...]:
    """What is told of each, and the candidate with the setting as it then acts; a device that is dead comes last."""
    alone = f"only the longest run starts a wash, after {_longest(case, candidate)}"
    if device == "switch":
        return ((f"the switch never closes: {alone}", _with(candidate, "stuck", _stuck)),)
    meter = None if case.prices is None else case.prices.meter
    error = USUAL_ERROR if meter is None or meter.error is None else meter.error
    share = f"{100.0 * error:g} %"
    found = [
        (f"the meter reads {share} too much", _with(candidate, "too much", _scaled(1.0 / (1.0 + error)))),
        (f"the meter reads {share} too little", _with(candidate, "too little", _scaled(1.0 / (1.0 - error)))),
    ]
    if meter is not None and meter.least_flow is not None:
        seen = seen_share(case, meter.least_flow)
        words = f"below its least flow the meter stands still: it sees {100.0 * seen:.0f} % of the water"
        act = _scaled(1.0 / seen) if seen > 0.0 else _stuck
        found.append((words, _with(candidate, "least flow", act)))
    found.append((f"the meter is stuck: {alone}", _with(candidate, "stuck", _stuck)))
    return tuple(found)


def _longest(case: Case, candidate: Candidate) -> str:
    """The longest runs of the stages, each once."""
    pairs = zip(with_usual_longest_runs(case).stages, candidate.policy.triggers, strict=True)
    runs = (longest_run_of(stage, trigger) for stage, (_, trigger) in pairs)
    return " or ".join(dict.fromkeys(plain_duration(each) for each in runs if each is not None))


def _with(candidate: Candidate, name: str, act: Callable[[SingleTrigger], SingleTrigger]) -> Candidate:
    triggers = tuple((stage, _every(trigger, act)) for stage, trigger in candidate.policy.triggers)
    return replace(candidate, name=f"{candidate.name}, {name}", policy=replace(candidate.policy, triggers=triggers))


def _every(trigger: Trigger, act: Callable[[SingleTrigger], SingleTrigger]) -> Trigger:
    if isinstance(trigger, AnyOf):
        return replace(trigger, triggers=tuple(act(each) for each in trigger.triggers))
    return act(trigger)


def _scaled(factor: float) -> Callable[[SingleTrigger], SingleTrigger]:
    """A meter that sees only a share of the water acts on the volumes times one over it."""

    def act(trigger: SingleTrigger) -> SingleTrigger:
        match trigger:
            case Volume():
                return replace(trigger, volume=trigger.volume * factor)
            case VolumeReserve() | VolumeLearned():
                return replace(trigger, volume=trigger.volume * factor, reserve=trigger.reserve * factor)
            case Calendar() | Pressure():
                return trigger
            case _:
                assert_never(trigger)

    return act


def _stuck(trigger: SingleTrigger) -> SingleTrigger:
    match trigger:
        case Volume() | VolumeReserve() | VolumeLearned():
            return replace(trigger, volume=NEVER_VOLUME)
        case Pressure():
            return replace(trigger, above=NEVER_PRESSURE)
        case Calendar():
            return trigger
        case _:
            assert_never(trigger)


def seen_share(case: Case, least_flow: float) -> float:
    """The share of the water that passes at or above a flow [m3/s], by the usual demand of the case.

    With a unit downstream the train sees the unit's feed or nothing. Seasons and chance are left out.
    """
    if case.downstream is not None and case.downstream.unit is not None:
        return 1.0 if case.downstream.unit.feed_flow >= least_flow else 0.0
    flow = case.demand.flow
    match flow:
        case Steady():
            spans = [(DAY, flow.value)]
        case Profile():
            spans = [(HOUR, hour * day) for day in flow.weekday for hour in flow.hourly]
        case Measured():
            begins = (0.0, *flow.end[:-1])
            spans = [(end - begin, value) for begin, end, value in zip(begins, flow.end, flow.value, strict=True)]
    whole = sum(time * value for time, value in spans)
    return sum(time * value for time, value in spans if value >= least_flow) / whole if whole > 0.0 else 1.0


def device_of(policy: Policy) -> str | None:
    """The device that a policy needs, by its triggers: a meter, a switch, or none; a meter where it needs both."""
    _, meters, switches = zip(*(devices(trigger) for _, trigger in policy.triggers), strict=True)
    return "meter" if any(meters) else "switch" if any(switches) else None
