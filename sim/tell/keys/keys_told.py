"""The keys of a case in words: a list, one key, and the page cases/KEYS.md."""

from collections.abc import Iterable, Iterator

from plots.words import Code, Items, Label, Term, items, label, say, term
from sim.case.assumed_by_key import ASSUMED, Assumed
from sim.case.quantities import System
from sim.case.records import CHOICES
from sim.case.values import Either, LossAtFlow, Quantity, Rule
from sim.tell.keys.case_keys import Key, case_keys, listed_keys
from sim.tell.keys.rule_words import rule_words


def heading(path: str) -> Code:
    """How a table stands in a file."""
    if path == "policy":
        return Code('[policy."way".stage]')
    return Code(f"[[{path}]]" if case_keys()[path].items else f"[{path}]")


def list_lines() -> Iterator[str]:
    """Every table with its keys, a line each."""
    width = max(len(key.name) for key in listed_keys())
    for path, keys in _by_table():
        yield f"\n{heading(path) if path else label('keys.top')}"
        for key in keys:
            yield f"  {key.name.ljust(width)}  {key.what}" + (f" ({left_out(key)})" if left_out(key) else "")
    yield f"\n{say('keys.one_by_one')}"


def key_lines(key: Key) -> Iterator[str]:
    """All that is to be known of one key."""
    yield f"{key.path}: {key.what}"
    if key.above:
        table = heading(key.above)
        within = label("keys.within_shapes", table=table, shapes=_shapes(key.within)) if key.within else (
            label("keys.within", table=table))  # fmt: skip
        yield f"  {within}"
    for rule in key.rules:
        yield f"  {label('keys.may_be')}: {_many(key)}{rule_words(rule)}"
        yield f"  {label('keys.as_in')}: {rule.example}"
    yield from (f"  {each}" for each in units_of(key))
    for place in dict.fromkeys(each.listed_at for each in key.shapes):
        yield f"  {label('keys.may_be')}: {_many(key)}{_table(key, place)}"
    assumed = ASSUMED.get(key.listed_path, {})
    if left_out(key) and "" not in assumed:
        yield f"  {left_out(key)}"
    for by, constant in assumed.items():
        what = ", ".join([label("keys.assumed_for"), *_assumed_for(by)])
        yield f"  {what}: {_range(key, assumed, by)}, {constant.source}"


def units_of(key: Key) -> Iterator[str]:
    """The units of each quantity that it takes."""
    for kind in dict.fromkeys(each.kind for rule in key.rules for each in _quantities(rule)):
        yield f"{label('keys.units')}: {', '.join(kind.units)}"


def may_be(key: Key, system: System) -> str:
    """All that it takes, limits in the units of a system: values, and tables by their keys."""
    tables = [_table(key, place) for place in dict.fromkeys(each.listed_at for each in key.shapes)]
    return _many(key) + "; ".join([*(rule_words(rule, system) for rule in key.rules), *tables])


def _shapes(words: Iterable[str]) -> Items:
    return items([term("shape", word) for word in words])


def _table(key: Key, place: str) -> Label:
    """The keys of the tables that are listed at a place, and the shapes that they are."""
    words = [each.word for each in key.shapes if each.listed_at == place and each.word]
    names = (each.name for each in case_keys().values() if each.above == key.path and _is_of(each, key, place))
    keys = Code(", ".join(names))
    return label("keys.table_of", shapes=_shapes(words), keys=keys) if words else label("keys.table", keys=keys)


def left_out(key: Key) -> Label | None:
    """What it comes to where a case leaves it out; None where the words of the key say it."""
    if key.is_needed:
        return label("keys.needed_for", shapes=_shapes(key.within)) if key.within else label("keys.needed")
    if key.default:
        return label("keys.default", default=Code(key.default))
    assumed = ASSUMED.get(key.listed_path, {})
    if "" in assumed:
        return label("keys.assumed", range=_range(key, assumed, ""))
    return label("keys.assumed_by", what=_decides(assumed)) if assumed else None


