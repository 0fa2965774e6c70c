"""`filterrun new --questionnaire`: the questions of a first case on paper, all of them, on two pages."""

import re
from pathlib import Path
from typing import Any

import html5lib
import pytest

from plots.paper import pdf_of
from sim.write.questions import QUESTIONS
from tests.cli.small import call
from tests.cli.test_sheet import SIZES, holds


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_every_question_with_why_and_a_place_to_write(paper: str, tmp_path: Path) -> None:
    file = tmp_path / "visit.html"
    done = call("new", "--questionnaire", file, "--paper", paper)
    assert done.exit_code == 0, done.output
    assert str(file) in re.sub(r"\s", "", done.output)
    html = file.read_text(encoding="utf-8")
    rows = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(html).findall(".//tbody/tr")
    assert len(rows) == len(QUESTIONS)
    for row, question in zip(rows, QUESTIONS, strict=True):
        _, asked, place = ("".join(each.itertext()) for each in row)
        assert place == ""
        for text in (question.words, question.explained, question.si, question.us, question.otherwise):
            assert text in asked
    softener = next(row for row, question in zip(rows, QUESTIONS, strict=True) if question.key == "hardness")
    assert "asked with softener" in "".join(softener.itertext())
    again = tmp_path / "again.html"
    call("new", again, "--questionnaire", "--paper", paper)
    assert again.read_text(encoding="utf-8") == html


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_it_holds_on_two_pages(paper: str, browser: Any, tmp_path: Path) -> None:
    pytest.importorskip("weasyprint")
    file = tmp_path / "visit.html"
    call("new", "--questionnaire", file, "--paper", paper)
    file.with_suffix(".pdf").write_bytes(pdf_of(file.read_text(encoding="utf-8")))
    holds(browser, tmp_path / "visit", 2, SIZES[paper])


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("--questionnaire", "--water", "lake"), "leave out --water"),
        (("--questionnaire", "--from", "cases/laundry.toml"), "leave out --from"),
        (("--paper", "a4"), "--paper is for --questionnaire"),
    ],
)
def test_what_makes_a_case_is_refused_beside_it(words: tuple[str, ...], why: str, tmp_path: Path) -> None:
    done = call("new", tmp_path / "visit.html", *words)
    assert done.exit_code == 2
    assert why in done.output
    assert not (tmp_path / "visit.html").exists()


def test_a_file_that_is_there_is_left(tmp_path: Path) -> None:
    file = tmp_path / "visit.html"
    file.write_text("mine", encoding="utf-8")
    assert call("new", file, "--questionnaire").exit_code == 2
    assert file.read_text(encoding="utf-8") == "mine"
