"""The settings sheet as a page to print: what it is made from, and its strips of the day."""

from dataclasses import dataclass
from typing import Literal, assert_never

from plots.changed import ChangedPart
from plots.inputs import Head
from plots.paper import Paper, paper_html

Mark = Literal["", "full", "hatched", "crossed"]
WIDE, HIGH = 2.0, 4.0  # mm of a half hour in a strip


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetRow:
    """One thing to set: `was` in the old settings, `differs` where that is another; `note`: why, what was tried."""

    name: str
    value: str
    was: str
    note: str
    differs: bool
    starred: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetFilter:
    """All of one filter: its wash, then what starts it and what else holds. No page ends in the wash.

    `about` and `warnings` stand above.
    """

    name: str
    about: tuple[str, ...]
    warnings: tuple[str, ...]
    parts: tuple[tuple[SheetRow, ...], ...]

    @property
    def rows(self) -> tuple[SheetRow, ...]:
        """All rows."""
        return tuple(row for part in self.parts for row in part)


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """A day in half hours: marks, or bars from 0 to 1, and what they are in words."""

    name: str
    note: str
    marks: tuple[Mark, ...] = ()
    bars: tuple[float, ...] = ()

    @property
    def black(self) -> str:
        """What is filled, as a path of SVG: full half hours, and bars."""
        heights = self.bars or tuple(float(each == "full") for each in self.marks)
        return "".join(f"M{WIDE * place:g} {HIGH:g}v{-HIGH * each:.2f}h{WIDE:g}v{HIGH * each:.2f}z"
                       for place, each in enumerate(heights) if each)  # fmt: skip

    @property
    def thin(self) -> str:
        """What is drawn in lines: the hours, half hours that are hatched or crossed."""
        hours = "".join(f"M{2 * WIDE * hour:g} {HIGH:g}v1" for hour in range(0, 25, 2))
        return hours + "".join(_lines(WIDE * place, each) for place, each in enumerate(self.marks))


def _lines(x: float, mark: Mark) -> str:
    rise = f"M{x:g} {HIGH:g}l{WIDE:g} {-HIGH:g}"
    match mark:
        case "hatched":
            half = f"l{WIDE / 2:g} {-HIGH / 2:g}"
            return f"{rise}M{x:g} {HIGH / 2:g}{half}M{x + WIDE / 2:g} {HIGH:g}{half}"
        case "crossed":
            return f"{rise}M{x:g} 0l{WIDE:g} {HIGH:g}"
        case "full" | "":
            return ""
        case _:
            assert_never(mark)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """All of a settings sheet; `was_of` names the old settings, empty without any; `short`: that its run was too
    short; `marks`: what those of the strips are; `number` is on every page."""

    title: str
    way: str
    was_of: str
    short: str
    strips: tuple[Strip, ...]
    marks: tuple[str, ...]
    rules: str
    filters: tuple[SheetFilter, ...]
    operator: tuple[str, ...]
    reading_heads: tuple[str, ...]
    readings: tuple[tuple[str, ...], ...]
    metered: str
    cautions: tuple[str, ...]
    hashes: str
    number: str
    changed: ChangedPart | None = None


def sheet_html(sheet: Sheet, head: Head, paper: Paper) -> str:
    """The settings sheet; nothing else is needed to show or print it."""
    return paper_html("sheet.html", paper, sheet=sheet, head=head, foot=sheet.number)
