"""A case with what starts its washes set anew by the rule, in place: comments and all else stay as they are."""

import os
import re
from codecs import BOM_UTF8
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import tomlkit

from sim.case.load import read_case
from sim.case.quantities import System
from sim.case.record import record
from sim.case.stage.longest_run import with_usual_longest_runs
from sim.case.units import NUMBER_PATTERN, parse_quantity
from sim.review.site import site_of
from sim.study.errors import RequestError
from sim.write.document import COMMENT_AT
from sim.write.ways import (
    A_DAY_ALMOST,
    FIRST,
    LATE_FOR_IT,
    NO_CHOICE,
    OVER,
    SPENT_ONCE,
    Ruled,
    first_words,
    ruled_of,
    run_words,
    set_by_rule,
)
from sim.write.written import in_unit

SET_BY_RULE = re.compile(r"\d% of|ends? before it acts|about a day's use")
"""What tells a comment that this program wrote from a person's own."""

SAID_FIRST = re.compile(f"{FIRST}.*({OVER}|{NO_CHOICE}|{LATE_FOR_IT}|{SPENT_ONCE}|{A_DAY_ALMOST})")
"""The same of a line at the top of the file."""

IN_US = re.compile(r'\b(volume|above) = "[^"]*(gal|psi)"')
KEPT = "kept, since its clean bed is over the limit already: a longer run would make that no better"
RANDOM = (
    "the weather is random, and the rule takes its mean: in a storm a bed fills sooner than the rule says;"
    " compare with --replicates shows how often that breaks the limit"
)


@record
class Anew:
    """The new text; `changes`: every setting, old and new, in words; `first` and `remarks` as of a new case."""

    text: str
    changes: tuple[str, ...]
    first: tuple[str, ...]
    remarks: tuple[str, ...]


def set_anew(text: str, path: Path, target: Path) -> Anew:
    """The text of the case at `path` with its triggers set by the rule, to stand at `target`; in its own units.

    Files of series that the case names by a relative path are named as found from the target. Raises CaseError, and
    RequestError for a case that asks for no water.
    """
    case = with_usual_longest_runs(read_case(text, path, {}))
    system: System = "us" if IN_US.search(text) else "si"
    if site_of(case).mean <= 0.0:
        raise RequestError("nothing written: the case asks for no water, so no filter has a run to be set from")
    document = tomlkit.parse(text)
    ruled = ruled_of(case, [str(table.get("limit", "")) for table in document["stage"]])
    first = first_words(case, ruled, system)
    renamed = tuple(moved(document, path, target))
    changes = tuple(
        f"{policy}, {each.name}: {change}"
        for policy, stages in document["policy"].items()
        for each in ruled
        if each.name in stages
        for trigger in stages[each.name].get("any_of", [stages[each.name]])
        for change in _changes(trigger, each, system)
    )
    remarks = tuple(run_words(each, system) for each in ruled)
    return Anew(
        text=_with_first(as_it_was(text, tomlkit.dumps(document)), first),
        changes=(*renamed, *changes),
        first=first,
        remarks=(*remarks, RANDOM) if case.feed.is_random else remarks,
    )


def as_stored(text: str, like: Path) -> bytes:
    """A text with the byte order mark and the line ends of another file."""
    content = like.read_bytes()
    if content.partition(b"\n")[0].endswith(b"\r"):
        text = text.replace("\n", "\r\n")
    return text.encode("utf-8-sig" if content.startswith(BOM_UTF8) else "utf-8")


def moved(tables: Any, path: Path, target: Path) -> Iterator[str]:
    """Name every file of a series as it is found from the target; each with its old and its new name."""
    old, new = (os.path.realpath(each.parent) for each in (path, target))
    for key, value in tables.items():
        if isinstance(value, Mapping):
            yield from moved(value, path, target)
        elif key == "file" and old != new and not os.path.isabs(value):
            tables[key] = Path(os.path.relpath(os.path.join(old, value), new)).as_posix()
            yield f"file {value}, now {tables[key]}"


def _changes(trigger: Any, ruled: Ruled, system: System) -> Iterator[str]:
    """Put in place what the rule says of one trigger; each key with its old and its new text."""
    for each in set_by_rule(str(trigger["start_on"]), ruled, system):
        if each.key not in trigger:  # weekdays stay as they are
            continue
        key, old, kind = each.key, str(trigger[each.key]), each.kind
        symbol = re.sub(f"^ *{NUMBER_PATTERN} *", "", old.rstrip(" "))
        new = f"{in_unit(each.value, symbol, kind, 3)} {symbol}"
        if ruled.ending.breaks and new != old and each.value > parse_quantity(old, kind):
            yield f"{key} {old}, {KEPT}"
            return
        item = tomlkit.item(new)
        if SET_BY_RULE.search(trigger[key].trivia.comment):
            item.comment(each.comment)
            item.trivia.comment_ws = " " * max(COMMENT_AT + 2 - len(f'{key} = "{new}"'), 2)
        trigger[key] = item
        yield f"{key} {old}, now {new}" if new != old else f"{key} {old}, as before"


def as_it_was(old: str, new: str) -> str:
    """The new text with every line of the old one that only spaces have moved in: tomlkit loses one behind a date."""
    known = {line.replace(" ", ""): line for line in old.split("\n")}
    return "\n".join(known.get(line.replace(" ", ""), line) for line in new.split("\n"))


def _with_first(text: str, first: tuple[str, ...]) -> str:
    """The text with what has to be known first at its top, in place of what was there."""
    lines = [line for line in text.split("\n") if not SAID_FIRST.match(line)]
    return "\n".join([*(f"{FIRST}{line}" for line in first), *lines])
