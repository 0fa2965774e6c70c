"""The catalogue: every word is used, none claims too much, every place finds its words."""

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from plots.words import Words, typeset, words
from tests.cli.test_words import CLAIMS, JARGON, found

PLOTS = Path(__file__).parent.parent.parent / "plots"
CATALOGUE = PLOTS / "words" / "en.toml"


def leaves(entries: dict[str, object], above: str = "") -> Iterator[tuple[str, object]]:
    """Dotted keys and what they hold."""
    for key, value in entries.items():
        name = f"{above}{key}"
        if isinstance(value, dict):
            yield from leaves(value, f"{name}.")
        else:
            yield name, value


ENTRIES = dict(leaves(tomllib.loads(CATALOGUE.read_text(encoding="utf-8"))))
SOURCES = "\n".join(
    path.read_text(encoding="utf-8") for path in [*PLOTS.rglob("*.py"), *(PLOTS / "templates").iterdir()]
)


@pytest.mark.parametrize("key", sorted(ENTRIES))
def test_every_entry_is_asked_for_somewhere(key: str) -> None:
    table = key.rpartition(".")[0]
    assert f'"{key}"' in SOURCES or f'"{table}"' in SOURCES or f'"{table}."' in SOURCES


def test_every_key_that_is_asked_for_exists() -> None:
    asked = set(re.findall(r'"((?:course|runs|bed|compared|swept|wall|report|weather)\.[a-z_]+)[".]', SOURCES))
    assert len(asked) > 20
    tables = {key.rpartition(".")[0] for key in ENTRIES}
    assert asked - set(ENTRIES) - tables == {"report.html", "report.css"}


@pytest.mark.parametrize("path", [CATALOGUE, *sorted((PLOTS / "templates").iterdir())], ids=lambda path: path.name)
def test_no_word_claims_or_confuses(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert found(CLAIMS, text) == []
    assert found(JARGON, text) == []
    assert re.findall(r"\bpolic(?:y|ies)\b", re.sub(r"\{[a-z]+\}", "", text)) == []


def test_a_missing_key_is_an_error() -> None:
    with pytest.raises(KeyError):
        words().text("course.nothing")
    with pytest.raises(KeyError):
        Words("xx", {}).text("a.b")


def test_powers_are_raised_in_units_and_nowhere_else() -> None:
    assert typeset("5 m3, 2 gpm/ft2, 1 kg/m3, 3 of m32, H2") == "5 m³, 2 gpm/ft², 1 kg/m³, 3 of m32, H2"
