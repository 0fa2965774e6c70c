"""The page in a real browser: each question to its end, with a mouse, with keys alone, without script, on a phone."""

import re
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from sim.web.shelf import DEMO
from tests.web.serving import WORTH, Served

METER = f"/meter?case={WORTH.id}"
MAIN_WAYS = ["/", "/start?through=calendar", "/rinse?guess=3", METER, "/log", "/plant"]
WAYS = [*MAIN_WAYS, "/start", "/rinse", "/nowhere", "/cancelled"]
EVERY = 'input[type=number][name="policy.calendar.twin bed.every"]'
CAUTION = "A planning aid: local codes and a licensed practitioner decide."
NOW = "document.querySelector('#answer .answer')?.innerText.replace(/\\s+/g, ' ')"
OTHER = f"text => ![undefined, text].includes({NOW})"
SAME = f"text => {NOW} === text"
DRAWN = "before => ![undefined, before].includes(document.querySelector('#answer img')?.src)"
WAYS_TOO = ["/rinse?guess=3", METER]  # to print
PDFTOTEXT = shutil.which("pdftotext")


@contextmanager
def tab(browser: Any, page: Served, **options: Any) -> Iterator[Any]:
    """A tab that minds what it asks for and what the console says; both have to be in order when it is closed."""
    asked: list[str] = []
    said: list[str] = []
    context = browser.new_context(**({"viewport": {"width": 1280, "height": 900}} | options))
    context.set_default_timeout(60_000)
    opened = context.new_page()
    opened.on("request", lambda request: asked.append(request.url))
    opened.on("console", lambda message: said.append(message.text))
    opened.on("pageerror", lambda error: said.append(str(error)))
    opened.on("dialog", lambda dialog: (said.append(dialog.message), dialog.dismiss()))
    yield opened
    context.close()
    assert [url for url in asked if not url.startswith((f"{page.address}/", "data:"))] == []
    # The browser itself notes what did not come; the tests that make it so are few and named here.
    assert [text for text in said if "404" not in text and "ERR_FAILED" not in text] == []


def settle(opened: Any) -> None:
    """Wait until nothing is being worked out."""
    opened.wait_for_load_state("networkidle")
    opened.wait_for_function("() => !document.querySelector('[data-going], [aria-busy=true]')")


def comes_by_itself(opened: Any, page: Served, address: str) -> None:
    """Without script, wait at an address for its answer: until it is ready, the page asks again by itself."""
    opened.wait_for_url(re.compile(address))
    page.settled(opened.url.removeprefix(page.address).partition("#")[0])
    opened.wait_for_selector("#answer .answer")


def go(opened: Any, page: Served, path: str) -> None:
    page.settled(path)
    opened.goto(page.address + path)
    settle(opened)


def sentence(opened: Any) -> str:
    return re.sub(r"\s+", " ", str(opened.inner_text("#answer .answer")))


def drag(opened: Any, key: str, share: float) -> None:
    """Take a slider with the mouse and move it to a share of its length."""
    box = opened.locator(f".slider:has({key}) input[type=range]").bounding_box()
    x, y = box["x"], box["y"] + box["height"] / 2.0
    here = float(opened.eval_on_selector(f".slider:has({key}) input[type=range]",
                 "e => (e.value - e.min) / (e.max - e.min)"))  # fmt: skip
    inner = box["width"] - 16.0
    opened.mouse.move(x + 8.0 + here * inner, y)
    opened.mouse.down()
    for part in range(1, 9):
        opened.mouse.move(x + 8.0 + (here + (share - here) * part / 8.0) * inner, y)
    opened.mouse.up()


