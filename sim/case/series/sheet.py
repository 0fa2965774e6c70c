"""The rows of a CSV file, its times and its numbers, and what is wrong in it: each kind of fault once."""

import csv
import io
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from sim.case.spelling import shown
from sim.case.time_rules import EARLIEST, LATEST
from sim.errors import CaseError, Problem

MOST_LINES = 3
"""Lines named in a message; the rest is counted."""


class Complaints:
    """Collects the faults of one file for one key of the case; `file` is the file's name as shown.

    `by_option`: a remedy is an option of the command that reads the file, in place of a key of the case.
    """

    def __init__(self, file: str, key: str, *, by_option: bool = False) -> None:
        self.file, self.key, self.by_option = file, key, by_option
        self.problems: list[Problem] = []

    def remedy(self, key: str, *values: str) -> str:
        """How a person says what to do with what is unlikely.

        >>> Complaints("log.csv", "").remedy("gaps", "interpolate", "hold")
        'gaps = "interpolate" or "hold"'
        >>> Complaints("log.csv", "", by_option=True).remedy("resets", "count on")
        '--resets "count on"'
        """
        if self.by_option:
            return f"--{key} " + " or ".join(f'"{each}"' if " " in each else each for each in values)
        return f"{key} = " + " or ".join(f'"{each}"' for each in values)

    def stop(self) -> None:
        """Raise CaseError with all that was told so far, if anything was."""
        if self.problems:
            raise CaseError(tuple(self.problems))

    def add(self, lines: Sequence[int], given: str, allowed: str, try_: str) -> None:
        """One kind of fault, of which `given` tells the first; it starts in these lines."""
        count = "" if len(lines) == 1 else f"; {len(lines):,} such places, {lines_named(lines)}"
        self.problems.append(Problem(self.file, lines[0], self.key, given + count, allowed, try_))

    def add_cells(self, cells: Sequence[tuple[int, str]], allowed: str, try_: str) -> None:
        """One kind of fault in these cells, each with its line; no cells, no fault."""
        if cells:
            self.add([line for line, _ in cells], shown(cells[0][1]), allowed, try_)


def lines_named(lines: Sequence[int]) -> str:
    """The first few lines by number, the rest counted.

    >>> lines_named([2]), lines_named([2, 3]), lines_named(range(2, 1802))
    ('line 2', 'lines 2 and 3', 'lines 2, 3, 4 and 1,797 more')
    """
    if len(lines) == 1:
        return f"line {lines[0]}"
    named, more = [f"{line}" for line in lines[:MOST_LINES]], len(lines) - MOST_LINES
    last = f"{more:,} more" if more > 0 else named.pop()
    return f"lines {', '.join(named)} and {last}"


_STAMP = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}:[0-9]{2}(:[0-9]{2})?")
_NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?")
_DECIMAL_COMMA = re.compile(r"[+-]?[0-9]+,[0-9]+")
_WITH_OFFSET = re.compile(_STAMP.pattern + r"(\.[0-9]+)?(Z|[+-][0-9]{2}:?[0-9]{2})")

Dates = Literal["year first", "day first", "month first"]
"""In what order a date that does not begin with its year stands."""

_CLOCK = r"[T ] *([0-9]{1,2}):([0-9]{2})(?::([0-9]{2}))?(?: *([ap])\.?m\.?)?"
_YEAR_FIRST, _YEAR_LAST = (
    re.compile("[-/.]".join(f"([0-9]{{{count}}})" for count in counts) + _CLOCK, re.IGNORECASE)
    for counts in (("4", "1,2", "1,2"), ("1,2", "1,2", "4"))
)
_LOOSE: dict[Dates, tuple[re.Pattern[str], tuple[int, int, int], str]] = {
    "year first": (_YEAR_FIRST, (1, 2, 3), "2027-01-31 06:00"),
    "day first": (_YEAR_LAST, (3, 2, 1), "31/01/2027 06:00"),
    "month first": (_YEAR_LAST, (3, 1, 2), "1/31/2027 6:00 am"),
}
"""Times as people write them: the pattern, the places of year, month and day in it, one as an example."""

NO_STAMP = "date and time to the minute or the second, as in 2027-01-04T06:00 or 2027-01-04 06:00:00"

Cells = list[tuple[int, str]]
"""Cells, each with its line."""


@dataclass(frozen=True, slots=True)
class Row:
    """One moment on the clock of the file; `value` is None where the cell is empty."""

    line: int
    stamp: datetime
    value: float | None


@dataclass(frozen=True, slots=True)
class Sheet:
    """The cells of a file, each row with its line; the header stands apart."""

    header: tuple[str, ...]
    rows: Sequence[tuple[int, Sequence[str]]]


