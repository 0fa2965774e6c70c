"""A case as a form built from the schema: every field with what it takes and where its default comes from."""

import math
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from typing import Annotated, Any

from pydantic.fields import FieldInfo

from sim.case import hints, units
from sim.case.mistakes import dotted_key
from sim.case.price.schema import Priced
from sim.case.quantities import QUANTITIES, System
from sim.case.records import Assumption, Case
from sim.case.schema import CaseFile
from sim.case.spelling import plain_duration
from sim.case.time_rules import DayOfYear, LocalMoment, TimeOfDay
from sim.case.units import Kind, parse_quantity
from sim.case.values import Flag, OneOf, Quantity, Rule
from sim.tell.present import constant
from sim.web.case_text import Path, written_in
from sim.web.errors import Refused

MOST_FIELDS = 1500
LONGEST_FIELD = 2000
FLAG = ("true", "false")
SMALL, MIDDLE = 0.005, 1.0  # m: shorter lengths stay in mm as grains are sieved, up to the second they are in inches
FIGURES = 3
US: dict[Kind, str] = {each.kind: each.us for each in QUANTITIES.values() if each.us != each.si}
LABELS = {"allowed_breach": "time over the limit that is allowed"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One key: its path in the file, its value as written (empty: left out), what it takes, where a default is from.

    `words` are the choices of a closed list; `table` says that it is a table, which the file's text has to hold.
    """

    path: str
    label: str
    value: str
    allowed: str
    default: str
    words: tuple[str, ...] = ()
    needed: bool = False
    table: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """One table of the file: its title, what it is, the fields it gives and those it leaves out."""

    title: str
    about: str
    given: tuple[Field, ...]
    left_out: tuple[Field, ...]


def form_of(data: Mapping[str, Any], case: Case, system: System) -> tuple[Group, ...]:
    """Every table of a case file that is in order."""
    assumed = {each.key: each for each in case.assumptions}
    return tuple(_groups(CaseFile, data, (), data, assumed, system))


def _groups(
    hint: Any, raw: Any, path: Path, data: Any, assumed: Mapping[str, Assumption], system: System
) -> Iterator[Group]:
    table = hints.table_of(hint)
    if table is None:
        member = hints.member_for(hint, raw)
        inside: Any = [] if member is not None else enumerate(raw) if isinstance(raw, list) else raw.items()
        if member is not None:
            yield from _groups(member, raw, path, data, assumed, system)
        for part, item in inside:
            inner = hints.list_item(hint) or hints.named_item(hint)
            yield from _groups(inner, item, (*path, part), data, assumed, system)
        return
    fields, nested = [], []
    for key, field in table.model_fields.items():
        own, value = hints.hint_of(field), raw.get(key)
        rule = _rule(own, value)
        if isinstance(rule, Priced) and isinstance(value, dict):
            fields += [_end(rule, key, end, each, (*path, key, end), system) for end, each in value.items()]
            continue
        if _is_nested(own, value):
            nested.append((own, value, (*path, key)))
            continue
        fields.append(_field(field, value, (*path, key), data, assumed, system))
    yield Group(
        title=_title(path, data),
        about=" ".join((table.__doc__ or "").split()),
        given=tuple(each for each in fields if each.value or each.needed),
        left_out=tuple(each for each in fields if not each.value and not each.needed),
    )
    for own, value, place in nested:
        yield from _groups(own, value, place, data, assumed, system)


def _is_nested(hint: Any, value: Any) -> bool:
    if isinstance(value, dict):
        return True
    return isinstance(value, list) and bool(value) and isinstance(value[0], dict)


def _field(
    field: FieldInfo, value: Any, path: Path, data: Any, assumed: Mapping[str, Assumption], system: System
) -> Field:
    hint, default = hints.hint_of(field), field.get_default()
    rule = _rule(hint, value)
    return Field(
        path=".".join(map(str, path)),
        label=LABELS.get(str(path[-1]), str(path[-1]).replace("_", " ")),
        value=_written(value),
        allowed=_allowed(hint, rule, system),
        default="" if value is not None else _default(dotted_key(path, data), default, assumed, system),
        words=rule.words if isinstance(rule, OneOf) else FLAG if isinstance(rule, Flag) else (),
        needed=field.is_required(),
        table=rule is None and hints.list_item(hint) is None,
    )


def _end(rule: Priced, key: str, end: str, value: Any, path: Path, system: System) -> Field:
    """One of the three values of a price that has a range."""
    return Field(
        path=".".join(map(str, path)),
        label=f"{LABELS.get(key, key.replace('_', ' '))}, {end}",
        value=_written(value),
        allowed=limits_shown(rule.price.allowed, rule.price, system),
        default="",
        words=(),
        needed=True,
        table=False,
    )


def _rule(hint: Any, value: Any) -> Rule | None:
    """What reads a single value here; None where only a table or a list may stand."""
    core, metadata = hints.bare(hint)
    found = next((note for note in metadata if isinstance(note, Rule)), None)
    if found is not None:
        return found
    members = hints.members_by_tag(core).values()
    rules = [rule for member in members if (rule := _rule(member, value)) is not None]
    return rules[0] if rules else None


def _allowed(hint: Any, rule: Rule | None, system: System) -> str:
    item = hints.list_item(hint)
    if item is None:
        return limits_shown(hints.allowed(hint), rule, system)
    each = limits_shown(hints.allowed(item), _rule(item, None), system)
    return f"{hints.allowed(hint)} with commas between, each {each}"


def _default(key: str, default: object, assumed: Mapping[str, Assumption], system: System) -> str:
    """What stands in for a key that is left out, and where that comes from."""
    if key in assumed:
        value, low, high = _usual(assumed[key], system)
        return f"left out, so {value} is used; usual is {low} to {high} ({assumed[key].source})"
    below = [name.rpartition(".")[2] for name in assumed if name.startswith(f"{key}.")]
    if below:
        return f"left out, so what is usual is used for {' and '.join(below)}"
    if isinstance(default, str | int | float):
        return f"left out, so {_written(default)} is used"
    return "left out; nothing of the kind is assumed"


def _usual(assumption: Assumption, system: System) -> tuple[str, str, str]:
    """Value, low and high with their unit."""
    if assumption.unit == "s":
        value, low, high = (plain_duration(each) for each in (assumption.value, assumption.low, assumption.high))
        return value, low, high
    unit, value, low, high = constant(assumption, system)
    shown = "" if unit == "-" else f" {unit}"
    return f"{value}{shown}", low, f"{high}{shown}"


def _written(value: Any) -> str:
    """A value as the field shows it: texts without quotes, lists with commas."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return ", ".join(_written(each) for each in value)
    return value.isoformat() if hasattr(value, "isoformat") else str(value)


def _title(path: Path, data: Any) -> str:
    """What a table is about, in words.

    >>> _title(("stage", 0, "layer", 1), {"stage": [{"name": "a", "layer": [{}, {"medium": "sand"}]}]})
    'Filter “a”, layer 2: sand'
    """
    if not path:
        return "Title"
    words: list[str] = []
    place: Any = data
    for part in path:
        place = place[part]
        if isinstance(part, int):
            name = next((str(place[key]) for key in ("name", "medium", "do") if key in place), "")
            words[-1] = f"filter “{name}”" if words[-1] == "stage" else f"{words[-1]} {part + 1}: {name}"
        else:
            words.append(part.replace("_", " "))
    if path[0] == "policy":
        words = ["what starts a wash", *(f"“{word}”" for word in words[1:])]
    text = ", ".join(words)
    return text[0].upper() + text[1:]


def edited(text: str, changes: Mapping[str, str]) -> str:
    """The text of a case with some fields changed, comments and layout kept; an empty field leaves its key out."""
    plain, settings = tomllib.loads(text), dict[Path, Any]()
    for name, new in changes.items():
        path = _path(name, plain)
        hint, old = _found(path, plain)
        if new.strip() != _written(old).strip():
            settings[path] = _value(hint, new.strip(), old) if new.strip() else None
    return written_in(text, settings)


def _path(name: str, plain: Any) -> Path:
    """The path of a field's name; Refused where it leads to no table of the file."""
    parts: list[str | int] = []
    place: Any = plain
    for part in name.split("."):
        key: str | int = int(part) if isinstance(place, list) and part.isascii() and part.isdigit() else part
        parts.append(key)
        place = _inside(place, key)
        if place is None and len(parts) < name.count(".") + 1:
            raise Refused(400, "There is a field in this form that the case has no place for.")
    return tuple(parts)


def _inside(place: Any, key: str | int) -> Any:
    """What stands at a key or position, None where nothing does."""
    if isinstance(place, list):
        return place[key] if isinstance(key, int) and key < len(place) else None
    return place.get(key) if isinstance(place, dict) else None


def _found(path: Path, plain: Any) -> tuple[Any, Any]:
    """The annotation and the present value at a path."""
    hint: Any = CaseFile
    place: Any = plain
    for part in path:
        rule = _rule(hint, place)
        if isinstance(rule, Priced) and isinstance(place, dict) and part in place:
            return Annotated[float, rule.price], place[part]
        try:
            chosen = hints.member_for(hint, place)
            hint = hints.step_into(hint if chosen is None else chosen, part)
        except (KeyError, TypeError):
            raise Refused(400, "There is a field in this form that a case does not know.") from None
        place = _inside(place, part)
    if isinstance(place, dict) or (isinstance(place, list) and place and isinstance(place[0], dict)):
        raise Refused(400, "A field of this form stands where the case has a table.")
    return hint, place


def _value(hint: Any, text: str, old: Any) -> Any:
    """The TOML value that a field's text means; what it cannot mean stays a text, which the reader refuses."""
    item = hints.list_item(hint)
    if item is not None or isinstance(old, list):
        return [_value(item, each.strip(), None) for each in text.split(",")]
    rule = _rule(hint, old)
    if rule is not None and not isinstance(rule, LocalMoment | DayOfYear | TimeOfDay):
        schema = rule.json_schema()
        if schema.get("type") == "string" or "enum" in schema or "const" in schema:
            return text
    try:
        return tomllib.loads(f"value = {text}")["value"] if "\n" not in text else text
    except (tomllib.TOMLDecodeError, RecursionError):
        return text


def limits_shown(allowed: str, rule: Rule | None, system: System) -> str:
    """The words of a rule, its limits turned into the units of the page.

    >>> rule = Quantity(units.LENGTH, "1 cm", "20 m")
    >>> limits_shown(rule.allowed, rule, "us")
    'a length in m, cm, mm, um, in or ft, from 0.394 in to 65.6 ft'
    """
    if system == "us" and rule is not None:
        for each in _quantities(rule):
            low, high = (_in_us(text, each.kind, up=up) for text, up in ((each.low, True), (each.high, False)))
            allowed = allowed.replace(f"from {each.low} to {each.high}", f"from {low} to {high}")
    return allowed


def _quantities(rule: object) -> Iterator[Quantity]:
    if isinstance(rule, Quantity):
        yield rule
    elif isinstance(rule, Rule) and is_dataclass(rule):
        for part in fields(rule):
            yield from _quantities(getattr(rule, part.name))


def _in_us(text: str, kind: Kind, *, up: bool) -> str:
    """A limit in the unit of the trade, rounded to the allowed side; as it is where there is no other."""
    value = parse_quantity(text, kind)
    symbol = US.get(kind)
    if kind is units.LENGTH and abs(value) >= MIDDLE:
        symbol = "ft"
    if symbol is None or (kind is units.LENGTH and 0.0 < abs(value) < SMALL):
        return text
    return f"{_rounded(kind.units[symbol].from_si(value), up=up):g} {symbol}"


def _rounded(value: float, *, up: bool) -> float:
    if value == 0.0:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(abs(value))) - FIGURES + 1)
    whole = value / step
    return step * (math.ceil(whole - 1e-6) if up else math.floor(whole + 1e-6))
