"""What the faults of a case say together with its stages, its policies and its run; see `checks`."""

import math
from collections.abc import Iterator, Mapping
from datetime import timedelta

from sim.case.chemistry.checks import dissolved_in
from sim.case.chemistry.schema import DosingTable
from sim.case.chemistry.uptake import all_reaching, draws_from_the_tank, steps_of
from sim.case.fault.records import NUMBER_OF, NUMBERS, STAYS, WHOLE_SITE, What
from sim.case.fault.schema import FaultTable
from sim.case.line_numbers import Path
from sim.case.mistakes import Finding, Findings
from sim.case.schema import CaseFile
from sim.case.spelling import nearest_or, quoted, shown
from sim.case.stage.records import CHEMICAL
from sim.case.stage.schema import StageTable
from sim.case.table import Table
from sim.case.train.train import seconds_of
from sim.case.trigger.schema import (
    AnyOfTable,
    ContactHours,
    PressureTable,
    VolumeLearnedTable,
    VolumeReserveTable,
    VolumeTable,
)
from sim.case.units import DURATION, PRESSURE

METERED = (VolumeTable, VolumeReserveTable, VolumeLearnedTable)
HOW_MUCH: Mapping[What, tuple[float, float]] = {
    What.METER_WRONG: (0.0, 10.0),
    What.DOSING_WRONG: (0.0, 10.0),
    What.TAP_PLUGGED: (0.0, 1.0),
    What.SUPPLY_WEAK: (0.0, 1.0),
    What.DRAIN_RESTRICTED: (0.0, 1.0),
    What.VALVE_PASSING: (0.0, 0.9),
    What.RAW_PAST: (0.0, 1.0),
    What.MEDIA_LOST: (0.0, 0.9),
    What.CAPACITY_LOST: (0.0, 0.9),
    What.MUDBALLED: (0.0, 0.9),
}
"""Least and most of each share."""
AS_WRITTEN = {"share": "share = 0.8", "valve": 'valve = "frozen"'}

METER = "a stage of which a policy starts washes by volume"
SWITCH = "a stage of which a policy starts washes by pressure drop"
NEEDS: Mapping[What, str] = {
    What.METER_STUCK: METER,
    What.METER_WRONG: METER,
    What.SWITCH_OPEN: SWITCH,
    What.SWITCH_CLOSED: SWITCH,
    What.SWITCH_CHATTERS: SWITCH,
    What.SWITCH_DRIFTS: SWITCH,
    What.TAP_PLUGGED: SWITCH,
    What.CLOCK_WRONG: "a stage of which a policy starts washes at an hour, or with longest_run_at",
    What.SALT_OUT: "a stage with a step of regenerant that brings salt",
    What.BRINE_NOT_DRAWN: "a stage with a step of regenerant",
    What.DOSING_WRONG: "a stage ahead of which an oxidant is dosed, or the first one where feed.coagulant is",
    What.CAPACITY_LOST: "a stage with a medium that takes up what is dissolved",
}
"""The device, or what else a fault is of; the others any stage has."""


def _each(case: CaseFile) -> Iterator[tuple[Path, FaultTable, What]]:
    for number, fault in enumerate(case.fault or ()):
        yield ("fault", number), fault, What(fault.what)


def fault_has_its_stage(case: CaseFile) -> Findings:
    """One of the train that has what fails; none for what fails at the whole site."""
    names = [stage.name for stage in case.stage]
    for place, fault, what in _each(case):
        if what in WHOLE_SITE:
            if fault.stage is not None:
                given = f"a stage with {shown(what.value)}"
                yield Finding((*place, "stage"), given, "no stage, since it fails for all of them", "leaving it out")
        elif fault.stage is None:
            allowed = f"one of the stages of this case: {quoted(names)}"
            yield Finding(
                (*place, "stage"), f"nothing with {shown(what.value)}", allowed, f"stage = {shown(names[0])}"
            )
        elif fault.stage not in names:
            allowed = f"the stages of this case: {quoted(names)}"
            try_ = nearest_or(fault.stage, names, "the name of a stage")
            yield Finding((*place, "stage"), f"the stage {shown(fault.stage)}", allowed, try_)
        elif not _has(case, names.index(fault.stage), what):
            given = f"{shown(what.value)} of the stage {shown(fault.stage)}, which has none"
            yield Finding((*place, "what"), given, NEEDS[what], "another stage, or leaving this fault out")


def _has(case: CaseFile, k: int, what: What) -> bool:
    """Whether stage k has what fails."""
    stage = case.stage[k]
    triggers = _triggers(case, stage)
    match what:
        case What.METER_STUCK | What.METER_WRONG:
            return any(isinstance(each, METERED) for each in triggers)
        case What.SWITCH_OPEN | What.SWITCH_CLOSED | What.SWITCH_CHATTERS | What.SWITCH_DRIFTS | What.TAP_PLUGGED:
            return any(isinstance(each, PressureTable) for each in triggers)
        case What.CLOCK_WRONG:
            at = any(getattr(each, "at", None) is not None for each in triggers)
            contact = any(isinstance(getattr(each, "contact", None), ContactHours) for each in triggers)
            return at or contact or stage.longest_run_at is not None
        case What.SALT_OUT:
            return any(
                step.salt is not None or draws_from_the_tank(step) for _, step in steps_of(stage, "regenerant")
            )
        case What.BRINE_NOT_DRAWN:
            return bool(steps_of(stage, "regenerant"))
        case What.DOSING_WRONG:
            dosed = isinstance(stage.oxidant, DosingTable) and stage.oxidant.product != "air"
            return dosed or (k == 0 and case.feed.coagulant is not None)
        case What.CAPACITY_LOST:
            here = all_reaching(case.stage, dissolved_in(case))[k]
            return bool(here) and any(layer.medium in CHEMICAL for layer in stage.layer)
        case _:
            return True


