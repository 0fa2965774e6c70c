"""The table of a log, whatever holds it: a CSV file, a workbook, or the readings of a case."""

import io
import re
import zipfile
from datetime import date, datetime, time
from functools import reduce
from pathlib import Path
from typing import Any

from sim.case.line_numbers import line_numbers
from sim.case.mistakes import case_error
from sim.case.reading import read_tables
from sim.case.series.sheet import Complaints, Sheet, read_sheet
from sim.case.source import CASE_FILE, MIB, FileKind, decoded, parse_toml, read_bytes, text_of
from sim.case.spelling import escaped, nearest_or, printable, shown
from sim.case.units import NUMBER_PATTERN
from sim.errors import CaseError, Problem
from sim.log.records import LIMITS, What

LOG_FILE = FileKind(
    name="a log", most_mib=64, longest_line=20_000, smaller="leaving out other columns, or a shorter log",
    shorter_lines="leaving out other columns",
)  # fmt: skip
MOST_ROWS, MOST_COLUMNS, MOST_UNPACKED = 600_000, 200, 256 * MIB
NO_BOOK = "a workbook whose first sheet has the names of the columns in its first row"

_CELL = re.compile(rb"""\br\s*=\s*["']([A-Za-z]*)([0-9]+)["']""")
_NUMBER_THEN_UNIT = re.compile(f" *({NUMBER_PATTERN}) *(.*?) *")


def sheet_of(path: Path, complaints: Complaints, stage: str | None) -> Sheet:
    """The table of a log at a path, by the end of its name; `stage` is that of a case with readings of several."""
    if path.suffix.lower() == ".toml":
        sheet = _of_case(path, stage)
    elif path.suffix.lower() == ".xlsx":
        sheet = _of_workbook(read_bytes(path, LOG_FILE), complaints)
    else:
        sheet = read_sheet(text_of(decoded(read_bytes(path, LOG_FILE), path), path, LOG_FILE), complaints)
    if len(sheet.rows) > MOST_ROWS:
        complaints.add([1], f"{len(sheet.rows):,} rows", f"up to {MOST_ROWS:,}", LOG_FILE.smaller)
    complaints.stop()
    return sheet


def _of_workbook(content: bytes, complaints: Complaints) -> Sheet:
    """The first sheet of a workbook, its cells as a CSV file would have them."""
    from python_calamine import CalamineWorkbook

    rows: list[tuple[int, list[str]]] = []
    try:
        size, last, width = _unpacked(content)
        fits = size <= MOST_UNPACKED and last <= MOST_ROWS + 1 and width <= MOST_COLUMNS
        if fits:
            found = CalamineWorkbook.from_filelike(io.BytesIO(content)).get_sheet_by_index(0)
            first = 1 + (found.start or (0, 0))[0]
            texts = enumerate(([_text_of(cell) for cell in row] for row in found.iter_rows()), first)
            rows = [(line, cells) for line, cells in texts if any(cells)]
    except Exception as error:  # of all kinds: the archive, its compression, the XML in it
        given = f"a file that is no workbook: {printable(str(error))}"
        complaints.add([1], given, NO_BOOK, "saving it anew as .xlsx, or as CSV")
        complaints.stop()
    if not fits:
        given = f"a workbook of {size / MIB:,.0f} MiB unpacked, {last:,} rows and {width:,} columns"
        allowed = f"up to {MOST_UNPACKED // MIB} MiB, {MOST_ROWS:,} rows and {MOST_COLUMNS} columns"
        complaints.add([1], given, allowed, "the log alone in a new workbook, or as CSV")
    elif not rows:
        complaints.add([1], "an empty sheet", NO_BOOK, "the log as the first sheet")
    complaints.stop()
    return Sheet(tuple(name.strip() for name in rows[0][1]), rows[1:])


def _unpacked(content: bytes) -> tuple[int, int, int]:
    """What the parts of a workbook unpack to [bytes] and, where that is not too much, its last row and column.

    Both are bounded before anything is built: two cells far apart would make a table of billions.
    """
    with zipfile.ZipFile(io.BytesIO(content)) as book:
        size, last, width = sum(part.file_size for part in book.infolist()), 0, 0
        for part in book.infolist() if size <= MOST_UNPACKED else ():
            for cell in _CELL.finditer(book.read(part)):  # to its end, so it is as long as it says
                last, width = max(last, int(cell[2][:12])), max(width, _place(cell[1][:12]))
    return size, last, width


def _place(letters: bytes) -> int:
    """The number of a column.

    >>> _place(b"AB")
    28
    """
    return reduce(lambda place, letter: 26 * place + letter - 64, letters.upper(), 0)


def _text_of(cell: object) -> str:
    match cell:
        case bool():
            return "1" if cell else ""
        case float():
            return f"{cell:.12g}"
        case datetime():
            return cell.replace(microsecond=0).isoformat()
        case date():  # also a time at midnight
            return f"{cell.isoformat()}T00:00:00"
        case time():
            return cell.replace(microsecond=0).isoformat()
        case _:
            return str(cell).strip()


def _of_case(path: Path, stage: str | None) -> Sheet:
    """The readings of one stage of a case, its key as the unit of a column where it is written so."""
    text = text_of(decoded(read_bytes(path, CASE_FILE), path), path, CASE_FILE)
    data = parse_toml(text, path)
    _, refused, more = read_tables(data)
    if refused:
        raise case_error(refused, data, text, escaped(str(path)), (), more)
    kept = {each["name"]: place for place, each in enumerate(data["stage"]) if "reading" in each}
    name = next(iter(kept), None) if stage is None and len(kept) == 1 else stage
    if name not in kept:
        given = "no readings" if name is None else f"no readings of the stage {shown(name)}"
        allowed = ", ".join(map(shown, kept)) or "[[stage.reading]]"
        try_ = nearest_or(name or "", kept, "a table [[stage.reading]] for each, or a log in a file of its own")
        if stage is None and kept:
            given, try_ = "readings of several stages", "naming one of them"
        raise CaseError((Problem(escaped(str(path)), None, "stage", given, allowed, try_),))
    lines, place = line_numbers(text), kept[name]
    readings, keys = data["stage"][place]["reading"], {each: str(each).replace(" ", "_") for each in LIMITS}
    cells = {what: [_parts(each[keys[what]]) if keys[what] in each else None for each in readings] for what in LIMITS}
    units = {what: next(each[1] for each in column if each) for what, column in cells.items() if any(column)}
    rows = [
        (
            lines["stage", place, "reading", number],
            [
                reading["time"].isoformat(timespec="seconds"), "1" if reading.get("wash") else "",
                *(_number_in(cells[what][number], LIMITS[what].kind.units, unit) for what, unit in units.items()),
            ],
        )
        for number, reading in enumerate(readings)
    ]  # fmt: skip
    return Sheet(("time", str(What.WASH), *(f"{what} [{unit}]" for what, unit in units.items())), rows)


def _number_in(given: tuple[str, str] | None, units: Any, unit: str) -> str:
    if given is None:
        return ""
    number, own = given
    return number if own == unit else f"{units[unit].from_si(units[own].to_si(float(number))):.9g}"


def _parts(quantity: str) -> tuple[str, str]:
    """The number and the unit of a quantity that is in order."""
    found = _NUMBER_THEN_UNIT.fullmatch(quantity)
    assert found is not None
    return found[1], found[len(found.groups())]
