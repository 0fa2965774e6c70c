"""Lessons on the page to their end, their sheets and slides, what is presented, links; in a real browser."""

import re
import shlex
import shutil
import subprocess
from base64 import b64decode
from pathlib import Path
from typing import Any

import pytest

from sim.web import rinse
from sim.web.shelf import DEMO, Held, Stand, of_lesson
from tests.cli.small import call
from tests.web.serving import Served
from tests.web.test_browser import settle, tab
from tests.web.test_hostile import SENTENCE

VIEWS = [
    "/lessons", "/lesson/rinse", "/lesson/rinse?guess=1", "/lesson/rinse/questions", "/lesson/rinse/answers",
    "/lesson/rinse/slides", "/lesson/rinse/slides?slide=2", "/present", "/present?way=rinse", "/start?ask=yes",
    "/lesson/hold?own=yes",
]  # fmt: skip
SMALLEST = """() => Math.min(...[...document.querySelectorAll('body *')]
  .filter(e => e.getClientRects().length && [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim()))
  .map(e => parseFloat(getComputedStyle(e).fontSize)))"""
RINSE = "input[type=number][name='stage.0.step.2.minutes']"


def go(opened: Any, page: Served, path: str) -> None:
    page.settled(path)
    opened.goto(page.address + path)
    settle(opened)


@pytest.mark.parametrize(("name", "applies"), [("rinse", True), ("hold", False)])
def test_a_lesson_is_offered_on_the_plant_in_use_where_it_applies(page: Served, name: str, applies: bool) -> None:
    """The market hall has a rinse, and no unit whose starts jolt a switch."""
    page.settled(f"/lesson/{name}?guess=0")
    shown = page.ask(f"/lesson/{name}?guess=0").content.decode("utf-8")
    assert (f"/lesson/{name}?own=yes" in shown) == applies


def smallest_in_figure(opened: Any) -> float:
    """The smallest text of the figure, in pixels of the screen."""
    source = opened.get_attribute("main img", "src")
    svg = b64decode(source.partition(",")[2]).decode("utf-8")
    sizes = [float(size) for size in re.findall(r"font(?:-size)?: (?:[a-z]+ |\d+ )*([\d.]+)px", svg)]
    wide = opened.evaluate("document.querySelector('main img').getBoundingClientRect().width")
    (points,) = re.findall(r'viewBox="0 0 ([\d.]+)', svg)
    assert len(sizes) > 5
    return min(sizes) * float(wide) / float(points)


def test_a_lesson_goes_from_question_to_guess_to_picture_to_answer(browser: Any, page: Served) -> None:
    with tab(browser, page) as opened:
        go(opened, page, "/")
        opened.click("main >> text=Lessons")
        opened.click("text=What the rinse after a backwash is for")
        assert opened.locator("main img").count() == 0
        assert "It is" not in opened.inner_text("main")
        opened.check("#o1")
        opened.click("text=Look at the picture")
        opened.wait_for_selector("main img")
        settle(opened)
        assert opened.inner_text("main").count("At this invented plant, without a rinse") == 1
        assert not opened.is_visible("text=Your guess was right.")
        opened.click("summary")
        # By the figures of the lesson: 1.1 g of 12.9 g are less than a tenth, and no shorter rinse leaves so little.
        assert "It is 3 min." in opened.inner_text(".sheet")
        assert "Your guess was right." in opened.inner_text(".sheet")
        opened.click("a.button >> text=Why rinse?")
        assert of_lesson("rinse").id in opened.url
        assert "Lesson: a sand filter" in opened.inner_text(".case")


def test_a_lesson_works_without_script(browser: Any, page: Served) -> None:
    with tab(browser, page, java_script_enabled=False) as opened:
        opened.goto(f"{page.address}/lesson/rinse?units=us")
        opened.check("#o0")
        page.settled("/lesson/rinse?units=us&guess=0")
        opened.click("text=Look at the picture")
        opened.wait_for_selector("main img")
        opened.click("summary")
        assert "Your guess was 0 min." in opened.inner_text(".sheet")
        assert "gal" in opened.inner_text(".sheet")


def test_a_lesson_on_the_plant_in_use(browser: Any, page: Served) -> None:
    with tab(browser, page) as opened:
        go(opened, page, "/lesson/rinse")
        opened.click("text=The same on the case in use")
        assert "This is the lesson on “Flower market" in opened.inner_text("main")
        go(opened, page, "/lesson/rinse?own=yes&guess=2")
        assert "At this plant, without a rinse" in opened.inner_text("main")
        assert "invented" not in opened.inner_text("main")
        go(opened, page, "/lesson/hold?own=yes")
        assert "This lesson needs a pressure switch" in opened.inner_text("main")


