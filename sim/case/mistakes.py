"""What is wrong in a file, told by its place: file, line and dotted key."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from sim.case.line_numbers import Path, line_numbers
from sim.case.spelling import printable
from sim.errors import CaseError, Problem, RefusedValue

MOST_SHOWN = 50

_NAMED_BY = {"stage": "name", "step": "do"}


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing wrong at `path`: what was given, what is allowed, what to try."""

    path: Path
    given: str
    allowed: str
    try_: str

    @classmethod
    def of(cls, path: Path, refused: RefusedValue) -> "Finding":
        return cls(path, refused.given, refused.allowed, refused.try_)


Findings = Iterator[Finding]


def case_error(
    findings: Iterable[Finding], data: Mapping[str, Any], text: str, file: str, others: Iterable[Problem] = (),
    more: int = 0,
) -> CaseError:  # fmt: skip
    """The findings as one error, in the order of the file and each told once; then those in other files.

    `more`: problems that nobody has looked at. The first MOST_SHOWN are told, the rest is counted.
    """
    lines = line_numbers(text)
    told = dict.fromkeys((line_of(each.path, lines), each) for each in findings)
    problems = [
        Problem(file, line, dotted_key(each.path, data), each.given, each.allowed, each.try_)
        for line, each in sorted(told, key=lambda pair: pair[0])
    ]
    problems += others
    return CaseError(tuple(problems[:MOST_SHOWN]), max(len(problems) - MOST_SHOWN, 0) + more)


def line_of(path: Path, lines: Mapping[Path, int]) -> int:
    """The line of a path or, where the file has no such thing, of the nearest table around it."""
    while path and path not in lines:
        path = path[:-1]
    return lines.get(path, 1)


def dotted_key(path: Path, data: Any) -> str:
    """The path as a dotted key: stages by name, steps by what they do, if unique; all else by position.

    >>> dotted_key(("stage", 0, "limit"), {"stage": [{"name": "filter"}]})
    'stage.filter.limit'
    """
    parts, parent = [], ""
    for part in path:
        parts.append(_item_name(data, part, parent) if isinstance(part, int) else printable(part))
        data = _inside(data, part)
        parent = str(part)
    return ".".join(parts)


def _item_name(items: Any, position: int, parent: str) -> str:
    names = [_inside(item, _NAMED_BY.get(parent, "")) for item in items] if isinstance(items, list) else []
    name = names[position] if position < len(names) else None
    if isinstance(name, str) and name and names.count(name) == 1:
        return printable(name)
    return str(position)


def _inside(data: Any, part: str | int) -> Any:
    """The value at one step of a path, None where there is none."""
    if isinstance(data, dict):
        return data.get(part)
    if isinstance(data, list) and isinstance(part, int) and part < len(data):
        return data[part]
    return None
