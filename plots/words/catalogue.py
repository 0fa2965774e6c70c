"""The messages of a language: the TOML files of its folder as one catalogue, and which language is spoken."""

import string
import tomllib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from importlib.resources import files
from typing import Any, Final

ENGLISH: Final = "en"
ENGLISH_FILES: Final = frozenset({"keys.toml", "results.toml", "report.toml"})
"""What every language says in English where it has no such file: keys, what a result holds, the long report."""
_SPOKEN: Final[ContextVar[str]] = ContextVar("language", default=ENGLISH)


@contextmanager
def speaking(language: str) -> Iterator[None]:
    """Say everything in a language, here and in what is called."""
    before = _SPOKEN.set(language)
    try:
        yield
    finally:
        _SPOKEN.reset(before)


def spoken() -> str:
    """The language in which everything is said now."""
    return _SPOKEN.get()


@cache
def languages() -> tuple[str, ...]:
    """The languages that there are, English first: each is a folder.

    >>> languages()[0]
    'en'
    """
    folders = files("plots.words").iterdir()
    found = (each.name for each in folders if each.joinpath("language.toml").is_file())
    return tuple(sorted(found, key=lambda name: (name != ENGLISH, name)))


@cache
def messages(language: str) -> Mapping[str, Any]:
    """All tables of a language, those of one name in two files joined. Raises KeyError for a key in two files."""
    own, english = (files("plots.words").joinpath(each) for each in (language, ENGLISH))
    parts = {each.name: each for each in own.iterdir()}
    parts |= {name: english.joinpath(name) for name in ENGLISH_FILES - parts.keys()}
    whole: dict[str, Any] = {}
    for each in sorted(parts.values(), key=lambda each: each.name):
        _join(whole, tomllib.loads(each.read_text(encoding="utf-8")), each.name)
    return whole


def _join(whole: dict[str, Any], part: Mapping[str, Any], name: str) -> None:
    for key, value in part.items():
        if isinstance(value, dict) and isinstance(whole.get(key), dict):
            _join(whole[key], value, f"{name}: {key}")
        elif key in whole:
            raise KeyError(f"{name}: {key} stands in two files")
        else:
            whole[key] = value


def found(key: str) -> Any:
    """What stands at a dotted key in the language spoken. Raises KeyError with the whole key where nothing does."""
    place: Any = messages(spoken())
    for part in key.split("."):
        if not isinstance(place, Mapping) or part not in place:
            raise KeyError(f"no message {key} in {spoken()}")
        place = place[part]
    return place


def own(name: str, otherwise: Any) -> Any:
    """What the language spoken has of its own by a name, where others have nothing."""
    return messages(spoken()).get(name, otherwise)


def fields_of(message: str | Mapping[str, str]) -> frozenset[str]:
    """The names of what is filled into a message: into any of its variants, and what they go by.

    >>> sorted(fields_of({"by": "why", "rain": "Rain: {amount}.", "none": "No rain."}))
    ['amount', 'why']
    """
    if isinstance(message, str):
        return _fields(message)
    variants = (_fields(text) for name, text in message.items() if name != "by")
    return frozenset({message["by"]}).union(*variants)


@cache
def _fields(text: str) -> frozenset[str]:
    return frozenset(name for _, name, _, _ in string.Formatter().parse(text) if name is not None)
