"""“My plant” from the questions of `new`: the same case as the command writes, errors beside their field, a strip."""

import re
from html import unescape

from sim.web.begun import begin
from sim.web.plant import strips
from sim.web.shelf import DEMO, Held
from sim.write.questions import QUESTIONS
from tests.web.serving import Served
from tests.write.ten import TEN, WORDS, made

ANSWERS = TEN | WORDS


def test_the_same_answers_give_the_same_bytes_as_the_command(page: Served) -> None:
    answer = page.post("/plant/new", ANSWERS)
    assert answer.status == 303
    saved = page.ask(answer.headers["location"].replace("/plant?", "/plant/save?").replace("&taken=yes", ""))
    assert saved.text == made().text
    american = begin(tuple(sorted(ANSWERS.items())), "us", print).held
    assert american is not None
    assert american.text == made(units="us").text


def test_what_is_wrong_stands_beside_its_field_and_what_was_typed_stays(page: Served) -> None:
    answer = page.post("/plant/new", {**ANSWERS, "diameter": "30", "flow": ""})
    assert answer.status == 422
    text = unescape(answer.text)
    diameter, flow = (text.partition(f'id="q-{key}"')[2].partition("</div>")[0] for key in ("diameter", "flow"))
    assert 'value="30"' in diameter
    assert "from 5 cm to 20 m" in diameter
    assert ">Needed.<" in flow
    assert text.count('class="wrong"') == 2
    assert 'lang="en"' in text.partition('id="q-diameter"')[0]


def test_answers_that_do_not_fit_each_other_are_told_at_each_of_them() -> None:
    found = begin(tuple(sorted({**ANSWERS, "flow": "500 gpm"}.items())), "si", print)
    assert found.held is None
    assert {key for key, _ in found.problems} == {"diameter", "flow"}


def test_every_question_but_the_units_is_a_field(page: Served) -> None:
    names = re.findall(r'<(?:input type="text"|select)[^>]* name="(\w+)"', page.ask("/plant/new?units=us").text)
    assert sorted(names) == sorted(each.key for each in QUESTIONS if each.key != "units")
    assert "As in 36 in." in page.ask("/plant/new?units=us").text


def test_a_strip_shows_when_a_filter_washes() -> None:
    """Every 4 d at 20:30, for 17 min: in 60 d 14 washes, each in the half hour from 20:30."""
    ((words, strip),) = strips(Held.of(DEMO), print)
    assert words == "14 washes in the first 60 days: 20:30 to 20:47."
    assert [place for place, mark in enumerate(strip.marks) if mark == "full"] == [41]
