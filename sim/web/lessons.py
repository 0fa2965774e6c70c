"""The lessons: question, guess, picture, what came of it, what to try now; as a page, as sheets, as slides."""

from collections.abc import Callable
from functools import partial
from typing import Final, NamedTuple

from starlette.requests import Request
from starlette.responses import Response

from plots.lesson_page import LessonAsked, LessonTold
from plots.words import Sentence, Term, term
from sim.case.quantities import System
from sim.lessons import handout
from sim.lessons.lesson import Lesson
from sim.lessons.names import NAMES, lesson
from sim.web.asking import Question, answer, question, read
from sim.web.cases_read import case_of
from sim.web.desk import Going
from sim.web.errors import Refused
from sim.web.pages import address, page
from sim.web.shelf import Held, of_lesson
from sim.web.start import runs_told
from sim.web.worker import Job, Tell

NO_GUESS: Final = "none"
SLIDES: Final = 5  # question, guess, picture, what came of it, what to try
PICTURE: Final = 2  # the first slide that takes runs


class Before(NamedTuple):
    """What a lesson asks, or why it does not apply to a plant."""

    asked: LessonAsked | None
    why: Sentence | None = None


def prepared(name: str, own: Held | None, system: System, _tell: Tell) -> Before:
    """A lesson before its runs, on its own plant or on that of a case."""
    if own is None:
        return Before(handout.asked(lesson(name), system))
    case = case_of(own)
    found = lesson(name).own(case)
    return Before(handout.asked(found, system, case)) if isinstance(found, Lesson) else Before(None, found)


def applying(own: Held, _tell: Tell) -> dict[str, Sentence | None]:
    """Of every lesson why it does not apply to a case; None where it does."""
    case = case_of(own)
    found = {name: lesson(name).own(case) for name in NAMES}
    return {name: None if isinstance(each, Lesson) else each for name, each in found.items()}


def told(name: str, own: Held | None, system: System, tell: Tell) -> LessonTold:
    """A lesson after its runs."""
    found = lesson(name) if own is None else lesson(name).own(case_of(own))
    if not isinstance(found, Lesson):
        raise Refused(422, found)
    studied = found.study(runs_told(tell), None if own is None else partial(case_of, own))
    return handout.told(studied.told(system))


def _asked(request: Request) -> tuple[Question, str, Held | None]:
    """What an address asks, which lesson, and the plant where it is not the lesson's own."""
    asked, name = question(request, ("guess", "own", "slide")), request.path_params["name"]
    if name not in NAMES or asked.moved:
        raise Refused(404, "There is no such lesson here.")
    if asked.own.get("own", "yes") != "yes":
        raise Refused(400, "A lesson is on its own plant, or on yours with own=yes.")
    return asked, name, asked.held if "own" in asked.own else None


def _number(asked: Question, name: str, count: int) -> int | None:
    """A whole number below `count` of the address; None where there is none."""
    text = asked.own.get(name, NO_GUESS)
    if text == NO_GUESS:
        return None
    if not (text.isascii() and text.isdigit() and len(text) < 3 and int(text) < count):
        raise Refused(400, f"There is no such {name} in this lesson.")
    return int(text)


async def jobs(request: Request) -> tuple[Job[LessonTold], ...]:
    """The runs that an address asks for."""
    asked, name, own = _asked(request)
    return (Job(told, (name, own, asked.system)),)


def _abouts() -> dict[str, Term]:
    """What each lesson is about."""
    return {each: term("lesson", each) for each in NAMES}


async def list_all(request: Request) -> Response:
    """Every lesson, with what it is about, and whether it applies to the plant in use."""
    asked = question(request)
    switch = address("/lessons", asked.switched.parameters())
    why = await read(request, Job(applying, (asked.held,)))
    return page(request, "lessons.html", asked, switch=switch, abouts=_abouts(), why=why)


async def show(request: Request) -> Response:
    """A lesson: its question and, once something is guessed, its picture and all that follows."""
    asked, name, own = _asked(request)
    applies = own is None and (await read(request, Job(applying, (asked.held,))))[name] is None
    return await _shown(request, "lesson.html", lambda asked, slide: "guess" in asked.own, applies=applies)


async def show_questions(request: Request) -> Response:
    """The sheet with its question, to print."""
    return await _shown(request, "lesson_questions.html", lambda asked, slide: False)


async def show_answers(request: Request) -> Response:
    """The sheet with its answer, to print."""
    return await _shown(request, "lesson_answers.html", lambda asked, slide: True)


async def show_slides(request: Request) -> Response:
    """One step of it at a time, to be read from the back row."""
    return await _shown(request, "lesson_slides.html", lambda asked, slide: slide >= PICTURE)


async def _shown(
    request: Request, template: str, takes_runs: Callable[[Question, int], bool], *, applies: bool = False
) -> Response:
    """A view of a lesson; `applies`: also to the plant in use."""
    asked, name, own = _asked(request)
    before = await read(request, Job(prepared, (name, own, asked.system)))
    slide = _number(asked, "slide", SLIDES) or 0
    guess = None if before.asked is None else _number(asked, "guess", len(before.asked.options))
    found: LessonTold | Going | None = None
    if before.asked is not None and takes_runs(asked, slide):
        (job,) = await jobs(request)
        found = await answer(request, job)
    return page(
        request, template, asked, before=before, lesson=before.asked, found=found, guess=guess, which=name,
        own=own, applies=applies, slide=slide, slides=SLIDES, now_case=own or of_lesson(name),
        where=lesson(name).where, no_guess=NO_GUESS,
        switch=address(request.scope["path"], asked.switched.parameters()),
    )  # fmt: skip
