"""Every fault that the devices of a case can have, each of one stated size: how often they come is not known."""

from collections.abc import Iterator
from dataclasses import replace
from math import inf
from typing import Literal, assert_never

from sim.case.fault.records import Fault, What
from sim.case.records import Case
from sim.case.stage.records import Stage
from sim.case.trigger.records import Trigger, devices, hours
from sim.case.units import HOUR, MINUTE

Kind = Literal[
    "meter stuck", "meter low", "meter high", "switch stuck open", "switch stuck closed", "switch chatters",
    "switch drifts low", "switch drifts high", "tap plugged", "power cut, frozen", "power cut, home", "clock slow",
    "clock fast", "wash supply weak", "drain restricted", "valve passing", "salt out", "brine not drawn", "no dose",
    "double dose", "dose", "raw water past the bed", "media lost", "capacity lost", "bed mudballed",
]  # fmt: skip
"""How a fault is called: what fails, and which way."""

# Sizes that a study tries: ours, from memory of what is found at plants, not properties of any device.
METER_LOW, METER_HIGH, TAP = 0.9, 1.1, 0.5  # of the true volume; of the pressure drop that reaches the switch
CHATTER, DRIFT = 0.1, -0.01  # of the set point; of it in a day
SLOW, CUT, INTO_BACKWASH = -3.0 * HOUR, 3.0 * HOUR, 5.5 * MINUTE
SUPPLY, DRAIN, PASSING, PAST = 0.7, 0.6, 0.1, 0.2  # of the flow of a wash, of a drain, of what is filtered
MEDIA, CAPACITY, MUD = 0.2, 0.3, 0.2
DOSES = (0.0, 2.0)

OWN = frozenset({
    What.METER_STUCK, What.METER_WRONG, What.SWITCH_OPEN, What.SWITCH_CLOSED, What.SWITCH_CHATTERS,
    What.SWITCH_DRIFTS, What.TAP_PLUGGED, What.CLOCK_WRONG,
})  # fmt: skip
"""Faults of what starts a wash, in which ways differ; all others any way has."""


def kind_of(fault: Fault) -> Kind:
    """How a fault is called."""
    share, by = fault.share or 0.0, fault.by or 0.0
    match fault.what:
        case What.METER_WRONG:
            return "meter low" if share < 1.0 else "meter high"
        case What.SWITCH_DRIFTS:
            return "switch drifts low" if by < 0.0 else "switch drifts high"
        case What.POWER_CUT:
            return "power cut, home" if fault.valve == "home" else "power cut, frozen"
        case What.CLOCK_WRONG:
            return "clock slow" if by < 0.0 else "clock fast"
        case What.DOSING_WRONG:
            return "no dose" if share == 0.0 else "double dose" if share == DOSES[1] else "dose"
        case What.METER_STUCK:
            return "meter stuck"
        case What.SWITCH_OPEN:
            return "switch stuck open"
        case What.SWITCH_CLOSED:
            return "switch stuck closed"
        case What.SWITCH_CHATTERS:
            return "switch chatters"
        case What.TAP_PLUGGED:
            return "tap plugged"
        case What.SUPPLY_WEAK:
            return "wash supply weak"
        case What.DRAIN_RESTRICTED:
            return "drain restricted"
        case What.VALVE_PASSING:
            return "valve passing"
        case What.SALT_OUT:
            return "salt out"
        case What.BRINE_NOT_DRAWN:
            return "brine not drawn"
        case What.RAW_PAST:
            return "raw water past the bed"
        case What.MEDIA_LOST:
            return "media lost"
        case What.CAPACITY_LOST:
            return "capacity lost"
        case What.MUDBALLED:
            return "bed mudballed"
        case _:
            assert_never(fault.what)


def possible_faults(case: Case, policy: str, start: float) -> Iterator[Fault]:
    """Everything that can fail with this way to start a wash, from `start` [s] on; a power cut `CUT` long."""
    triggers = next(dict(each.triggers) for each in case.policies if each.name == policy)
    for stage in case.stages:
        yield from _of_devices(stage, triggers[stage.name], start)
    yield Fault(what=What.SUPPLY_WEAK, stage=None, start=start, end=inf, share=SUPPLY)
    yield Fault(what=What.DRAIN_RESTRICTED, stage=None, start=start, end=inf, share=DRAIN)
    yield Fault(what=What.POWER_CUT, stage=None, start=start, end=start + CUT, valve="frozen")
    yield Fault(what=What.POWER_CUT, stage=None, start=start, end=start + CUT, valve="home")
    for stage in case.stages:
        yield from _of_stage(stage, start)


def in_a_backwash(fault: Fault, starts: float, stage: Stage) -> Fault:
    """A power cut moved into the first backwash of a wash of `stage` that starts at a moment [s]."""
    before = 0.0
    for step in stage.steps:
        if step.do == "backwash":
            start = starts + before + min(INTO_BACKWASH, step.seconds / 2.0)
            return replace(fault, start=start, end=start + CUT)
        before += step.seconds
    return fault


def _of_devices(stage: Stage, trigger: Trigger, start: float) -> Iterator[Fault]:
    """Of what starts a wash of one stage."""
    has, name = devices(trigger), stage.name
    if has.meters:
        yield Fault(what=What.METER_STUCK, stage=name, start=start, end=inf)
        for share in (METER_LOW, METER_HIGH):
            yield Fault(what=What.METER_WRONG, stage=name, start=start, end=inf, share=share)
    if has.switch is not None:
        yield Fault(what=What.SWITCH_OPEN, stage=name, start=start, end=inf)
        yield Fault(what=What.SWITCH_CLOSED, stage=name, start=start, end=inf)
        yield Fault(what=What.SWITCH_CHATTERS, stage=name, start=start, end=inf, by=CHATTER * has.switch.above)
        yield Fault(what=What.SWITCH_DRIFTS, stage=name, start=start, end=inf, by=DRIFT * has.switch.above)
        yield Fault(what=What.TAP_PLUGGED, stage=name, start=start, end=inf, share=TAP)
    if has_clock(stage, trigger):
        yield Fault(what=What.CLOCK_WRONG, stage=name, start=start, end=inf, by=SLOW)


def _of_stage(stage: Stage, start: float) -> Iterator[Fault]:
    """Of a stage, whatever starts its washes; not a coagulant's dose, since no run knows what passes without it."""
    name = stage.name
    if stage.dosing is not None and stage.dosing.product != "air":
        for share in DOSES:
            yield Fault(what=What.DOSING_WRONG, stage=name, start=start, end=inf, share=share)
    brines = [step for step in stage.steps if step.do == "regenerant"]
    if any(step.salt is not None or step.permanganate is None for step in brines):
        yield Fault(what=What.SALT_OUT, stage=name, start=start, end=inf)
    if brines:
        yield Fault(what=What.BRINE_NOT_DRAWN, stage=name, start=start, end=inf)
    for what, share in ((What.VALVE_PASSING, PASSING), (What.RAW_PAST, PAST), (What.MEDIA_LOST, MEDIA)):
        yield Fault(what=what, stage=name, start=start, end=inf, share=share)
    if any(layer.uptake is not None for layer in stage.layers):
        yield Fault(what=What.CAPACITY_LOST, stage=name, start=start, end=inf, share=CAPACITY)
    yield Fault(what=What.MUDBALLED, stage=name, start=start, end=inf, share=MUD)


def has_clock(stage: Stage, trigger: Trigger) -> bool:
    """Whether an hour of the day decides when a stage washes."""
    return bool(hours(trigger)) or stage.longest_run_at is not None