def read_sheet(text: str, complaints: Complaints) -> Sheet:
    """The cells of a text with commas or, if its first line has one, semicolons between them.

    Rows without any text are passed over. Rows that are no rows of the table are told and left out.
    """
    first = text.partition("\n")[0]
    rows: list[tuple[int, list[str]]] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=";" if ";" in first else ",", strict=True)
    begins = 1  # the line in which a row does: quotes may hold the ends of lines
    try:
        for row in reader:
            if any(row):
                rows.append((begins, row))
            begins = reader.line_num + 1
    except csv.Error as error:
        complaints.add([reader.line_num], f"a line that is no CSV: {error}", "CSV", "quotes in pairs, or none")
    if not rows or not first.strip():
        complaints.add([1], "no header", "the names of the columns in the first line", "a first line with them")
        complaints.stop()
    header = tuple(name.strip() for name in rows[0][1])
    if len(header) == 1:
        complaints.add(
            [rows[0][0]],
            f"one column, {shown(header[0])}",
            "a column of times and one of numbers",
            "commas or semicolons between the columns",
        )
        complaints.stop()
    wrong = [(line, len(row)) for line, row in rows if len(row) != len(header)]
    if wrong:
        complaints.add(
            [line for line, _ in wrong],
            _count(wrong[0][1]),
            f"{_count(len(header))}, as in the first line",
            "one cell for each column; a comma for decimals, which cuts a number in two, has to be a point",
        )
    return Sheet(header, [row for row in rows[1:] if len(row[1]) == len(header)])


def _count(count: int) -> str:
    return "1 cell" if count == 1 else f"{count} cells"


def read_rows(sheet: Sheet, time: int, column: int, complaints: Complaints) -> list[Row]:
    """Times and numbers of two columns by their places.

    Rows in which either cannot be read are told, and where nothing else is wrong too few rows.
    """
    stamps = read_stamps(sheet, (time,), complaints)
    numbers = read_numbers(sheet, column, complaints)
    tell_too_few(len(stamps), complaints)
    complaints.stop()
    return [Row(line, stamp, number) for (line, _), stamp, number in zip(sheet.rows, stamps, numbers, strict=True)]


def read_stamps(
    sheet: Sheet, columns: Sequence[int], complaints: Complaints, dates: Dates | None = None
) -> list[datetime]:
    """The time in one column, or with its date in another, of every row; those that are none are told and left out.

    As ISO 8601 has them or, where `dates` says how they stand, as people write them.
    """
    stamps: list[datetime] = []
    wrong: Cells = []
    for line, cells in sheet.rows:
        text = " ".join(cells[column].strip() for column in columns)
        stamp = stamp_of(text, dates)
        if stamp is None:
            wrong.append((line, text))
        else:
            stamps.append(stamp)
    _tell_stamps(wrong, complaints, dates)
    return stamps


def read_numbers(sheet: Sheet, column: int, complaints: Complaints) -> list[float | None]:
    """The number in a column of every row, None where its cell is empty; what is none is told and left out."""
    numbers: list[float | None] = []
    wrong: Cells = []
    for line, cells in sheet.rows:
        text = cells[column].strip()
        number = _number(text) if text else None
        if text and number is None:
            wrong.append((line, text))
        else:
            numbers.append(number)
    _tell_numbers(wrong, complaints)
    return numbers


def tell_too_few(rows: int, complaints: Complaints) -> None:
    """Where nothing else is wrong, that there are too few rows."""
    if not complaints.problems and rows < 2:
        given = "one row" if rows else "no row"
        complaints.add([1], f"{given} below the names of the columns", "two rows or more", "a longer file")


def stamp_of(text: str, dates: Dates | None) -> datetime | None:
    """The time that a text says, as ISO 8601 or in an order of its date; None if it says none within the years."""
    try:
        stamp = datetime.fromisoformat(text) if _STAMP.fullmatch(text) else dates and _loosely(text, dates)
    except ValueError:
        return None
    return stamp if stamp and EARLIEST <= stamp.year <= LATEST else None


def _loosely(text: str, dates: Dates) -> datetime | None:
    """A time as people write it, None if it is none; ValueError for one that no clock or calendar has."""
    pattern, places, _ = _LOOSE[dates]
    found = pattern.fullmatch(text)
    if found is None:
        return None
    hour, half = int(found[4]), (found[7] or "").lower()
    if half:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if half == "p" else 0)
    year, month, day = (int(found[place]) for place in places)
    return datetime(year, month, day, hour, int(found[5]), int(found[6] or 0))


def _number(text: str) -> float | None:
    return float(text) if _NUMBER.fullmatch(text) else None


def _tell_stamps(wrong: Cells, complaints: Complaints, dates: Dates | None) -> None:
    offset, other = _parted(wrong, _WITH_OFFSET.fullmatch)
    if dates is not None:
        others = complaints.remedy("dates", *(order for order in _LOOSE if order != dates))
        complaints.add_cells(
            other,
            f"date and time, the {dates}, as in {_LOOSE[dates][2]}, years {EARLIEST} to {LATEST}",
            f"{others} where the dates stand so; a time in every row",
        )
        other = []
    complaints.add_cells(
        offset,
        "times without an offset of their own: the case says the zone of the whole column",
        'leaving the offset out of the file; for times that end in Z the case says zone = "UTC"',
    )
    complaints.add_cells(
        other,
        f"{NO_STAMP}, years {EARLIEST} to {LATEST}",
        "the year first, then month and day, hyphens between; hours from 00 to 23",
    )


def _tell_numbers(wrong: Cells, complaints: Complaints) -> None:
    comma, other = _parted(wrong, _DECIMAL_COMMA.fullmatch)
    complaints.add_cells(comma, "numbers with a point for decimals", "a point in place of each comma")
    complaints.add_cells(other, "a number, or an empty cell", "an empty cell where there is no number")


def _parted(cells: Cells, test: Callable[[str], object]) -> tuple[Cells, Cells]:
    """The cells whose text passes a test, and the others."""
    return [each for each in cells if test(each[1])], [each for each in cells if not test(each[1])]
