"""A case file with keys of before, rewritten in today's by tomlkit, so that comments and layout stay."""

import re
from bisect import bisect_right
from collections.abc import Iterator, Mapping
from itertools import accumulate
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.items import InlineTable, Item

from sim.case.limits import INTERVAL
from sim.case.mistakes import Finding, case_error
from sim.case.record import record
from sim.case.source import parse_toml
from sim.case.spelling import escaped
from sim.errors import CaseError, RefusedValue


@record
class Upgraded:
    """The new text; `changes`: what was rewritten, in words; `obeying`: policy and stage of every trigger that had no
    latest time of its own and now obeys the longest run of its stage."""

    text: str
    changes: tuple[str, ...]
    obeying: tuple[tuple[str, str], ...]


def upgraded(text: str, path: Path) -> Upgraded:
    """The text of a case in today's keys; `path` is what messages call it. Raises CaseError for what is no TOML."""
    parse_toml(text, path)
    document = tomlkit.parse(text)
    runs, obeying = _longest_runs(document, text, path)
    changes = (*runs, *_use(document, text, path), *_allowed(document, text, path), *_holds(document))
    waits = _waits(document)
    new = tomlkit.dumps(document) if changes or waits else text
    if waits and "washing" not in document:
        new = re.sub(r"^\[\[stage\]\]", '[washing]\ntogether = "wait"\n[[stage]]', new, count=1, flags=re.MULTILINE)
    return Upgraded(text=new, changes=(*changes, *waits), obeying=obeying)


def _waits(document: Any) -> tuple[str, ...]:
    """One vessel washed at a time where nothing was said; of a single filter that says nothing."""
    rules: Any = document.get("washing", {})
    if len(_tables(document.get("stage"))) < 2 or not isinstance(rules, dict) or "together" in rules:
        return ()
    if "washing" in document:
        rules["together"] = "wait"
    return ('washing.together is now stated, "wait"; "overlap" if nothing stops two filters from washing at once',)


def _holds(document: Any) -> Iterator[str]:
    """Minutes of a wash from and to which the unit is held, by the steps that they fall on or into."""
    for stage in _tables(document.get("stage")):
        hold, steps = stage.get("hold_unit"), [step for step in _tables(stage.get("step")) if step.get("minutes")]
        if not isinstance(hold, dict) or not {"from_minute", "to_minute"} & set(hold) or not steps:
            continue
        names, ends = [str(step.get("do")) for step in steps], [*accumulate(float(step["minutes"]) for step in steps)]
        begin, end = float(hold.pop("from_minute", 0.0)), float(hold.pop("to_minute", ends[-1]))
        first = names.index(names[bisect_right(ends, begin)]) if 0.0 < begin < ends[-1] else 0
        last = max(bisect_right(ends, end) - 1, 0)
        more = max(end - ends[last], 0.0)
        if names[last] in names[last + 1 :] or end < ends[0]:  # another of its name comes later, or none has ended
            last, more = len(names) - 1 - names[::-1].index(names[last]), 0.0
        if first > 0:
            hold["from"] = names[first]
        if last < len(names) - 1:
            hold["until"] = names[last]
        if more > 0.0:
            hold["plus"] = f"{more:g} min"
        start, stop = (0.0, *ends)[first], ends[last] + more
        exact = "" if (start, stop) == (begin, end) else f", in place of minute {begin:g} to {end:g}"
        yield f"stage.{stage.get('name')}.hold_unit is now by steps, minute {start:g} to {stop:g}{exact}"


def _use(document: Any, text: str, path: Path) -> Iterator[str]:
    below: Any = document.get("downstream")
    if isinstance(below, dict) and "use" in below:
        if "use" in document:
            raise _twice(("use",), "use, beside downstream.use", text, path)
        document["use"] = below["use"]
        del below["use"]
        if not below and "#" not in _head_and_inside(below):
            del document["downstream"]
        yield "downstream.use is now use, above all tables"


def _allowed(document: Any, text: str, path: Path) -> Iterator[str]:
    run: Any = document.get("run")
    if isinstance(run, dict) and "allowed_breach" in run:
        if "allowed_over_limit" in run:
            raise _twice(("run", "allowed_breach"), "allowed_breach, beside allowed_over_limit", text, path)
        own = run["allowed_breach"]
        del run["allowed_breach"]
        run["allowed_over_limit"] = own
        yield "run.allowed_breach is now run.allowed_over_limit"


def _head_and_inside(table: Any) -> str:
    return f"{table.trivia.comment}{table.as_string()}"


def _longest_runs(document: Any, text: str, path: Path) -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:
    """The longest of the policies' latest times becomes the stage's; shorter ones stay with their policies.

    What has the shape of no case is left for whoever reads it.
    """
    changes, obeying = [], []
    for stage in _tables(document.get("stage")):
        name = stage.get("name")
        policies = document.get("policy")
        stages = policies.items() if isinstance(policies, Mapping) and isinstance(name, str) else ()
        triggers = [(policy, own[name]) for policy, own in stages
                    if isinstance(own, Mapping) and isinstance(own.get(name), Mapping)]  # fmt: skip
        told = [(policy, each) for policy, each in triggers if "latest" in each]
        if not told:
            continue
        for policy, trigger in told:
            if "longest_run" in trigger:
                raise _twice(("policy", policy, name, "latest"), "latest, beside longest_run", text, path)
        seconds = {policy: _seconds(each["latest"], policy, name, text, path) for policy, each in told}
        known = stage.get("longest_run")
        longest = max(seconds.values()) if known is None else _seconds(known, "", name, text, path)
        for policy, trigger in told:
            own = trigger["latest"]
            del trigger["latest"]
            if seconds[policy] < longest:
                trigger["longest_run"] = own
                changes.append(f"policy.{policy}.{name}.latest is now longest_run there, shorter than the stage's")
            elif "longest_run" not in stage:
                stage["longest_run"] = _alone(own) if isinstance(trigger, InlineTable) else own
                changes.append(f"latest of the policies is now stage.{name}.longest_run, {own}, for every policy")
            else:
                if own.trivia.comment and not isinstance(trigger, InlineTable):
                    trigger.add(tomlkit.comment(own.trivia.comment.lstrip("# ")))
                held = f"the stage's longest_run is {stage['longest_run']}"
                changes.append(f"policy.{policy}.{name}.latest, {own}, is left out: {held}")
        obeying += [(policy, name) for policy, _ in triggers if policy not in seconds]
    return tuple(changes), tuple(obeying)


def _tables(items: Any) -> list[Any]:
    return [each for each in items if isinstance(each, Mapping)] if isinstance(items, list) else []


def _alone(value: Any) -> Any:
    """The value as it stands on a line of its own, with its comment."""
    item = tomlkit.item(value.unwrap())
    return item.comment(value.trivia.comment.lstrip("# ")) if value.trivia.comment else item


def _twice(key: tuple[str, ...], given: str, text: str, path: Path) -> CaseError:
    finding = Finding(key, given, "one of them", "taking out the one that does not hold, and upgrading then")
    return case_error([finding], tomlkit.parse(text).unwrap(), text, escaped(str(path)))


def _seconds(value: Any, policy: str, stage: str, text: str, path: Path) -> float:
    try:
        return INTERVAL.parse(value.unwrap() if isinstance(value, Item) else value)
    except RefusedValue as refused:
        finding = Finding.of(("policy", policy, stage, "latest") if policy else ("stage",), refused)
        raise case_error([finding], tomlkit.parse(text).unwrap(), text, escaped(str(path))) from refused
