"""“What should start a wash?”: every way to start one side by side, and each through time."""

from collections.abc import Callable, Iterator
from typing import NamedTuple

from starlette.requests import Request
from starlette.responses import Response

from plots.course import by_figure
from plots.inputs import TextTable
from plots.one import Shown, show_compared, show_course
from plots.words import Name, label, say, term
from sim.case.quantities import System
from sim.case.records import Case
from sim.study.compare import compare
from sim.study.moments import moment
from sim.study.settable import trigger_settings
from sim.study.weeks import weeks, worst_week
from sim.tell.comparison.first_screen import screen_of_one
from sim.tell.comparison.tables import groups_of_one, text_tables
from sim.tell.comparison.views import compared, table_notes
from sim.tell.faults.fault_words import fault_lines
from sim.tell.review.told_words import remedy_words, solved_words
from sim.tell.run.samples import courses, window_around
from sim.tell.sentences import assumed_count, of_chemicals
from sim.web.asking import Question, answer, narrow, question
from sim.web.by_question import part, question_page, setup_for, tried
from sim.web.cases_read import case_of, parsed
from sim.web.desk import Going
from sim.web.errors import Refused
from sim.web.shelf import DEMO, Held, Stand
from sim.web.sliders import Slider, chemistry_sliders, feed_sliders, settings_of, slider_of
from sim.web.worker import Job, Tell

MOST_SLIDERS = 60


class StartAnswer(NamedTuple):
    """The ways to start a wash side by side."""

    simulated: str
    sentence: str
    figure: Shown
    tables: tuple[TextTable, ...]
    notes: tuple[str, ...]
    assumed: str


def sliders(held: Held, system: System) -> tuple[Slider, ...]:
    """What can start a wash, policy by policy, then the water, then what restores beds."""
    data = parsed(held)
    found = [
        *_triggers(case_of(held), system), *feed_sliders(data["feed"], system), *chemistry_sliders(data, system)
    ]  # fmt: skip
    return tuple(found[:MOST_SLIDERS])


def _triggers(case: Case, system: System) -> Iterator[Slider]:
    for key, policy, stage, name, span, value in trigger_settings(case):
        setting = term("slider", name)
        whole = label("page.start.setting_of_stage", stage=Name(stage), setting=setting)
        yield slider_of(key, policy, setting if len(case.stages) == 1 else whole, span, value, system)


def warm_up(tell: Tell) -> None:
    """Load, compile and draw once, so that nobody waits for it later."""
    answered(Stand(Held.of(DEMO), (), "si"), False, tell)


def runs_told(tell: Tell) -> Callable[[str, int, int], None]:
    """What a comparison calls with a way to start a wash, its place and how many there are."""
    return lambda name, place, count: tell(say("page.working.runs", number=place + 1, of=count, way=Name(name)))


def _case(stand: Stand) -> Case:
    return case_of(stand.held, settings_of(sliders(stand.held, stand.system), stand))


def answered(stand: Stand, narrow: bool, tell: Tell) -> StartAnswer:
    """Every way to start a wash at these settings, side by side."""
    case, system = _case(stand), stand.system
    comparison = compare(case, progress=runs_told(tell))
    results, groups = comparison.results, groups_of_one(comparison, system)
    ways, screen = [each.policy for each in results], screen_of_one(comparison, system)
    return StartAnswer(
        simulated=screen.title,
        sentence=" ".join(screen.answer),
        figure=show_compared(ways, compared(case, results, system), narrow=narrow),
        tables=text_tables(groups, ways),
        notes=(
            *fault_lines(case), *table_notes(groups, ways), *screen.change, *remedy_words(case.remedies),
            *solved_words(case, system), *of_chemicals(case.stages),
        ),
        assumed=assumed_count(case.assumptions),
    )


def through_time(stand: Stand, policy: str, narrow: bool, tell: Tell) -> tuple[Shown, ...]:
    """Every stage through time under one policy, around its worst week."""
    case = _case(stand)
    if policy not in [each.name for each in case.policies]:
        raise Refused(404, "This case has no such way to start a wash.")
    result = next(each for each in compare(case).results if each.policy == policy)
    tell(say("page.working.draws"))
    worst, _ = worst_week(weeks(case, policy))
    week = (moment(case.run.start, worst.start_s), moment(case.run.start, worst.end_s))
    drawn = courses(case, result, window_around(worst, case.run.length), stand.system)
    return tuple(show_course(some, week, narrow=narrow) for some in by_figure(drawn))


def _asked(request: Request) -> Question:
    return question(request, ("through",))


async def jobs(request: Request) -> tuple[Job[StartAnswer], ...]:
    """The comparison that an address asks for."""
    asked = _asked(request)
    return (Job(answered, (asked.stand, narrow(request))),)


async def show(request: Request) -> Response:
    """The page, with its answer as far as it is there."""
    asked = _asked(request)
    before = await setup_for(request, sliders, asked.held)
    (job,) = await jobs(request)
    found, refused = await tried(answer(request, job))
    through = await _through(request, asked) if refused is None else None
    return question_page(request, "start", asked, before, found, refused, through=through)


async def show_answer(request: Request) -> Response:
    """The answer alone."""
    (job,) = await jobs(request)
    return part(request, "start_answer", _asked(request), await answer(request, job))


async def show_through(request: Request) -> Response:
    """One way to start a wash through time, alone."""
    asked = _asked(request)
    through = await _through(request, asked)
    if through is None:
        raise Refused(400, "This address does not say which way to start a wash is to be shown through time.")
    return part(request, "through", asked, through, through=through)


async def _through(request: Request, asked: Question) -> tuple[Shown, ...] | Going | None:
    policy = asked.own.get("through")
    if not policy:
        return None
    return await answer(request, Job(through_time, (asked.stand, policy, narrow(request))))
