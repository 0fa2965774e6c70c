"""Every language says what English says: the same messages, placeholders, figures, and no English."""

import json
from pathlib import Path

import pytest
from babel.numbers import get_decimal_symbol

from plots.words import label, languages, number, say, speaking
from plots.words.catalogue import ENGLISH_FILES, messages
from sim.web.spoken import wish
from tests.cli.small import call, small_case
from tests.words.missing import WORDS, wrong
from tests.words.prose import uses

OTHERS = languages()[1:]
IN_ENGLISH = ("keys_told.py", "rule_words.py", "results_page.py", "form.py", "page.html", "report.html", "decision.html")
"""What says the messages that are English in every language: keys, what a result holds, the long report."""


@pytest.mark.parametrize("language", OTHERS)
def test_a_language_says_what_english_says(language: str) -> None:
    assert list(wrong(language)) == []


def test_english_messages_are_said_in_english_places_alone() -> None:
    import tomllib

    from tests.words.test_messages import messages as flat

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


@pytest.mark.parametrize("language", OTHERS)
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


@pytest.mark.parametrize("language", OTHERS)
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
