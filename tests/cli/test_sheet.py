"""`filterrun sheet`: files to print that fit their pages, alike each time; refused while a finding says stop."""

import json
import re
import shutil
import subprocess
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from plots import paper
from plots.paper import Paper
from plots.sheet import sheet_html
from plots.words import languages, speaking
from sim.case.load import load_case
from sim.case.quantities import System
from sim.case.series.records import Measured
from sim.study.sheet_runs import sheet_runs
from sim.tell.prepared import head_of
from sim.tell.sheet.sheet_words import sheet_of
from tests.cli.small import call, small_text

CASES = Path(__file__).parents[2] / "cases"
FILES = {
    "settings_sheet.html", "settings_sheet.pdf", "commissioning.html", "commissioning.pdf", "log_sheet.html",
    "sheet.json",
}  # fmt: skip
HOSTILE = "<script>alert(1)</script>&amp;"
CASE_NAMES = sorted(path.stem for path in CASES.glob("*.toml") if path.stem != "reference")  # which has no drain
needs_pdf = pytest.mark.skipif(
    not paper.can_make_pdf() or shutil.which("pdftotext") is None, reason="weasyprint or pdftotext is not installed"
)


def written(case: Path, policy: str, out: Path, *more: str | Path) -> dict[str, bytes]:
    done = call("sheet", case, "--policy", policy, "--out", out, *more)
    assert done.exit_code == 0, done.output
    return {path.name: path.read_bytes() for path in out.iterdir()}


def small(folder: Path, **changes: str) -> Path:
    path = folder / "small.toml"
    text = small_text(**changes).replace('limit = "0.6', 'longest_run = "9 d"\nlimit = "0.6')
    path.write_text(text, encoding="utf-8")
    return path


def named(folder: Path, name: str) -> Path:
    """The case with a name everywhere that somebody can give one."""
    case = small(folder, title=name)
    text = case.read_text(encoding="utf-8").replace('name = "sand"', f'name = "{name}"')
    text = text.replace('".sand]', f'"."{name}"]').replace('"by volume"', f'"{name}"')
    case.write_text(text, encoding="utf-8")
    return case


def told_by(*words: str | Path) -> str:
    return subprocess.run(words, capture_output=True, check=True, text=True).stdout


