"""“My plant” from a few numbers: the questions of `new` as a form, and the case that their answers write."""

from pathlib import Path
from typing import NamedTuple

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from sim.case.quantities import System
from sim.errors import RefusedValue
from sim.tell.questions import in_words, why, without
from sim.web.asking import Question, question, read
from sim.web.errors import Refused
from sim.web.form import form_fields
from sim.web.pages import address, page
from sim.web.shelf import Asked, Held
from sim.web.worker import Job, Tell
from sim.write.answers import WORDS, answers_of, clash, unanswered
from sim.write.answers import read as answer_of
from sim.write.questions import BY_KEY, QUESTIONS
from sim.write.writing import new_case

NAME = "my_plant.toml"
UNITS = "units"
"""The one question that the page answers by itself."""


class Begun(NamedTuple):
    """The case that answers write; or None, and by the key of each answer that will not do, why; "" for none."""

    held: Held | None
    problems: tuple[tuple[str, str], ...]


def begin(answers: Asked, system: System, _tell: Tell) -> Begun:
    """The case of these answers, as `new` writes it."""
    values, problems = {UNITS: answer_of(UNITS, system)}, dict[str, str]()
    for key, text in answers:
        try:
            values[key] = answer_of(key, text, system)
        except RefusedValue as refused:
            problems[key] = str(refused)
    against = clash(values)
    if against is not None:
        problems |= dict.fromkeys(against.keys, str(against.refused))
    for key in unanswered(values):
        if key not in problems:
            problems[key] = ""
    if problems:
        return Begun(None, tuple((key, problems[key]) for key in BY_KEY if key in problems))
    return Begun(Held(new_case(answers_of(values), Path(NAME)).text, NAME), ())


async def show(request: Request) -> Response:
    """The questions, nothing answered yet."""
    return _page(request, question(request), {}, {})


async def take(request: Request) -> Response:
    """Hold the case of the answers and go on to it; or the questions again, with what is wrong beside them."""
    asked, typed = question(request), await form_fields(request)
    if not typed.keys() <= BY_KEY.keys() - {UNITS}:
        raise Refused(400, "This form holds something that is none of its fields.")
    given = tuple(sorted((key, text) for key, text in typed.items() if text.strip()))
    made = await read(request, Job(begin, (given, asked.system)))
    if made.held is None:
        return _page(request, asked, typed, dict(made.problems))
    case_id = request.app.state.shelf.put(made.held)
    return RedirectResponse(address("/plant", {**asked.plain, "case": case_id, "taken": "yes"}), 303)


def _page(request: Request, asked: Question, typed: dict[str, str], problems: dict[str, str]) -> Response:
    """Those that have to be answered first, then those with a usual answer, then those of some filters only."""
    shown = [each for each in QUESTIONS if each.key != UNITS]
    groups = (
        [each for each in shown if each.needed],
        [each for each in shown if not each.needed and not each.filters],
        [each for each in shown if each.filters],
    )
    return page(
        request, "begun.html", asked, 422 if problems else 200, groups=groups, words=WORDS, typed=typed,
        problems=problems, in_words=in_words, why=why, without=without,
        switch=address("/plant/new", asked.switched.parameters()),
    )  # fmt: skip
