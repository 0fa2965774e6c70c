"""Sixty bad logs: each is one clear error, or is read under a remedy that is named; nothing is written."""

import io
import re
import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest

from sim.errors import CaseError
from sim.log.reading import read_log
from sim.log.records import What
from tests.case.samples import SMALL, changed
from tests.cli.small import call

GOOD = """time,total [m3],pressure drop [kPa],wash,drained [L]
2027-01-04 06:00,100,10.0,,
2027-01-04 18:00,150,12.5,,
2027-01-05 06:00,200,9.5,02:30,900
2027-01-05 18:00,250,12.0,,
"""
HEAD, FIRST, SECOND, THIRD, FOURTH = GOOD.splitlines()
FLOW_ALONE = "time,flow [m3/h]\n" + "".join(f"2027-01-04 {h:02}:00,5\n" for h in range(24) if not 9 < h < 14)
SHEET = "xl/worksheets/sheet1.xml"
LAYER = "[[stage.layer]]"
READING = '[[stage.reading]]\ntime = 2027-01-0{}T06:00:00\ntotal = "{}"\n'


def with_(old: str, new: str) -> str:
    """The good log with one text put for another, which must stand in it once."""
    assert GOOD.count(old) == 1
    return GOOD.replace(old, new)


def day_first(text: str) -> str:
    return text.replace("2027-01-04", "4.1.2027").replace("2027-01-05", "5.1.2027")


def stuck(value: str = "12.5") -> str:
    rows = (f"2027-01-{4 + h // 24:02} {h % 24:02}:00,{h},{value if h < 40 else h}\n" for h in range(60))
    return "time,total [m3],pressure drop [kPa]\n" + "".join(rows)


