"""The workbook as another program reads it: texts that stay texts, numbers, dates, heads that stay in view."""

import io
from datetime import datetime

import openpyxl
import pytest

from plots import sheets as sheets_module
from plots.sheets import workbook
from tests.plots.made import START, made_sheets


def read(data: bytes) -> openpyxl.Workbook:
    return openpyxl.load_workbook(io.BytesIO(data))


def test_text_stays_text_whatever_it_begins_with() -> None:
    page = read(workbook(made_sheets()))["Comparison"]
    assert [(cell.value, cell.data_type, cell.hyperlink) for cell in page["A"]][1:] == [
        ("=1+1", "s", None), ("+1", "s", None), ("@SUM(A1)", "s", None), ("https://example.org", "s", None),
        ("007", "s", None),
    ]  # fmt: skip
    assert b"<f>" not in workbook(made_sheets())


def test_numbers_are_numbers_and_what_is_missing_is_empty() -> None:
    page = read(workbook(made_sheets()))["Comparison"]
    assert [cell.value for cell in page["B"]] == ["water to drain, m3", 52.3, None, None, 0, 3]


def test_dates_are_dates() -> None:
    page = read(workbook(made_sheets()))["Comparison"]
    assert page["C2"].value == START
    assert isinstance(page["C2"].value, datetime)


def test_heads_stay_in_view_even_over_an_empty_table() -> None:
    book = read(workbook(made_sheets()))
    assert book.sheetnames == ["Comparison", "Empty"]
    for page in book:
        assert page.freeze_panes == "A2"
        assert [cell.value for cell in page[1]] == ["stage", "water to drain, m3", "time"]
        assert page["A1"].font.bold


def test_a_table_too_long_for_a_sheet_goes_on_in_the_next(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sheets_module, "ROWS_AT_MOST", 2)
    book = read(workbook(made_sheets()))
    assert book.sheetnames == ["Comparison", "Comparison 2", "Comparison 3", "Empty"]
    assert [len(list(page.rows)) for page in book] == [3, 3, 2, 1]
    assert book["Comparison 3"]["A2"].value == "007"


def test_the_same_tables_give_the_same_bytes() -> None:
    assert workbook(made_sheets()) == workbook(made_sheets())
