"""What starts a wash: from tables to records."""

from sim.case.schema import CaseFile
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
    VolumeLearnedTable,
    VolumeReserveTable,
    VolumeTable,
)

SingleTable = CalendarTable | VolumeTable | VolumeReserveTable | VolumeLearnedTable | PressureTable


def policies_of(file: CaseFile) -> tuple[Policy, ...]:
    """The policies in the order of the file, the triggers of each in the order of the train."""
    return tuple(
        Policy(name=name, triggers=tuple((stage.name, _trigger(triggers[stage.name])) for stage in file.stage))
        for name, triggers in file.policy.items()
    )


def _trigger(table: SingleTable | AnyOfTable) -> Trigger:
    if isinstance(table, AnyOfTable):
        return AnyOf(triggers=tuple(_single(each) for each in table.any_of), longest_run=table.longest_run)
    return _single(table)


def _single(table: SingleTable) -> SingleTrigger:
    match table:
        case CalendarTable():
            return Calendar(every=table.every, at=table.at, longest_run=table.longest_run)
        case VolumeTable():
            return Volume(volume=table.volume, at=table.at, longest_run=table.longest_run)
        case VolumeReserveTable():
            return VolumeReserve(
                volume=table.volume, reserve=table.reserve, at=table.at, longest_run=table.longest_run
            )
        case VolumeLearnedTable():
            return VolumeLearned(
                volume=table.volume,
                reserve=table.reserve,
                quantile=table.quantile,
                days=table.days,
                by=table.by,
                at=table.at,
                longest_run=table.longest_run,
            )
        case PressureTable():
            return Pressure(above=table.above, hold=table.hold, longest_run=table.longest_run)
