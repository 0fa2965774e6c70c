"""A case as a form built from the schema: every field with what it takes and where its default comes from."""

import tomllib
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, NamedTuple

from pydantic.fields import FieldInfo
from starlette.requests import Request

from plots.words import Amount, Code, Label, Name, Number, Sentence, amount, in_quotes, items, label, say, span
from sim.case import hints
from sim.case.mistakes import dotted_key
from sim.case.price.schema import Priced
from sim.case.quantities import System
from sim.case.records import Assumption, Case
from sim.case.schema import CaseFile
from sim.case.time_rules import DayOfYear, HoursList, LocalMoment, TimeOfDay, WeekdayOrDate
from sim.case.values import Flag, OneOf, Rule
from sim.tell.keys.case_keys import key_at
from sim.tell.keys.keys_told import may_be, units_of
from sim.tell.keys.rule_words import rule_words
from sim.tell.present import constant, duration
from sim.web.case_text import Path, written_in
from sim.web.errors import Refused

MOST_FIELDS = 1500
LONGEST_FIELD = 2000
FLAG = ("true", "false")


class Field(NamedTuple):
    """One key: its path in the file and as errors have it, its value as written (empty: left out), what it takes,
    where a default is from.

    `words` are the choices of a closed list; `table` says that it is a table, which the file's text has to hold.
    """

    path: str
    key: str
    label: Code
    value: str
    allowed: str
    default: Sentence | None
    words: tuple[str, ...]
    needed: bool
    table: bool


class Group(NamedTuple):
    """One table of the file: its title, what it is, the fields it gives, those it leaves out, tables among these."""

    title: str
    about: str
    given: tuple[Field, ...]
    left_out: tuple[Field, ...]
    tables: Sentence | None


class Known(NamedTuple):
    """What is known of a whole case: its data, its assumptions by key, the units of the page."""

    data: Mapping[str, Any]
    assumed: Mapping[str, Assumption]
    system: System


def form_of(data: Mapping[str, Any], case: Case, system: System) -> tuple[Group, ...]:
    """Every table of a case file that is in order."""
    return tuple(_groups(CaseFile, data, (), Known(data, {each.key: each for each in case.assumptions}, system)))


def _groups(hint: Any, raw: Any, path: Path, known: Known) -> Iterator[Group]:
    table, member = hints.table_of(hint), hints.member_for(hint, raw)
    if member is not None:
        yield from _groups(member, raw, path, known)
    elif table is None:
        inner = hints.list_item(hint) or hints.named_item(hint)
        for part, item in enumerate(raw) if isinstance(raw, list) else raw.items():
            yield from _groups(inner, item, (*path, part), known)
    else:
        keys = [(key, hints.hint_of(field), raw.get(key), field) for key, field in table.model_fields.items()]
        fields = [each for key, own, value, field in keys for each in _fields(own, value, field, (*path, key), known)]
        left_out = tuple(each for each in fields if not each.value and not each.needed)
        tables = [each.label for each in left_out if each.table]
        yield Group(
            title=_title(path, known.data),
            about=_about(path),
            given=tuple(each for each in fields if each.value or each.needed),
            left_out=left_out,
            tables=say("page.plant.tables_in_text", tables=items(tables)) if tables else None,
        )
        for key, own, value, _ in keys:
            if _is_nested(value) and not isinstance(_rule(own, value), Priced):
                yield from _groups(own, value, (*path, key), known)


def _is_nested(value: Any) -> bool:
    return isinstance(value, dict) or (isinstance(value, list) and bool(value) and isinstance(value[0], dict))


def _fields(hint: Any, value: Any, field: FieldInfo, path: Path, known: Known) -> Iterator[Field]:
    """The field of a key; of a price that has a range, one for each of its values; none of a table."""
    rule, name = _rule(hint, value), _spaced(path[-1])
    if not _is_nested(value):
        key = dotted_key(path, known.data)
        default = _default(key, field.get_default(), known) if value is None else None
        allowed = _allowed(rule, path, known.system)
        yield _field(hint, value, path, key, name, allowed, default, needed=field.is_required())
    elif isinstance(rule, Priced):
        for end, each in value.items():
            price = Annotated[float, rule.price]
            allowed = rule_words(rule.price, known.system)
            own, called = (*path, end), Code(f"{name}, {end}")
            yield _field(price, each, own, dotted_key(own, known.data), called, allowed, None, needed=True)


def _field(
    hint: Any, value: Any, path: Path, key: str, label: Code, allowed: str, default: Sentence | None, *, needed: bool
) -> Field:
    rule = _rule(hint, value)
    return Field(
        path=".".join(map(str, path)), key=key, label=label, value=_written(value), allowed=allowed, default=default,
        needed=needed, table=rule is None and hints.list_item(hint) is None,
        words=rule.words if isinstance(rule, OneOf) else FLAG if isinstance(rule, Flag) else (),
    )  # fmt: skip


def _rule(hint: Any, value: Any) -> Rule | None:
    """What reads a single value here; None where only a table or a list may stand."""
    core, metadata = hints.bare(hint)
    found = next((note for note in metadata if isinstance(note, Rule)), None)
    if found is not None:
        return found
    members = hints.members_by_tag(core).values()
    rules = [rule for member in members if (rule := _rule(member, value)) is not None]
    return rules[0] if rules else None


def _about(path: Path) -> str:
    """What a table is."""
    key = key_at(path)
    return label("keys.top") if key is None else key.what


def _allowed(rule: Rule | None, path: Path, system: System) -> str:
    """What the key at a path takes, and in which units."""
    key = key_at(path)
    assert key is not None, path
    takes = may_be(key, system) or (rule_words(rule, system) if rule else "")
    commas = [label("page.plant.commas")] if key.items else []
    return "; ".join([takes, *commas, *units_of(key)])


