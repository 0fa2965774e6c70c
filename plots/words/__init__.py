"""Words by language: one TOML catalogue each, so that no sentence stands in the code."""

import re
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

LANGUAGE = "en"


@dataclass(frozen=True, slots=True)
class Words:
    """The catalogue of one language; keys are dotted. A key that is missing is an error."""

    language: str
    entries: dict[str, Any]

    def text(self, key: str, **fields: object) -> str:
        """The text of a key, its fields filled in."""
        found = self._find(key)
        assert isinstance(found, str), key
        return found.format(**fields)

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of texts without fields."""
        found = self._find(key)
        assert isinstance(found, list), key
        return tuple(found)

    def pairs(self, key: str) -> tuple[tuple[str, str], ...]:
        """A table of names and texts."""
        found = self._find(key)
        assert isinstance(found, dict), key
        return tuple(found.items())

    def _find(self, key: str) -> object:
        found: Any = self.entries
        for part in key.split("."):
            found = found[part]
        return found


def typeset(text: str) -> str:
    """Text with the powers of its units raised.

    >>> typeset("0.25 lb/ft3, 12 m3")
    '0.25 lb/ft³, 12 m³'
    """
    return _POWER.sub(lambda found: found[1] + _RAISED[found[2]], text)


_POWER = re.compile(r"\b(m|ft|in)([23])\b")
_RAISED = {"2": "²", "3": "³"}


@cache
def words(language: str = LANGUAGE) -> Words:
    """The catalogue of a language."""
    text = files("plots.words").joinpath(f"{language}.toml").read_text(encoding="utf-8")
    entries = tomllib.loads(text)
    return Words(entries["language"], entries)
