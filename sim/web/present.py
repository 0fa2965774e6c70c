"""A question to present: its answer, one figure and one slider, in type that is read from the back row."""

from collections.abc import Callable, Mapping
from typing import Any, Final, NamedTuple, cast

from starlette.requests import Request
from starlette.responses import Response

from plots.one import Shown, show_compared, show_rinsed
from sim.case.quantities import System
from sim.study.compare import compare
from sim.study.returned import after_wash
from sim.tell.comparison.first_screen import screen_of_one
from sim.tell.comparison.views import compared
from sim.tell.run.rinse_view import rinsed
from sim.tell.run.rinse_words import first_jar_words
from sim.web import meter, rinse, start
from sim.web.asking import Question, answer, question
from sim.web.by_question import part, question_page, setup_for, tried
from sim.web.cases_read import case_of
from sim.web.desk import Going
from sim.web.errors import Refused
from sim.web.shelf import Held, Stand
from sim.web.sliders import Slider, settings_of
from sim.web.worker import Job, Tell


class PresentAnswer(NamedTuple):
    """One sentence, one figure."""

    sentence: str
    figure: Shown


def _rinse_sliders(held: Held, system: System) -> tuple[Slider, ...]:
    return rinse.sliders(held, None, system)


SLIDERS: Final[Mapping[str, Callable[[Held, System], tuple[Slider, ...]]]] = {
    "start": start.sliders, "rinse": _rinse_sliders, "meter": meter.sliders,
}  # fmt: skip


def answered(stand: Stand, way: str, tell: Tell) -> PresentAnswer:
    """The answer of a question at these settings."""
    case = case_of(stand.held, settings_of(SLIDERS[way](stand.held, stand.system), stand))
    if way == "rinse":
        returned = after_wash(case, case.policies[0].name, case.stages[0].name)
        figure = show_rinsed(rinsed(case, returned, stand.system), narrow=False, low=True)
        return PresentAnswer(first_jar_words(case, returned, stand.system), figure)
    comparison = compare(case, progress=start.runs_told(tell))
    results = comparison.results
    figure = show_compared([each.policy for each in results], compared(case, results, stand.system))
    return PresentAnswer(screen_of_one(comparison, stand.system).answer[0], figure)


def worth(kept: bytes, stand: Stand, tell: Tell) -> PresentAnswer:
    """What a device is worth, by runs that were kept."""
    found = meter.answered(kept, stand, None, False, tell)
    return PresentAnswer(found.headline, found.figure)


def _asked(request: Request) -> tuple[Question, str]:
    """What an address asks, and of which question."""
    asked = question(request, ("way", "slider"))
    way = asked.own.get("way", "start")
    if way not in SLIDERS:
        raise Refused(404, "There is no such question to present.")
    return asked, way


async def jobs(request: Request) -> tuple[Job[Any], ...]:
    """The answer that an address asks for, or the runs that it is worked out from."""
    asked, way = _asked(request)
    return await meter.runs(request, asked) if way == "meter" else (Job(answered, (asked.stand, way)),)


async def _found(request: Request) -> PresentAnswer | Going:
    """The answer, or how far it is."""
    asked, way = _asked(request)
    (job,) = await jobs(request)
    found = await answer(request, job)
    if way != "meter" or isinstance(found, Going):
        return cast(PresentAnswer | Going, found)
    return await answer(request, Job(worth, (asked.stand,), given=found))


async def show(request: Request) -> Response:
    """The whole view: the slider of the address, else the first; the others stay where the address has them."""
    asked, way = _asked(request)
    before = await setup_for(request, cast(Any, SLIDERS[way]), asked.held)
    keys = [each.key for each in before.sliders[asked.system]]
    chosen = asked.own.get("slider", keys[0])
    if chosen not in keys:
        raise Refused(404, "This question has no such slider.")
    found, refused = await tried(_found(request))
    place = keys.index(chosen)
    return question_page(
        request, "present", asked, before, found, refused, of=way, place=place,
        near={"prev": keys[place - 1], "next": keys[(place + 1) % len(keys)]},
    )  # fmt: skip


async def show_answer(request: Request) -> Response:
    """The answer alone."""
    return part(request, "present_answer", _asked(request)[0], await _found(request))
