"""What a language says otherwise than it should, against English.

    python -m tests.words.missing es
"""

import re
import sys
import tomllib
from collections.abc import Iterator, Mapping
from typing import Any

from plots.words.catalogue import ENGLISH, ENGLISH_FILES, fields_of
from tests.words.prose import ROOT
from tests.words.test_messages import ENDS, PLURALS

WORDS = ROOT / "plots" / "words"
SHORT = 3  # words that may be the same in two languages
FREE = ("locale", "months", "pattern.date", "pattern.hour", "pattern.day", "pattern.day_year", "pattern.moment")
"""What begins the keys of what each language writes in its own way."""
OPTIONAL = ("group", "units.d", "colon", "semicolon")
"""What a language may say and English does not."""
SAME = frozenset[str]()
"""Longer texts that are the same in a language as in English: formulas, lists of codes."""
ENGLISH_WORDS = re.compile(r"(?i)\b(the|and|of|with|which|is|are|from|this|that|than|its|into|when|where|have)\b")
FILLED = re.compile(r"\{\w*\}|`[^`]*`|“[^”]*”|«[^»]*»|\S*[_=/]\S*|--\w+")


def texts(language: str) -> dict[str, Any]:
    """Every text of a language by its dotted key, those of the files that all have in English left out."""
    found: dict[str, Any] = {}
    for path in sorted((WORDS / language).glob("*.toml")):
        if path.name not in ENGLISH_FILES:
            found |= dict(_flat(tomllib.loads(path.read_text(encoding="utf-8")), ""))
    return found


def _flat(place: Mapping[str, Any], key: str) -> Iterator[tuple[str, Any]]:
    for name, each in place.items():
        dotted = f"{key}.{name}" if key else name
        if isinstance(each, Mapping) and "by" not in each:
            yield from _flat(each, dotted)
        else:
            yield dotted, each


def wrong(language: str) -> Iterator[str]:
    """Everything that is wrong, a line each."""
    english, own = texts(ENGLISH), texts(language)
    yield from (f"{key}: missing" for key in english if key not in own)
    yield from (f"{key}: not in English" for key in own if key not in english and key not in OPTIONAL)
    for key, text in own.items():
        if key in english and not key.startswith(FREE):
            yield from (f"{key}: {each}" for each in _differs(key, english[key], text))


def _differs(key: str, english: Any, own: Any) -> Iterator[str]:
    if isinstance(english, Mapping) != isinstance(own, Mapping):
        yield "variants in one of the two alone"
    elif isinstance(english, Mapping):
        if english.keys() != own.keys() or english["by"] != own["by"]:
            yield f"variants {', '.join(own)} in place of {', '.join(english)}"
            return
        counts = english.keys() - {"by"} <= PLURALS
        for name in english.keys() - {"by"}:
            may_drop = {english["by"]} if counts and name == "one" else set[str]()
            yield from _text_differs(key, english[name], own[name], may_drop)
    else:
        yield from _text_differs(key, english, own, set())


def _text_differs(key: str, english: str, own: str, may_drop: set[str]) -> Iterator[str]:
    """What differs between two texts that say the same; a placeholder of `may_drop` may be in one of them alone."""
    if english and not own.strip():
        yield "empty"
        return
    if (fields_of(english) ^ fields_of(own)) - may_drop:
        yield f"{{{', '.join(sorted(fields_of(own)))}}} in place of {{{', '.join(sorted(fields_of(english)))}}}"
    if english[-1:] != own[-1:] and (english[-1:] in ENDS or own[-1:] in ENDS) and not own.endswith("UU."):
        yield f"ends in {own[-1:]} and not in {english[-1:]}"
    if not may_drop and sorted(re.findall(r"\d+", english)) != sorted(re.findall(r"\d+", own)):
        yield f"other figures: {own}"
    bare = FILLED.sub(" ", own)
    if own == english and len(bare.split()) > SHORT and key not in SAME:
        yield f"as in English: {own}"
    if found := ENGLISH_WORDS.findall(bare):
        yield f"English words {', '.join(found)}: {own}"
    if "  " in own.strip():
        yield "two blanks"


if __name__ == "__main__":
    print("\n".join(wrong(sys.argv[1])))
