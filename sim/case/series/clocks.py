"""Which clock the times of a run and of its files are read from, and what a case says against itself about it."""

import math
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime, timedelta

from sim.case.chemistry.records import IN_FEED
from sim.case.limits import ACIDITY_IN_FILE, DISSOLVED, FLOW, HARDNESS, SOLIDS, TEMPERATURE, TURBIDITY
from sim.case.line_numbers import Path
from sim.case.mistakes import Finding, Findings
from sim.case.schema import CaseFile
from sim.case.series.file_times import FileClock
from sim.case.series.schema import FileTable, RunTable
from sim.case.series.zones import Zone, ahead, offset_name
from sim.case.trigger.schema import CONTACT, AnyOfTable
from sim.case.units import DAY, MINUTE
from sim.case.values import Quantity

SERIES: Mapping[Path, Quantity] = {
    ("feed", "temperature"): TEMPERATURE,
    ("feed", "suspended_solids"): SOLIDS,
    ("feed", "turbidity"): TURBIDITY,
    **{("feed", solute): DISSOLVED for solute in IN_FEED},
    ("feed", "hardness"): HARDNESS,
    ("feed", "pH"): ACIDITY_IN_FILE,
    ("demand", "flow"): FLOW,
}
"""The keys under which a series may come from a file, and the range of its values."""


def file_tables(case: CaseFile) -> dict[Path, FileTable]:
    """The series of a case that come from files, as far as they can be read."""
    found = {place: getattr(getattr(case, str(place[0]), None), str(place[1]), None) for place in SERIES}
    found |= {(*place, "contact"): getattr(table, "contact", None) for place, table in _triggers(case)}
    return {place: table for place, table in found.items() if isinstance(table, FileTable)}


def _triggers(case: CaseFile) -> Iterator[tuple[Path, object]]:
    """Every single trigger of a case at its place, as far as they can be read."""
    for policy, own in getattr(case, "policy", {}).items():
        for stage, trigger in own.items() if isinstance(own, dict) else ():
            place = ("policy", policy, stage)
            each = getattr(trigger, "any_of", None) if isinstance(trigger, AnyOfTable) else None
            yield from (((*place, "any_of", number), one) for number, one in enumerate(each or ()))
            yield place, trigger


def limits_of(place: Path) -> Quantity:
    """The range of the values of a series from a file."""
    return SERIES.get(place, CONTACT)


def zone_of(table: FileTable, run: RunTable) -> Zone | None:
    """The zone of a file: its own, or that of the run."""
    return table.zone or run.zone


def clock_of(table: FileTable, run: RunTable) -> FileClock | None:
    """The clock of a file, None where the case leaves it open."""
    zone = zone_of(table, run)
    if zone is None:
        return None
    if zone.offset is None and table.clock == "local":
        return FileClock(zone, None)
    ahead = _standard(zone, run) if zone.offset is not None or table.clock else None
    return None if ahead is None else FileClock(zone, ahead)


def run_ahead(case: CaseFile) -> timedelta | None:
    """How far the run's clock is ahead of universal time, None where the case leaves it open.

    It shows the standard time of the run's zone or, where that is not given, of the zone that all files share.
    """
    run = case.run
    if run.zone is not None:
        return _standard(run.zone, run)
    shared = {_standard(table.zone, run) for table in file_tables(case).values() if table.zone is not None}
    return shared.pop() if len(shared) == 1 else None


def _standard(zone: Zone, run: RunTable) -> timedelta | None:
    """The standard time of a zone, None if it changes during the run."""
    offsets = zone.standard_offsets(_years(run))
    return offsets.pop() if len(offsets) == 1 else None


def standard_of(run: RunTable) -> timedelta | None:
    """The standard time of the run's place, None where its zone is no place or changes it during the run."""
    return None if run.zone is None or run.zone.offset is not None else _standard(run.zone, run)


def summer_of(run: RunTable) -> tuple[tuple[float, float, float], ...]:
    """From when to when a clock of the run's place is ahead of its standard time, and by how much [s]."""
    standard = standard_of(run)
    if run.zone is None or standard is None:
        return ()
    origin, clock = (run.start - standard).replace(tzinfo=UTC), run.zone.clock

    def shift(time: float) -> float:
        local = (origin + timedelta(seconds=time)).astimezone(clock)
        return (ahead(clock, local) - standard).total_seconds()

    spans, begin, by = [], 0.0, shift(0.0)
    for day in range(1, math.ceil(run.length / DAY) + 1):
        if shift(day * DAY) == by:
            continue
        low, high = (day - 1) * DAY, day * DAY
        while high - low > 1.0:
            low, high = (low, (low + high) / 2.0) if shift((low + high) / 2.0) != by else ((low + high) / 2.0, high)
        end = float(round(high / MINUTE)) * MINUTE
        spans.append((begin, end, by))
        begin, by = end, shift(end)
    spans.append((begin, math.inf, by))
    return tuple(span for span in spans if span[2] != 0.0)


def _years(run: RunTable) -> range:
    end: datetime = run.start + timedelta(seconds=run.length)
    return range(run.start.year, end.year + 1)


def zones_are_told(case: CaseFile) -> Findings:
    """Every file has a zone, and a clock where the zone's name does not tell it."""
    for place, table in file_tables(case).items():
        zone = zone_of(table, case.run)
        if zone is None:
            yield Finding(
                (*place, "zone"),
                "nothing",
                "the time zone of the file's times, here or under [run]",
                'zone = "UTC-5" for a clock that never changes, or the zone by its place',
            )
        elif zone.offset is None and table.clock is None:
            yield Finding(
                (*place, "clock"),
                f"nothing, with the zone {zone.name}",
                '"standard", a clock that never changes, or "local", one that follows the zone\'s daylight saving',
                'clock = "local" if the file leaves out an hour in spring and has one twice in autumn',
            )
        elif zone.offset is not None and table.clock == "local":
            yield Finding(
                (*place, "clock"),
                f'"local", with the zone {zone.name}',
                "a zone by its place, such as Europe/Rome: an offset alone has no daylight saving",
                'clock = "standard", or the name of the zone',
            )


def clocks_agree(case: CaseFile) -> Findings:
    """One standard time for the run: files of several zones need the run's own."""
    tables = file_tables(case)
    zones: list[tuple[Path, Zone]] = [(("run", "zone"), case.run.zone)] if tables and case.run.zone else []
    zones += [((*place, "zone"), table.zone) for place, table in tables.items() if table.zone is not None]
    changing = [(path, zone) for path, zone in zones if _standard(zone, case.run) is None]
    for path, zone in changing:
        yield Finding(
            path,
            f"{zone.name}, whose standard time changes during the run",
            "one standard time over the whole run",
            'the offset itself, such as zone = "UTC+3", or a shorter run',
        )
    shared = {_standard(zone, case.run) for _, zone in zones} - {None}
    if case.run.zone is None and len(shared) > 1 and not changing:
        names = ", ".join(sorted(offset_name(offset) for offset in shared if offset is not None))
        yield Finding(
            ("run", "zone"),
            f"nothing, with files in zones of different standard time: {names}",
            "the zone whose standard time the run's own clock shows",
            "zone under [run], as one of the files has it",
        )