def _spaced(key: str | int) -> Code:
    return Code(str(key).replace("_", " "))


def _default(key: str, default: object, known: Known) -> Sentence:
    """What stands in for a key that is left out, and where that comes from."""
    assumed = known.assumed
    if key in assumed:
        value, usual = _usual(assumed[key], known.system)
        return say("page.plant.default_usual", value=value, usual=usual, source=Name(assumed[key].source))
    below = [name.rpartition(".")[2] for name in assumed if name.startswith(f"{key}.")]
    if below:
        return say("page.plant.default_below", keys=items(below))
    if isinstance(default, str | int | float):
        return say("page.plant.default_plain", value=Code(_written(default)))
    return say("page.plant.no_default")


def _usual(assumption: Assumption, system: System) -> tuple[Amount, Amount]:
    """Value, and low to high, with their unit."""
    if assumption.unit == "s":
        value, low, high = (duration(each) for each in (assumption.value, assumption.low, assumption.high))
        return value, span(Number(low), Number(high))
    unit, *numbers = constant(assumption, system)
    number, least, most = (Number(each) for each in numbers)
    shown = unit.removeprefix("-").replace("°", "deg")  # as it is to be typed
    return amount(number, shown), span(least, most, shown)


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
    """Where a table stands, from the outside in.

    >>> _title(("stage", 0, "layer", 1), {"stage": [{"name": "a", "layer": [{}, {"medium": "sand"}]}]})
    'Filter “a”, layer 2: sand'
    """
    if not path:
        return label("page.plant.title")
    parts: list[str] = []
    place: Any = data
    for part in path:
        place = place[part]
        if isinstance(part, int):
            name = Name(next((str(place[key]) for key in ("name", "medium", "do") if key in place), ""))
            parts[-1] = _member(Code(parts[-1]), part + 1, name)
        else:
            parts.append(_spaced(part))
    if path[0] == "policy":
        parts = [label("page.plant.starts_wash"), *(in_quotes(each) for each in parts[1:])]
    text = ", ".join(parts)
    return text[0].upper() + text[1:]


def _member(table: Code, number: int, name: Name) -> Label:
    if table == "stage":
        return label("page.plant.filter", name=name)
    return label("page.plant.numbered", table=table, number=number, name=name)


def edited(text: str, changes: Mapping[str, str]) -> str:
    """The text of a case with some fields changed, comments and layout kept; an empty field leaves its key out."""
    plain, settings = tomllib.loads(text), dict[Path, Any]()
    for name, new in changes.items():
        path, hint, old = _found(name, plain)
        if new.strip() != _written(old).strip():
            settings[path] = _value(hint, new.strip(), old) if new.strip() else None
    return written_in(text, settings)


def _found(name: str, plain: Any) -> tuple[Path, Any, Any]:
    """The path of a field's name, its annotation and its present value; Refused where it leads to no such place."""
    path: list[str | int] = []
    hint: Any = CaseFile
    place: Any = plain
    for part in name.split("."):
        if place is None:
            raise Refused(400, "There is a field in this form that the case has no place for.")
        key: str | int = int(part) if isinstance(place, list) and part.isascii() and part.isdigit() else part
        path.append(key)
        hint, place = _step(hint, place, key), _inside(place, key)
    if _is_nested(place):
        raise Refused(400, "A field of this form stands where the case has a table.")
    return tuple(path), hint, place


def _step(hint: Any, place: Any, key: str | int) -> Any:
    """The annotation one key further."""
    rule = _rule(hint, place)
    if isinstance(rule, Priced) and isinstance(place, dict) and key in place:
        return Annotated[float, rule.price]
    chosen = hints.member_for(hint, place)
    try:
        return hints.step_into(hint if chosen is None else chosen, key)
    except (KeyError, TypeError):
        raise Refused(400, "There is a field in this form that a case does not know.") from None


def _inside(place: Any, key: str | int) -> Any:
    """What stands at a key or position, None where nothing does."""
    if isinstance(place, list):
        return place[key] if isinstance(key, int) and key < len(place) else None
    return place.get(key) if isinstance(place, dict) else None


def _value(hint: Any, text: str, old: Any) -> Any:
    """The TOML value that a field's text means; what it cannot mean stays a text, which the reader refuses."""
    item = hints.list_item(hint)
    if item is not None or isinstance(old, list):
        return [_value(item, each.strip(), None) for each in text.split(",")]
    rule = _rule(hint, old)
    if rule is not None and not isinstance(rule, LocalMoment | DayOfYear | TimeOfDay | HoursList | WeekdayOrDate):
        schema = rule.json_schema()
        if schema.get("type") == "string" or "enum" in schema or "const" in schema:
            return text
    try:
        return tomllib.loads(f"value = {text}")["value"] if "\n" not in text else text
    except (tomllib.TOMLDecodeError, RecursionError):
        return text


async def form_fields(request: Request) -> dict[str, str]:
    """What a form brings, by the names of its fields; Refused for what is no such field."""
    fields: dict[str, str] = {}
    async with request.form(max_files=0, max_fields=MOST_FIELDS) as form:
        for name, value in form.multi_items():
            if not isinstance(value, str) or name in fields or len(name) > LONGEST_FIELD:
                raise Refused(400, "This form holds something that is none of its fields.")
            if name != "text" and len(value) > LONGEST_FIELD:
                raise Refused(422, f"A field takes up to {LONGEST_FIELD} characters.")
            fields[name] = value
    return fields
