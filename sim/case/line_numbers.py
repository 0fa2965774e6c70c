"""The line of every key, table and list item of a TOML text that `tomllib` has accepted.

The standard parser keeps no positions, so this scan walks the text once more. It runs only when there is
something to report, and relies on the text being valid: it looks for ends, not for mistakes.
"""

import re
import tomllib
from bisect import bisect_right

Path = tuple[str | int, ...]
"""Where a value stands: table keys and, within lists, positions from 0."""

_SPACE = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_STRING = re.compile(
    r'"""(?:\\.|[^\\])*?"""(?!")' + r"|'''.*?'''(?!')" + r'|"(?:\\.|[^"\\])*"' + r"|'[^']*'",
    re.DOTALL,
)
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_BARE_VALUE = re.compile(r"[^,\]}#\n]*")


def line_numbers(text: str) -> dict[Path, int]:
    """Lines from 1 by path; a table has the line of its header, or of the first key that makes it.

    >>> line_numbers('[[a]]\\nb.c = [1,\\n2]')[("a", 0, "b", "c", 1)]
    3
    """
    return _Scan(text).lines


class _Scan:
    """One pass over a valid text; `at` is the place reached."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.starts = [0, *(newline.end() for newline in re.finditer("\n", text))]
        self.lines: dict[Path, int] = {}
        self.lengths: dict[Path, int] = {}
        table: Path = ()
        self.skip()
        while self.at < len(text):
            if text[self.at] == "[":
                table = self.header()
            else:
                self.pair(table)
            self.skip()

    @property
    def line(self) -> int:
        return bisect_right(self.starts, self.at)

    def skip(self) -> None:
        """Pass over spaces, line ends and comments."""
        self.take(_SPACE)

    def take(self, pattern: re.Pattern[str]) -> str:
        found = pattern.match(self.text, self.at)
        assert found is not None, "the scan is for texts that the parser has accepted"
        self.at = found.end()
        return found[0]

    def header(self) -> Path:
        """[table] or [[list of tables]]: the path of the table that it opens."""
        line, brackets = self.line, 2 if self.text.startswith("[[", self.at) else 1
        self.at += brackets
        *outer, last = self.key()
        self.at += brackets
        path: Path = ()
        for part in outer:
            path = self.inside((*path, part), line)
        path = (*path, last)
        if brackets == 1:
            self.lines[path] = line
            return path
        self.lines.setdefault(path, line)
        self.lengths[path] = self.lengths.get(path, 0) + 1
        return self.inside(path, line)

    def inside(self, path: Path, line: int) -> Path:
        """The table at `path`: of a list of tables, the last one."""
        self.lines.setdefault(path, line)
        if path not in self.lengths:
            return path
        item = (*path, self.lengths[path] - 1)
        self.lines.setdefault(item, line)
        return item

    def pair(self, table: Path) -> None:
        """key = value; the key may be dotted."""
        line = self.line
        path = table
        for part in self.key():
            path = (*path, part)
            self.lines.setdefault(path, line)
        self.at += 1  # the equals sign
        self.value(path)

    def key(self) -> list[str]:
        """The parts of a dotted key; leaves `at` behind it and the spaces after it."""
        parts = []
        while True:
            self.skip()
            if self.text[self.at] in "\"'":
                parts.append(tomllib.loads(f"key = {self.take(_STRING)}")["key"])
            else:
                parts.append(self.take(_BARE_KEY))
            self.skip()
            if self.text[self.at] != ".":
                return parts
            self.at += 1

    def value(self, path: Path) -> None:
        self.skip()
        first = self.text[self.at]
        if first in "\"'":
            self.take(_STRING)
        elif first == "[":
            self.items(path)
        elif first == "{":
            self.inline_table(path)
        else:
            self.take(_BARE_VALUE)

    def items(self, path: Path) -> None:
        self.at += 1
        self.skip()
        position = 0
        while self.text[self.at] != "]":
            self.lines[*path, position] = self.line
            self.value((*path, position))
            self.comma()
            position += 1
        self.at += 1

    def inline_table(self, path: Path) -> None:
        self.at += 1
        self.skip()
        while self.text[self.at] != "}":
            self.pair(path)
            self.comma()
        self.at += 1

    def comma(self) -> None:
        self.skip()
        if self.text[self.at] == ",":
            self.at += 1
            self.skip()
