"""“My plant”: open, edit, check and save a case."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Literal, NamedTuple

from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from plots.inputs import TextTable
from plots.words import Kind, label
from sim.case.quantities import System
from sim.case.records import Case
from sim.study.check import Finding, checked
from sim.tell.comparison.views import assumed_text_table
from sim.tell.listing import sources
from sim.tell.review.finding_words import finding_sources, finding_words, place_words, tally
from sim.tell.sentences import assumed_count, described
from sim.web.asking import Question, question, read
from sim.web.carried import Carried, carry
from sim.web.cases_read import case_of, opened, parsed, within_limits
from sim.web.errors import Refused
from sim.web.form import LONGEST_FIELD, MOST_FIELDS, Group, edited, form_of
from sim.web.pages import address, download, page
from sim.web.shelf import Asked, Held, shipped
from sim.web.worker import Job, Tell

Told = tuple[tuple[str, tuple[str, ...]], ...]
"""Findings of the review: where, and what is said of each."""


class PlantForm(NamedTuple):
    """A case as a form, what it describes, what its design says against itself, and what it leaves to be assumed."""

    described: tuple[str, ...]
    tally: str
    stops: Told
    looks: Told
    held_against: tuple[str, ...]
    groups: tuple[Group, ...]
    assumed: str
    assumptions: TextTable | None
    sources: tuple[str, ...]


def plant_form(held: Held, system: System, _tell: Tell) -> PlantForm:
    """A case as a form."""
    case = case_of(held)
    findings = checked(case).findings
    return PlantForm(
        described=described(case),
        tally=tally(findings),
        stops=tuple(_findings(case, findings, "stop", system)),
        looks=tuple(_findings(case, findings, "look", system)),
        held_against=finding_sources(findings),
        groups=form_of(parsed(held), case, system),
        assumed=assumed_count(case.assumptions),
        assumptions=assumed_text_table(case, system),
        sources=sources(case.assumptions),
    )


def _findings(
    case: Case, findings: Sequence[Finding], level: Literal["stop", "look"], system: System
) -> Iterator[tuple[str, tuple[str, ...]]]:
    known = finding_sources(findings)
    for finding in findings:
        if finding.level == level:
            found, to_do = finding_words(finding, known, case, system)
            where = f"{label('finding.level', level=Kind(level))}, {place_words(finding)}"
            yield where, (found, to_do) if to_do else (found,)


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
    switch = address("/plant", asked.switched.parameters(**dict(moved.switched)))
    values = {"shipped": shipped(), "text": moved.held.text, "typed": {}, "taken": False, "left": False} | shown
    return page(request, "plant.html", asked, refused.status if refused else 200, form=form, refused=refused,
                switch=switch, moved=moved, **values)  # fmt: skip


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
    form = await _form(request)
    text = form.get("text", "").replace("\r\n", "\n")
    try:
        held = replace(asked.held, text=within_limits(text))
        return await _taken(request, asked, Job(checked_case, (held,)))
    except Refused as refused:
        return await _plant(request, asked, refused, text=text)


async def take_fields(request: Request) -> Response:
    """Take the fields of the form."""
    asked = question(request)
    form = await _form(request)
    changes = tuple(sorted(form.items()))
    try:
        moved = await carried(request, asked)
        return await _taken(request, asked, Job(edit, (moved.held, changes)))
    except Refused as refused:
        return await _plant(request, asked, refused, typed=form)


async def _form(request: Request) -> dict[str, str]:
    fields: dict[str, str] = {}
    async with request.form(max_files=0, max_fields=MOST_FIELDS) as form:
        for name, value in form.multi_items():
            if not isinstance(value, str) or name in fields or len(name) > LONGEST_FIELD:
                raise Refused(400, "This form holds something that is none of its fields.")
            if name != "text" and len(value) > LONGEST_FIELD:
                raise Refused(422, f"A field takes up to {LONGEST_FIELD} characters.")
            fields[name] = value
    return fields


async def _taken(request: Request, asked: Question, job: Job[Held]) -> Response:
    """Hold the case that a job has read, and go on to it."""
    case_id = request.app.state.shelf.put(await read(request, job))
    return RedirectResponse(address("/plant", {**asked.plain, "case": case_id, "taken": "yes"}), 303)


async def save(request: Request) -> Response:
    """The case, with what sliders say in it, as a file for the browser to save; nothing is written here."""
    held = (await carried(request, question(request))).held
    return download(held.name, held.text.encode("utf-8"), "application/toml")
