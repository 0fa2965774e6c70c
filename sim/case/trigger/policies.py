"""What starts a wash: from tables to records."""

from typing import assert_never

from sim.case.schema import CaseFile
from sim.case.table import record_of
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
)
from sim.case.trigger.schema import (
    AnyOfTable,
    CalendarTable,
    PressureTable,
    SingleTriggerTable,
    TriggerTable,
    VolumeLearnedTable,
    VolumeReserveTable,
    VolumeTable,
)


def policies_of(file: CaseFile) -> tuple[Policy, ...]:
    """The policies in the order of the file, the triggers of each in the order of the train."""
    return tuple(
        Policy(name=name, triggers=tuple((stage.name, _trigger(triggers[stage.name])) for stage in file.stage))
        for name, triggers in file.policy.items()
    )


def _trigger(table: TriggerTable) -> Trigger:
    if isinstance(table, AnyOfTable):
        return AnyOf(triggers=tuple(_single(each) for each in table.any_of), longest_run=table.longest_run)
    return _single(table)


def _single(table: SingleTriggerTable) -> SingleTrigger:
    match table:
        case CalendarTable():
            return record_of(Calendar, table)
        case VolumeTable():
            return record_of(Volume, table)
        case VolumeReserveTable():
            return record_of(VolumeReserve, table)
        case VolumeLearnedTable():
            return record_of(VolumeLearned, table)
        case PressureTable():
            return record_of(Pressure, table)
    assert_never(table)
