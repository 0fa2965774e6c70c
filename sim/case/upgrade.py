"""A case file with keys of before, rewritten in today's by tomlkit, so that comments and layout stay."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import tomlkit

from sim.case.files import parse_toml
from sim.case.findings import Finding, case_error
from sim.case.site_schema import INTERVAL
from sim.case.wording import escaped
from sim.errors import RefusedValue


@dataclass(frozen=True, slots=True, kw_only=True)
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
    changes = (*runs, *_use(document))
    return Upgraded(text=tomlkit.dumps(document) if changes else text, changes=changes, obeying=obeying)


def _use(document: Any) -> Iterator[str]:
    below = document.get("downstream", {})
    if "use" in below:
        document["use"] = below["use"]
        del below["use"]
        if not below:
            del document["downstream"]
        yield "downstream.use is now use, above all tables"


def _longest_runs(document: Any, text: str, path: Path) -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:
    """The longest of the policies' latest times becomes the stage's; shorter ones stay with their policies."""
    changes, obeying = [], []
    for stage in document.get("stage", []):
        name = stage.get("name")
        triggers = [(policy, stages[name]) for policy, stages in document.get("policy", {}).items() if name in stages]
        told = [(policy, each) for policy, each in triggers if "latest" in each]
        if not told:
            continue
        seconds = {policy: _seconds(each["latest"], policy, name, text, path) for policy, each in told}
        longest = max(seconds.values())
        for policy, trigger in told:
            own = trigger["latest"]
            del trigger["latest"]
            if seconds[policy] < longest:
                trigger["longest_run"] = own
                changes.append(f"policy.{policy}.{name}.latest is now longest_run there, shorter than the stage's")
            elif "longest_run" not in stage:
                stage["longest_run"] = own
                changes.append(f"latest of the policies is now stage.{name}.longest_run, {own}, for every policy")
            elif own.trivia.comment:
                trigger.add(tomlkit.comment(own.trivia.comment.lstrip("# ")))
        obeying += [(policy, name) for policy, _ in triggers if policy not in seconds]
    return tuple(changes), tuple(obeying)


def _seconds(value: Any, policy: str, stage: str, text: str, path: Path) -> float:
    try:
        return INTERVAL.read(value.unwrap())
    except RefusedValue as refused:
        finding = Finding.of(("policy", policy, stage, "latest"), refused)
        raise case_error([finding], tomlkit.parse(text).unwrap(), text, escaped(str(path))) from refused