def test_only_the_answer_sheet_has_the_answer(page: Served) -> None:
    asked, answered = (page.settled(f"/lesson/rinse/{part}").text for part in ("questions", "answers"))
    assert "It is 3 min." in answered
    assert "data:image/svg" in answered
    assert "It is" not in asked
    assert "data:image/svg" not in asked
    assert asked.count('class="line"') == 7


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext is not installed")
@pytest.mark.parametrize("part", ["questions", "answers"])
def test_a_sheet_prints_on_one_page_with_the_caution(browser: Any, page: Served, part: str, tmp_path: Path) -> None:
    with tab(browser, page) as opened:
        go(opened, page, f"/lesson/rinse/{part}")
        opened.pdf(path=tmp_path / "a.pdf", format="A4")
    words = ["pdftotext", "-layout", tmp_path / "a.pdf", "-"]
    (sheet,) = subprocess.run(words, capture_output=True, text=True, check=True).stdout.split("\f")[:-1]
    assert "A planning aid: local codes" in sheet
    assert "Question sheet" not in sheet


def test_slides_are_read_from_the_back_row_and_turned_by_arrow_keys(browser: Any, page: Served) -> None:
    page.settled("/lesson/storm/slides?slide=2")
    with tab(browser, page, viewport={"width": 1920, "height": 1080}) as opened:
        go(opened, page, "/lesson/storm/slides")
        for slide in range(5):
            assert f"{slide + 1} of 5" in opened.inner_text("footer")
            assert opened.evaluate(SMALLEST) >= 28.0
            assert opened.evaluate("document.documentElement.scrollHeight") <= 1080
            if slide == 2:
                assert smallest_in_figure(opened) >= 28.0
            if slide < 4:
                opened.keyboard.press("ArrowRight" if slide % 2 else "PageDown")
                opened.wait_for_url(f"**slide={slide + 1}")
        opened.keyboard.press("ArrowLeft")
        opened.wait_for_url("**slide=3")


@pytest.mark.parametrize("way", ["start", "rinse"])
def test_what_is_presented_has_one_figure_and_one_slider_that_arrow_keys_move(
    browser: Any, page: Served, way: str
) -> None:
    with tab(browser, page, viewport={"width": 1920, "height": 1080}) as opened:
        go(opened, page, f"/present?way={way}")
        assert opened.locator("input[type=range]").count() == opened.locator("main img").count() == 1
        assert opened.evaluate(SMALLEST) >= 28.0
        assert smallest_in_figure(opened) >= 28.0
        assert opened.evaluate("document.documentElement.scrollHeight") <= 1080
        before, value = opened.get_attribute("main img", "src"), opened.input_value("input[type=number]")
        for _ in range(4):
            opened.keyboard.press("ArrowRight")
        opened.wait_for_function("before => ![undefined, before].includes(document.querySelector('main img')?.src)",
                                 arg=before)  # fmt: skip
        assert float(opened.input_value("input[type=number]")) > float(value)
        settle(opened)
        moved = opened.get_attribute("input[type=number]", "name")
        opened.keyboard.press("ArrowDown")
        opened.wait_for_url("**slider=*")
        settle(opened)
        assert opened.get_attribute("input[type=number]", "name") != moved
        assert opened.get_attribute(f"input[type=hidden][name='{moved}']", "value")  # what was moved stays


def test_a_link_holds_every_setting_before_a_guess_and_for_students_too(browser: Any, page: Served) -> None:
    with tab(browser, page) as opened:
        go(opened, page, "/rinse")
        opened.fill(RINSE, "2.5")
        opened.fill("input[name='stage.0.step.0.minutes']", "7")
        opened.fill("input[name='feed.temperature']", "14")
        link = opened.get_attribute("text=Link to these settings", "href")
        opened.fill("#guess", "3")
        opened.click("text=Show the answer")
        settle(opened)
        students = opened.get_attribute("text=Link for students", "href")
    for address in (link, students):
        with tab(browser, page) as other:
            go(other, page, address)
            assert other.input_value(RINSE) == "2.5"
            assert other.input_value("input[name='stage.0.step.0.minutes']") == "7"
            assert other.input_value("input[name='feed.temperature']") == "14"
            assert other.locator("#answer img").count() == 0


