"""Every language says what English says: the same messages, placeholders, figures, and no English."""

import json
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from babel.numbers import get_decimal_symbol

from plots import paper
from plots.words import apart, colon, label, languages, localised, number, respelled, say, speaking
from plots.words.catalogue import ENGLISH_FILES, messages
from sim.case.load import load_case
from sim.lessons.names import lesson
from sim.log.records import What
from sim.tell.present import duration
from sim.web import app, begun, lessons, meter, plant, present, rinse, start
from sim.web.shelf import Held
from sim.web.spoken import wish
from tests.cli.small import call, small_case
from tests.plots.test_figures import texts
from tests.web.serving import WORTH
from tests.words.missing import WORDS, wrong
from tests.words.prose import uses
from tests.words.pseudo import plain_words, words_of
from tests.words.test_messages import messages as flat
from tests.words.test_pseudo import CASE, names
from tests.words.test_pseudo_page import words_left

OTHERS = languages()[1:]
ONE_NOW = [OTHERS[0], *(pytest.param(each, marks=pytest.mark.long) for each in OTHERS[1:])]
IN_ENGLISH = (
    "keys_told.py", "rule_words.py", "results_page.py", "form.py", "page.html", "report.html", "decision.html",
)  # fmt: skip
"""What says the messages that are English in every language: keys, what a result holds, the long report."""


@pytest.mark.parametrize("language", OTHERS)
def test_a_language_says_what_english_says(language: str) -> None:
    assert list(wrong(language)) == []


def test_english_messages_are_said_in_english_places_alone() -> None:
    english = {key for name in ENGLISH_FILES
               for key, _ in flat(tomllib.loads((WORDS / "en" / name).read_text(encoding="utf-8")))}  # fmt: skip
    said = {(use.where.partition(":")[0], use.key) for use in uses() if use.key in english}
    assert {each for each in said if each[0] not in IN_ENGLISH} == set()


@pytest.mark.parametrize("language", OTHERS)
def test_numbers_are_as_the_language_writes_them(language: str) -> None:
    with speaking(language):
        written = number(12345.5, 1)
    assert written[-2] == get_decimal_symbol(messages(language)["locale"])
    assert len(written) == len("12,345.5")


def test_signs_and_units_that_a_language_writes_in_its_own_way() -> None:
    with speaking("es"):
        assert (number(7000.25, 2), localised("12000")) == ("7\u202f000.25", "12\u202f000")
        assert (respelled("7,000.5"), duration(864_000.0)) == ("7\u202f000.5", "10 d")
    with speaking("fr"):
        assert (number(7000.25, 2), duration(864_000.0)) == ("7\u202f000,25", "10 j")
        assert (colon(), apart(["a", "b"])) == ("\xa0: ", "a\xa0; b")


@pytest.mark.parametrize("language", ONE_NOW)
def test_json_and_csv_are_the_same_in_every_language(language: str, tmp_path: Path) -> None:
    case = small_case(tmp_path)
    made = {}
    for each in ("en", language):
        out = tmp_path / each
        done = call("compare", case, "--no-ranges", "--language", each, "--out", out, "--json", "-", "--quiet")
        assert done.exit_code == 0, done.output
        made[each] = json.loads(done.stdout), {path.name: path.read_bytes() for path in out.glob("*.csv")}
        assert '<html lang="en"' in (out / "report.html").read_text(encoding="utf-8")
    assert made["en"] == made[language]


@pytest.mark.parametrize("language", ONE_NOW)
def test_what_stays_english_says_so(language: str, tmp_path: Path) -> None:
    with speaking(language):
        english, report = say("language.english"), say("language.report")
    case = small_case(tmp_path)
    whole = call("compare", case, "--no-ranges", "--all", "--language", language)
    assert english in whole.stderr
    assert "All figures" in whole.stdout or label("compare.all") in whole.stdout
    assert english in call("keys", "rinse", "--language", language).stderr
    assert english in call("check", tmp_path / "none.toml", "--language", language).stderr
    assert report in call("compare", case, "--no-ranges", "--language", language, "--out", tmp_path / "out").stderr


def test_a_browser_is_answered_in_the_language_it_likes_best() -> None:
    assert "es" in OTHERS
    assert [wish(each) for each in ("es-MX,es;q=0.9,en;q=0.8", "de, pt-BR;q=0.7, en;q=0.5", "de", "")] == [
        "es", "pt", None, None
    ]  # fmt: skip


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize("arguments", [
    ["check"], ["compare", "--no-ranges", "--stages"], ["run", "--policy", "calendar"],
    pytest.param(["faults", "--days", "5", "--workers", "1"], marks=pytest.mark.long),
], ids=lambda arguments: arguments[0])  # fmt: skip
def test_no_screen_shows_an_english_word(arguments: list[str], language: str) -> None:
    done = call(arguments[0], CASE, *arguments[1:], "--language", language)
    assert done.exit_code == 0, done.output
    folded = {word for name in names() for word in name.split()}
    left = set(plain_words(done.stdout, names(), language)) - words_of(load_case(CASE)) - folded
    assert left == set()


@pytest.mark.parametrize("language", ONE_NOW)
def test_no_lesson_and_no_figure_shows_an_english_word(language: str, tmp_path: Path) -> None:
    known = ["rinse", *lesson("rinse").files, "DIR", *(each.name for each in load_case(lesson("rinse").path).stages)]
    shown = call("lesson", "rinse", "--language", language)
    drawn = call("lesson", "rinse", "--language", language, "--out", tmp_path, "--quiet")
    assert (shown.exit_code, drawn.exit_code) == (0, 0)
    (figure,) = tmp_path.glob("*.svg")
    for text in (shown.stdout, " ".join(texts(figure.read_text(encoding="utf-8")))):
        assert plain_words(text, known, language) == []


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize(("endpoint", "query", "held"), [
    (app.home, "", None), (start.show, "", None), (lessons.show, "guess=1", None), (begun.show, "", None),
    *(pytest.param(*each, marks=pytest.mark.long) for each in (
        (rinse.show, "guess=3", None), (meter.show, "units=us", WORTH), (plant.show, "", None),
        (present.show, "way=rinse", None), (lessons.show_slides, "slide=3", None), (lessons.show_answers, "", None),
    )),
])  # fmt: skip
def test_no_page_shows_an_english_word(endpoint: Any, query: str, held: Held | None, language: str) -> None:
    assert words_left(endpoint, query, held, language=language) == set()


@pytest.mark.parametrize("language", OTHERS)
def test_no_sheet_shows_an_english_word(language: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(paper, "can_make_pdf", lambda: False)
    case, out = small_case(tmp_path), tmp_path / "out"
    done = call("sheet", case, "--policy", "two nights", "--against", case, "--out", out, "--language", language)
    assert done.exit_code == 0, done.output
    loaded, pages = load_case(case), sorted(out.glob("*.html"))
    own = [loaded.title, Path(case).name, loaded.source_hash, *(each.name for each in loaded.stages),
           *(each.name for each in loaded.policies), "date", "time", *(each.value for each in What)]  # fmt: skip
    assert len(pages) > 1
    for page in pages:
        html = page.read_text(encoding="utf-8")
        assert f'<html lang="{language}"' in html
        seen = re.sub(r"<style>.*?</style>|<(\w+)[^>]* lang=\"en\".*?</\1>|<[^>]*>", " ", html, flags=re.DOTALL)
        assert set(plain_words(seen, own, language)) - words_of(loaded) == set(), page.name