def test_what_should_start_a_wash_answers_while_a_slider_moves(browser: Any, page: Served) -> None:
    with tab(browser, page) as opened:
        go(opened, page, "/")
        opened.click("main >> text=What should start a wash?")
        settle(opened)
        before, picture = sentence(opened), opened.get_attribute("#answer img", "src")
        drag(opened, EVERY, 0.1)
        opened.wait_for_function(OTHER, arg=before)
        settle(opened)
        assert opened.get_attribute("#answer img", "src") != picture
        assert opened.evaluate("document.querySelector('#answer img').naturalWidth") > 400
        value = opened.input_value(EVERY)
        assert float(value) < 3.0
        assert f"twin+bed.every={value}" in opened.url
        assert opened.inner_text("[data-status]") == sentence(opened)
        # The address alone brings the same answer.
        after = sentence(opened)
        go(opened, page, opened.url.removeprefix(page.address))
        assert sentence(opened) == after


def test_the_back_button_undoes_a_move(browser: Any, page: Served) -> None:
    with tab(browser, page) as opened:
        go(opened, page, "/start")
        first = sentence(opened)
        opened.fill(EVERY, "7")
        opened.press(EVERY, "Tab")
        opened.wait_for_function(OTHER, arg=first)
        settle(opened)
        second = sentence(opened)
        opened.go_back()
        opened.wait_for_function(SAME, arg=first)
        assert opened.input_value(EVERY) == "4"
        opened.go_forward()
        opened.wait_for_function(SAME, arg=second)
        assert opened.input_value(EVERY) == "7"


def test_an_older_answer_never_takes_the_place_of_a_newer_one(browser: Any, page: Served) -> None:
    """The first answers are held back until the last one stands there; it stays."""
    with tab(browser, page) as opened:
        go(opened, page, "/start")
        held: list[Any] = []

        def slow(route: Any) -> None:
            if "every=6" in route.request.url:
                route.continue_()
            else:
                held.append(route)

        opened.route("**/start/answer*", slow)
        for value in ("2", "3"):
            opened.fill(EVERY, value)
            opened.wait_for_timeout(500)  # past the time for which a running request is waited for
        opened.fill(EVERY, "6")
        wanted = page.settled("/start/answer?policy.calendar.twin+bed.every=6").text
        said = re.sub(r"<.*?>", "", wanted.partition("data-say>")[2].partition("</div>")[0])
        expected = re.sub(r"\s+", " ", unescape(said)).strip()
        opened.wait_for_function(SAME, arg=expected)
        assert len(held) == 2
        for route in held:
            route.continue_()
        opened.wait_for_timeout(1500)
        assert sentence(opened) == expected
        assert not opened.evaluate("document.querySelector('#answer').hasAttribute('aria-busy')")


def test_why_rinse_asks_for_a_guess_and_then_answers(browser: Any, page: Served) -> None:
    with tab(browser, page) as opened:
        go(opened, page, "/rinse")
        assert opened.locator("#answer img").count() == 0
        opened.fill("#guess", "3,5")
        opened.click("text=Show the answer")
        settle(opened)
        assert "Your guess was 3,5 NTU." in sentence(opened)
        alt = opened.get_attribute("#answer img", "alt")
        assert alt.startswith("After the return to service, filtered turbidity. After 0.5 min: ")
        assert "none: no rinse" in opened.inner_text("#answer")
        key = 'input[type=number][name="stage.0.step.2.minutes"]'
        before = sentence(opened)
        opened.fill(key, "6")
        opened.wait_for_function(OTHER, arg=before)
        assert "none: no rinse" not in opened.inner_text("#answer")
        # A guess at other settings is not held against this answer, and is again once they are back.
        assert "Your guess" not in sentence(opened)
        assert "Your guess of 3,5 NTU was for other settings." in opened.inner_text("#answer")
        opened.fill(key, "0")
        opened.wait_for_function(SAME, arg=before)


WATER = 'input[type=number][name="prices.water"]'
PRICE = 'input[type=number][name="prices.meter.price"]'


