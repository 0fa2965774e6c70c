"""Every key that a case may hold, found by walking the tables of its schema."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cache
from typing import Any, Literal, get_args, get_origin, get_type_hints

from pydantic import Tag

from plots.words import catalogue, term
from sim.case.dotted import parts_of
from sim.case.record import record
from sim.case.schema import CaseFile
from sim.case.spelling import nearest, quoted, shown
from sim.case.table import Table
from sim.case.values import Items, OneOf, Rule
from sim.errors import RefusedValue
from sim.tell.review.constant_names import meaning

NAMED = {"policy": 2}
"""Tables below which names of the user's own stand, of a way and then of a stage, with how many of them."""


@record
class Shape:
    """A table that may stand under a key: its class, the word by which its shape is known, "" for the only one, and
    the key below which its own keys are listed."""

    table: type[Table]
    word: str
    listed_at: str


@record
class Key:
    """One key by its dotted path, names left out: what values and tables it takes, how many of them where it is a
    list, in which shapes of its table it stands (none where there is one shape), whether that needs it, the default
    of the schema as a text, and the path under which it is listed: its own, or that of an equal table."""

    path: str
    rules: tuple[Rule, ...]
    shapes: tuple[Shape, ...]
    items: Items | None
    within: tuple[str, ...]
    is_needed: bool
    default: str
    listed_path: str

    @property
    def is_repeated(self) -> bool:
        """Whether it is listed under another path."""
        return self.listed_path != self.path

    @property
    def above(self) -> str:
        """The path of the table that it stands in."""
        return self.path.rpartition(".")[0]

    @property
    def name(self) -> str:
        """The key itself."""
        return self.path.rpartition(".")[2]

    @property
    def what(self) -> str:
        """What it is, in a sentence or less."""
        parts, known = self.listed_path.split("."), catalogue.found("terms.key")
        ends = (".".join(parts[place:]) for place in range(len(parts)))
        end = next((end for end in ends if end in known), None)
        return meaning(self.path) if end is None else term("key", end)


@cache
def case_keys() -> dict[str, Key]:
    """Every key by its path, in the order of the schema."""
    return _below(Shape(table=CaseFile, word="", listed_at=""), "", {})


def listed_keys() -> list[Key]:
    """The keys without those whose table is listed under another key."""
    return [key for key in case_keys().values() if not key.is_repeated]


def found_keys(asked: str) -> list[Key]:
    """The keys that somebody asks for: by the dotted path, names in it or not, or by the last part alone.

    Raises RefusedValue with the nearest paths.
    """
    known = case_keys()
    path = _without_names(asked, known)
    if path in known:
        return [known[path]]
    ending = [key for key in listed_keys() if key.name == asked]
    if ending:
        return ending
    names = {key.name: key.path for key in reversed(known.values())}
    near = nearest(asked, known) or tuple(names[name] for name in nearest(asked.rpartition(".")[2], names))
    raise RefusedValue(
        f"the key {shown(asked)}", "a key of a case", quoted(near) if near else "the list: filterrun keys"
    )


def _without_names(asked: str, known: dict[str, Key]) -> str:
    """The path of a key as a file or a message has it, names and positions of items left out; "" where none fits."""
    path, left = "", 0
    parts = parts_of(asked)
    for place, part in enumerate(parts, start=1):
        longer = f"{path}.{part}" if path else part
        if longer in known:
            path, left = longer, NAMED.get(longer, 1 if known[longer].items else 0)
        elif left and place < len(parts):
            left -= 1
        else:
            return ""
    return path


def key_at(path: Sequence[str | int]) -> Key | None:
    """The key that leads to a place in a file, through names and positions of items; None for the whole file."""
    here, left = "", 0
    for part in path:
        if left:
            left -= 1
        else:
            here = f"{here}.{part}" if here else str(part)
            left = NAMED.get(here, 1 if case_keys()[here].items else 0)
    return case_keys()[here] if here else None


Alike = tuple[tuple[str, tuple[type, ...]], ...]
"""Keys of a table, each with the kinds of rule that it takes: what tables that are listed once have in common."""


def _alike(table: type[Table]) -> Alike:
    hints = get_type_hints(table, include_extras=True)
    return tuple((name, tuple(type(rule) for rule in _each(hints[name], Rule))) for name in table.model_fields)


def _below(shape: Shape, path: str, listed: dict[Alike, str]) -> dict[str, Key]:
    """The keys of a table and of all below it."""
    found: dict[str, Key] = {}
    hints = get_type_hints(shape.table, include_extras=True)
    for name, info in shape.table.model_fields.items():
        here = f"{path}.{name}" if path else name
        key = Key(
            path=here,
            rules=() if name in NAMED else tuple(dict.fromkeys([*_each(hints[name], Rule), *_words(hints[name])])),
            shapes=tuple(
                Shape(table=table, word=word, listed_at=listed.setdefault(_alike(table), here))
                for table, word in _tables(hints[name], "")
            ),
            items=None if name in NAMED else next(_each(hints[name], Items), None),
            within=(shape.word,) if shape.word else (),
            is_needed=info.is_required(),
            default=shown(info.default) if isinstance(info.default, str | int | float) else "",
            listed_path=f"{shape.listed_at}.{name}" if path else name,
        )
        _add(found, key)
        for each in key.shapes:
            for inner in _below(each, here, listed).values():
                _add(found, inner)
    return found


def _add(found: dict[str, Key], key: Key) -> None:
    """One more key; where another shape of its table has it too, both are one."""
    there = found.get(key.path)
    if there is not None:
        key = replace(
            there,
            rules=tuple(dict.fromkeys((*there.rules, *key.rules))),
            shapes=tuple({each.table: each for each in (*there.shapes, *key.shapes)}.values()),
            within=(*there.within, *key.within),
            is_needed=there.is_needed and key.is_needed,
            listed_path=key.listed_path if there.is_repeated else there.listed_path,
        )
    found[key.path] = key


def _each(annotation: Any, wanted: type) -> Iterator[Any]:
    """The marks of a kind that stand in an annotation, but for those inside a table."""
    yield from (mark for mark in getattr(annotation, "__metadata__", ()) if isinstance(mark, wanted))
    for inner in get_args(annotation):
        yield from _each(inner, wanted)


def _words(annotation: Any) -> Iterator[OneOf]:
    """The closed lists of words that stand in an annotation as plain choices."""
    if get_origin(annotation) is Literal:
        yield OneOf(*get_args(annotation))
    else:
        for inner in get_args(annotation):
            yield from _words(inner)


def _tables(annotation: Any, word: str) -> Iterator[tuple[type[Table], str]]:
    """The tables that stand in an annotation, each with the word of its shape."""
    tags = [mark.tag.strip("<>") for mark in getattr(annotation, "__metadata__", ()) if isinstance(mark, Tag)]
    word = tags[0] if tags and tags[0] not in ("table", "value") else word
    if isinstance(annotation, type) and issubclass(annotation, Table):
        yield annotation, word
    for inner in get_args(annotation):
        yield from _tables(inner, word)
