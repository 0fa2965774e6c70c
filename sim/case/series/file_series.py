"""The series of a case that stand in CSV files, read into records."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field, replace
from datetime import datetime
from functools import lru_cache
from pathlib import Path as FilePath

from sim.case.line_numbers import Path
from sim.case.mistakes import Finding
from sim.case.record import record
from sim.case.schema import CaseFile
from sim.case.series.clocks import clock_of, file_tables, limits_of, run_ahead
from sim.case.series.file_times import FileClock, commonest_step, seconds_of, tell_absent_hours
from sim.case.series.measured import measured
from sim.case.series.records import Measured, Remedy
from sim.case.series.schema import FileTable
from sim.case.series.sheet import Complaints, Row, Sheet, read_rows, read_sheet
from sim.case.series.treatment import Point, Request, Treatment
from sim.case.series.zones import offset_name
from sim.case.source import FileKind, read_text
from sim.case.spelling import escaped, nearest_or, shown
from sim.case.table import Unread
from sim.errors import CaseError, Problem

CSV_FILE = FileKind(
    name="a CSV file",
    most_mib=32,
    longest_line=20_000,
    smaller="leaving out rows before and after the run, and other columns",
    shorter_lines="leaving out other columns",
)

MOST_NAMED = 12
"""Columns of a file that a message lists."""


@record
class FileSeries:
    """What files give: series [SI] by dotted key, what remedies changed, the zone of the run's clock.

    `findings` are what is wrong with the keys of the case, `problems` what is wrong in the files.
    """

    series: Mapping[str, Measured] = field(default_factory=dict)
    remedies: tuple[Remedy, ...] = ()
    zone: str | None = None
    findings: tuple[Finding, ...] = ()
    problems: tuple[Problem, ...] = ()


def read_files(case: CaseFile, path: FilePath) -> FileSeries:
    """Every series of a case that stands in a file; a file's path starts from the folder of the case at `path`.

    A series whose keys are not in order is left out: others tell what is wrong with them.
    """
    every = [_reading(place, table, case, path) for place, table in file_tables(case).items()]
    return FileSeries(
        series={key: series for each in every for key, series in each.series.items()},
        remedies=tuple(remedy for each in every for remedy in each.remedies),
        zone=_zone(case),
        findings=tuple(finding for each in every for finding in each.findings),
        problems=tuple(problem for each in every for problem in each.problems),
    )


def _zone(case: CaseFile) -> str | None:
    try:
        ahead = run_ahead(case)
    except Unread:
        return None
    return None if ahead is None else offset_name(ahead)


def _reading(place: Path, table: FileTable, case: CaseFile, path: FilePath) -> FileSeries:
    try:
        clock, ahead = clock_of(table, case.run), run_ahead(case)
        if clock is None or ahead is None:
            return FileSeries()
        file = path.parent / table.file
        request = Request(
            place=place, table=table, limits=limits_of(place), start=case.run.start, length=case.run.length
        )
        return read_series(read_text(file, CSV_FILE), request, clock, case.run.start - ahead, escaped(str(file)))
    except CaseError as error:
        return _unreadable(error.problems, place, table)
    except Unread:
        return FileSeries()


def _unreadable(problems: Sequence[Problem], place: Path, table: FileTable) -> FileSeries:
    """A file that is no text is told at its name in the case; all else at the line of the file where it is."""
    return FileSeries(
        findings=tuple(
            Finding((*place, "file"), f"{shown(table.file)}, {each.given}", each.allowed, each.try_)
            for each in problems
            if each.line is None
        ),
        problems=tuple(replace(each, key=".".join(map(str, place))) for each in problems if each.line is not None),
    )


# The ranges of assumed constants load one case many times over.
@lru_cache(maxsize=8)
def read_series(text: str, request: Request, clock: FileClock, origin: datetime, file: str) -> FileSeries:
    """One series from the text of a CSV file; `origin` is the start of the run in universal time.

    Raises CaseError for what is wrong in the file, but for columns that the case does not name as they are.
    """
    complaints = Complaints(file, request.key)
    sheet = read_sheet(text, complaints)
    findings = tuple(wrong_columns(sheet.header, request.table, request.place))
    if findings:
        return FileSeries(findings=findings, problems=tuple(complaints.problems))
    points, step = points_of(rows_of(sheet, request.table, complaints), clock, origin, complaints)
    treatment = Treatment(points, step, request, complaints)
    return FileSeries(series={request.key: measured(treatment)}, remedies=tuple(treatment.remedies))


def rows_of(sheet: Sheet, table: FileTable, complaints: Complaints) -> list[Row]:
    """The times and numbers that a table asks for."""
    time = 0 if table.time is None else sheet.header.index(table.time)
    return read_rows(sheet, time, sheet.header.index(table.column), complaints)


def points_of(
    rows: Sequence[Row], clock: FileClock, origin: datetime, complaints: Complaints
) -> tuple[list[Point], float]:
    """The numbers of a file at their times from `origin`, a universal time, and the commonest step [s]."""
    seconds = seconds_of(rows, clock, origin, complaints)
    step = commonest_step(seconds)
    tell_absent_hours(rows, step, clock, complaints)
    return [Point(row.line, second, row.value) for row, second in zip(rows, seconds, strict=True)], step


def wrong_columns(header: tuple[str, ...], table: FileTable, place: Path) -> Iterator[Finding]:
    """Columns that the file does not have, or has twice, or that are to be both times and numbers."""
    asked = {"time": header[0] if table.time is None else table.time, "column": table.column}
    names = ", ".join(shown(name) for name in header[:MOST_NAMED])
    more = f" and {len(header) - MOST_NAMED} more" if len(header) > MOST_NAMED else ""
    allowed = f"a column of the file: {names}{more}"
    for key, name in asked.items():
        count = header.count(name)
        if count == 0:
            try_ = nearest_or(name, header, "one of these names")
            yield Finding((*place, key), f"the column {shown(name)}", allowed, try_)
        elif count > 1:
            given = f"the column {shown(name)}, {count} times in the file"
            try_ = "a name of its own for each column in the first line of the file"
            yield Finding((*place, key), given, allowed, try_)
    if asked["time"] == asked["column"]:
        given = f"the column {shown(asked['column'])}, which has the times"
        yield Finding((*place, "column"), given, allowed, "the column with the numbers")
