"""A case with what its plant's own log told: values in place, their intervals as ranges, comments kept."""

import math
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from statistics import fmean
from typing import Any

import tomlkit

from sim.case import hints
from sim.case.dotted import path_of
from sim.case.line_numbers import Path as Place
from sim.case.line_numbers import line_numbers
from sim.case.load import read_case
from sim.case.quantities import QUANTITIES, System, constant_quantity
from sim.case.record import record
from sim.case.records import Assumption, Case, Solved
from sim.case.schema import CaseFile
from sim.case.source import parse_toml
from sim.case.units import FLOW, parse_quantity
from sim.case.values import LossAtFlow, Number, Quantity
from sim.fit.constants import UNITS, stage_of, valve_flow
from sim.fit.records import Constant, Fit, Fitted
from sim.write.anew import IN_US, as_it_was, moved
from sim.write.document import COMMENT_AT
from sim.write.written import number, plain

DIGITS, END_DIGITS = 4, 3
"""Significant figures of a value and of an end of its range."""
ROUNDING = 1e-9  # relative: less is no reason to round an end outward

OURS = re.compile(r"# *(assumed|fitted): ")
"""What tells a comment that this program wrote from a person's own."""


@record
class _Given:
    """A key with its value and range as texts of the file, and what its comment says."""

    key: str
    value: float | str
    low: float | str
    high: float | str
    comment: str


def written_from(text: str, path: Path, target: Path, fit: Fit) -> str:
    """The text of the case at `path` with what its log told, to stand at `target`.

    Constants that are not identifiable stay as they are. Files of series that the case names by a relative path are
    named as found from the target. Raises CaseError where the case cannot be as the log says.
    """
    settings: dict[str, Any] = {} if fit.law is None else {f"stage.{fit.stage}.head_loss.growth": fit.law}
    known = [each for each in fit.constants if each.identifiable]
    kept = _without_known_run(text, fit)
    own = stage_of(fit, read_case(text, path, {})).head_loss.growth
    case = read_case(text if fit.law in (None, own) else kept, path, settings)
    system: System = "us" if IN_US.search(text) else "si"
    data = parse_toml(text, path)
    given = [each for fitted in known for each in _given(fitted, case, data, fit, system)]
    values = {each.key: (each.value, each.comment) for each in given}
    values |= {key: (law, f"fitted: from {Path(fit.log.file).name}") for key, law in settings.items()}
    awake = _awake(kept, values)
    document, plain = tomlkit.parse(awake), tomlkit.parse(awake).unwrap()
    for key, (value, comment) in values.items():
        _set(document, path_of(plain, key), value, comment)
    list(moved(document, path, target))
    _drop_ranges(document, plain, {path_of(plain, each.key) for each in given})
    ranges = "".join(_range(each) for each in given if each.low != each.high)
    made = as_it_was(text, tomlkit.dumps(document)).rstrip("\n") + "\n" + ranges
    read_case(made, target, {})
    return made


def _given(fitted: Fitted, case: Case, data: Mapping[str, Any], fit: Fit, system: System) -> Iterator[_Given]:
    """Every key of a constant, in proportion to what the case has of it."""
    factors = [each / fitted.before[1] for each in (fitted.low, fitted.value, fitted.high)]
    for key in fitted.key:
        own = _value(key, case, data, fit)
        if own is None:
            continue
        low, value, high = (own * each for each in factors)
        key = _in_file(key, data)
        yield _as_texts(key, (low, value, high), _flow(key, case, data, fit), Path(fit.log.file).name, system)


def _in_file(key: str, data: Mapping[str, Any]) -> str:
    """The key with the place that a step has in the file, where steps that are left out count too."""
    parts = key.split(".")
    if "step" in parts[2:3]:
        steps = next(stage for stage in data["stage"] if stage["name"] == parts[1])["step"]
        parts[3] = str([place for place, step in enumerate(steps) if step["minutes"]][int(parts[3])])
    return ".".join(parts)


def _value(key: str, case: Case, data: Mapping[str, Any], fit: Fit) -> float | None:
    """What the case has under a key [SI], None where it has no such constant."""
    stage, (*path, name) = stage_of(fit, case), key.split(".")
    told: tuple[Assumption | Solved, ...] = (*case.ranged, *case.solved)
    known = next((each.value for each in told if each.key == key), None)
    if known is not None:
        return known
    if path[-1] == "head_loss":
        return float(getattr(stage.head_loss, "valve_constant" if name == "valve" else name))
    if path[-2] == "step":
        return stage.steps[int(path[-1])].cleaning_rate
    if path[-2] != "layer":
        return getattr(stage, name, None)
    if name == "capacity_factor":
        given: float | None = _inside(data, path_of(data, key))
        return given
    layer = stage.layers[int(path[-1])]
    if name == "filter_coefficient":
        return fmean(layer.filter_coefficients)
    return float(getattr(layer if hasattr(layer, name) else layer.uptake, name))


def _flow(key: str, case: Case, data: Mapping[str, Any], fit: Fit) -> float:
    """The flow [m3/s] at which the loss of the valve is told: as the case has it, or that of the typical loss."""
    said = str(_inside(data, path_of(data, key))).partition(" at ")[2]
    return parse_quantity(said, FLOW) if said else valve_flow(stage_of(fit, case))


