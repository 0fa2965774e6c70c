"""What starts a wash: from tables to records."""

from collections.abc import Mapping
from typing import assert_never

from sim.case.schema import CaseFile
from sim.case.series.records import Measured
from sim.case.table import record_of
from sim.case.train.train import solids_of
from sim.case.trigger.records import (
    AnyOf,
    Calendar,
    Contact,
    Policy,
    Pressure,
    Signal,
    SingleTrigger,
    Trigger,
    Volume,
    VolumeLearned,
    VolumeReserve,
)
from sim.case.trigger.schema import (
    AnyOfTable,
    CalendarTable,
    ContactHours,
    PressureTable,
    SignalTable,
    SingleTriggerTable,
    TriggerTable,
    VolumeLearnedTable,
    VolumeReserveTable,
    VolumeTable,
)

HALF = 0.5  # of a contact that is closed


def policies_of(file: CaseFile, ratio: float | None, series: Mapping[str, Measured]) -> tuple[Policy, ...]:
    """The policies in the order of the file, the triggers of each in the order of the train.

    `ratio` of solids to turbidity; `series` of contacts by dotted key.
    """

    def single(table: SingleTriggerTable, key: str) -> SingleTrigger:
        return _single(table, ratio, series.get(f"{key}.contact"))

    def trigger(table: TriggerTable, key: str) -> Trigger:
        if not isinstance(table, AnyOfTable):
            return single(table, key)
        each = (single(one, f"{key}.any_of.{number}") for number, one in enumerate(table.any_of))
        return AnyOf(triggers=tuple(each), longest_run=table.longest_run)

    return tuple(
        Policy(name=name, triggers=tuple((stage.name, trigger(triggers[stage.name], f"policy.{name}.{stage.name}"))
                                         for stage in file.stage))
        for name, triggers in file.policy.items()
    )  # fmt: skip


def _single(table: SingleTriggerTable, ratio: float | None, closed: Measured | None) -> SingleTrigger:
    match table:
        case CalendarTable():
            at, *also = table.at or (None,)
            return record_of(Calendar, table, at=at, also_at=tuple(also), on=tuple(table.on or ()))
        case SignalTable():
            above = solids_of(table.above, ratio)
            hours = tuple(table.contact.hours) if isinstance(table.contact, ContactHours) else ()
            contact = None if table.contact is None else Contact(hours=hours, spans=_spans(closed))
            return record_of(Signal, table, above=above, contact=contact)
        case VolumeTable():
            return record_of(Volume, table)
        case VolumeReserveTable():
            return record_of(VolumeReserve, table)
        case VolumeLearnedTable():
            return record_of(VolumeLearned, table)
        case PressureTable():
            return record_of(Pressure, table)
    assert_never(table)


def _spans(closed: Measured | None) -> tuple[tuple[float, float], ...]:
    """From when to when a contact is closed that a series gives [s]."""
    spans: list[tuple[float, float]] = []
    for begin, end, value in zip((0.0, *closed.end), closed.end, closed.value, strict=False) if closed else ():
        if value > HALF and spans and spans[-1][1] == begin:
            spans[-1] = (spans[-1][0], end)
        elif value > HALF:
            spans.append((begin, end))
    return tuple(spans)
