"""The report in a browser without a network: nothing asked for, nothing complained of, printed on both papers."""

import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from plots.gallery import draw_all
from plots.report import report_html
from tests.plots.made import TITLE, made_head, made_pictures, made_report

PDFTOTEXT = shutil.which("pdftotext")
CAUTION = "A planning aid: local codes and a licensed practitioner decide."

@pytest.fixture(scope="module")
def opened(browser: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Any, list[str], list[str]]]:
    """The page, the addresses it asked for, and what the console said."""
    path = tmp_path_factory.mktemp("report") / "report.html"
    path.write_text(report_html(made_report(), draw_all(made_pictures()), made_head()), encoding="utf-8")
    asked: list[str] = []
    said: list[str] = []
    context = browser.new_context(offline=True)
    page = context.new_page()
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("dialog", lambda dialog: said.append(dialog.message))
    page.goto(path.as_uri())
    page.wait_for_load_state("load")
    yield page, [address for address in asked if address != path.as_uri()], said
    context.close()


def test_it_asks_for_nothing_and_the_console_is_silent(opened: tuple[object, list[str], list[str]]) -> None:
    _, asked, said = opened
    assert [address for address in asked if not address.startswith("data:")] == []
    assert said == []


def test_title_and_pictures_are_shown(opened: tuple[object, list[str], list[str]]) -> None:
    page: object = opened[0]
    assert page.title() == TITLE  # type: ignore[attr-defined]
    widths = page.evaluate("[...document.images].map(image => image.complete && image.naturalWidth)")  # type: ignore[attr-defined]
    assert len(widths) == 5
    assert all(width > 400 for width in widths)


def test_nothing_sticks_out_of_a_small_screen(opened: tuple[object, list[str], list[str]]) -> None:
    page: object = opened[0]
    page.set_viewport_size({"width": 390, "height": 800})  # type: ignore[attr-defined]
    assert page.evaluate("document.documentElement.scrollWidth") <= 390  # type: ignore[attr-defined]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_every_printed_page_has_the_caution_at_its_foot(
    opened: tuple[object, list[str], list[str]], paper: str, tmp_path: Path
) -> None:
    if PDFTOTEXT is None:
        pytest.skip("pdftotext is not installed (Debian: apt install poppler-utils)")
    path = tmp_path / "report.pdf"
    opened[0].pdf(path=path, format=paper)  # type: ignore[attr-defined]
    done = subprocess.run([PDFTOTEXT, "-layout", path, "-"], capture_output=True, text=True, check=True)
    pages = done.stdout.split("\f")[:-1]
    assert len(pages) >= 3
    for number, text in enumerate(pages, 1):
        last = [line for line in text.splitlines() if line.strip()][-1]
        assert CAUTION in last
        assert last.replace(" ", "").endswith(f"{number}/{len(pages)}")
