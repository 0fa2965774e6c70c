"""`filterrun new --questionnaire`: the questions of a first case on paper, then notes to take, on three pages."""

import re
from pathlib import Path
from typing import Any, get_args

import html5lib
import pytest

from plots.paper import pdf_of
from plots.words import Kind, items, label, languages, speaking
from sim.cli.questionnaire import Note
from sim.tell.questions import in_words, why, without
from sim.write.questions import QUESTIONS
from tests.cli.small import call
from tests.cli.test_sheet import SIZES, holds


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_every_question_with_why_and_a_place_to_write(paper: str, language: str, tmp_path: Path) -> None:
    file = tmp_path / "visit.html"
    options = ("--questionnaire", "--paper", paper, "--language", language)
    done = call("new", file, *options)
    assert done.exit_code == 0, done.output
    assert str(file) in re.sub(r"\s", "", done.output)
    html = file.read_text(encoding="utf-8")
    tables = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(html).findall(".//tbody")
    rows, notes = (each.findall("tr") for each in tables)
    assert len(rows) == len(QUESTIONS)
    with speaking(language):
        assert [row[1].text for row in notes] == [
            label("questionnaire.note", what=Kind(each)) for each in get_args(Note)
        ]  # fmt: skip
    for row, question in zip(rows, QUESTIONS, strict=True):
        _, asked, place = ("".join(each.itertext()) for each in row)
        assert place == ""
        with speaking(language):
            words = in_words(question.key), why(question.key), without(question.key, needed=question.needed)
            only = [label("questionnaire.only", filters=items(question.filters, "or"))] if question.filters else []
        for text in (*words, *only, question.si, question.us):
            assert text in asked
    again = tmp_path / "again.html"
    call("new", again, *options)
    assert again.read_text(encoding="utf-8") == html


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_it_holds_on_three_pages(paper: str, language: str, browser: Any, tmp_path: Path) -> None:
    pytest.importorskip("weasyprint")
    file = tmp_path / "visit.html"
    call("new", "--questionnaire", file, "--paper", paper, "--language", language)
    file.with_suffix(".pdf").write_bytes(pdf_of(file.read_text(encoding="utf-8")))
    holds(browser, tmp_path / "visit", 3, SIZES[paper])


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


@pytest.mark.parametrize(("name", "why"), [("visit.toml", "ends in .html"), (f"{'v' * 300}.html", "cannot write")])
def test_a_file_that_cannot_hold_it_is_refused(name: str, why: str, tmp_path: Path) -> None:
    done = call("new", tmp_path / name, "--questionnaire")
    assert done.exit_code == 2
    assert why in done.stderr
    assert not list(tmp_path.iterdir())


def test_a_line_end_in_its_name_is_told_on_the_line(tmp_path: Path) -> None:
    done = call("new", tmp_path / "two\nlines.html", "--questionnaire")
    assert done.exit_code == 0
    assert r"two\nlines.html" in done.stderr
    assert done.stderr.count("\n") == 1
