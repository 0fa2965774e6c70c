"""A lesson as a page: what is asked, what there is to guess, the picture, what came of it, what to try now."""

from dataclasses import dataclass
from typing import Final, Literal

from markupsafe import Markup

from plots.inputs import TextTable
from plots.one import Shown
from plots.report import report_styles, template, template_text

Part = Literal["lesson", "questions", "answers"]
PARTS: Final[tuple[Part, ...]] = ("lesson", "questions", "answers")


@dataclass(frozen=True, slots=True, kw_only=True)
class LessonAsked:
    """What stands there before anything has run; `title` says what the lesson is about."""

    name: str
    title: str
    situation: tuple[str, ...]
    question: str
    asks: str
    options: tuple[str, ...]
    now: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LessonTold:
    """What came of it: `said` in one line, its picture, the place of the right option, words,
    what came of what is to be tried, figures.

    `again` is the command that runs it the same way, for a file that nobody serves.
    """

    said: str
    figure: Shown
    right: int
    sentences: tuple[str, ...]
    tried: tuple[str, ...]
    table: TextTable
    cautions: tuple[str, ...]
    again: str = ""


def lesson_files(name: str, asked: LessonAsked, told: LessonTold) -> dict[str, str | bytes]:
    """The lesson step by step, the sheet with its question, the sheet with its answer: each a file that needs nothing
    else."""
    styles = Markup(report_styles() + lesson_styles())
    ends: dict[Part, str] = {"lesson": "", "questions": "_questions", "answers": "_answers"}
    return {
        f"{name}{ends[part]}.html": template("lesson.html").render(part=part, asked=asked, told=told, styles=styles)
        for part in PARTS
    }


def lesson_styles() -> str:
    """The styles of lessons, which come after those of the report."""
    return template_text("lesson.css")
