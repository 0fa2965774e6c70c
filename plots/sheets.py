"""The workbook: every table of a study, one sheet each, numbers as numbers and text as text."""

import io
import math
from collections.abc import Sequence
from datetime import datetime
from typing import Any

import pandas as pd
import xlsxwriter

from plots.inputs import Sheet

ROWS_AT_MOST = 1_000_000  # a sheet holds 1,048,576
WIDEST, NARROWEST = 60, 8  # characters
MEASURED_ROWS = 200  # rows that a column's width is taken from
MADE = datetime(2000, 1, 1)  # the time of making is left out, so that the same study gives the same bytes

# A text stays a text, whatever it begins with.
_OPTIONS = {
    "in_memory": True,
    "strings_to_formulas": False,
    "strings_to_numbers": False,
    "strings_to_urls": False,
}


def workbook(sheets: Sequence[Sheet]) -> bytes:
    """The sheets as one XLSX file, heads frozen; a table too long for a sheet goes on in the next one."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out, _OPTIONS) as book:
        book.set_properties({"created": MADE})
        head = book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1})
        time = book.add_format({"num_format": "yyyy-mm-dd hh:mm:ss", "align": "left"})
        for sheet in sheets:
            for part in range(0, max(len(sheet.table), 1), ROWS_AT_MOST):
                name = sheet.name if part == 0 else f"{sheet.name} {part // ROWS_AT_MOST + 1}"
                _fill(book.add_worksheet(name), sheet.table.iloc[part : part + ROWS_AT_MOST], head, time)
    return out.getvalue()


def _fill(page: Any, table: pd.DataFrame, head: Any, time: Any) -> None:
    page.freeze_panes(1, 0)
    for place, name in enumerate(table.columns):
        page.write_string(0, place, str(name), head)
        values = table.iloc[:, place].tolist()
        page.set_column(place, place, _width(str(name), values[:MEASURED_ROWS]))
        for row, value in enumerate(values, 1):
            _write(page, row, place, value, time)


def _write(page: Any, row: int, place: int, value: object, time: Any) -> None:
    """One cell; a missing value leaves it empty."""
    if isinstance(value, str):
        page.write_string(row, place, value)
    elif isinstance(value, datetime):
        page.write_datetime(row, place, value.replace(microsecond=0), time)
    elif isinstance(value, (int, float)) and math.isfinite(value):
        page.write_number(row, place, value)


def _width(head: str, values: Sequence[object]) -> int:
    longest = max([len(word) for word in head.split()] + [_length(value) for value in values], default=0)
    return min(max(longest + 2, NARROWEST), WIDEST)


def _length(value: object) -> int:
    return 19 if isinstance(value, datetime) else len(value) if isinstance(value, str) else 10