def test_is_a_meter_worth_it_answers_while_a_price_moves(browser: Any, page: Served) -> None:
    with tab(browser, page) as opened:
        go(opened, page, METER)
        before = sentence(opened)
        assert before.startswith("Not worth it: against the best calendar a meter costs ")
        drag(opened, PRICE, 0.0)
        opened.wait_for_function(OTHER, arg=before)
        settle(opened)
        assert opened.input_value(PRICE) == "0"
        assert "prices.meter.price=0" in opened.url
        assert opened.inner_text("[data-status]") == sentence(opened)
        assert "was=own" in opened.url
        assert opened.is_visible("text=Grey is what stood before the last move.")
        after = sentence(opened)
        opened.go_back()
        opened.wait_for_function(SAME, arg=before)
        assert opened.input_value(PRICE) == "100"
        # Emptied, the price is blank: the address says so, and brings the same answer by itself.
        opened.fill(PRICE, "")
        opened.press(PRICE, "Tab")
        opened.wait_for_function(OTHER, arg=before)
        settle(opened)
        assert opened.url.endswith("prices.meter.price=")
        assert opened.get_attribute(f".slider:has({PRICE}) input[type=range]", "aria-valuetext") == "blank"
        blank = sentence(opened)
        assert blank not in (before, after)
        go(opened, page, opened.url.removeprefix(page.address))
        assert sentence(opened) == blank
        assert opened.input_value(PRICE) == ""


@pytest.mark.long
def test_an_older_worth_never_takes_the_place_of_a_newer_one(browser: Any, page: Served) -> None:
    with tab(browser, page) as opened:
        go(opened, page, METER)
        first, held = sentence(opened), list[Any]()
        opened.route("**/meter/answer*", lambda route: route.continue_() if "=77" in route.request.url
                     else held.append(route))  # fmt: skip
        for value in ("5", "6"):
            opened.fill(WATER, value)
            opened.wait_for_timeout(500)
        opened.fill(PRICE, "77")
        opened.wait_for_function(OTHER, arg=first)
        settle(opened)
        newest = sentence(opened)
        for route in held:
            route.continue_()
        opened.wait_for_timeout(1500)
        assert sentence(opened) == newest


@pytest.mark.long
def test_a_meter_is_answered_without_script_and_all_prices_can_be_left_blank(browser: Any, page: Served) -> None:
    with tab(browser, page, java_script_enabled=False) as opened:
        page.settled(METER)
        opened.goto(page.address + METER)
        first = sentence(opened)
        opened.fill(WATER, "8")
        opened.click("form.sliders >> text=Show")
        comes_by_itself(opened, page, "=8")
        assert sentence(opened) != first
        opened.click("text=Leave all prices blank")
        comes_by_itself(opened, page, r"prices\.\w+=(&|$)")
        assert sentence(opened).startswith("No price was given to decide it: ")
        assert opened.input_value(WATER) == ""


def test_my_plant_opens_edits_checks_and_saves(browser: Any, page: Served, tmp_path: Path) -> None:
    path = tmp_path / "yard.toml"
    path.write_text(DEMO.read_text(encoding="utf-8").replace("Flower market", "Tile yard"), encoding="utf-8")
    with tab(browser, page) as opened:
        go(opened, page, "/plant")
        opened.set_input_files("#file", path)
        opened.click("text=Open and check it")
        settle(opened)
        assert "Tile yard" in opened.inner_text("main")
        opened.click("summary >> text=Change it")
        field = opened.get_by_label("diameter", exact=True)
        assert field.input_value() == "0.85 m"
        takes = opened.inner_text("#f-stage\\.0\\.vessel\\.diameter-about")
        assert takes == "length, 1 cm to 20 m; units: m, cm, mm, um, in, ft"
        field.fill("1 m")
        opened.click("text=Check and use these values")
        settle(opened)
        assert "The case is in order" in opened.inner_text(".taken")
        with opened.expect_download() as saving:
            opened.click("text=Save this case as a file")
        assert 'diameter = "1 m"' in Path(saving.value.path()).read_text(encoding="utf-8")
        assert saving.value.suggested_filename == "yard.toml"
        opened.click("nav >> text=What should start a wash?")
        settle(opened)
        assert "Tile yard" in opened.inner_text(".case")