def test_students_think_of_an_answer_first(browser: Any, page: Served) -> None:
    page.settled("/start?policy.calendar.twin+bed.every=5")
    with tab(browser, page) as opened:
        go(opened, page, "/start?policy.calendar.twin+bed.every=5")
        opened.click("text=Link for students")
        settle(opened)
        assert "every=5" in opened.url
        assert opened.locator("#answer .answer").count() == 0
        opened.click("text=Show the answer")
        opened.wait_for_selector("#answer .answer")


def test_a_plant_of_ones_own_travels_as_a_file_and_the_page_says_so(page: Served) -> None:
    place = page.upload("own.toml", DEMO.read_bytes()).headers["location"].replace("/plant", "/start")
    assert "It does not hold a plant of your own" in page.settled(place.replace("&taken=yes", "")).text
    assert "It does not hold a plant of your own" not in page.settled("/start").text


@pytest.mark.parametrize("scheme", ["light", pytest.param("dark", marks=pytest.mark.long)])
@pytest.mark.parametrize("view", VIEWS)
def test_no_barrier_and_nothing_sticks_out(browser: Any, page: Served, view: str, scheme: str) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe-playwright-python is missing")
    with tab(browser, page, viewport={"width": 390, "height": 844}, color_scheme=scheme) as opened:
        go(opened, page, view)
        for each in opened.locator("details").all():
            each.evaluate("e => { e.open = true; }")
        assert opened.evaluate("document.documentElement.scrollWidth") <= 390
        found = axe.Axe().run(opened).response
        assert [(each["id"], each["nodes"][0]["html"][:150]) for each in found["violations"]] == []
        assert len(found["passes"]) > 10


@pytest.mark.parametrize("path", [
    "/lesson/nothing", "/lesson/..%2f..%2fetc", "/lesson/rinse/x", "/lesson/rinse?guess=9", "/lesson/rinse?guess=-1",
    "/lesson/rinse?guess=%D9%A1", "/lesson/rinse/slides?slide=5", "/lesson/rinse?own=no", "/lesson/rinse?x=1",
    "/lesson/rinse?policy.calendar.x=1", "/present?way=plant", "/present?slider=run.length", "/present?way=../start",
    "/lesson/hold/answers?own=yes&guess=999999999999",
])  # fmt: skip
def test_what_is_no_lesson_is_refused_in_one_sentence(page: Served, path: str) -> None:
    answer = page.ask(path)
    if "own=yes" in path:  # a lesson that does not apply has no guess to be wrong
        assert answer.status == 200
        return
    assert answer.status in (400, 404)
    assert SENTENCE.search(answer.text)


def test_a_lesson_is_one_file_that_needs_no_server(browser: Any, tmp_path: Path) -> None:
    assert call("lesson", "rinse", "--out", tmp_path, "--quiet").exit_code == 0
    context = browser.new_context(java_script_enabled=False)
    opened, asked = context.new_page(), list[str]()
    opened.on("request", lambda request: asked.append(request.url))
    opened.goto((tmp_path / "lesson_rinse.html").as_uri())
    assert not opened.is_visible("img")
    opened.click("summary >> text=The picture")
    assert opened.is_visible("img")
    assert not opened.is_visible("text=It is 3 min.")
    opened.click("summary >> text=What came of it")
    assert opened.is_visible("text=It is 3 min.")
    assert [url for url in asked if not url.startswith(("file:", "data:"))] == []
    context.close()
    assert "It is 3 min." not in (tmp_path / "lesson_rinse_questions.html").read_text(encoding="utf-8")
    assert "It is 3 min." in (tmp_path / "lesson_rinse_answers.html").read_text(encoding="utf-8")


@pytest.mark.long
def test_why_rinse_works_on_the_first_case_of_the_readme(tmp_path: Path) -> None:
    """Which works 13 hours a day and washes at night: its jars are those of the morning."""
    readme = (DEMO.parents[3] / "README.md").read_text(encoding="utf-8")
    (words,) = re.findall(r"filterrun new plant.toml (.*?)\n```", readme, re.DOTALL)
    path = tmp_path / "plant.toml"
    done = call("new", path, *shlex.split(words.replace("\\\n", " ")))
    assert done.exit_code == 0, done.stderr
    held = Held.of(path)
    unrinsed = rinse.unrinsed(rinse.sliders(held, None, "si"))
    first = [rinse.answered(Stand(held, moved, "si"), None, None, False, print).sentence for moved in (unrinsed, ())]
    readings = [float(re.findall(r"reads ([\d.]+) NTU", each)[0]) for each in first]
    assert readings[0] > 10.0 * readings[1]
