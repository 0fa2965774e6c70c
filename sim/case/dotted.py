"""One setting of a case changed by its dotted key, as a sweep or a range test does it.

A key is the path in the file, its parts joined by dots as they are or in quotes by the rules of TOML; no name has a
dot, or a quote mark at its start. Items of lists go by name or position, a step by what it does and a layer by its
medium where only one of them does or has it: `stage.filter.layer.sand.depth`, `policy."pressure drop".filter.above`.
"""

import copy
import re
import tomllib
from collections.abc import Mapping
from typing import Any

from sim.case.line_numbers import Path
from sim.case.spelling import listed, nearest, quoted, shown
from sim.errors import RefusedValue

NAMED_BY = {"stage": "name", "step": "do", "layer": "medium"}  # lists whose items go by one of their own keys

_PART = re.compile(r"""\s*("(?:\\.|[^"\\])*"|'[^']*')\s*\.|([^.]*)\.""")


def with_settings(data: Mapping[str, Any], settings: Mapping[str, Any]) -> dict[str, Any]:
    """A copy of a parsed case file with values set at dotted keys; tables on the way are made where absent.

    Items of lists, policies and the stages of a policy are never made; None takes a key out.

    Raises RefusedValue for a key that leads nowhere. Whether the value suits its key is for the reader of the case.
    """
    changed = copy.deepcopy(dict(data))
    for key, value in settings.items():
        *path, last = parts_of(key)
        place: Any = changed
        for depth, name in enumerate(path):
            place = _inside(place, name, path[:depth], key)
        if not isinstance(place, dict):
            raise RefusedValue(f"the key {shown(key)}", "a key of a table", f"one below {shown('.'.join(path))}")
        place[last] = value
        if value is None:
            del place[last]
    return changed


def path_of(data: Mapping[str, Any], key: str) -> Path:
    """The path of a dotted key in a parsed case file, items of lists by position; it may end in a key not there.

    Raises RefusedValue for a key that leads nowhere.
    """
    path: Path = ()
    place: Any = data
    parts = parts_of(key)
    for depth, name in enumerate(parts):
        if isinstance(place, list) and depth:
            position = _position(place, name, parts[depth - 1], key)
            path, place = (*path, position), place[position]
        elif place is None or isinstance(place, dict):
            path, place = (*path, name), (place or {}).get(name)
        else:
            raise _nowhere(key)
    return path


def parts_of(key: str) -> list[str]:
    r"""The parts of a dotted key; a dot within quotes parts nothing, and quotes within a part are part of it.

    >>> parts_of('policy."at 1.5 bar".sand.hold')
    ['policy', 'at 1.5 bar', 'sand', 'hold']
    >>> parts_of(r'stage."12\" bed".limit') == parts_of('stage.12" bed.limit') == ["stage", '12" bed', "limit"]
    True

    Raises RefusedValue for what stands in quotes against the rules of TOML.
    """
    parts, left = list[str](), f"{key}."
    while left:
        found = _PART.match(left)
        assert found is not None
        left = left[found.end() :]
        parts.append(found[2].strip() if found[1] is None else _unquoted(found[1], key))
    return parts


def _unquoted(text: str, key: str) -> str:
    try:
        return str(tomllib.loads(f"part = {text}")["part"])
    except tomllib.TOMLDecodeError:
        raise RefusedValue(
            f"{shown(text)} in the key {shown(key)}", "a name in quotes as in a TOML file", "the name without quotes"
        ) from None


def _inside(place: Any, name: str, before: list[str], key: str) -> Any:
    if isinstance(place, dict):
        if before[:1] == ["policy"] and len(before) < 3 and place and name not in place:
            raise _unknown(name, list(place), key)
        inner = place.setdefault(name, {})
        if isinstance(inner, str):  # "none", or a value that stands for a whole table
            inner = place[name] = {}
        return inner
    if isinstance(place, list) and before:
        return place[_position(place, name, before[-1], key)]
    raise _nowhere(key)


def _nowhere(key: str) -> RefusedValue:
    return RefusedValue(f"the key {shown(key)}", "a path through the case file", "see the file's own tables")


def _position(items: list[Any], name: str, kind: str, key: str) -> int:
    """Where in a list of tables the item of this name or position stands."""
    names = [str(item.get(NAMED_BY.get(kind, ""), "")) for item in items]
    if names.count(name) == 1:
        return names.index(name)
    if name.isascii() and name.isdigit() and int(name) < len(items):
        return int(name)
    unique = [each for each in names if each and names.count(each) == 1]
    raise _unknown(name, [*unique, *(str(place) for place in range(len(items)))], key)


def _unknown(name: str, allowed: list[str], key: str) -> RefusedValue:
    """A part of a key that names no item of a list, no policy and no stage of a policy."""
    close = nearest(name, allowed)
    return RefusedValue(
        f"{shown(name)} in the key {shown(key)}", listed(allowed), quoted(close) if close else "one of these"
    )
