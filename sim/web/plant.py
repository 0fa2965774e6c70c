"""“My plant”: open, edit, check and save a case."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from plots.inputs import TextTable
from plots.sheet import Strip
from plots.words import Kind, Label, Name, Sentence, in_days, items, label, say
from sim.case.quantities import System
from sim.case.records import Case
from sim.study.check import Finding, checked
from sim.study.decide.advice import policy_of_today
from sim.study.hours_washed import hours_washed
from sim.tell.comparison.views import assumed_text_table
from sim.tell.listing import sources
from sim.tell.review.finding_words import finding_sources, finding_words, meeting_words, takes_words, tally
from sim.tell.sentences import assumed_count, described
from sim.tell.sheet.sheet_words import day_of
from sim.tell.trigger.settings_sheet import trigger_words
from sim.web.asking import Question, answer, question, read
from sim.web.by_question import tried
from sim.web.carried import Carried, carry
from sim.web.cases_read import case_of, opened, parsed, within_limits
from sim.web.desk import Going
from sim.web.errors import Refused
from sim.web.form import Group, edited, form_fields, form_of
from sim.web.pages import address, download, page
from sim.web.shelf import Asked, Held, shipped
from sim.web.worker import Job, Tell
from sim.write.ways import FIRST


class Told(NamedTuple):
    """A finding of the review: its level in words and whether it is a stop, what was found, what to do."""

    level: Label
    stops: bool
    lines: tuple[str, ...]


class Filter(NamedTuple):
    """A filter in one sentence, and what its design says against itself."""

    name: str
    about: str
    starts: str
    takes: Sentence
    told: tuple[Told, ...]


class PlantForm(NamedTuple):
    """A case as a form: what it is, its filters, what is said against its design, what it leaves to be assumed."""

    described: tuple[str, ...]
    first: tuple[str, ...]
    way: Name
    filters: tuple[Filter, ...]
    site: tuple[Told, ...]
    meet: tuple[Sentence, ...]
    tally: str
    held_against: tuple[str, ...]
    groups: tuple[Group, ...]
    assumed: str
    assumptions: TextTable | None
    sources: tuple[str, ...]


def plant_form(held: Held, system: System, _tell: Tell) -> PlantForm:
    """A case as a form."""
    case = case_of(held)
    findings, today = checked(case).findings, policy_of_today(case, None)
    about, count = described(case), len(case.stages)

    def told(stage: str | None) -> tuple[Told, ...]:
        return tuple(_told(case, findings, stage, system))

    return PlantForm(
        described=(about[0], *about[1 + count :]),
        first=tuple(line.removeprefix(FIRST) for line in held.text.split("\n") if line.startswith(FIRST)),
        way=Name(today.name),
        filters=tuple(
            Filter(stage.name, line, trigger_words(stage, trigger, system),
                   takes_words(stage), told(stage.name))
            for stage, line, (_, trigger) in zip(case.stages, about[1:], today.triggers, strict=False)
        ),
        site=told(None),
        meet=tuple(meeting_words(case, today)),
        tally=tally(findings),
        held_against=finding_sources(findings),
        groups=form_of(parsed(held), case, system),
        assumed=assumed_count(case.assumptions),
        assumptions=assumed_text_table(case, system),
        sources=sources(case.assumptions),
    )


def _told(case: Case, findings: Sequence[Finding], stage: str | None, system: System) -> Iterator[Told]:
    """What there is to do at a stage or, without one, at the site: stops first."""
    known = finding_sources(findings)
    for finding in (each for level in ("stop", "look") for each in findings if each.level == level):
        if finding.stage == stage:
            found, to_do = finding_words(finding, known, case, system)
            yield Told(label("finding.level", level=Kind(finding.level)), finding.level == "stop",
                       (found, to_do) if to_do else (found,))  # fmt: skip


def strips(held: Held, _tell: Tell) -> tuple[tuple[Sentence, Strip], ...]:
    """When each filter washes today, from a run of the first days, in words and as a day."""
    case = case_of(held)
    found, days = hours_washed(case, policy_of_today(case, None).name), list[tuple[Sentence, Strip]]()
    for stage in case.stages:
        arcs = found.arcs[stage.name]
        strip, washes = day_of(stage, arcs), sum(each.count for each in arcs)
        hours = items([strip.note])
        days.append((say("page.plant.washes", count=washes, length=in_days(found.days), hours=hours), strip))
    return tuple(days)


def checked_case(held: Held, _tell: Tell) -> Held:
    """The same case, once it has been read without a problem."""
    case_of(held)
    return held


def edit(held: Held, changes: Asked, tell: Tell) -> Held:
    """A case with some fields of its form changed, once it has been read without a problem."""
    parsed(held)
    return checked_case(replace(held, text=edited(held.text, dict(changes))), tell)


async def show(request: Request) -> Response:
    """The case in use as a form."""
    asked = question(request, ("taken",))
    return await _plant(request, replace(asked, own={}), taken="taken" in asked.own)


async def _plant(request: Request, asked: Question, refused: Refused | None = None, **shown: object) -> Response:
    """The case, with what sliders say in it; where that can be no case, the case without it and why."""
    try:
        moved = await carried(request, asked)
    except Refused as why:
        asked = replace(asked, moved=())
        moved, refused, shown = await carried(request, asked), refused or why, {**shown, "left": True}
    form = await read(request, Job(plant_form, (moved.held, asked.system)))
    days, _ = await tried(answer(request, Job(strips, (moved.held,))))
    at_fields = {each.key: each.path for group in form.groups for each in (*group.given, *group.left_out)}
    told = zip(refused.keys, refused.details, strict=True) if refused and shown.get("typed") else ()
    wrong = [(at_fields.get(key), key, detail) for key, detail in told]
    switch = address("/plant", asked.switched.parameters(**dict(moved.switched)))
    values = {"shipped": shipped(), "text": moved.held.text, "typed": {}, "taken": False, "left": False} | shown
    return page(request, "plant.html", asked, refused.status if refused else 200, form=form, refused=refused,
                days=None if isinstance(days, Going) else days, switch=switch, moved=moved,
                wrong=wrong, **values)  # fmt: skip


async def carried(request: Request, asked: Question) -> Carried:
    """The case of an address with what its sliders say in it; Refused where that is no case."""
    if not asked.moved:
        return Carried(held=asked.held, shown=(), switched=())
    return await read(request, Job(carry, (asked.stand,)))


async def open_file(request: Request) -> Response:
    """Take a case file that somebody chose."""
    asked = question(request)
    async with request.form(max_files=1, max_fields=4) as form:
        file = form.get("file")
        if not isinstance(file, UploadFile) or not file.filename:
            raise Refused(400, "No file was chosen.")
        held = opened(await file.read(), file.filename)
    return await _taken(request, asked, Job(checked_case, (held,)))


async def take_text(request: Request) -> Response:
    """Take the text of a case as it was edited."""
    asked = question(request)
    form = await form_fields(request)
    text = form.get("text", "").replace("\r\n", "\n")
    try:
        held = replace(asked.held, text=within_limits(text))
        return await _taken(request, asked, Job(checked_case, (held,)))
    except Refused as refused:
        return await _plant(request, asked, refused, text=text)


async def take_fields(request: Request) -> Response:
    """Take the fields of the form."""
    asked = question(request)
    form = await form_fields(request)
    changes = tuple(sorted(form.items()))
    try:
        moved = await carried(request, asked)
        return await _taken(request, asked, Job(edit, (moved.held, changes)))
    except Refused as refused:
        return await _plant(request, asked, refused, typed=form)


async def _taken(request: Request, asked: Question, job: Job[Held]) -> Response:
    """Hold the case that a job has read, and go on to it."""
    case_id = request.app.state.shelf.put(await read(request, job))
    return RedirectResponse(address("/plant", {**asked.plain, "case": case_id, "taken": "yes"}), 303)


async def save(request: Request) -> Response:
    """The case, with what sliders say in it, as a file for the browser to save; nothing is written here."""
    held = (await carried(request, question(request))).held
    return download(held.name, held.text.encode("utf-8"), "application/toml")