@pytest.mark.long
def test_report_and_tables_show_how_far_they_are_and_come(browser: Any, page: Served) -> None:
    reference = (DEMO.parents[3] / "cases" / "reference.toml").read_text(encoding="utf-8")
    place = page.upload("reference.toml", reference.encode("utf-8")).headers["location"].replace("/plant", "/files")
    with tab(browser, page) as opened:
        opened.goto(page.address + place.replace("&taken=yes", ""))
        opened.wait_for_selector("text=Every number as a workbook")
        for name in ("report.html", "tables.xlsx", "result.json"):
            with opened.expect_download() as saving:
                opened.click(f"a[href*='{name}']")
            assert saving.value.suggested_filename == name
            assert Path(saving.value.path()).stat().st_size > 2000


def test_everything_works_without_script(browser: Any, page: Served) -> None:
    with tab(browser, page, java_script_enabled=False) as opened:
        page.settled("/start")
        opened.goto(f"{page.address}/start")
        assert opened.locator("input[type=range]").count() == 0
        opened.fill(EVERY, "7.5")
        opened.click("form.sliders >> text=Show")
        comes_by_itself(opened, page, r"twin\+bed\.every=7.5")
        assert "today's “calendar”" in opened.inner_text("#answer")
        opened.click("a[data-through='pressure drop']")
        comes_by_itself(opened, page, r"through=pressure")
        assert opened.locator(".train .still").is_visible()
        assert opened.locator("#answer canvas").count() == 0
        opened.goto(f"{page.address}/rinse")
        opened.fill("#guess", "2 ntu")
        opened.click("text=Show the answer")
        comes_by_itself(opened, page, "guess=2")
        assert "Your guess was 2 NTU." in opened.inner_text("#answer")
        opened.goto(f"{page.address}/plant")
        opened.click("summary >> text=Change it")
        opened.get_by_label("title", exact=True).fill("By hand")
        opened.click("text=Check and use these values")
        assert "By hand" in opened.inner_text("main")


def test_a_keyboard_is_enough(browser: Any, page: Served) -> None:
    with tab(browser, page) as opened:
        go(opened, page, "/")
        opened.keyboard.press("Tab")
        assert opened.evaluate("document.activeElement.className") == "skip"
        tab_to(opened, "e => e.getAttribute('href')?.startsWith('/start')")
        opened.keyboard.press("Enter")
        opened.wait_for_url("**/start*")
        settle(opened)
        before = opened.get_attribute("#answer img", "src")
        tab_to(opened, "e => e.type === 'range'")
        assert opened.evaluate("getComputedStyle(document.activeElement).outlineStyle") != "none"
        opened.keyboard.press("ArrowRight")
        opened.keyboard.press("ArrowRight")
        opened.wait_for_function(DRAWN, arg=before)
        assert opened.evaluate("document.activeElement.getAttribute('aria-valuetext')") == "5 d"
        assert opened.evaluate("document.activeElement.type") == "range"  # the answer takes nobody's place
        tab_to(opened, "e => e.tagName === 'SUMMARY' && e.innerText.startsWith('How this is computed')")
        opened.keyboard.press("Enter")
        assert opened.evaluate("document.querySelector('.computed').open")


PLACE = "Number(document.querySelector('.player input').value)"


def place(opened: Any) -> int:
    return int(opened.input_value(".player input"))


def inked(opened: Any, red: int, green: int, blue: int) -> int:
    """How many points of the moving picture have a colour."""
    return int(opened.evaluate("""([r, g, b]) => {
        const shown = document.querySelector("canvas"), canvas = document.createElement("canvas");
        [canvas.width, canvas.height] = [shown.width, shown.height];
        const pen = canvas.getContext("2d", { willReadFrequently: true });
        pen.drawImage(shown, 0, 0);
        const { data } = pen.getImageData(0, 0, canvas.width, canvas.height);
        let count = 0;
        for (let k = 0; k < data.length; k += 4) count += data[k] === r && data[k + 1] === g && data[k + 2] === b;
        return count;
    }""", [red, green, blue]))  # fmt: skip


