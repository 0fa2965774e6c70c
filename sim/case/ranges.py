"""The ranges that a case states for constants which it gives itself.

An end is read as the key would read it: the tables are built once more with all low ends in place, and with all high
ones. What a setting changes has no stated range any more.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from sim.case.dotted import path_of, with_settings
from sim.case.line_numbers import Path
from sim.case.mistakes import Finding, dotted_key
from sim.case.reading import read_tables
from sim.case.schema import CaseFile, RangeTable
from sim.case.spelling import shown
from sim.errors import RefusedValue

CONSTANT = (
    "the key of a constant that the case gives and its runs use: one that may also be assumed, or viscous, inertial, "
    "cleaning_rate"
)
LOOK = "filterrun keys, which says of each key whether it may be assumed"


@dataclass(slots=True)
class Ranges:
    """Low and high [SI, as the table has them] by dotted key, the tables that state them, and what is wrong."""

    tables: list[RangeTable]
    ends: dict[str, tuple[float, float]] = field(default_factory=dict)
    places: dict[str, int] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)

    def unused(self, used: set[str]) -> list[Finding]:
        """A finding for each range of what no run takes as a constant."""
        return [self.no_constant(place) for key, place in self.places.items() if key not in used]

    def no_constant(self, place: int) -> Finding:
        """That a range is of no constant of the case."""
        return Finding(("range", place, "of"), shown(self.tables[place].of), CONSTANT, LOOK)


def ranges_of(data: Mapping[str, Any], tables: CaseFile, settings: Mapping[str, Any]) -> Ranges:
    """The ranges of a case whose tables are in order; `settings` are in the data already."""
    found = Ranges(tables.range or [])
    if not found.tables:
        return found
    paths: dict[Path, int] = {}
    for place, table in enumerate(found.tables):
        try:
            path = path_of(data, table.of)
        except RefusedValue as refused:
            found.findings.append(Finding.of(("range", place, "of"), refused))
            continue
        if _number(tables, path) is None:
            found.findings.append(found.no_constant(place))
            continue
        if path in paths:
            known = "one range for a constant", "leaving one out"
            found.findings.append(Finding(("range", place, "of"), shown(table.of), *known))
        paths[path] = place
    changed = {path_of(data, key) for key in settings}
    at_low, at_high = _read(data, paths, "low", found), _read(data, paths, "high", found)
    for path, place in paths.items() if not found.findings else ():
        value, low, high = (_number(each, path) for each in (tables, at_low, at_high))
        assert value is not None
        assert low is not None
        assert high is not None
        if path not in changed:
            key, given = dotted_key(path, data), found.tables[place]
            found.ends[key], found.places[key] = (low, high), place
            if not low <= value <= high or low == high:
                allowed = f"low below high, and {given.of} from one to the other"
                try_ = "the ends in order, around the value that the case gives"
                span = f"{shown(given.low)} to {shown(given.high)}"
                found.findings.append(Finding(("range", place), span, allowed, try_))
    return found


def _read(
    data: Mapping[str, Any], paths: Mapping[Path, int], end: Literal["low", "high"], found: Ranges
) -> CaseFile:
    """The tables with all constants at one end; what is refused of them is told at the range."""
    settings = {found.tables[place].of: getattr(found.tables[place], end) for place in paths.values()}
    read, refused, _ = read_tables(with_settings(data, settings))
    for each in refused:
        place = next(place for path, place in paths.items() if each.path[: len(path)] == path)
        found.findings.append(Finding(("range", place, end), each.given, each.allowed, each.try_))
    return read


def _number(tables: CaseFile, path: Path) -> float | None:
    """What stands at a path, if that is one number."""
    value: Any = tables
    for part in path:
        try:
            value = value[part] if isinstance(value, list | dict) else getattr(value, str(part), None)  # type: ignore[index]
        except LookupError:
            return None
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None
