"""The plant in use and the language stay in every link, whatever went wrong; what is copied is what is shown."""

import html
import re
from typing import Any

import pytest

from sim.web.shelf import of_lesson
from tests.web.serving import Served
from tests.web.test_browser import settle, tab
from tests.web.test_lessons import go

CASE = of_lesson("rinse").id
LINK = re.compile(r'<a [^>]*href="(/[^"]*)"')


@pytest.mark.parametrize("path", [
    "/", "/lessons", "/lesson/rinse", "/lesson/storm?own=yes", "/plant/new", "/cancelled", "/nothing", "/start?x=1",
    "/rinse?stage=none", "/lesson/rinse?guess=44", "/present?way=x",
])  # fmt: skip
def test_every_link_keeps_the_plant_and_the_language(page: Served, path: str) -> None:
    text = page.settled(f"{path}{'&' if '?' in path else '?'}case={CASE}&language=es").text
    links = [html.unescape(each) for each in LINK.findall(text)]
    assert len(links) >= 8
    for link in links:
        assert f"case={CASE}" in link
        assert "language=" in link


def test_a_plant_that_is_not_held_leaves_the_links(page: Served) -> None:
    """Else the page that says so would lead to itself."""
    answer = page.ask("/start?case=0123456789abcdef&language=fr")
    assert answer.status == 404
    assert "case=" not in answer.text
    assert "language=fr" in answer.text


@pytest.mark.parametrize("bad", ["case=%22%3E%3Cscript%3E", "case=../../etc", "language=xx", "units=furlongs"])
def test_what_is_no_plant_no_language_and_no_unit_is_not_kept(page: Served, bad: str) -> None:
    text = page.ask(f"/nothing?{bad}").text
    assert bad.partition("=")[2] not in text
    assert "<script>" not in text


def test_a_link_holds_the_way_that_is_shown_and_says_that_it_was_copied(browser: Any, page: Served) -> None:
    with tab(browser, page) as opened:
        go(opened, page, "/start")
        shown = opened.locator("a[data-through]").last
        way = shown.get_attribute("data-through")
        shown.click()
        opened.wait_for_selector(f"a[data-through='{way}'][aria-current]")
        settle(opened)
        title = opened.inner_text(".train h2")
        link = opened.get_attribute("text=Link to these settings", "href")
        assert way.replace(" ", "+") in link
        button = opened.locator("button.copy").first
        assert button.is_visible()
        button.click()
        opened.wait_for_selector("[role=status]:has-text('copied')")
        assert button.evaluate("e => document.activeElement === e")
    with tab(browser, page) as other:
        go(other, page, link)
        assert other.inner_text(".train h2") == title
