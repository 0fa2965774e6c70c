"""One setting of a case changed by its dotted key, as a sweep or a range test does it.

A key is the path in the file, items of lists by name or position (a step's name is what it does, where only one does
it): `stage.filter.layer.0.depth`, `stage.filter.step.rinse.minutes`, `policy.calendar.filter.every`.
"""

import copy
from collections.abc import Mapping
from typing import Any

from sim.case.wording import listed, nearest, quoted, shown
from sim.errors import RefusedValue

NAMED_BY = {"stage": "name", "step": "do"}  # lists whose items go by one of their own keys


def with_settings(data: Mapping[str, Any], settings: Mapping[str, Any]) -> dict[str, Any]:
    """A copy of a parsed case file with values set at dotted keys; tables on the way are made where absent.

    Items of lists, policies and the stages of a policy are never made.

    Raises RefusedValue for a key that leads nowhere. Whether the value suits its key is for the reader of the case.
    """
    changed = copy.deepcopy(dict(data))
    for key, value in settings.items():
        *path, last = key.split(".")
        place: Any = changed
        for depth, name in enumerate(path):
            place = _inside(place, name, path[:depth], key)
        if not isinstance(place, dict):
            raise RefusedValue(f"the key {shown(key)}", "a key of a table", f"one below {shown('.'.join(path))}")
        place[last] = value
    return changed


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
    raise RefusedValue(f"the key {shown(key)}", "a path through the case file", "see the file's own tables")


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
