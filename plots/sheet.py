"""The settings sheet as a page to print: what it is made from, and its strips of the day."""

from dataclasses import dataclass
from typing import Literal

from markupsafe import Markup

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
    """All of one filter."""

    name: str
    about: str
    rows: tuple[SheetRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """A day in half hours: marks, or bars from 0 to 1, and what they are in words."""

    name: str
    note: str
    marks: tuple[Mark, ...] = ()
    bars: tuple[float, ...] = ()

    @property
    def svg(self) -> Markup:
        """The strip as a picture in black and white."""
        drawn = [f'<path d="M0 {HIGH}H{48 * WIDE}" stroke="#000" stroke-width=".3"/>']
        drawn += [_mark(WIDE * place, each) for place, each in enumerate(self.marks) if each]
        drawn += [f'<path d="M{WIDE * place} {HIGH}v{-HIGH * each:.2f}h{WIDE}v{HIGH * each:.2f}z"/>'
                  for place, each in enumerate(self.bars)]  # fmt: skip
        drawn += [f'<path d="M{WIDE * each} {HIGH}v1" stroke="#000" stroke-width=".2"/>' for each in range(0, 49, 4)]
        size = f'width="{48 * WIDE}mm" height="{HIGH + 1}mm" viewBox="0 0 {48 * WIDE} {HIGH + 1}"'
        return Markup(f'<svg xmlns="http://www.w3.org/2000/svg" {size} aria-hidden="true">{"".join(drawn)}</svg>')


def _mark(x: float, mark: Mark) -> str:
    if mark == "full":
        return f'<rect x="{x}" y="0" width="{WIDE}" height="{HIGH}"/>'
    lines = f"M{x} {HIGH}L{x + WIDE} 0M{x} {HIGH / 2}L{x + WIDE / 2} 0M{x + WIDE / 2} {HIGH}L{x + WIDE} {HIGH / 2}"
    if mark == "crossed":
        lines = f"M{x} {HIGH}L{x + WIDE} 0M{x} 0L{x + WIDE} {HIGH}"
    return f'<path d="{lines}" fill="none" stroke="#000" stroke-width=".25"/>'


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """All of a settings sheet; `was_of` names the old settings, empty without any; `number` is on every page."""

    title: str
    way: str
    was_of: str
    strips: tuple[Strip, ...]
    rules: str
    filters: tuple[SheetFilter, ...]
    operator: tuple[str, ...]
    reading_heads: tuple[str, ...]
    readings: tuple[tuple[str, ...], ...]
    metered: str
    cautions: tuple[str, ...]
    hashes: str
    number: str


def sheet_html(sheet: Sheet, head: Head, paper: Paper) -> str:
    """The settings sheet; nothing else is needed to show or print it."""
    return paper_html("sheet.html", paper, sheet=sheet, head=head, foot=sheet.number)
