"""What starts a wash: from tables to records."""

from sim.case.records import Calendar, Policy, Pressure, Trigger, Volume, VolumeReserve
from sim.case.schema import CalendarTable, CaseFile, PressureTable, VolumeReserveTable, VolumeTable


def policies_of(file: CaseFile) -> tuple[Policy, ...]:
    """The policies in the order of the file, the triggers of each in the order of the train."""
    return tuple(
        Policy(name=name, triggers=tuple((stage.name, _trigger(triggers[stage.name])) for stage in file.stage))
        for name, triggers in file.policy.items()
    )


def _trigger(table: CalendarTable | VolumeTable | VolumeReserveTable | PressureTable) -> Trigger:
    match table:
        case CalendarTable():
            return Calendar(every=table.every, at=table.at, latest=table.latest)
        case VolumeTable():
            return Volume(volume=table.volume, at=table.at, latest=table.latest)
        case VolumeReserveTable():
            return VolumeReserve(volume=table.volume, reserve=table.reserve, at=table.at, latest=table.latest)
        case PressureTable():
            return Pressure(above=table.above, hold=table.hold, latest=table.latest)
