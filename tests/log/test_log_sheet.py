"""The sheet for a log by hand: its columns are read back, it is black and white, a page of either paper holds it."""

import csv
import io
import re
from pathlib import Path
from typing import Any

import html5lib
import pytest

from sim.case.load import load_case
from sim.case.quantities import System
from sim.case.units import GALLON, PSI
from sim.log.reading import read_log_text
from sim.log.records import Washed, What
from sim.tell.log.log_sheet import blank_log

CASES = Path("cases")
FILLED = {
    "date": ("31/01/2027", "01/02/2027"),
    "time": ("07:30", "07:30"),
    "flow": ("24", "36"),
    "total": ("1000", "1500"),
    "pressure drop": ("5.5", "3.5"),
    "wash": ("", "22:30"),
    "drained": ("", "900"),
}


def heads_of(html: str) -> list[list[str]]:
    """The heads of the columns of every sheet."""
    root = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(html)
    tables = [["".join(head.itertext()) for head in table.iter("th")] for table in root.iter("table")]
    assert {len(list(table.iter("tr"))) for table in root.iter("table")} == {32}
    return tables


def filled(heads: list[str]) -> str:
    """A sheet typed as CSV, with numbers for all that is not named in FILLED."""
    file = io.StringIO()
    rows = csv.writer(file, lineterminator="\n")
    rows.writerow(heads)
    for day in range(2):
        rows.writerow([FILLED.get(head.partition(" [")[0], ("40.5", "41"))[day] for head in heads])
    return file.getvalue()


@pytest.mark.parametrize("system", ["si", "us"])
@pytest.mark.parametrize("name", ["laundry", "parts_hall", "lens_works"])
def test_what_is_written_in_its_columns_is_read_back(name: str, system: System) -> None:
    case = load_case(CASES / f"{name}.toml")
    sheets = heads_of(blank_log(case, system))
    assert len(sheets) == len(case.stages)
    for heads in sheets:
        log = read_log_text(filled(heads), "typed.csv", dates="day first")
        assert {each.what for each in log.series} | {What.WASH} == {
            What(head.partition(" [")[0]) for head in heads[2:] if ", " not in head
        }  # fmt: skip
        assert (log.length, log.start.day) == (86_400.0, 31)
        unit, pressure = {"si": (1.0, 1e3), "us": (GALLON, PSI)}[system]
        assert log.washes == (Washed(start=15 * 3600.0, end=None, drained=pytest.approx(900 * unit), found="marked"),)
        drop, total = log.of(What.PRESSURE_DROP), log.of(What.TOTAL)
        assert drop is not None
        assert total is not None
        assert drop.values == pytest.approx([5.5 * pressure, 3.5 * pressure])
        assert total.values == pytest.approx([1000 * unit, 1500 * unit])


def test_a_softener_has_hardness_and_carbon_has_chlorine() -> None:
    case = load_case(CASES / "lens_works.toml")
    sheets = heads_of(blank_log(case, "si"))
    names = {stage.name: heads for stage, heads in zip(case.stages, sheets, strict=True)}
    with_hardness = {name for name, heads in names.items() if "hardness out [mg/L]" in heads}
    with_chlorine = {name for name, heads in names.items() if "chlorine out [mg/L]" in heads}
    media = {stage.name: {layer.medium for layer in stage.layers} for stage in case.stages}
    assert with_hardness == {name for name, each in media.items() if "resin" in each} != set()
    assert with_chlorine == {name for name, each in media.items() if "carbon" in each} != set()


def test_what_else_a_stage_may_send_on_has_a_column_that_is_not_read_back() -> None:
    case = load_case(CASES / "lens_works.toml")
    for stage, heads in zip(case.stages, heads_of(blank_log(case, "si")), strict=True):
        kinds = ("hardness", "iron", "manganese", "chlorine")
        limits = {key for key in kinds if getattr(stage.limits, key) is not None}
        assert limits <= {head.partition(" out")[0] for head in heads}
        extra = [head for head in heads if ", " in head]
        assert len(extra) == len(set(extra)) <= len(limits)
        with_them = read_log_text(filled(heads), "typed.csv", dates="day first")
        without = read_log_text(filled([each for each in heads if each not in extra]), "typed.csv", dates="day first")
        assert with_them == without
    assert any(stage.limits.iron is not None for stage in case.stages)


def test_it_is_black_and_white() -> None:
    html = blank_log(load_case(CASES / "laundry.toml"), "si")
    assert set(re.findall(r"(?:color|background):\s*(\w+)", html)) == {"black", "white"}
    assert not re.search(r"#[0-9a-fA-F]{3}|rgb|hsl|<img|https?:", html)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_page_holds_a_sheet(browser: Any, paper: str, tmp_path: Path) -> None:
    case = load_case(CASES / "lens_works.toml")
    path = tmp_path / "log.html"
    path.write_text(blank_log(case, "us"), encoding="utf-8")
    page = browser.new_page()
    page.goto(path.as_uri())
    printed = page.pdf(format=paper)
    page.close()
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == len(case.stages)