class Text(HTMLParser):
    """What a reader sees of a page, and the tags in it."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.seen, self.tags, self._style = "", set[str](), False
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.seen += " "
        self._style = tag == "style"

    def handle_endtag(self, tag: str) -> None:
        self._style = False

    def handle_data(self, data: str) -> None:
        self.seen += "" if self._style else data


@needs_pdf
def test_it_writes_the_same_bytes_twice_and_nothing_is_outside(tmp_path: Path) -> None:
    case = small(tmp_path)
    first, second = (written(case, "by volume", tmp_path / each) for each in "ab")
    assert set(first) == FILES
    assert first == second
    html = first["settings_sheet.html"].decode()
    assert not re.search(r"https?:|url\((?!\"data:)|<script|<link|<img", html)
    assert html.count("data:font/ttf;base64,") == 2
    colours = set(re.findall(r"#[0-9a-f]{3,6}\b", re.sub("base64,[^\"]*", "", html)))
    assert colours == {"#000", "#777", "#fff"}  # black, white, and grey of thin rules
    told = json.loads(first["sheet.json"])
    assert told["case_hash"] == load_case(case).source_hash
    assert told["sheet"] in html
    (stage,) = told["stages"]
    assert [each["minutes"] for each in stage["steps"]] == [9.0, 8.0]
    assert stage["starts"][0]["volume_m3"] == 360.0


def test_a_stop_of_the_review_refuses_and_lists_it(tmp_path: Path) -> None:
    done = call("sheet", CASES / "reference.toml", "--policy", "calendar", "--out", tmp_path / "out")
    assert done.exit_code == 1
    assert "air gap" in done.stderr
    assert done.stderr.endswith("The review says stop, so nothing was written.\n")
    assert not (tmp_path / "out").exists()


def test_a_folder_without_a_name_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    done = call("sheet", small(tmp_path), "--policy", "by volume", "--out", "")
    assert done.exit_code == 2
    assert "an empty name is no folder" in done.stderr


def test_a_plant_that_uses_no_water_has_an_empty_strip(tmp_path: Path) -> None:
    case = small(tmp_path)
    text = case.read_text(encoding="utf-8").replace('[demand]\nflow = "6 m3/h"', '[demand]\nflow = "0 m3/h"')
    case.write_text(text, encoding="utf-8")
    done = call("sheet", case, "--policy", "by volume", "--out", tmp_path / "out")
    assert done.exit_code == 0, done.stderr


def test_an_unknown_policy_is_refused(tmp_path: Path) -> None:
    done = call("sheet", small(tmp_path), "--policy", "by volum", "--out", tmp_path / "out")
    assert done.exit_code == 2
    assert 'did you mean "by volume"' in done.stderr
    assert not (tmp_path / "out").exists()


def test_without_weasyprint_it_says_how_to_get_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(paper, "can_make_pdf", lambda: False)
    case = small(tmp_path)
    done = call("sheet", case, "--policy", "by volume", "--out", tmp_path / "out")
    assert done.exit_code == 0
    assert 'pip install "filterrun[pdf]"' in done.stderr
    without = {each for each in FILES if not each.endswith(".pdf")}
    (tmp_path / "out" / "settings_sheet.pdf").write_bytes(b"of another sheet")
    assert call("sheet", case, "--policy", "by volume", "--out", tmp_path / "out").exit_code == 0
    assert {path.name for path in (tmp_path / "out").iterdir()} == without
    refused = call("sheet", case, "--policy", "by volume", "--out", tmp_path / "none", "--pdf")
    assert refused.exit_code == 2
    assert "weasyprint is not installed" in refused.stderr
    assert not (tmp_path / "none").exists()


@needs_pdf
def test_hostile_names_stay_text(tmp_path: Path) -> None:
    case = named(tmp_path, HOSTILE)
    files = written(case, HOSTILE, tmp_path / "out", "--for", HOSTILE)
    page = Text(files["settings_sheet.html"].decode())
    assert page.seen.count(HOSTILE) >= 5  # title, heading, way, filter, for whom
    assert "script" not in page.tags
    assert HOSTILE in told_by("pdftotext", "-layout", tmp_path / "out" / "settings_sheet.pdf", "-")


@needs_pdf
def test_the_pdf_takes_nothing_from_a_file_or_the_net(tmp_path: Path) -> None:
    picture = tmp_path / "a.svg"
    picture.write_text('<svg xmlns="http://www.w3.org/2000/svg"><text y="9">outside</text></svg>', encoding="utf-8")
    plain, lured = (paper.pdf_of(f"<p>inside</p>{each}") for each in ("", f'<img src="{picture.as_uri()}">'))
    assert len(lured) < len(plain) + 100


@needs_pdf
def test_against_itself_nothing_differs(tmp_path: Path) -> None:
    case = small(tmp_path)
    files = written(case, "by volume", tmp_path / "out", "--against", case)
    html = files["settings_sheet.html"].decode()
    assert 'class="differs"' not in html
    assert html.count("<td>same</td>") >= 5


def most_pages(stages: int) -> int:
    return 2 + max(0, -(-(stages - 3) // 2))


def fits(browser: Any, folder: Path, stages: int, size: tuple[float, float]) -> None:
    """The sheet fits two pages up to three stages, one more for every two; measurements fit one for each stage."""
    holds(browser, folder / "settings_sheet", most_pages(stages), size)
    holds(browser, folder / "commissioning", stages + (1 if stages < 3 else 2), size)


def holds(browser: Any, file: Path, most: int, size: tuple[float, float]) -> None:
    """No element of the page is wider than its place, no text smaller than 9 pt, every word within its page."""
    page = browser.new_page(viewport={"width": 800, "height": 1100})
    page.goto(file.with_suffix(".html").as_uri())
    assert page.evaluate(
        """() => [...document.querySelectorAll("body *")].filter(e => e.scrollWidth > e.clientWidth + 1
           && e.clientWidth > 0 && getComputedStyle(e).display != "inline").map(e => e.outerHTML.slice(0, 200))"""
    ) == []
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    smallest = page.evaluate(
        """() => Math.min(...[...document.querySelectorAll("body *")]
           .map(e => parseFloat(getComputedStyle(e).fontSize)))"""
    )
    assert smallest >= 9 * 96 / 72
    page.close()
    boxes = told_by("pdftotext", "-bbox", file.with_suffix(".pdf"), "-")
    pages = re.findall(r'<page width="([\d.]+)" height="([\d.]+)">(.*?)</page>', boxes, re.DOTALL)
    assert 1 <= len(pages) <= most
    for width, height, words in pages:
        assert (float(width), float(height)) == pytest.approx(size, abs=0.5)
        found = re.findall(r'xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)"', words)
        assert len(found) > 20
        for left, top, right, bottom in found:
            assert float(left) >= 30  # a margin of 13 mm is 37 pt
            assert float(right) <= float(width) - 30
            assert float(top) >= 20
            assert float(bottom) <= float(height) - 10
    rows = told_by("pdffonts", file.with_suffix(".pdf")).splitlines()[2:]
    assert rows
    assert all(" yes yes " in each for each in rows)  # embedded, and only what is used


SIZES = {"a4": (595.28, 841.89), "letter": (612.0, 792.0)}  # pt


@needs_pdf
@pytest.mark.parametrize(
    ("name", "policy", "size", "units"),
    [("lens_works", "calendar", "letter", "us"), ("rope_walk", "meter", "a4", "si")],
)
def test_a_sheet_fits_its_pages(browser: Any, name: str, policy: str, size: str, units: str, tmp_path: Path) -> None:
    case = CASES / f"{name}.toml"
    written(case, policy, tmp_path / "out", "--paper", size, "--units", units)
    fits(browser, tmp_path / "out", len(load_case(case).stages), SIZES[size])


@needs_pdf
def test_the_longest_names_fit_too(browser: Any, tmp_path: Path) -> None:
    written(named(tmp_path, "W" * 60), "W" * 60, tmp_path / "out")
    fits(browser, tmp_path / "out", 1, SIZES["a4"])


@needs_pdf
@pytest.mark.long
@pytest.mark.parametrize("name", CASE_NAMES)
def test_every_sheet_of_every_case_fits_its_pages(browser: Any, name: str, tmp_path: Path) -> None:
    """Runs of a month, each policy on both papers, in one language after the other."""
    case = load_case(CASES / f"{name}.toml")
    if not isinstance(case.demand.flow, Measured):  # whose records are as long as its run
        case = replace(case, run=replace(case.run, length=30 * 86_400.0))
    head = head_of(CASES / f"{name}.toml")
    sizes: tuple[tuple[Paper, System], ...] = (("a4", "us"), ("letter", "si"))
    for place, policy in enumerate(case.policies):
        runs = sheet_runs(case, policy.name)
        old = None if case.today in (None, policy.name) else (case, str(case.today))
        for turn, (size, units) in enumerate(sizes):
            with speaking(languages()[(place + turn) % len(languages())]):
                html = sheet_html(sheet_of(runs, units, old), head, size)
            for file, content in paper.paper_files("settings_sheet", html, pdf=True).items():
                (tmp_path / file).write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
            holds(browser, tmp_path / "settings_sheet", most_pages(len(case.stages)), SIZES[size])