def _triggers(case: CaseFile, stage: StageTable) -> list[Table]:
    """Whatever starts washes of a stage in any policy."""
    found: list[Table] = []
    for own in case.policy.values():
        trigger = own.get(stage.name)
        if trigger is not None:
            found += trigger.any_of if isinstance(trigger, AnyOfTable) else [trigger]
    return found


def fault_has_its_number(case: CaseFile) -> Findings:
    """The number that says how badly it fails, of the right kind and size, and no other."""
    for place, fault, what in _each(case):
        wanted = NUMBER_OF.get(what)
        for key in NUMBERS:
            if key != wanted and getattr(fault, key) is not None:
                allowed = f"{wanted} alone" if wanted else "neither share nor by nor valve"
                yield Finding((*place, key), f"{key} with {shown(what.value)}", allowed, "leaving it out")
        if wanted is None:
            continue
        if getattr(fault, wanted) is None:
            given = f"nothing with {shown(what.value)}"
            yield Finding((*place, wanted), given, _allowed(what), _as_written(what))
        elif fault.share is not None and wanted == "share":
            least, most = HOW_MUCH[what]
            if not least <= fault.share <= most:
                yield Finding((*place, "share"), f"{fault.share:g}", _allowed(what), "a share within the range")
        elif fault.by is not None and wanted == "by":
            if fault.by.kind is not (DURATION if what is What.CLOCK_WRONG else PRESSURE):
                yield Finding((*place, "by"), f"a {fault.by.kind.name}", _allowed(what), _as_written(what))
            elif fault.by.value == 0.0 or (fault.by.value < 0.0 and what is What.SWITCH_CHATTERS):
                given = f"{fault.by.value:g} {fault.by.kind.si} with {shown(what.value)}"
                yield Finding((*place, "by"), given, _allowed(what), _as_written(what))


def _allowed(what: What) -> str:
    """What the number of a fault may be."""
    if what is What.POWER_CUT:
        return quoted(("frozen", "home"))
    if what in HOW_MUCH:
        least, most = HOW_MUCH[what]
        return f"a share from {least:g} to {most:g}"
    if what is What.CLOCK_WRONG:
        return "a duration, below 0 for a clock that is behind"
    if what is What.SWITCH_DRIFTS:
        return "a pressure, by which it drifts in a day, below 0 if it drifts down"
    return "a pressure above 0"


def _as_written(what: What) -> str:
    key = NUMBER_OF[what]
    return AS_WRITTEN.get(key) or f'by = "{"40 min" if what is What.CLOCK_WRONG else "2 kPa"}"'


def fault_lies_in_the_run(case: CaseFile) -> Findings:
    """It begins during the run, and ends after that and no later than the run."""
    end = case.run.start + timedelta(seconds=case.run.length)
    for place, fault, what in _each(case):
        begins = getattr(fault, "from")
        if not 0.0 <= seconds_of(begins, case) < case.run.length:
            allowed = f"a moment of the run, from {case.run.start.isoformat()} up to {end.isoformat()}"
            yield Finding((*place, "from"), begins.isoformat(), allowed, "another moment, or leaving this fault out")
        if fault.until is None:
            if what is What.POWER_CUT:
                allowed = f"a moment after from, up to {end.isoformat()}"
                yield Finding((*place, "until"), f"nothing with {shown(what.value)}", allowed, "the end of the cut")
            continue
        if what in STAYS:
            given = f"until with {shown(what.value)}"
            yield Finding((*place, "until"), given, "no end: nothing in a run puts it right", "leaving it out")
        elif fault.until <= begins:
            given = f"{fault.until.isoformat()}, no later than from"
            yield Finding((*place, "until"), given, "a moment after from", "a later moment, or leaving it out")
        elif fault.until > end:
            allowed = f"a moment of the run, up to {end.isoformat()}"
            yield Finding((*place, "until"), fault.until.isoformat(), allowed, "leaving it out: it then lasts")


def fault_comes_once_at_a_time(case: CaseFile) -> Findings:
    """No device fails twice at once in the same way."""
    faults = list(_each(case))
    for number, (place, fault, what) in enumerate(faults):
        for _, other, same in faults[:number]:
            if (what, fault.stage) == (same, other.stage) and _meet(case, fault, other):
                whose = "" if fault.stage is None else f" of the stage {shown(fault.stage)}"
                given = f"{shown(what.value)}{whose} a second time at once"
                yield Finding((*place, "from"), given, "each way to fail once at a time", "times that do not meet")
                break


def _meet(case: CaseFile, one: FaultTable, other: FaultTable) -> bool:
    def span(fault: FaultTable) -> tuple[float, float]:
        begins = seconds_of(getattr(fault, "from"), case)
        return begins, math.inf if fault.until is None else seconds_of(fault.until, case)

    (first, first_end), (second, second_end) = span(one), span(other)
    return first < second_end and second < first_end


OF_CASE = (fault_has_its_stage, fault_has_its_number, fault_lies_in_the_run, fault_comes_once_at_a_time)
