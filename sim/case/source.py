"""The text of a file and the data in it: what can go wrong before any key is read."""

import re
import tomllib
from pathlib import Path
from typing import Any

from sim.case.record import record
from sim.case.spelling import escaped, shown
from sim.errors import CaseError, Problem

MIB = 1 << 20
DEEPEST = 20


@record
class FileKind:
    """What a file is meant to be, how large it may be, and what to do about a larger one."""

    name: str
    most_mib: int
    longest_line: int
    smaller: str
    shorter_lines: str


CASE_FILE = FileKind(
    name="a case file",
    most_mib=1,
    longest_line=2000,
    smaller="leaving out what is no case",
    shorter_lines="a list over several lines",
)

_AT_END = " (at end of document)"
_LONG_KEY = re.compile(rf"""(?<![\w-])(?:(?:[\w-]++|"[^"]*"|'[^']*')[ \t]*\.[ \t]*){{{DEEPEST + 1}}}""")
_PLACE = re.compile(r"(.*) \(at line (\d+), column \d+\)", re.DOTALL)


def read_text(path: Path, kind: FileKind = CASE_FILE) -> str:
    """The text of a file in UTF-8, without a byte order mark; CaseError if there is none or it is too large."""
    return text_of(decoded(read_bytes(path, kind), path), path, kind)


def text_of(text: str, path: Path, kind: FileKind) -> str:
    """The text, if no line of it is too long; CaseError otherwise."""
    for number, line in enumerate(text.split("\n"), start=1):
        if len(line) > kind.longest_line:
            given = f"a line of {len(line)} characters"
            raise _error(path, number, given, f"up to {kind.longest_line}", kind.shorter_lines)
    return text


def parse_toml(text: str, path: Path) -> dict[str, Any]:
    """The data of a TOML text; CaseError with the line where it stops being TOML or nests too deep."""
    for number, line in enumerate(text.split("\n"), start=1):
        if _LONG_KEY.search(line):  # which the parser would be long about
            raise _too_deep(path, number)
    try:
        data = tomllib.loads(text)
    except RecursionError:
        raise _too_deep(path) from None
    except ValueError as error:
        raise _not_toml(str(error), text, path) from None
    if _is_deeper(data, DEEPEST):
        raise _too_deep(path)
    return data


def _too_deep(path: Path, line: int | None = None) -> CaseError:
    return _error(path, line, "lists or tables within each other", f"up to {DEEPEST} levels", "less nesting")


def read_bytes(path: Path, kind: FileKind) -> bytes:
    """The content of a file; CaseError if there is none or it is too large."""
    most = kind.most_mib * MIB
    try:
        if path.is_dir():
            raise _error(path, None, "a folder", kind.name, "the path of a file in that folder")
        if path.exists() and not path.is_file():
            raise _error(path, None, "a device or pipe", kind.name, "saving its content to a file first")
        with path.open("rb") as file:
            content = file.read(most + 1)
    except FileNotFoundError:
        raise _error(path, None, "no such file", kind.name, "another path, or other spelling") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        given = f"a file that cannot be read: {reason}"
        raise _error(path, None, given, "a readable file", "its name and its permissions") from None
    if len(content) > most:
        size = f"{kind.most_mib} MiB"
        raise _error(path, None, f"more than {size}", f"{kind.name} of up to {size}", kind.smaller)
    return content


def decoded(content: bytes, path: Path) -> str:
    """The text that a file in UTF-8 holds; CaseError with the line where it does not."""
    try:
        return content.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        given = f"the byte 0x{content[error.start]:02x}"
        raise _error(path, line, given, "text in UTF-8", "saving the file as UTF-8") from None


def _not_toml(message: str, text: str, path: Path) -> CaseError:
    lines = text.rstrip().split("\n")
    found = _PLACE.fullmatch(message)
    reason, number = (found[1], int(found[2])) if found else (message.removesuffix(_AT_END), len(lines))
    return _error(
        path,
        number,
        shown(lines[number - 1].strip()),
        f"TOML, whose parser says: {escaped(reason)}",
        "key = value, one to a line and each key once; texts and quantities in quotes",
    )


def _is_deeper(data: object, most: int) -> bool:
    """Whether tables and lists stand in each other more than `most` deep; found without recursion."""
    level: list[object] = [data]
    for _ in range(most + 1):
        level = [
            inner
            for outer in level
            if isinstance(outer, dict | list)
            for inner in (outer.values() if isinstance(outer, dict) else outer)
        ]
    return bool(level)


def _error(path: Path, line: int | None, given: str, allowed: str, try_: str) -> CaseError:
    return CaseError((Problem(escaped(str(path)), line, "", given, allowed, try_),))
