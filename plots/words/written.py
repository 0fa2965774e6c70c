"""Numbers, amounts, days and lists as the language spoken writes them."""

import re
from collections.abc import Iterable, Sequence
from datetime import date, datetime, time
from decimal import Decimal
from functools import lru_cache
from typing import Any, Literal, NewType

from plots.words.catalogue import found, own

Number = NewType("Number", str)
"""A number as the language writes it."""
Amount = NewType("Amount", str)
"""A number and its unit, or a span of two."""
Moment = NewType("Moment", str)
"""A day, an hour, or both."""
Items = NewType("Items", str)
"""Several things, listed."""
Name = NewType("Name", str)
"""A user's own text: never translated."""


MOST_KEPT = 4096  # numbers: a table has the same ones again and again, a page that stays up has ever new ones


def locale() -> str:
    """The locale of the language spoken, for what is no word."""
    return str(found("locale"))


def group_sign() -> str:
    """What stands between thousands: the language's own sign where it gives one, that of its locale if not."""
    from babel.numbers import get_group_symbol

    return str(own("group", get_group_symbol(locale())))


def time_unit(symbol: str) -> str:
    """The symbol of a unit of time as the language writes it, the international one if it says nothing of it."""
    return str(own("units", {}).get(symbol, symbol))


def colon() -> str:
    """What parts a head from what it heads, the blanks of the language with it."""
    return str(own("colon", ": "))


def apart(each: Iterable[str]) -> str:
    """The parts of a line with semicolons between them.

    >>> apart(["3 min", "with filtered water"])
    '3 min; with filtered water'
    """
    return str(own("semicolon", "; ")).join(each)


def number(value: float, decimals: int = 0) -> Number:
    """A number with so many decimals, rounded as Python does.

    >>> number(1234.5, 1), number(-0.25, 2)
    ('1,234.5', '-0.25')
    """
    return localised(f"{value:.{decimals}f}")


def count(each: int) -> Number:
    """A whole number.

    >>> count(12000)
    '12,000'
    """
    return localised(str(each))


def localised(text: str) -> Number:
    """A number that Python has written, in the language's own signs; what is no plain number stays.

    >>> localised("1234.50"), localised("<0.01"), localised("1e-05"), localised("-")
    ('1,234.50', '<0.01', '1e-05', '-')
    """
    return _localised(text, locale(), group_sign())


@lru_cache(maxsize=MOST_KEPT)
def _localised(text: str, locale: str, group: str) -> Number:
    from babel.numbers import format_decimal, get_group_symbol

    parts = _PLAIN.fullmatch(text)
    if parts is None:
        return Number(text)
    sign, digits, decimals = parts.groups(default="")
    pattern = f"#,##0.{'0' * (len(decimals) - 1)}" if decimals else "#,##0"
    written = format_decimal(Decimal(digits + decimals), pattern, locale)
    return Number(sign + written.replace(get_group_symbol(locale), group))


def respelled(text: str) -> str:
    """A text of plain numbers that Python has written, with the language's own signs in them.

    >>> respelled("1,234.5"), respelled("\N{MINUS SIGN}0.5")
    ('1,234.5', '\N{MINUS SIGN}0.5')
    """
    from babel.numbers import get_decimal_symbol

    return text.translate({ord("."): get_decimal_symbol(locale()), ord(","): group_sign()})


_PLAIN = re.compile(r"([<>]?[-+]?)(\d+)(\.\d+)?")


def amount(value: Number, unit: str = "") -> Amount:
    """A number and its unit; a number without a unit stands alone."""
    return Amount(f"{value} {unit}" if unit else value)


def span(low: Number, high: Number, unit: str = "") -> Amount:
    """From one number to another; one of them where they read the same.

    >>> span(Number("310"), Number("480"), "m3"), span(Number("2"), Number("2"))
    ('310 to 480 m3', '2')
    """
    both = str(found("pattern.span")).format(low=low, high=high)
    return amount(low if low == high else Number(both), unit)


def in_quotes(text: str) -> Name:
    """A name within the quotes of the language.

    >>> in_quotes("by volume")
    '“by volume”'
    """
    return Name(str(found("pattern.quoted")).format(text=text))


def in_days(length: float) -> Amount:
    """A length in days.

    >>> in_days(60.0), in_days(1.0), in_days(0.5)
    ('60 days', '1 day', '0.5 days')
    """
    return _one_or_more(f"{length:g}", "days")


def in_years(length: float) -> Amount:
    """A length in years: to two figures, whole from ten on.

    >>> in_years(2.5), in_years(1.01), in_years(16.4)
    ('2.5 years', '1 year', '16 years')
    """
    return _one_or_more(f"{length:.2g}" if length < 10.0 else f"{length:.0f}", "years")


def _one_or_more(length: str, unit: Literal["days", "years"]) -> Amount:
    name = "one" if length == "1" else "other"
    return Amount(str(found(f"pattern.{unit}.{name}")).format(**{unit: localised(length)}))


def items(each: Sequence[str], how: Literal["and", "or"] = "and") -> Items:
    """Several things in a sentence.

    >>> items(["a"]), items(["a", "b", "c"]), items(["a", "b"], "or")
    ('a', 'a, b and c', 'a or b')
    """
    from babel.lists import format_list

    style: Any = {"and": "standard", "or": "or"}[how]
    return Items(format_list(list(each), style=style, locale=locale()))


def dated(time: date, pattern: Literal["day", "day_year", "moment", "moment_year", "date"] = "date") -> Moment:
    """A day or an hour of it, by a pattern of the language.

    >>> dated(datetime(2027, 9, 8, 1, 0), "moment"), dated(datetime(2027, 9, 8, 1, 0))
    ('8 Sep 01:00', '2027-09-08 01:00')
    """
    return _moment(time, str(found(f"pattern.{pattern}")))


def hour(time: time) -> Moment:
    """An hour of the day.

    >>> from datetime import time
    >>> hour(time(2, 30))
    '02:30'
    """
    return _moment(datetime.combine(datetime(2000, 1, 1), time), str(found("pattern.hour")))


def months() -> tuple[str, ...]:
    """The months in short, January first."""
    return tuple(found("months"))


def _moment(time: date, pattern: str) -> Moment:
    from babel.dates import format_datetime

    own = pattern.replace("MMM", f"'{months()[time.month - 1]}'")
    whole = time if isinstance(time, datetime) else datetime.combine(time, datetime.min.time())
    return Moment(format_datetime(whole, own, locale=locale()))
