"""The keys of a case in words: a list, one key, and the page cases/KEYS.md."""

from collections.abc import Iterable, Iterator

from sim.case.assumed_by_key import ASSUMED, Assumed
from sim.case.records import CHOICES
from sim.case.values import Either, LossAtFlow, Quantity, Rule
from sim.tell.keys.case_keys import Key, case_keys, listed_keys

REGENERATE = "filterrun keys --page > cases/KEYS.md"
TOP = "the top of the file"
ONE_BY_ONE = "filterrun keys KEY says of one key what it may be, as in filterrun keys stage.layer.size."


def heading(path: str) -> str:
    """How a table stands in a file."""
    if path == "policy":
        return '[policy."way".stage]'
    return f"[[{path}]]" if case_keys()[path].items else f"[{path}]"


def list_lines() -> Iterator[str]:
    """Every table with its keys, a line each."""
    width = max(len(key.name) for key in listed_keys())
    for path, keys in _by_table():
        yield f"\n{heading(path) if path else TOP}"
        for key in keys:
            yield f"  {key.name.ljust(width)}  {key.what}" + (f" ({left_out(key)})" if left_out(key) else "")
    yield f"\n{ONE_BY_ONE}"


def key_lines(key: Key) -> Iterator[str]:
    """All that is to be known of one key."""
    yield f"{key.path}: {key.what}"
    if key.above:
        within = f", for {', '.join(key.within)}" if key.within else ""
        yield f"  stands in {heading(key.above)}{within}"
    for rule in key.rules:
        yield f"  may be {_many(key)}{rule.allowed}, as in {rule.example}"
    for place in dict.fromkeys(each.listed_at for each in key.shapes):
        words = [each.word for each in key.shapes if each.listed_at == place and each.word]
        names = [each.name for each in case_keys().values() if each.above == key.path and _is_of(each, key, place)]
        shape = f" ({', '.join(words)})" if words else ""
        yield f"  may be {_many(key)}a table{shape} with {', '.join(names)}"
    assumed = ASSUMED.get(key.listed_path, {})
    if left_out(key) and "" not in assumed:
        yield f"  {left_out(key)}"
    for label, constant in assumed.items():
        yield f"  assumed{f', {label}' if label else ''}: {_range(key, assumed, label)}, {constant.source}"


def left_out(key: Key) -> str:
    """What it comes to where a case leaves it out; "" where the words of the key say it."""
    if key.is_needed:
        return f"needed for {', '.join(key.within)}" if key.within else "needed"
    if key.default:
        return f"{key.default} if left out"
    assumed = ASSUMED.get(key.listed_path, {})
    if "" in assumed:
        return f"assumed: {_range(key, assumed, '')}"
    return f"assumed, by {_decides(assumed)}" if assumed else ""


def page() -> str:
    """The text of cases/KEYS.md."""
    lines = [
        "# The keys of a case", "",
        f"Made from the schema by `{REGENERATE}`; `filterrun keys KEY` says the same of one key.",
        "A quantity is a text with its unit, `\"5.5 m3/h\"`. What may be assumed shows low / typical / high.", "",
        "| quantity | units |", "|---|---|", *_units(),
    ]  # fmt: skip
    for path, keys in _by_table():
        lines += ["", f"## {f'`{heading(path)}`' if path else TOP.capitalize()}", ""]
        lines += ["| key | what it is | may be | left out |", "|---|---|---|---|"]
        lines += [f"| `{key.name}` | {key.what} | {_brief(key)} | {left_out(key)} |" for key in keys]
    for key in listed_keys():
        assumed = ASSUMED.get(key.path, {})
        if len(assumed) > 1:
            lines += ["", f"## Typical `{key.path}`", "", f"| {_decides(assumed)} | low / typical / high | source |"]
            lines += ["|---|---|---|"]
            lines += [f"| {by} | {_range(key, assumed, by)} | {each.source} |" for by, each in assumed.items()]
    return "\n".join(lines) + "\n"


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
    return f"a list of {low if low == high else f'{low} to {high}'}: "


def _is_of(inner: Key, key: Key, place: str) -> bool:
    """Whether a key stands in one of the tables that are listed at a place."""
    return any(inner.name in each.table.model_fields for each in key.shapes if each.listed_at == place)


def _decides(assumed: Iterable[str]) -> str:
    """What decides between the constants that are assumed for a key."""
    labels = " ".join(assumed)
    kinds = (("anthracite", "medium"), ("water", "kind of water"), ("alum", "product"), ("untreated", "coagulant"))
    return " and ".join(what for word, what in kinds if word in labels)


def _range(key: Key, assumed: Assumed, label: str) -> str:
    """Low, typical and high of a constant in the unit of the key's own example."""
    constant = assumed[label]
    if key.name in CHOICES:
        return CHOICES[key.name][round(constant.value)]
    numbers = (constant.low, constant.value, constant.high)
    rule = next((each.loss if isinstance(each, LossAtFlow) else each for each in key.rules), None)
    if not isinstance(rule, Quantity):
        return " / ".join(f"{each:.3g}" for each in numbers)
    symbol = rule.example.strip('"').partition(" ")[2]
    unit = rule.kind.units[symbol]
    return " / ".join(f"{each / unit.factor + unit.zero:.3g}" for each in numbers) + f" {symbol}"


def _brief(key: Key) -> str:
    """What a key may be, in a cell of a table."""
    values = [_brief_rule(rule) for rule in key.rules]
    elsewhere = [each.listed_at for each in key.shapes if each.listed_at != key.path]
    if len(elsewhere) < len(key.shapes):
        values.append("a table, below")
    values += [f"a table as `{heading(place)}`" for place in dict.fromkeys(elsewhere)]
    return _many(key) + "; or ".join(values)


def _brief_rule(rule: Rule) -> str:
    match rule:
        case Quantity():
            return f"{rule.kind.name}, {rule.low} to {rule.high}"
        case Either():
            return f"{_brief_rule(rule.first)}; or {_brief_rule(rule.second)}"
        case LossAtFlow():
            return f"{_brief_rule(rule.loss)}, at a flow, as `{rule.example}`"
        case _:
            return rule.allowed


def _units() -> Iterator[str]:
    """The units of each kind of quantity that a key takes."""
    quantities = (each for key in case_keys().values() for rule in key.rules for each in _quantities(rule))
    kinds = dict.fromkeys(each.kind for each in quantities)
    return (f"| {kind.name} | {', '.join(kind.units)} |" for kind in kinds)


def _quantities(rule: Rule) -> Iterator[Quantity]:
    """The quantities of which a rule is made."""
    if isinstance(rule, Quantity):
        yield rule
    for part in vars(rule).values():
        if isinstance(part, Rule):
            yield from _quantities(part)
