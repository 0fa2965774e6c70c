"""“What should start a wash?”: every way to start one side by side, and the train of one of them moving."""

from collections.abc import Callable, Iterator, Mapping
from datetime import time
from functools import lru_cache
from typing import Any, NamedTuple

from starlette.requests import Request
from starlette.responses import Response

from plots.inputs import TextTable
from plots.one import Shown, show_train
from plots.words import Label, Name, Term, label, say, term
from sim.case import units
from sim.case.quantities import System
from sim.case.records import Case
from sim.case.units import parse_quantity
from sim.study.choice import Choice, once
from sim.study.compare import Comparison, compare
from sim.study.decide.advice import policy_of_today
from sim.study.settable import RANGES, trigger_settings
from sim.study.weeks import weeks, worst_week
from sim.tell.comparison.card import Way, figures, heads, meant, ways
from sim.tell.comparison.first_screen import screen_of_one
from sim.tell.comparison.late_words import late_set_points
from sim.tell.comparison.tables import groups_of_one, text_tables
from sim.tell.comparison.views import table_notes
from sim.tell.faults.fault_words import fault_lines
from sim.tell.review.told_words import remedy_words, solved_words
from sim.tell.run.frames import frames, stretch_around
from sim.tell.run.samples import Window
from sim.tell.sentences import assumed_count, of_chemicals
from sim.web.asking import Question, answer, question
from sim.web.by_question import part, question_page, setup_for, tried
from sim.web.cases_read import case_of, parsed
from sim.web.errors import Refused
from sim.web.shelf import DEMO, Held, Stand
from sim.web.sliders import Slider, chemistry_sliders, feed_sliders, settings_of, slider_of
from sim.web.worker import Job, Tell

MOST_SLIDERS = 60
SPACING = "washing.least_interval"
_kept: dict[Stand, Comparison] = {}  # of this worker: what it compared last, from which every way can be shown


class StartAnswer(NamedTuple):
    """The ways to start a wash side by side, and one of them through time."""

    simulated: str
    sentences: tuple[str, ...]
    way: str
    title: str
    moving: str
    still: Shown
    heads: tuple[str, ...]
    meant: tuple[str, ...]
    ways: tuple[Way, ...]
    tables: tuple[TextTable, ...]
    about: tuple[str, ...]
    notes: tuple[str, ...]
    assumed: str


def sliders(held: Held, system: System) -> tuple[Slider, ...]:
    """What can start a wash, policy by policy, when it may, then the water, then what restores beds."""
    data = parsed(held)
    found = [
        *_triggers(case_of(held), data, system), *_rules(data, system), *feed_sliders(data["feed"], system),
        *chemistry_sliders(data, system),
    ]  # fmt: skip
    return tuple(found[:MOST_SLIDERS])


def _triggers(case: Case, data: Mapping[str, Any], system: System) -> Iterator[Slider]:
    """The settings of each way, the hour of its washes last."""
    single = len(case.stages) == 1

    def named_(stage: str, setting: Term) -> Term | Label:
        return setting if single else label("page.start.setting_of_stage", stage=Name(stage), setting=setting)

    settings = list(trigger_settings(case))
    for policy, stages in data["policy"].items():
        for key, _, stage, name, span, value in (each for each in settings if each.policy == policy):
            yield slider_of(key, policy, named_(stage, term("slider", name)), span, value, system)
        for stage, table in stages.items():
            if isinstance(at := table.get("at"), time):
                yield slider_of(
                    f"policy.{policy}.{stage}.hour", policy, named_(stage, term("slider", "hour")), RANGES["hour"],
                    units.HOUR * round(at.hour + (at.minute + at.second / 60.0) / 60.0, 2), system, form="hour",
                )  # fmt: skip


