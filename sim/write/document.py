"""A case file as sections of lines with comments."""

from collections.abc import Iterable
from dataclasses import dataclass, field

COMMENT_AT = 44
"""Column at which comments begin, where the line is not longer."""


@dataclass(slots=True)
class Section:
    """A table of the file: its header, the dotted path of its keys, and its lines."""

    header: str
    path: str
    lines: list[str] = field(default_factory=list)

    def say(self, text: str, comment: str = "") -> None:
        """A line in effect."""
        self.lines.append(_line(text, comment))

    def leave_out(self, text: str, comment: str) -> None:
        """A line that is commented out: its key keeps the value that the program assumes."""
        self.lines.append(_line(f"# {text}", comment))

    def suggest(self, text: str, comment: str = "") -> None:
        """A line of what could stand here, neither in effect nor assumed."""
        self.lines.append(_line(f"## {text}", comment))


def text_of(sections: Iterable[Section]) -> str:
    """The whole file."""
    return "\n".join(line for each in sections for line in (*_heading(each), *each.lines)) + "\n"


def _heading(section: Section) -> tuple[str, ...]:
    """The header, with a blank line above it where something new begins."""
    if not section.header:
        return ()
    inside_a_stage = section.header.lstrip("[").startswith("stage.")
    return (section.header,) if inside_a_stage else ("", section.header)


def _line(text: str, comment: str) -> str:
    return f"{text.ljust(COMMENT_AT)}  # {comment}" if comment else text
