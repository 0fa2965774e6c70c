"""A lesson as its pages take it: before the runs, and after them."""

from typing import Literal

from plots.inputs import Column, TextTable
from plots.lesson_page import LessonAsked, LessonTold
from plots.wall import show_wall
from plots.words import label, term
from sim.case.quantities import System
from sim.case.records import Case
from sim.lessons.lesson import Lesson, Told
from sim.tell.sentences import plant_cautions


def asked(lesson: Lesson, system: System, case: Case | None = None) -> LessonAsked:
    """Its question; on somebody's own plant where there is a case."""
    title = term("lesson", lesson.name)
    return LessonAsked(
        name=lesson.name,
        title=title[:1].upper() + title[1:],
        situation=lesson.situated(system, case),
        question=lesson.question(),
        asks=lesson.guess.asks(),
        options=lesson.options(system, case),
        now=lesson.now(),
    )


def told(found: Told, again: str = "") -> LessonTold:
    """What came of it."""
    holds: dict[str, Literal["numbers", "words"]] = {"numbers": "numbers"}
    columns = tuple(Column(each.head, holds.get(each.holds, "words")) for each in found.table.columns)
    return LessonTold(
        said=found.wall.title, figure=show_wall(found.wall, found.foot), right=found.right, sentences=found.sentences,
        tried=found.tried,
        table=TextTable(caption=label("lesson.figures"), columns=columns, rows=found.table.rows),
        cautions=(found.foot, *plant_cautions()), again=again,
    )  # fmt: skip
