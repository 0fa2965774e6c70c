"""How messages speak: values as the user wrote them, lists of words, and the nearest known names."""

import difflib
import unicodedata
from collections.abc import Iterable

LONGEST_SHOWN = 60
LEAST_DEGREE = 0.01
NO_BREAK = "\N{NO-BREAK SPACE}\N{NARROW NO-BREAK SPACE}"  # in a number, before a colon, as some languages have it


def shown(value: object) -> str:
    """A value as the user wrote it, on one line, printable and short.

    >>> shown("8 psi"), shown(5), shown(True), shown([1, 2]), shown({})
    ('"8 psi"', '5', 'true', 'a list of 2', 'an empty table')
    """
    if isinstance(value, str):
        return f'"{printable(value)}"'
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int):
        # Python refuses to write whole numbers of some thousand digits.
        return str(value) if value.bit_length() <= 128 else "a whole number of more than 38 digits"
    if isinstance(value, list):
        return f"a list of {len(value)}"
    if isinstance(value, dict):
        return "a table" if value else "an empty table"
    return printable(str(value))


def printable(text: str) -> str:
    r"""The text with every unprintable character escaped, cut after 60 characters.

    >>> printable("a\x1b[31m")
    'a\\x1b[31m'
    """
    return escaped(text if len(text) <= LONGEST_SHOWN else text[: LONGEST_SHOWN - 3] + "...")


def escaped(text: str, kept: str = "") -> str:
    """The text with every unprintable character escaped, so that it can neither steer a terminal nor hide.

    Those kept stay as they are.
    """
    return "".join(c if c.isprintable() or c in kept else c.encode("unicode_escape").decode("ascii") for c in text)


def listed(words: Iterable[str]) -> str:
    """The words as a person lists them: commas, then "or".

    >>> listed(["a"]), listed(["a", "b", "c"])
    ('a', 'a, b or c')
    """
    *most, last = words
    return f"{', '.join(most)} or {last}" if most else last


def quoted(words: Iterable[str]) -> str:
    """As `listed`, each word in quotes.

    >>> quoted(["a", "b"])
    '"a" or "b"'
    """
    return listed(shown(word) for word in words)


def plain_duration(seconds: float) -> str:
    """A time span as a file would give it, in the largest unit that needs no decimals.

    >>> plain_duration(479 * 3600.0), plain_duration(172800.0), plain_duration(90.0)
    ('479 h', '2 d', '90 s')
    """
    for unit, length in (("d", 86_400.0), ("h", 3600.0), ("min", 60.0)):
        if seconds and seconds % length == 0.0:
            return f"{seconds / length:.0f} {unit}"
    return f"{seconds:.10g} s"


def short(value: float) -> str:
    """Three significant figures, without an exponent.

    >>> short(0.0123456), short(6.0), short(15710.0)
    ('0.0123', '6', '15700')
    """
    return f"{float(f'{value:.3g}'):.10g}"


def hundredths(value: float) -> str:
    """A temperature to three significant figures and no further than hundredths, unless it is less.

    >>> hundredths(0.0745), hundredths(12.345), hundredths(0.001)
    ('0.07', '12.3', '0.001')
    """
    return short(round(value, 2) if abs(value) >= LEAST_DEGREE else value)


def nearest(word: str, known: Iterable[str]) -> tuple[str, ...]:
    """Up to three of the known words that resemble `word`, the closest first; letter case does not count.

    >>> nearest("ANTHRASITE", ["anthracite", "sand"]), nearest("x" * 1000, ["sand"])
    (('anthracite',), ())
    """
    if len(word) > LONGEST_SHOWN:
        return ()  # the comparison takes time with the square of the length
    plain: dict[str, str] = {}
    for name in known:
        plain.setdefault(_plain(name), name)
    return tuple(plain[name] for name in difflib.get_close_matches(_plain(word), plain, n=3))


def nearest_or(word: str, known: Iterable[str], otherwise: str) -> str:
    """What to try in place of a word: the nearest of the known ones, or what is said where none resembles it.

    >>> nearest_or("sond", ["sand"], "a medium"), nearest_or("x", ["sand"], "a medium")
    ('"sand", the nearest by name', 'a medium')
    """
    near = nearest(word, known)
    return f"{quoted(near)}, the nearest by name" if near else otherwise


def _plain(word: str) -> str:
    return unicodedata.normalize("NFKC", word).casefold()