REFUSED: dict[str, tuple[str, tuple[str, ...]]] = {
    # The file as such.
    "nothing at all": ("", ("line 1", "no header")),
    "a line end alone": ("\n\n", ("no header",)),
    "a header alone": (HEAD + "\n", ("no row below", "two rows or more")),
    "one row": (f"{HEAD}\n{FIRST}\n", ("one row below",)),
    "one column": ("time\n2027-01-04 06:00\n", ("one column",)),
    "tabs between cells": (GOOD.replace(",", "\t"), ("one column", "commas or semicolons")),
    "a cell too many": (with_(SECOND, SECOND + ",7"), ("line 3", "6 cells", "5 cells")),
    "a cell too few": (with_(SECOND, "2027-01-04 18:00,150,12.5"), ("line 3", "3 cells")),
    "a decimal comma": (with_("12.5", "12,5"), ("6 cells", "has to be a point")),
    "a decimal comma between semicolons": (
        GOOD.replace(",", ";").replace("12.5", "12,5"), ("a point in place of each comma",)),
    "an open quote": (with_("12.5", '"12.5'), ("a line that is no CSV",)),
    "a very long line": (with_("12.5", "1" * 30_000), ("line 3", "characters")),
    # The columns.
    "no header row": (GOOD.removeprefix(HEAD + "\n"), ("one or more of flow, total",)),
    "no column that is known": (with_(HEAD, "when,a,b,c,d"), ("each with its unit", "naming the columns")),
    "no unit": (with_("total [m3]", "total"), ("total without a unit", "as in total [m3]")),
    "a unit of something else": (with_("total [m3]", "total [kPa]"), ('total in "kPa"', "a volume in m3")),
    "a unit that there is none of": (with_("[kPa]", "[kpa]"), ('"kPa", "Pa" or "MPa", the nearest by name',)),
    "a name slightly wrong": (with_("pressure drop", "presure drop"), ('"pressure drop", the nearest by name',)),
    "two columns of one kind": (with_("pressure drop [kPa]", "total [gal]"), ("two columns of total",)),
    "neither flow nor total": (with_("total [m3]", "serial"), ("no flow and no total",)),
    # The times.
    "a time that is none": (with_("2027-01-04 18:00", "yesterday"), ("line 3", "yesterday", "date and time")),
    "a date without a time": (with_("2027-01-04 18:00", "2027-01-04"), ("line 3", "a time in every row")),
    "an empty time": (with_("2027-01-04 18:00", ""), ("line 3", '""')),
    "the day first, not said": (with_("2027-01-04 18:00", "04/01/2027 18:00"), ("line 3", '"day first"')),
    "a day that there is none of": (with_("2027-01-04 18:00", "2027-02-30 18:00"), ("line 3", "2027-02-30")),
    "an hour that there is none of": (with_("2027-01-04 18:00", "2027-01-04 25:00"), ("line 3", "25:00")),
    "a year of two digits": (with_("2027-01-04 18:00", "27-01-04 18:00"), ("line 3", "27-01-04")),
    "a year out of reach": (with_("2027-01-04 18:00", "1027-01-04 18:00"), ("line 3", "years 1900 to 2200")),
    "an offset": (with_("2027-01-04 18:00", "2027-01-04T18:00+02:00"), ("line 3", "without an offset")),
    "the newest first": (
        "\n".join([HEAD, FOURTH, THIRD, SECOND, FIRST]) + "\n", ("lines 3, 4 and 5", "sorting the rows by time")),
    "a time twice": (with_("2027-01-04 18:00", "2027-01-04 06:00"), ("line 3", "every time once")),
    "a year mistyped in the last row": (with_("2027-01-05 18:00", "2072-01-05 18:00"), ("line 5", "up to 3,653")),
    # The numbers.
    "a word for a number": (with_("12.5", "full"), ("line 3", "pressure drop", '"full"', "an empty cell")),
    "a question mark": (with_("12.5", "?"), ("line 3", "a number, or an empty cell")),
    "a unit in the cell": (with_("12.5", "12.5 kPa"), ("line 3", "12.5 kPa")),
    "no number at all": (with_("12.5", "nan"), ("line 3", "nan")),
    "a number without end": (with_("12.5", "1e999"), ("line 3", "values up to 10 bar")),
    "a thousands mark": (with_("150,12.5", '"1,150",12.5'), ("line 3", "1,150", "a point")),
    "a pressure drop below zero": (with_("12.5", "-1.5"), ('negative = "zero" or negative = "gap"',)),
    "a pressure drop of another unit": (with_("12.5", "12500"), ("12500 kPa", "is the unit the one that was meant?")),
    "a gauge that stands still": (stuck(), ("without a change", 'stuck = "gap"')),
    "a total that falls": (with_("200", "20"), ("line 4", "20 m3, after 150 m3", 'resets = "count on"')),
    "ice": (with_("pressure drop [kPa]", "temperature [degF]"), ("values from 0 degC on",)),
    "a gap in the flow": (FLOW_ALONE, ("missing values, 4 in all", 'gaps = "interpolate" or "hold"')),
    "no flow at first": (FLOW_ALONE.replace("00:00,5", "00:00,", 1), ("no flow in the first row",)),
    "litres to drain below zero": (with_("900", "-900"), ("drained", 'negative = "zero"')),
    # The marks.
    "a mark that is none": (with_("02:30", "maybe"), ("wash", '"maybe"', "the time of day at which it began")),
    "a mark that no clock shows": (with_("02:30", "26:30"), ("wash", "26:30")),
    "a wash after its reading": (with_("02:30", "2027-01-05 07:00"), ("wash", "2027-01-05 07:00")),
}  # fmt: skip

MENDED: dict[str, tuple[str, dict[str, str], What, int]] = {
    "the day first": (day_first(GOOD), {"dates": "day first"}, What.TOTAL, 4),
    "below zero, taken as missing": (with_("12.5", "-1.5"), {"negative": "gap"}, What.PRESSURE_DROP, 3),
    "below zero, taken as zero": (with_("12.5", "-1.5"), {"negative": "zero"}, What.PRESSURE_DROP, 4),
    "stuck, taken as missing": (stuck(), {"stuck": "gap"}, What.PRESSURE_DROP, 20),
    "stuck, kept": (stuck(), {"stuck": "keep"}, What.PRESSURE_DROP, 60),
    "a total counted on": (with_("200", "20"), {"resets": "count on"}, What.TOTAL, 4),
    "a gap held over": (FLOW_ALONE, {"gaps": "hold"}, What.FLOW, 24),
    "a gap interpolated": (FLOW_ALONE, {"gaps": "interpolate"}, What.FLOW, 24),
}  # fmt: skip


def of_workbook(beside: int = 0, **entries: bytes) -> bytes:
    """A workbook in order, with some of its parts in place of its own, and so many MiB of nothing beside them."""
    book, kept = openpyxl.Workbook(), io.BytesIO()
    sheet = book.active
    assert sheet is not None
    for row in GOOD.splitlines():
        sheet.append(row.split(","))
    book.save(kept)
    made = io.BytesIO()
    with zipfile.ZipFile(kept) as old, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            new.writestr(name, entries.pop(name, old.read(name)))
        with new.open("xl/media/nothing", "w") as part:
            for _ in range(beside):
                part.write(bytes(1 << 20))
    return made.getvalue()


