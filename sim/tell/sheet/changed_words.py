"""What changed against an old case: each change, with what it does alone to the three figures of the card."""

from collections.abc import Iterator
from datetime import date, time
from typing import Any, get_args

from plots.changed import ChangedPart
from plots.words import Code, Items, Label, Name, Sentence, amount, in_days, items, label, localised, say, term
from sim.case.quantities import System
from sim.case.records import Case
from sim.case.stage.records import Do
from sim.case.units import DAY
from sim.study.changes import FIGURES, Against, Change, Effect, Figures
from sim.study.single import triggers_of
from sim.study.vary import told
from sim.tell.comparison.card import heads
from sim.tell.kpis import KPIS
from sim.tell.present import ABSENT, column
from sim.tell.trigger.settings_sheet import trigger_words

MOST = 10  # rows
ROWS = {
    "every": "every", "on": "on", "at": "hours", "volume": "volume", "reserve": "reserve", "above": "above",
    "hold": "hold", "longest_run": "longest", "longest_run_at": "longest_at", "least_interval": "interval",
}  # fmt: skip
"""Rows of the sheet, by the key of a stage or a trigger."""
FIRST = 2  # of the values of an item of a list: what it is, and how much


def changed_part(found: Against, name: str, system: System) -> ChangedPart:
    """The part of a sheet on what changed; `name` is what the old case is called."""
    shown = found.effects[:MOST]
    every = {key: found.now[key] - found.was[key] for key in FIGURES}
    moved = [*(each.moved for each in shown), *([every] if len(found.effects) > 1 else [])]
    figures = list(zip(*(_column(moved, key, system) for key in FIGURES), strict=True))
    texts = [tuple(_change(each, found, system, whole=effect.whole) for each in effect.changes) for effect in shown]
    if len(moved) > len(shown):
        texts.append((label("changes.all"),))
    return ChangedPart(
        title=label("changes.title", old=Name(name)), heads=(label("changes.change"), *heads(system)),
        rows=tuple(zip(texts, figures, strict=True)), notes=tuple(_notes(found, shown, name)),
    )  # fmt: skip


def _column(moved: list[Figures], key: str, system: System) -> Iterator[str]:
    for text, each in zip(column([one[key] for one in moved], KPIS[key].quantity, system), moved, strict=True):
        yield f"+{text}" if each[key] > 0.0 and text[0] != "<" else text


def _change(change: Change, found: Against, system: System, *, whole: bool) -> Label:
    """A change by stage and what is set there, as the sheet calls it; by its key where that has no row."""
    mark = " †" if whole else ""
    was: Code | Items = value_text(change.was)
    now: Code | Items = value_text(change.now)
    match change.parts:
        case "stage", stage, "step", do, "minutes" if do in get_args(Do):
            minutes = amount(localised(was), "min"), amount(localised(now), "min")
            return label("changes.of_stage", stage=Name(stage + mark), what=term("step", do), was=minutes[0],
                         now=minutes[1])  # fmt: skip
        case "stage", stage, "step", do, "flow" if do in get_args(Do):
            what = term("step", do)
        case (
            ("stage", stage, key) | ("policy", _, stage, key) | ("policy", _, stage, "any_of", _, key)
        ) if key in ROWS:
            what = term("sheet_row", ROWS[key])
        case ("policy", _, stage) | ("policy", _, stage, "any_of") if change.was is not None:
            what = term("sheet_row", "starts")
            was = _starts(found.old, found.policy, stage, system)
            now = _starts(found.new, found.new_policy, stage, system)
        case _:
            return label("changes.from_to", key=Code(change.key + mark), was=was, now=now)
    return label("changes.of_stage", stage=Name(stage + mark), what=what, was=was, now=now)


def _starts(case: Case, policy: str, stage: str, system: System) -> Items:
    """All that starts a wash of a stage."""
    of = next(each for each in case.stages if each.name == stage)
    return items([trigger_words(of, triggers_of(case, policy)[stage], system)])


def value_text(value: Any) -> Code:
    """A value of a case as a person reads it, with the names of its keys where they are needed.

    >>> value_text(None), value_text([{"do": "settle", "minutes": 2.0}]), value_text({"every": "2 d", "at": time(2)})
    ('-', 'settle 2', 'every 2 d, at 02:00')
    """
    if isinstance(value, dict):
        return Code(", ".join(f"{name} {value_text(each)}" for name, each in value.items()))
    if isinstance(value, list):
        return Code("; ".join(_item(each) for each in value))
    if isinstance(value, str | float | int | date | time):
        return Code(told(value))
    return Code(ABSENT)


def _item(item: Any) -> str:
    """An item of a list in short."""
    if not isinstance(item, dict):
        return value_text(item)
    return " ".join(value_text(each) for each in list(item.values())[:FIRST])


def _notes(found: Against, shown: tuple[Effect, ...], name: str) -> Iterator[Sentence]:
    if not found.effects:
        yield say("changes.none", old=Name(name))
        return
    yield say("changes.alone", length=in_days(found.old.run.length / DAY))
    if any(len(each.changes) > 1 and not each.whole for each in shown):
        yield say("changes.together")
    if any(each.whole for each in shown):
        yield say("changes.whole")
    if more := len(found.effects) - len(shown):
        yield say("changes.more", count=more)