def _rules(data: Mapping[str, Any], system: System) -> Iterator[Slider]:
    """The time between the starts of any two washes, and how long the unit waits for each."""
    group = label("page.group.site")
    spacing = parse_quantity(data.get("washing", {}).get("least_interval", "0 s"), units.DURATION)
    if len(data["stage"]) > 1 or spacing:
        name: Term | Label = term("slider", "spacing")
        yield slider_of(SPACING, group, name, RANGES["spacing"], spacing, system, form="spacing")
    for place, stage in enumerate(data["stage"]):
        if "hold_unit" in stage:
            held = parse_quantity(stage["hold_unit"].get("plus", "0 s"), units.DURATION)
            plus = term("slider", "plus")
            name = label("page.start.setting_of_stage", stage=Name(str(stage["name"])), setting=plus)
            yield slider_of(f"stage.{place}.hold_unit.plus", group, name, RANGES["plus"], held, system)


def warm_up(tell: Tell) -> None:
    """Load, compile and draw once, so that nobody waits for it later."""
    answered(Stand(Held.of(DEMO), (), "si"), None, tell)


def runs_told(tell: Tell) -> Callable[[str, int, int], None]:
    """What a comparison calls with a way to start a wash, its place and how many there are."""
    return lambda name, place, count: tell(say("page.working.runs", number=place + 1, of=count, way=Name(name)))


@lru_cache(maxsize=8)
def stretch_of(held: Held) -> Window:
    """The time that is drawn: around the worst week of today's way as the case has it, wherever sliders stand."""
    case = case_of(held)
    return stretch_around(worst_week(weeks(case, policy_of_today(case, None).name))[0], case.run.length)


def answered(stand: Stand, way: str | None, tell: Tell) -> StartAnswer:
    """Every way to start a wash at these settings, and the train with one of them: the one the answer is about."""
    case, system = case_of(stand.held, settings_of(sliders(stand.held, stand.system), stand)), stand.system
    if way is not None and way not in [each.name for each in case.policies]:
        raise Refused(404, "This case has no such way to start a wash.")
    if stand not in _kept:
        compared = compare(case, progress=runs_told(tell))
        _kept.clear()
        _kept[stand] = compared
    comparison = _kept[stand]
    results, groups = comparison.results, groups_of_one(comparison, system)
    names, screen = [each.policy for each in results], screen_of_one(comparison, system)
    shown = way or Choice(once(case, comparison.seed, results)).order[0]
    tell(say("page.working.draws"))
    moving = frames(case, next(each for each in results if each.policy == shown), stretch_of(stand.held), system)
    return StartAnswer(
        simulated=screen.title,
        sentences=tuple(screen.answer),
        way=shown,
        title=moving.title,
        moving=moving.as_json,
        still=show_train(moving),
        ways=tuple(ways(case, results, system)),
        heads=heads(system, figures(case)),
        meant=tuple(meant(case)),
        tables=text_tables(groups, names),
        notes=(
            *late_set_points(case, results), *fault_lines(case), *screen.change, *remedy_words(case.remedies),
            *solved_words(case, system), *of_chemicals(case.stages),
        ),
        about=table_notes(groups, names),
        assumed=assumed_count(case.assumptions),
    )


def _asked(request: Request) -> Question:
    return question(request, ("through", "ask"))


async def jobs(request: Request) -> tuple[Job[StartAnswer], ...]:
    """The comparison that an address asks for."""
    asked = _asked(request)
    return (Job(answered, (asked.stand, asked.own.get("through") or None)),)


async def show(request: Request) -> Response:
    """The page, with its answer as far as it is there."""
    asked = _asked(request)
    before = await setup_for(request, sliders, asked.held)
    (job,) = await jobs(request)
    if asked.own.get("ask"):  # for students: the answer once they have thought of one
        return question_page(request, "start", asked, before, None, None)
    found, refused = await tried(answer(request, job))
    return question_page(request, "start", asked, before, found, refused)


async def show_answer(request: Request) -> Response:
    """The answer alone."""
    (job,) = await jobs(request)
    return part(request, "start_answer", _asked(request), await answer(request, job))