def test_the_train_plays_pauses_steps_and_goes_to_the_next_wash_by_keys(browser: Any, page: Served) -> None:
    with tab(browser, page) as opened:
        go(opened, page, "/start?through=calendar")
        tab_to(opened, "e => e.dataset.do === 'play'")
        first = place(opened)
        opened.keyboard.press("Enter")
        opened.wait_for_function(f"first => {PLACE} > first + 3", arg=first)
        assert opened.inner_text("[data-do=play]") == "Pause"
        opened.keyboard.press("Enter")
        stopped = place(opened)
        opened.wait_for_timeout(300)
        assert place(opened) == stopped
        tab_to(opened, "e => e.dataset.do === 'back'")
        opened.keyboard.press("Enter")
        assert place(opened) == stopped - 1
        tab_to(opened, "e => e.dataset.do === 'step'")
        opened.keyboard.press("Enter")
        assert place(opened) == stopped
        tab_to(opened, "e => e.dataset.do === 'wash'")
        opened.keyboard.press("Enter")
        assert opened.inner_text(".moment").endswith("twin bed: backwash (calendar)")
        assert opened.get_attribute(".player input", "aria-valuetext") == opened.inner_text(".moment")


def test_where_motion_is_to_be_reduced_it_plays_from_stop_to_stop(browser: Any, page: Served) -> None:
    with tab(browser, page, reduced_motion="reduce") as opened:
        go(opened, page, "/start?through=calendar")
        first = place(opened)
        opened.click("[data-do=play]")
        opened.wait_for_timeout(600)
        assert place(opened) == first
        opened.wait_for_function(f"first => {PLACE} > first", arg=first)
        opened.click("[data-do=play]")
        assert re.search(r" 00:00 ·|\(calendar\)|20:4\d ·", opened.inner_text(".moment"))


def test_what_stood_before_a_move_stays_in_grey_on_the_same_scale(browser: Any, page: Served) -> None:
    with tab(browser, page) as opened:
        go(opened, page, "/start?through=calendar")
        assert inked(opened, 0x9B, 0x9B, 0x9B) < 20  # edges of letters
        assert opened.locator("rect.earlier").count() == 0
        before = sentence(opened)
        opened.wait_for_timeout(100)
        opened.fill(EVERY, "2")
        opened.wait_for_function(OTHER, arg=before)
        settle(opened)
        assert inked(opened, 0x9B, 0x9B, 0x9B) > 100
        assert opened.is_visible("text=Grey is what stood before the last move.")
        widths = {each: float(opened.get_attribute(f".card tbody tr >> nth=0 >> rect.{each} >> nth=0", "width"))
                  for each in ("now", "earlier")}  # fmt: skip
        # A wash every 2 d instead of every 4 d takes twice the water: on one scale the bar was half as long.
        assert widths["earlier"] / widths["now"] == pytest.approx(0.5, rel=0.05)


def test_nothing_vanishes_while_it_works(browser: Any, page: Served) -> None:
    with tab(browser, page) as opened:
        go(opened, page, "/start")
        going = {"status": 202, "content_type": "text/html", "body": '<div class="going"><p>Working on it.</p></div>'}
        opened.route("**/start/answer*", lambda route: route.fulfill(**going))
        before = sentence(opened)
        opened.fill(EVERY, "6")
        opened.wait_for_selector("text=Working on it.")
        assert sentence(opened) == before
        assert opened.is_visible("#answer canvas")
        opened.unroute("**/start/answer*")
        opened.wait_for_function(OTHER, arg=before)
        assert not opened.is_visible("text=Working on it.")


