"""From raw TOML data to the tables of the schema, with everything that is wrong and all that can be read.

Pydantic tells every refused value of a file but returns nothing of the file then. So that what several keys
say together is judged in the same go, the tables are built once more from the values that are in order.
"""

from collections.abc import Mapping
from functools import cache
from typing import Any, get_args

from pydantic import TypeAdapter, ValidationError
from pydantic_core import ErrorDetails

from sim.case import hints
from sim.case.line_numbers import Path
from sim.case.mistakes import Finding
from sim.case.schema import CaseFile
from sim.case.spelling import nearest_or, shown
from sim.case.table import Table, Unread
from sim.case.trigger.schema import START_ON
from sim.case.values import OneOf
from sim.errors import RefusedValue

Location = tuple[str | int, ...]
"""Where pydantic says an error is: a path with tags of unions and a mark for keys in between."""


MOST_JUDGED = 500  # problems of a file; more are only counted

RENAMED: Mapping[tuple[Path, str | int], tuple[str, str]] = {
    (("policy",), "latest"): ("longest_run", "longest_run in [[stage]], for every policy; in a policy a shorter one"),
    (("run",), "allowed_breach"): ("allowed_over_limit", "allowed_over_limit in [run]"),
    **{(("stage",), key): ("from and until in hold_unit", "the steps from and until which it is held, as in"
       ' { from = "wash start", until = "back in service" }') for key in ("from_minute", "to_minute")},
    (("downstream",), "use"): ("use above all tables", "use as a key of the case, above all its tables"),
}
"""Keys that are gone, below a table of the case: the new name, and where it belongs."""

UPGRADE = "filterrun upgrade OLD NEW"


class Unreadable:
    """Stands in a list or table for an item that is no table at all."""

    def __getattr__(self, name: str) -> Any:
        raise Unread(name)


def read_tables(data: dict[str, Any]) -> tuple[CaseFile, list[Finding], int]:
    """The file's tables; where there are findings, as far as readable (what is not raises Unread).

    Beside the findings stands how many more there are, in a file that is nothing like a case.
    """
    try:
        return CaseFile.model_validate(data), [], 0
    except ValidationError as error:
        details = error.errors(include_url=False)
    findings = [_finding(each) for each in details[:MOST_JUDGED]]
    return as_far_as_readable(CaseFile, data), findings, max(len(details) - MOST_JUDGED, 0)


def as_far_as_readable(hint: hints.Hint, raw: object) -> Any:
    """The value that an annotation reads from raw data, tables without what is refused in them.

    Unread if nothing of it can be read.
    """
    try:
        return _adapter(hint).validate_python(raw)
    except ValidationError:
        pass
    table, item, named = hints.table_of(hint), hints.list_item(hint), hints.named_item(hint)
    if table and isinstance(raw, dict):
        return _partial_table(table, raw)
    if hints.table_of(item) and isinstance(raw, list):
        return [_item(item, each) for each in raw]
    if named and isinstance(raw, dict):
        return {key: _item(named, each) for key, each in raw.items()}
    member = hints.member_for(hint, raw)
    if member is None:
        raise Unread(shown(raw))
    return as_far_as_readable(member, raw)


@cache
def _adapter(hint: hints.Hint) -> TypeAdapter[Any]:
    return TypeAdapter(hint)


def _partial_table(table: type[Table], raw: dict[str, Any]) -> Table:
    read: dict[str, Any] = {}
    refused = set()
    for key, field in table.model_fields.items():
        if key in raw:
            try:
                read[key] = as_far_as_readable(hints.hint_of(field), raw[key])
            except Unread:
                refused.add(key)
    made = table.model_construct(**read)
    for key in refused:
        made.__dict__.pop(key, None)  # a default must not stand in for a value that was refused
    return made


def _item(hint: hints.Hint, raw: object) -> Any:
    try:
        return as_far_as_readable(hint, raw)
    except Unread:
        return Unreadable()


def _finding(details: ErrorDetails) -> Finding:
    """One error of pydantic in the words of this project."""
    location, raw = details["loc"], details["input"]
    match details["type"]:
        case "value_error":
            if location[-1] == "[key]":  # the name of a table was refused, not what it holds
                location = location[:-1]
            return Finding.of(_place(location)[0], details["ctx"]["error"])
        case "literal_error":
            path, hint = _place(location)
            return _refused(path, OneOf(*get_args(hints.bare(hint)[0])), raw)
        case "extra_forbidden":
            return _unknown_key(location)
        case "missing":
            return _missing(location)
        case "too_short" | "too_long" as verdict:
            path, hint = _place(location)
            try_ = "adding what is missing" if verdict == "too_short" else "leaving some out"
            return Finding(path, f"{len(raw)} {hints.things(hint)}", hints.allowed(hint), try_)
        case "union_tag_not_found" if isinstance(raw, dict):
            return _no_start(location, raw)
    return _wrong_shape(location, raw)


def _place(location: Location) -> tuple[Path, hints.Hint]:
    """The path in the file and the annotation at a location of pydantic's."""
    path: Path = ()
    hint: hints.Hint = CaseFile
    for part in location:
        # The tag of a union is a part of the location, but not of the file.
        if not hints.members_by_tag(hints.bare(hint)[0]):
            path = (*path, part)
        hint = hints.step_into(hint, part)
    return path, hint


def _unknown_key(location: Location) -> Finding:
    *outer, key = location
    path, table = _place(tuple(outer))
    if (path[:1], key) in RENAMED:
        new, where = RENAMED[path[:1], key]
        return Finding((*path, key), f"the old key {shown(key)}", where, f"use {new}; {UPGRADE} does it")
    known = tuple(hints.bare(table)[0].model_fields)
    try_ = nearest_or(str(key), known, "one of these keys, or none")
    return Finding((*path, key), f"the unknown key {shown(key)}", f"the keys {', '.join(known)}", try_)


def _missing(location: Location) -> Finding:
    path, hint = _place(location)
    return Finding(path, "nothing", hints.allowed(hint), _way_to_write(path, hint))


def _no_start(location: Location, raw: dict[str, Any]) -> Finding:
    """A trigger whose `start_on` is missing or no word of the list."""
    path = (*_place(location)[0], "start_on")
    if "start_on" not in raw:
        return Finding(path, "nothing", START_ON.allowed, f"start_on = {START_ON.example}")
    return _refused(path, START_ON, raw["start_on"])


def _refused(path: Path, rule: OneOf, raw: object) -> Finding:
    """What a list of words says to a value that is none of them."""
    try:
        rule.read(raw)
    except RefusedValue as refused:
        return Finding.of(path, refused)
    raise AssertionError("it is a word of the list")


def _wrong_shape(location: Location, raw: object) -> Finding:
    """Something other than the table or list that is wanted: a value, or the wrong number of brackets."""
    path, hint = _place(location)
    if location and _place(location[:-1])[0] == path:
        hint = _place(location[:-1])[1]  # the union, which allows more than the member that was tried
    return Finding(path, shown(raw), hints.allowed(hint), _way_to_write(path, hint))


def _way_to_write(path: Path, hint: hints.Hint) -> str:
    """How the value at a path would be written: a header, or key = example."""
    header = ".".join(part for part in path if isinstance(part, str))
    if hints.named_item(hint):
        return '[policy."name"."stage"] and the keys of a trigger below it'
    if hints.table_of(hints.list_item(hint)):
        return f"[[{header}]] in double brackets, once for each"
    if hints.table_of(hint) and len(path) == 1:
        return f"[{header}] and its keys below it"
    return f"{path[-1]} = {hints.example(hint)}" if isinstance(path[-1], str) else hints.example(hint)