def far_away() -> bytes:
    """A sheet of two cells, one at its farthest corner: 17 billion cells if somebody made a table of it."""
    corner = b'<row r="1"><c r="A1"><v>1</v></c></row><row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'
    return of_workbook(**{SHEET: sheet_with(corner)})


def sheet_with(rows: bytes) -> bytes:
    space = b"http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    return b'<worksheet xmlns="' + space + b'"><sheetData>' + rows + b"</sheetData></worksheet>"


FILES: dict[str, tuple[str, Callable[[], bytes], tuple[str, ...]]] = {
    "no text": ("log.csv", lambda: b"time,total [m3]\n\xff\xfe", ("0xff", "saving the file as UTF-8")),
    "a workbook that is none": ("log.xlsx", lambda: b"PK\x03\x04 and nothing", ("no workbook", "saving it anew")),
    "half a workbook": ("log.xlsx", lambda: of_workbook()[:2000], ("no workbook",)),
    "an empty workbook": ("log.xlsx", lambda: of_workbook(**{SHEET: sheet_with(b"")}), ("an empty sheet",)),
    "a cell far away": ("log.xlsx", far_away, ("1,048,576 rows and 16,384 columns", "up to 256 MiB")),
    "a workbook that unpacks too far": ("log.xlsx", lambda: of_workbook(beside=257), ("257 MiB unpacked",)),
    "a case that is none": ("log.toml", lambda: b"title = \n", ("TOML",)),
    "a case without readings": ("log.toml", lambda: SMALL.encode(), ("no readings", "[[stage.reading]]")),
    "readings out of order": ("log.toml", lambda: changed(
        (LAYER, READING.format(5, "9 m3") + READING.format(4, "8 m3") + LAYER)).encode(), ("sorting the rows",)),
    "a reading in a wrong unit": ("log.toml", lambda: changed(
        (LAYER, READING.format(4, "9 m3") + READING.format(5, "9 kPa") + LAYER)).encode(), ("a volume in m3",)),
}  # fmt: skip


def test_the_good_one_is_read(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text(GOOD, encoding="utf-8")
    log = read_log(path)
    assert [wash.start for wash in log.washes] == [20.5 * 3600.0]
    assert len(REFUSED) + len(MENDED) + len(FILES) >= 60


@pytest.mark.parametrize("name", REFUSED)
def test_a_bad_log_is_one_clear_error(name: str, tmp_path: Path) -> None:
    text, words = REFUSED[name]
    refuse("log.csv", text.encode(), words, tmp_path)


@pytest.mark.parametrize("name", FILES)
def test_a_bad_file_is_one_clear_error(name: str, tmp_path: Path) -> None:
    file, made, words = FILES[name]
    refuse(file, made(), words, tmp_path)


KEY = re.compile(r"\b(negative|stuck|gaps|resets|dates|stuck_after|length) = ")
"""A remedy as a case has it, where the command line has an option."""


def refuse(file: str, content: bytes, words: tuple[str, ...], folder: Path) -> None:
    """One problem, with these words; the file as it was, and nothing beside it."""
    path = folder / file
    path.write_bytes(content)
    with pytest.raises(CaseError) as caught:
        read_log(path)
    (problem,) = caught.value.problems
    assert problem.given
    assert problem.allowed
    assert problem.try_
    text = str(problem)
    assert file in text
    assert [each for each in words if each not in text] == [], text
    (folder / "case.toml").write_text(SMALL, encoding="utf-8")
    done = call("fit", path, folder / "case.toml", "--out", folder / "new.toml", "--report", folder / "out")
    assert (done.exit_code, done.stdout) == (2, "")
    assert problem.given in done.stderr
    assert KEY.search(done.stderr) is None
    assert {each.name for each in folder.iterdir()} == {file, "case.toml"}
    assert path.read_bytes() == content


@pytest.mark.parametrize("name", MENDED)
def test_a_bad_log_is_read_under_the_remedy_that_is_named(name: str, tmp_path: Path) -> None:
    text, how, what, count = MENDED[name]
    path = tmp_path / "log.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(CaseError):
        read_log(path)
    log = read_log(path, **how)  # type: ignore[arg-type]
    series = log.of(what)
    assert series is not None
    assert len(series.values) == count
    assert bool(log.remedies) == (how not in ({"dates": "day first"}, {"stuck": "keep"}))
