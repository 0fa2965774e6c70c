"""A case with what starts its washes set anew by the rule, in place: comments and all else stay as they are."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import tomlkit

from sim.case import units
from sim.case.load import read_case
from sim.case.quantities import System
from sim.case.records import Case
from sim.case.stage.longest_run import with_usual_longest_runs
from sim.review.site import site_of
from sim.study.errors import RequestError
from sim.write.document import COMMENT_AT
from sim.write.rule import endings_of, settings_of
from sim.write.ways import (
    FIRST,
    Ruled,
    above_comment,
    every_comment,
    first_words,
    reserve_comment,
    run_words,
    total_comment,
    volume_comment,
)
from sim.write.written import in_unit

SET_BY_RULE = re.compile(r"\d% of|ends? before it acts|about a day's use")
"""What tells a comment that this program wrote from a person's own."""

IN_US = re.compile(r'^(volume|above) = ".*(gal|psi)"', re.MULTILINE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Anew:
    """The new text; `changes`: every setting, old and new, in words; `first` and `remarks` as of a new case."""

    text: str
    changes: tuple[str, ...]
    first: tuple[str, ...]
    remarks: tuple[str, ...]


def set_anew(text: str, path: Path, system: System | None) -> Anew:
    """The text of a case with its triggers set by the rule; `path` is what messages call it.

    The words take the units that are asked for, else those of the file. Raises CaseError, and RequestError for a case
    that asks for no water.
    """
    case = with_usual_longest_runs(read_case(text, path, {}))
    system = system or ("us" if IN_US.search(text) else "si")
    document = tomlkit.parse(text)
    ruled = _ruled(case, document)
    first = first_words(case, ruled, system)
    changes = tuple(
        f"{policy}, {each.name}: {change}"
        for policy, stages in document["policy"].items()
        for each in ruled
        if each.name in stages
        for trigger in stages[each.name].get("any_of", [stages[each.name]])
        for change in _changes(trigger, each, system)
    )
    return Anew(
        text=_with_first(_as_it_was(text, tomlkit.dumps(document)), first),
        changes=changes,
        first=first,
        remarks=tuple(run_words(each, system) for each in ruled),
    )


def _ruled(case: Case, document: Mapping[str, Any]) -> list[Ruled]:
    if site_of(case).mean <= 0.0:
        raise RequestError("nothing written: the case asks for no water, so no filter has a run to be set from")
    return [
        Ruled(name=stage.name, ending=each, settings=settings_of(each), limit=str(table.get("limit", "")))
        for stage, each, table in zip(case.stages, endings_of(case), document["stage"], strict=True)
    ]


def _changes(trigger: Any, ruled: Ruled, system: System) -> Iterator[str]:
    """Put in place what the rule says of one trigger; each key with its old and its new text."""
    settings = ruled.settings
    match str(trigger["start_on"]):
        case "calendar":
            wanted = [("every", settings.every * units.DAY, units.DURATION, every_comment(ruled))]
        case "volume":
            wanted = [("volume", settings.volume, units.VOLUME, volume_comment(ruled, system))]
        case "pressure drop":
            wanted = [("above", settings.above, units.PRESSURE, above_comment(ruled, system))]
        case "volume with reserve" | "volume with learned reserve":
            wanted = [
                ("volume", settings.total, units.VOLUME, total_comment(ruled, system)),
                ("reserve", settings.reserve, units.VOLUME, reserve_comment()),
            ]
        case other:
            raise NotImplementedError(f"no rule sets the trigger {other}")
    for key, value, kind, comment in wanted:
        old = str(trigger[key])
        symbol = re.sub(f"^ *{units.NUMBER_PATTERN} *", "", old.rstrip(" "))
        new = f"{in_unit(value, symbol, kind, 3)} {symbol}"
        item = tomlkit.item(new)
        if SET_BY_RULE.search(trigger[key].trivia.comment):
            item.comment(comment)
            item.trivia.comment_ws = " " * max(COMMENT_AT + 2 - len(f'{key} = "{new}"'), 2)
        trigger[key] = item
        yield f"{key} {old}, now {new}" if new != old else f"{key} {old}, as before"


def _as_it_was(old: str, new: str) -> str:
    """The new text with every line of the old one that only spaces have moved in: tomlkit loses one behind a date."""
    lines = zip(old.split("\n"), new.split("\n"), strict=True)
    return "\n".join(was if was.replace(" ", "") == now.replace(" ", "") else now for was, now in lines)


def _with_first(text: str, first: tuple[str, ...]) -> str:
    """The text with what has to be known first at its top, in place of what was there."""
    lines = [line for line in text.split("\n") if not line.startswith(FIRST)]
    return "\n".join([*(f"{FIRST}{line}" for line in first), *lines])