def tab_to(opened: Any, test: str) -> None:
    for _ in range(80):
        opened.keyboard.press("Tab")
        if opened.evaluate(f"({test})(document.activeElement)"):
            return
    raise AssertionError(f"no Tab leads to {test}")


@pytest.mark.parametrize("way", ["/", "/start?through=calendar", "/plant", *(
    pytest.param(way, marks=pytest.mark.long) for way in WAYS_TOO
)])  # fmt: skip
def test_nothing_sticks_out_of_a_small_screen(browser: Any, page: Served, way: str) -> None:
    with tab(browser, page, viewport={"width": 390, "height": 844}) as opened:
        go(opened, page, way)
        assert opened.evaluate("document.documentElement.scrollWidth") <= 390
        for figure in opened.locator("figure img:visible").all():
            width = figure.evaluate("e => e.getBoundingClientRect().width")
            natural = figure.evaluate("e => e.naturalWidth")
            assert 300 <= width <= 390
            assert width / natural > 0.9  # the figure is drawn for the screen, not shrunk to it


@pytest.mark.parametrize(
    "way", [way if way == METER else pytest.param(way, marks=pytest.mark.long) for way in WAYS]
)
@pytest.mark.parametrize("width", [1280, pytest.param(390, marks=pytest.mark.long)])
@pytest.mark.parametrize("scheme", ["dark", pytest.param("light", marks=pytest.mark.long)])
def test_a_scan_for_barriers_finds_none(browser: Any, page: Served, way: str, width: int, scheme: str) -> None:
    """axe-core by Deque, its rules of WCAG 2.2 A and AA and of good practice."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe-playwright-python is missing")
    with tab(browser, page, viewport={"width": width, "height": 900}, color_scheme=scheme) as opened:
        go(opened, page, way)
        for each in opened.locator("details").all():
            each.evaluate("e => { e.open = true; }")
        found = axe.Axe().run(opened).response
        assert [(each["id"], each["nodes"][0]["html"][:150]) for each in found["violations"]] == []
        assert len(found["passes"]) > 15


@pytest.mark.skipif(PDFTOTEXT is None, reason="pdftotext is not installed (Debian: apt install poppler-utils)")
@pytest.mark.parametrize("way", ["/start", *(pytest.param(way, marks=pytest.mark.long) for way in WAYS_TOO)])
def test_it_prints_with_the_caution_at_every_foot(browser: Any, page: Served, way: str, tmp_path: Path) -> None:
    path = tmp_path / "page.pdf"
    with tab(browser, page) as opened:
        go(opened, page, way)
        opened.pdf(path=path, format="A4")
    done = subprocess.run([str(PDFTOTEXT), "-layout", path, "-"], capture_output=True, text=True, check=True)
    pages = done.stdout.split("\f")[:-1]
    assert 1 <= len(pages) <= 3
    for text in pages:
        assert CAUTION in [line for line in text.splitlines() if line.strip()][-1]
    assert "change to US" not in done.stdout


def test_markup_in_a_title_is_shown_as_text(browser: Any, page: Served) -> None:
    marked = DEMO.read_text(encoding="utf-8").replace("Flower market", "<img src=x onerror=alert(1)>")
    place = page.upload("marked.toml", marked.encode("utf-8")).headers["location"]
    with tab(browser, page) as opened:
        go(opened, page, place)
        assert "<img src=x onerror=alert(1)>" in opened.inner_text("main")
        go(opened, page, place.replace("/plant", "/start").replace("&taken=yes", ""))
        assert "<img src=x" in opened.inner_text(".case")


def test_the_page_says_when_it_is_not_there_any_more(browser: Any, page: Served) -> None:
    with tab(browser, page) as opened:
        go(opened, page, "/start")
        opened.route("**/start/answer*", lambda route: route.abort())
        opened.fill(EVERY, "6")
        opened.wait_for_selector("text=The page does not answer")
