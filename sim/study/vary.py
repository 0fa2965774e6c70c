"""What a sweep varies: a setting of the case by its dotted key, and values as the case file would hold them."""

import re
import tomllib
from collections.abc import Sequence
from datetime import date, datetime, time

from sim.case.dotted import parts_of
from sim.case.spelling import shown
from sim.case.units import KINDS, NUMBER_PATTERN
from sim.errors import RefusedValue
from sim.study.errors import RequestError

Setting = str | float | int | bool | datetime | date | time

MINUTES = "minutes"

_VALUES = re.compile(r"""(?:"(?:\\.|[^"\\])*"|'[^']*'|[^,])+""")
_QUANTITY = re.compile(f"({NUMBER_PATTERN}) *(.+)")


def read_all(texts: Sequence[str]) -> dict[str, tuple[Setting, ...]]:
    """Keys with their values; RequestError for what cannot be read, and for the same key twice."""
    values: dict[str, tuple[Setting, ...]] = {}
    for text in texts:
        key, given = read_vary(text)
        if key in values:
            raise RequestError(f"--vary has the key {key} twice; allowed: every key once, with all its values")
        values[key] = given
    return values


def read_vary(text: str) -> tuple[str, tuple[Setting, ...]]:
    """Key and values of `KEY=v1,v2,...`: TOML values, or texts without their quotes. RequestError if it is neither.

    >>> read_vary('policy.calendar.filter.every=2 d,4 d')
    ('policy.calendar.filter.every', ('2 d', '4 d'))
    >>> read_vary("stage.filter.step.rinse.minutes=0,2.5")[1], read_vary("stage.filter.coagulated=true,false")[1]
    ((0, 2.5), (True, False))
    """
    key, equals, values = text.partition("=")
    try:
        names = parts_of(key.strip())
    except RefusedValue as refused:
        raise RequestError(f"--vary {shown(text)}: {refused}") from None
    if not equals or not all(names):
        raise _refused(text, "")
    key = ".".join(names)  # in one spelling
    parts = [part.strip() for part in _VALUES.findall(values)]
    if not parts or len(",".join(_VALUES.findall(values))) != len(values) or not all(parts):
        raise _refused(text, "a value is missing; ")
    return key, tuple(_value(key, part) for part in parts)


def _refused(text: str, why: str) -> RequestError:
    return RequestError(
        f"--vary {shown(text)}: {why}allowed: KEY=VALUE,VALUE,... with a dotted key of the case, as in "
        "stage.filter.step.rinse.minutes=0,2,5"
    )


def _value(key: str, text: str) -> Setting:
    if text[0] in "[{":
        raise RequestError(f"--vary {key}: given {shown(text)}; allowed: single values; try: a key inside that table")
    try:
        value: Setting = tomllib.loads(f"value = {text}")["value"]
    except (ValueError, RecursionError):
        return text
    return value


def plain(value: Setting) -> str | float | int | bool:
    """A value as JSON holds it: times as text."""
    return value.isoformat() if isinstance(value, date | time) else value


def told(value: Setting) -> str:
    """A value as a person reads it.

    >>> told(time(3)), told(True), told("2 d"), told(0.1)
    ('03:00', 'true', '2 d', '0.1')
    """
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float | int):
        return f"{value:.10g}"
    return f"{value:%H:%M}" if isinstance(value, time) and not value.second else str(value)


def on_a_scale(values: Sequence[Setting]) -> tuple[tuple[float, ...], str] | None:
    """The values as numbers in one unit, that of the first ("" where they are plain numbers).

    None where they are words, times, or quantities that cannot be told in one unit.

    >>> on_a_scale(["36 h", "2 d"]), on_a_scale([0, 2.5]), on_a_scale(["ergun", "carman-kozeny"])
    (((36.0, 48.0), 'h'), ((0.0, 2.5), ''), None)
    """
    numbers = [float(value) for value in values if isinstance(value, int | float) and not isinstance(value, bool)]
    if len(numbers) == len(values):
        return tuple(numbers), ""
    quantities = [_QUANTITY.fullmatch(value.strip()) for value in values if isinstance(value, str)]
    found = [(float(each[1]), each[4]) for each in quantities if each is not None]
    if len(found) < len(values):
        return None
    unit = found[0][1]
    factors = next((kind.units for kind in KINDS if all(symbol in kind.units for _, symbol in found)), None)
    if factors is None:
        return None
    return tuple(round(factors[unit].from_si(factors[own].to_si(number)), 12) for number, own in found), unit


def key_words(keys: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """Each dotted key as words and the unit that the key itself has; more of the key where words are the same.

    >>> key_words(["stage.a.step.rinse.minutes", "policy.calendar.a.every"]), key_words(["stage.b.tanks"])
    ((('rinse', 'min'), ('every', '')), (('tanks', ''),))
    >>> key_words(["stage.a.step.rinse.minutes", "stage.b.step.rinse.minutes"])
    (('a rinse', 'min'), ('b rinse', 'min'))
    """
    parts = [[part for part in parts_of(key.removesuffix(f".{MINUTES}")) if part not in ("stage", "step", "policy")]
             for key in keys]  # fmt: skip
    count = 1
    while len({tuple(each[-count:]) for each in parts}) < len(keys) and count < max(map(len, parts)):
        count += 1
    units = ["min" if key.endswith(f".{MINUTES}") else "" for key in keys]
    return tuple(
        (" ".join(each[-count:]).replace("_", " "), unit) for each, unit in zip(parts, units, strict=True)
    )
