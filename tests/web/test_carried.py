"""What sliders say, carried into “My plant” and the file that it saves."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from sim.case.units import PRESSURE, parse_quantity
from sim.web.shelf import DEMO
from tests.web.serving import Served
from tests.web.test_browser import go, settle, tab

ABOVE = 'input[type=number][name="policy.pressure drop.twin bed.above"]'


@pytest.mark.parametrize(
    "link", ["nav >> text=My plant", pytest.param("main >> text=Use another plant", marks=pytest.mark.long)]
)
def test_what_a_slider_says_is_in_the_case_that_is_saved(browser: Any, page: Served, link: str) -> None:
    with tab(browser, page) as opened:
        go(opened, page, "/start")
        opened.fill(ABOVE, "39")
        settle(opened)
        opened.click(link)
        settle(opened)
        assert "39 kPa, was 42 kPa" in opened.inner_text(".taken")
        with opened.expect_download() as saving:
            opened.click("text=Save this case as a file")
        saved = tomllib.loads(Path(saving.value.path()).read_text(encoding="utf-8"))
        own = tomllib.loads(DEMO.read_text(encoding="utf-8"))
        assert parse_quantity(saved["policy"]["pressure drop"]["twin bed"].pop("above"), PRESSURE) == 39_000.0
        assert own["policy"]["pressure drop"]["twin bed"].pop("above") == "42 kPa"
        assert saved == own
        opened.click("text=Use it so on all pages")
        settle(opened)
        opened.click("nav >> text=What should start a wash?")
        settle(opened)
        assert opened.input_value(ABOVE) == "39"
        assert opened.get_attribute(ABOVE, "data-own") == "39"


def test_sliders_that_make_no_case_are_told_and_the_case_is_shown_without_them(page: Served) -> None:
    reserve = "policy.volume+with+reserve.twin+bed.reserve=150&policy.volume+with+reserve.twin+bed.volume=100"
    answer = page.ask(f"/plant?{reserve}")
    assert answer.status == 422
    assert "allowed is a reserve below the volume" in answer.text
    assert "Below is the case without them." in answer.text
    assert page.ask(f"/plant/save?{reserve}").status == 422


def test_a_value_is_the_same_in_the_other_units_of_my_plant(page: Served) -> None:
    """Exact: 1 psi = 6.894757293 kPa (NIST SP 811, appendix B)."""
    html = page.ask("/plant?units=us&policy.pressure+drop.twin+bed.above=7").text
    assert "7 psi, was 6.09 psi" in html  # 42 kPa
    assert "above=48.2633" in html.partition("data-switch")[2].partition(">")[0]
