"""A meter or a switch that fails or errs: the same setting as its trigger then acts on it."""

from collections.abc import Callable
from dataclasses import replace
from typing import Literal, assert_never

from sim.case.record import record
from sim.case.records import Case
from sim.case.series.records import Measured, Profile, Steady
from sim.case.trigger.records import (
    AnyOf,
    Calendar,
    Policy,
    Pressure,
    Signal,
    SingleTrigger,
    Trigger,
    Volume,
    VolumeLearned,
    VolumeReserve,
    devices,
)
from sim.case.units import DAY, HOUR
from sim.study.decide.trials import Candidate

DeviceName = Literal["meter", "switch"]
MeterError = Literal["too much", "too little", "least flow"]
FaultKind = MeterError | Literal["stuck"]
Act = Callable[[SingleTrigger], SingleTrigger]

USUAL_ERROR = 0.05  # share of the reading, where the case does not say: a range to try, not a property of any meter
NEVER_VOLUME, NEVER_PRESSURE = 1e8, 1e9  # m3, Pa: what a device that is stuck never sees


@record
class Fault:
    """How a device fails or errs, and the share of its reading or of the water that this is about."""

    device: DeviceName
    kind: FaultKind
    share: float = 0.0


def what_ifs(case: Case, candidate: Candidate, device: DeviceName) -> tuple[tuple[Fault, Candidate], ...]:
    """Each fault, and the candidate with the setting as it then acts; a device that is dead comes last."""
    dead = (Fault(device=device, kind="stuck"), _with(candidate, "stuck", _stuck))
    if device == "switch":
        return (dead,)
    meter = None if case.prices is None else case.prices.meter
    error = USUAL_ERROR if meter is None or meter.error is None else meter.error
    acts: list[tuple[FaultKind, float, Act]] = [
        ("too much", error, _scaled(1.0 / (1.0 + error))),
        ("too little", error, _scaled(1.0 / (1.0 - error))),
    ]
    if meter is not None and meter.least_flow is not None:
        seen = seen_share(case, meter.least_flow)
        acts.append(("least flow", seen, _scaled(1.0 / seen) if seen > 0.0 else _stuck))
    return (
        *((Fault(device=device, kind=kind, share=share), _with(candidate, kind, act)) for kind, share, act in acts),
        dead,
    )


def _with(candidate: Candidate, name: str, act: Act) -> Candidate:
    triggers = tuple((stage, _every(trigger, act)) for stage, trigger in candidate.policy.triggers)
    return replace(candidate, name=f"{candidate.name}, {name}", policy=replace(candidate.policy, triggers=triggers))


def _every(trigger: Trigger, act: Act) -> Trigger:
    if isinstance(trigger, AnyOf):
        return replace(trigger, triggers=tuple(act(each) for each in trigger.triggers))
    return act(trigger)


def _scaled(factor: float) -> Act:
    """A meter that sees only a share of the water acts on the volumes times one over it."""

    def act(trigger: SingleTrigger) -> SingleTrigger:
        match trigger:
            case Volume():
                return replace(trigger, volume=trigger.volume * factor)
            case VolumeReserve() | VolumeLearned():
                return replace(trigger, volume=trigger.volume * factor, reserve=trigger.reserve * factor)
            case Calendar() | Pressure() | Signal():
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
        case Calendar() | Signal():
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


def device_of(policy: Policy) -> DeviceName | None:
    """The device that a policy needs, by its triggers: a meter, a switch, or none; a meter where it needs both."""
    _, meters, switches, _ = zip(*(devices(trigger) for _, trigger in policy.triggers), strict=True)
    return "meter" if any(meters) else "switch" if any(switches) else None