def page() -> str:
    """The text of cases/KEYS.md."""
    key_head, what, out = label("keys.key"), label("keys.what"), label("keys.left_out")
    heads = f"| {key_head} | {what} | {label('keys.may_be')} | {out} |"
    lines = [
        f"# {label('keys.title')}", "",
        say("keys.made_by"), say("keys.quantities"), "",
        f"| {label('keys.quantity')} | {label('keys.units')} |", "|---|---|", *_units(),
    ]  # fmt: skip
    for path, keys in _by_table():
        lines += ["", f"## {_as_code(heading(path)) if path else label('keys.top')}", "", heads, "|---|---|---|---|"]
        lines += [f"| `{key.name}` | {key.what} | {_brief(key)} | {left_out(key) or ''} |" for key in keys]
    for key in listed_keys():
        assumed = ASSUMED.get(key.path, {})
        if len(assumed) > 1:
            typical = label("keys.typical", key=_as_code(Code(key.path)))
            lines += ["", f"## {typical}", ""]
            lines += [f"| {_decides(assumed)} | {label('keys.range')} | {label('keys.source')} |", "|---|---|---|"]
            lines += [
                f"| {', '.join(_assumed_for(by))} | {_range(key, assumed, by)} | {each.source} |"
                for by, each in assumed.items()
            ]
    return "\n".join(lines) + "\n"


def _as_code(text: Code) -> Code:
    """Set apart in Markdown."""
    return Code(f"`{text}`")


def _by_table() -> Iterator[tuple[str, list[Key]]]:
    """The listed keys by the table that they stand in; the tables in the order of the schema."""
    tables: dict[str, list[Key]] = {}
    for key in listed_keys():
        tables.setdefault(key.above, []).append(key)
    yield from tables.items()


def _many(key: Key) -> str:
    """How many of what follows, where the key takes a list."""
    if key.items is None:
        return ""
    low, high = key.items.low, key.items.high
    many = label("keys.list", count=low) if low == high else label("keys.list_of", low=low, high=high)
    return f"{many}: "


def _is_of(inner: Key, key: Key, place: str) -> bool:
    """Whether a key stands in one of the tables that are listed at a place."""
    return any(inner.name in each.table.model_fields for each in key.shapes if each.listed_at == place)


def _decides(assumed: Iterable[str]) -> Items:
    """What decides between the constants that are assumed for a key."""
    labels = " ".join(assumed)
    words = ("carbon", "water", "alum", "untreated", "co-current")
    return items([term("decides", word) for word in words if word in labels])


def _assumed_for(by: str) -> list[Term]:
    """What a constant belongs to that is assumed: a medium, a water, a product, and whether it is coagulated."""
    return [term("assumed_for", part) for part in by.split(", ") if part]


def _range(key: Key, assumed: Assumed, by: str) -> Code:
    """Low, typical and high of a constant in the unit of the key's own example."""
    constant = assumed[by]
    if key.name in CHOICES:
        return Code(CHOICES[key.name][round(constant.value)])
    numbers = (constant.low, constant.value, constant.high)
    rule = next((each.loss if isinstance(each, LossAtFlow) else each for each in key.rules), None)
    if isinstance(rule, Either):
        rule = rule.first if rule.first.kind.si == constant.unit else rule.second
    if not isinstance(rule, Quantity):
        return Code(" / ".join(f"{each:.3g}" for each in numbers))
    symbol = rule.example.strip('"').partition(" ")[2]
    unit = rule.kind.units[symbol]
    texts = (f"{each / unit.factor + unit.zero:.3g}" for each in numbers)
    return Code(f"{' / '.join(texts)} {symbol}")


def _brief(key: Key) -> str:
    """What a key may be, in a cell of a table."""
    values: list[str] = [rule_words(rule) for rule in key.rules]
    elsewhere = [each.listed_at for each in key.shapes if each.listed_at != key.path]
    if len(elsewhere) < len(key.shapes):
        values.append(label("keys.table_below"))
    values += [label("keys.table_as", place=_as_code(heading(place))) for place in dict.fromkeys(elsewhere)]
    return _many(key) + "; ".join(values)


def _units() -> Iterator[str]:
    """The units of each kind of quantity that a key takes."""
    quantities = (each for key in case_keys().values() for rule in key.rules for each in _quantities(rule))
    kinds = dict.fromkeys(each.kind for each in quantities)
    return (f"| {term('quantity', kind.name)} | {', '.join(kind.units)} |" for kind in kinds)


def _quantities(rule: Rule) -> Iterator[Quantity]:
    """The quantities of which a rule is made."""
    if isinstance(rule, Quantity):
        yield rule
    for part in vars(rule).values():
        if isinstance(part, Rule):
            yield from _quantities(part)
