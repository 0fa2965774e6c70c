"""What a person reads: whole messages by language, and the one place where they are put into words.

Callers choose a message and give it typed arguments; the catalogue of the language says it. A message is a sentence
(`say`), a text on a table or figure (`label`), or a noun of the trade (`term`). What `say` and `label` return is no
argument of another message, so that no sentence is made of pieces. The types cost nothing when the program runs:
mypy refuses a plain string.
"""

import re
from collections.abc import Mapping
from typing import NewType

from plots.words.catalogue import ENGLISH, fields_of, found, languages, speaking, spoken
from plots.words.written import (
    Amount,
    Items,
    Moment,
    Name,
    Number,
    amount,
    apart,
    colon,
    count,
    dated,
    hour,
    in_days,
    in_quotes,
    in_years,
    items,
    locale,
    localised,
    months,
    number,
    respelled,
    span,
    time_unit,
)

__all__ = [
    "ENGLISH", "Amount", "Argument", "Code", "Items", "Kind", "Label", "Moment", "Name", "Number", "Sentence", "Term",
    "amount", "apart", "colon", "count", "dated", "each_of", "hour", "in_days", "in_quotes", "in_years", "items",
    "label", "languages", "localised", "months", "number", "paragraph", "respelled", "say", "span", "speaking",
    "spoken", "term", "time_unit", "typeset",
]  # fmt: skip

Code = NewType("Code", str)
"""A key, an option, a file, a unit: never translated."""
Term = NewType("Term", str)
"""A noun of the trade."""
Kind = NewType("Kind", str)
"""Which of a message's variants to say: chosen by it, not shown."""
Sentence = NewType("Sentence", str)
"""A whole sentence, or several: no argument of another."""
Label = NewType("Label", str)
"""A text that stands alone, as the head of a column does."""

Argument = Number | Amount | Moment | Name | Code | Term | Items | Kind | int


def say(key: str, /, **arguments: Argument) -> Sentence:
    """A whole sentence. Raises KeyError for an unknown key, and unless the arguments are those of the message."""
    return Sentence(_filled(key, arguments))


def label(key: str, /, **arguments: Argument) -> Label:
    """A text that stands alone: the head of a column, a word on a figure, a cell. Raises KeyError as `say` does."""
    return Label(_filled(f"labels.{key}", arguments))


def term(table: str, name: str) -> Term:
    """What the trade calls a thing, by one of the tables of terms. Raises KeyError for one that is not there.

    >>> term("cause", "longest run")
    'longest run'
    """
    return Term(str(found(f"terms.{table}")[name]))


def each_of(table: str) -> tuple[Sentence, ...]:
    """All sentences of a table that takes no arguments, in its order."""
    return tuple(say(f"{table}.{name}") for name in found(table))


def paragraph(*sentences: Sentence) -> Sentence:
    """Sentences one after the other."""
    return Sentence(" ".join(each for each in sentences if each))


def _filled(key: str, arguments: Mapping[str, Argument]) -> str:
    message = found(key)
    asked = fields_of(message)
    if asked != arguments.keys():
        raise KeyError(f"{key} takes {sorted(asked)}, not {sorted(arguments)}")
    if isinstance(message, Mapping):
        chosen = arguments[message["by"]]
        message = message[_category(chosen, message) if isinstance(chosen, int) else chosen]
    written = {name: count(each) if isinstance(each, int) else each for name, each in arguments.items()}
    return str(message).format(**written)


def _category(number: int, variants: Mapping[str, str]) -> str:
    """The plural of a number; `other` where the message has none of that name, as of the millions of French."""
    from babel.core import Locale

    found = str(Locale.parse(locale()).plural_form(number))
    return found if found in variants else "other"


def typeset(text: str) -> str:
    """Text with the powers of its units raised.

    >>> typeset("0.25 lb/ft3, 12 m3")
    '0.25 lb/ft³, 12 m³'
    """
    return _POWER.sub(lambda found: found[1] + _RAISED[found[2]], text)


_POWER = re.compile(r"\b(m|ft|in)([23])\b")
_RAISED = {"2": "²", "3": "³"}
