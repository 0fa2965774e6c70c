"""The text of a case, changed at some keys."""

from collections.abc import Mapping
from typing import Any

import tomlkit

Path = tuple[str | int, ...]
"""Keys down to a value; items of lists go by their position."""


def written_in(text: str, settings: Mapping[Path, Any]) -> str:
    """The text of a case with values at paths, comments and layout kept; None leaves a key out."""
    document = tomlkit.parse(text)
    for (*path, last), value in settings.items():
        place: Any = document
        for part in path:
            place = _inside(place, part, top=place is document)
        if value is not None:
            place[last] = _inline(value)
        elif last in place:
            del place[last]
    return tomlkit.dumps(document)


def _inside(place: Any, part: str | int, *, top: bool) -> Any:
    """The table at a key, made where there is none or a single value stands for it."""
    if isinstance(place, list):
        return place[int(part)]
    if not isinstance(place.get(part), dict | list):
        place[part] = tomlkit.table() if top else tomlkit.inline_table()
    return place[part]


def _inline(value: Any) -> Any:
    """A table as one that stands on its key's own line, so that no key after it ends up inside."""
    if not isinstance(value, Mapping):
        return value
    table = tomlkit.inline_table()
    for key, item in value.items():
        table[key] = _inline(item)
    return table
