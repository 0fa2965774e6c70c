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
        """A line in effect; after "# " one that is commented out, whose key keeps the value that the program assumes;
        after "## " one of what could stand here, neither in effect nor assumed."""
        self.lines.append(f"{text.ljust(COMMENT_AT)}  # {comment}" if comment else text)


def section(header: str, path: str, text: str) -> Section:
    """A section from its lines as a file has them, each with its comment behind two spaces and a #."""
    made = Section(header, path)
    for line in text.strip("\n").split("\n"):
        said, _, comment = line.partition("  # ")
        made.say(said, comment)
    return made


def block(text: str) -> Section:
    """What may be added, from lines as they would stand in the file: not read until the marks are taken away."""
    made = section("", "", "\n".join(f"## {line}" for line in text.strip("\n").split("\n")))
    made.lines.insert(0, "")
    return made


def text_of(sections: Iterable[Section]) -> str:
    """The whole file."""
    return "\n".join(line for each in sections for line in (*_heading(each), *each.lines)) + "\n"


def _heading(section: Section) -> tuple[str, ...]:
    """The header, with a blank line above it where something new begins."""
    if not section.header:
        return ()
    inside_a_stage = section.header.lstrip("[").startswith("stage.")
    return (section.header,) if inside_a_stage else ("", section.header)