def _as_texts(key: str, values: tuple[float, float, float], flow: float, file: str, system: System) -> _Given:
    """Low, value and high [SI] as the file has them."""
    name = key.rpartition(".")[2]
    quantity = constant_quantity(name, UNITS.get(name, "-"))
    tail, symbol, shown = "", "", list(values)
    if name == "valve":
        at = plain(flow, "flow", system)
        tail, shown = f" at {at}", [each * parse_quantity(at, FLOW) ** 2 for each in values]
    if quantity is not None and name in UNITS:
        symbol = f" {QUANTITIES[quantity].symbol(system)}"
        shown = [QUANTITIES[quantity].shown(each, system) for each in shown]
    least, most = _limits(key, symbol.strip())
    value = float(number(shown[1], DIGITS))
    low, high = max(_outward(min(shown[0], value), False), least), min(_outward(max(shown[2], value), True), most)
    texts = [number(each, 9) for each in (low, value, high)]
    comment = f"fitted: {' / '.join(texts)}{symbol}, from {file}"
    low_, value_, high_ = (float(each) if not symbol else f"{each}{symbol}{tail}" for each in texts)
    return _Given(key=key, value=value_, low=low_, high=high_, comment=comment)


def _outward(value: float, up: bool) -> float:
    """An end rounded so that it includes the value.

    >>> _outward(1.2341, True), _outward(1.2341, False), _outward(1.23, True), _outward(0.0, True)
    (1.24, 1.23, 1.23, 0.0)
    """
    if value == 0.0:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(abs(value))) - END_DIGITS + 1)
    steps = value / step * (1.0 - ROUNDING if up else 1.0 + ROUNDING)
    return float(number((math.ceil(steps) if up else math.floor(steps)) * step, END_DIGITS + 1))


def _limits(key: str, symbol: str) -> tuple[float, float]:
    """The least and the most that the file may give under a key, in a unit."""
    hint: Any = CaseFile
    for part in key.split("."):
        hint = hints.step_into(hint, part)
    rule = next(iter(_rules(hint)))
    if isinstance(rule, Number):
        return rule.low, rule.high
    if isinstance(rule, LossAtFlow):
        rule = rule.loss
    unit = rule.kind.units[symbol]
    return unit.from_si(rule.least), unit.from_si(rule.most)


def _rules(hint: Any) -> Iterator[Number | Quantity | LossAtFlow]:
    """The rules of a value, of a table in its place none."""
    core, metadata = hints.bare(hint)
    yield from (each for each in metadata if isinstance(each, Number | Quantity | LossAtFlow))
    for member in hints.members_by_tag(core).values():
        yield from _rules(member)


def _without_known_run(text: str, fit: Fit) -> str:
    """The text without the known run of the stage where its log told what that one does."""
    growth = fit.of(Constant.GROWTH)
    if growth is None or not growth.identifiable:
        return text
    document = tomlkit.parse(text)
    next(stage for stage in document["stage"] if stage["name"] == fit.stage).pop("known_run", None)
    return tomlkit.dumps(document)


def _awake(text: str, values: Mapping[str, Any]) -> str:
    """The text with keys in effect that stand in it as lines that are commented out, as in a first case."""
    lines, data = text.split("\n"), tomlkit.parse(text).unwrap()
    for key in values:
        *table, name = path_of(data, key)
        first = line_numbers(text).get(tuple(table))
        if first is None or _inside(data, (*table, name)) is not None:
            continue
        last = next((n for n in range(first, len(lines)) if lines[n].startswith("[")), len(lines))
        asleep = next((n for n in range(first, last) if lines[n].startswith(f"# {name} = ")), None)
        if asleep is not None:
            lines[asleep] = lines[asleep].removeprefix("# ")
    return "\n".join(lines)


def _inside(place: Any, path: Place) -> Any:
    """What stands at a path; None where nothing does."""
    for part in path:
        try:
            place = place[part]
        except (LookupError, TypeError):
            return None
    return place


def _set(document: Any, path: Place, value: float | str, comment: str) -> None:
    """Put a value in place; its comment stands behind it, or behind the line of the inline table around it."""
    place, line, head, (*tables, last) = document, None, "", path
    for depth, part in enumerate(tables):
        if isinstance(part, str) and part not in place:
            place[part] = tomlkit.table() if depth == 0 else tomlkit.inline_table()
        place = place[part]
        if line is None and isinstance(place, tomlkit.items.InlineTable):
            line, head = place, str(part)
    person = _persons(place.get(last) if line is None else line)
    place[last] = tomlkit.item(value)
    told = comment if line is None else f"{last} {comment}"
    _comment(place[last] if line is None else line, f"{told}; {person}" if person else told, head or str(last))


def _persons(item: Any) -> str:
    """What a person wrote behind a value, or this program of another key of the same line."""
    trivia = getattr(item, "trivia", None)
    said = "" if trivia is None else trivia.comment
    own = OURS.match(said) and not isinstance(item, tomlkit.items.InlineTable)
    return "" if own else said.removeprefix("#").strip()


def _comment(item: Any, told: str, key: str) -> None:
    item.comment(told)
    item.trivia.comment_ws = " " * max(COMMENT_AT + 2 - len(f"{key} = {item.as_string()}"), 2)


def _drop_ranges(document: Any, plain: Mapping[str, Any], paths: set[Place]) -> None:
    """Take out ranges that stood for what now has another."""
    old = document.get("range", [])
    for place in reversed(range(len(old))):
        if path_of(plain, str(old[place]["of"])) in paths:
            del old[place]
    if "range" in document and not old:
        del document["range"]


def _range(given: _Given) -> str:
    of, low, high = (tomlkit.item(each).as_string() for each in (given.key, given.low, given.high))
    return f"\n[[range]]\nof = {of}\nlow = {low}\nhigh = {high}\n"
