"""A language that no one speaks: every message of English with accents and two fifths longer.

What a command shows in it without an accent is said by no message:

    python -m tests.words.pseudo compare cases/laundry.toml
"""

import re
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import cache
from typing import Any

from click.testing import CliRunner

from plots.words import catalogue, speaking
from sim.case.quantities import QUANTITIES
from sim.case.records import Case
from sim.review.findings import Cited
from sim.review.review import review
from sim.tell.listing import sources
from tests.words.missing import texts

ACCENTS = str.maketrans("aceginorsuyzACEGINORSUYZ", "àçéğîñöŕšüýžÀÇÉĞÎÑÖŔŠÜÝŽ")
_KEPT = re.compile(r"(\{\w*\})")
_OF_DATES = {"day", "day_year", "moment", "moment_year", "date", "hour"}
_LOCALE = "ja"  # lists without a word, one plural
UNITS = {part for each in QUANTITIES.values() for symbol in (each.si, each.us) for part in re.findall(r"\w+", symbol)}
CODE = re.compile(r"--[\w-]+|\S*[_/\\=]\S*|\w+(\.\w+)+|`[^`]*`|\bfilterrun( \w+)?\b")
PLAIN = re.compile(r"(?<![^\W\d_])[A-Za-z]{3,}(?![^\W\d_])")


def accented(text: str) -> str:
    """
    >>> accented("Take {way}.")
    'Tàké {way}.····'
    """
    parts = _KEPT.split(text)
    own = "".join(part if _KEPT.fullmatch(part) else part.translate(ACCENTS) for part in parts)
    return own + "·" * round(0.4 * len(text))


def pseudo(place: Any) -> Any:
    """A catalogue, or a part of one, with every text accented."""
    if isinstance(place, Mapping):
        return {name: each if name == "by" else pseudo(each) for name, each in place.items()}
    if isinstance(place, list):
        return [pseudo(each) for each in place]
    return accented(str(place))


@cache
def _catalogue() -> Any:
    made, pattern = pseudo(catalogue.messages("en")), catalogue.messages("en")["pattern"]
    return made | {"locale": _LOCALE, "pattern": made["pattern"] | {name: pattern[name] for name in _OF_DATES}}


@contextmanager
def speaking_pseudo(language: str = "xx") -> Iterator[None]:
    """Say everything in the language xx, or in one that people speak."""
    if language != "xx":
        with speaking(language):
            yield
        return
    own, made = catalogue.messages, _catalogue()
    catalogue.messages = lambda language: made if language == "xx" else own(language)  # type: ignore
    try:
        with speaking("xx"):
            yield
    finally:
        catalogue.messages = own  # type: ignore


def plain_words(text: str, names: Sequence[str] = (), language: str = "xx") -> list[str]:
    """Words that no message said, but for names of the case, codes and units.

    `language`: only those that English messages have and none of this language.
    """
    text = CODE.sub(" ", text)
    for name in sorted(names, key=len, reverse=True):
        if name in text:
            text = re.sub(rf"(?<![A-Za-z0-9_]){re.escape(name)}(?![A-Za-z0-9_])", " ", text)
    english = None if language == "xx" else english_alone(language)
    words = [each for each in PLAIN.findall(text) if each not in UNITS]
    return [each for each in words if english is None or each.lower() in english]


@cache
def english_alone(language: str) -> frozenset[str]:
    """Words of the English messages that those of a language have nowhere."""
    own, english = (_words(texts(each)) for each in (language, "en"))
    return english - own


def _words(place: Any) -> frozenset[str]:
    if isinstance(place, Mapping):
        return frozenset().union(*(_words(each) for name, each in place.items() if name != "by"))
    if isinstance(place, list):
        return frozenset().union(*map(_words, place))
    return frozenset(re.findall(r"[^\W\d_]{3,}", CODE.sub(" ", _KEPT.sub(" ", str(place))).lower()))


def words_of(case: Case) -> set[str]:
    """Words that come from a case or from a source: keys of constants, citations."""
    bands = [each.band.source.text for each in review(case) if isinstance(each.band.source, Cited)]
    keys = [each.key for each in (*case.assumptions, *case.remedies)]
    return {word for text in (*bands, *sources(case.assumptions), *keys) for word in re.findall(r"[A-Za-z]+", text)}


def main(arguments: list[str]) -> None:
    from sim.cli.group import main_command

    with speaking_pseudo():
        shown = CliRunner().invoke(main_command, arguments).output
    print(shown)
    print(sorted(set(plain_words(shown))))


if __name__ == "__main__":
    main(sys.argv[1:])
