"""“My plant”: open, edit, check and save a case; report and workbook of its comparison."""

from dataclasses import replace
from urllib.parse import quote

from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from sim.web.asking import Question, answer, question
from sim.web.carried import Carried
from sim.web.cases_read import opened, within_limits
from sim.web.desk import Going
from sim.web.errors import Refused
from sim.web.form import LONGEST_FIELD, MOST_FIELDS
from sim.web.jobs import PlantForm
from sim.web.pages import address, page
from sim.web.questions import OTHER
from sim.web.shelf import Held, shipped
from sim.web.worker import Job

READ_PATIENCE = 60.0
TOO_LONG = "This case takes too long to read."
STARTS = ("policy.", "feed.turbidity", "feed.suspended_solids", "storms")  # what “What should start a wash?” moves
KINDS = {
    "report.html": "text/html; charset=utf-8",
    "tables.xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "result.json": "application/json",
}


async def plant(request: Request) -> Response:
    """The case in use as a form."""
    asked = question(request, ("taken",))
    return await _plant(request, replace(asked, own={}), taken="taken" in asked.own)


async def _plant(request: Request, asked: Question, refused: Refused | None = None, **shown: object) -> Response:
    """The case, with what sliders say in it; where that can be no case, the case without it and why."""
    try:
        moved = await _carried(request, asked)
    except Refused as why:
        asked = replace(asked, moved=())
        moved, refused, shown = await _carried(request, asked), refused or why, {**shown, "left": True}
    form = await answer(request, Job("plant_form", (moved.held, asked.system)), READ_PATIENCE)
    if not isinstance(form, PlantForm):
        raise Refused(422, TOO_LONG)
    units = None if asked.system == "us" else OTHER[asked.system]
    there = address("/plant", asked.settings(units=units, **dict(moved.switched)))
    values = {"shipped": shipped(), "text": moved.held.text, "typed": {}, "taken": False, "left": False} | shown
    return page(
        request, "plant.html", refused.status if refused else 200, asked=asked, form=form, refused=refused,
        case_id=asked.case_id, system=asked.system, switch=there, moved=moved, **values,
    )  # fmt: skip


async def _carried(request: Request, asked: Question) -> Carried:
    """The case of an address with what its sliders say in it; Refused where that is no case."""
    if not asked.moved:
        return Carried(held=asked.held, told=(), switched=())
    found = await answer(request, Job("carry", (asked.held, asked.moved, asked.system)), READ_PATIENCE)
    if not isinstance(found, Carried):
        raise Refused(422, TOO_LONG)
    return found


async def open_file(request: Request) -> Response:
    """Take a case file that somebody chose."""
    asked = question(request)
    async with request.form(max_files=1, max_fields=4) as form:
        file = form.get("file")
        if not isinstance(file, UploadFile) or not file.filename:
            raise Refused(400, "No file was chosen.")
        held = opened(await file.read(), file.filename)
    return await _taken(request, asked, Job("read", (held,)))


async def take_text(request: Request) -> Response:
    """Take the text of a case as it was edited."""
    asked = question(request)
    form = await _form(request)
    text = form.get("text", "").replace("\r\n", "\n")
    try:
        held = replace(asked.held, text=within_limits(text))
        return await _taken(request, asked, Job("read", (held,)))
    except Refused as refused:
        return await _plant(request, asked, refused, text=text)


async def take_fields(request: Request) -> Response:
    """Take the fields of the form."""
    asked = question(request)
    form = await _form(request)
    changes = tuple(sorted(form.items()))
    try:
        moved = await _carried(request, asked)
        return await _taken(request, asked, Job("edit", (moved.held, changes)))
    except Refused as refused:
        return await _plant(request, asked, refused, typed=form)


async def _form(request: Request) -> dict[str, str]:
    async with request.form(max_files=0, max_fields=MOST_FIELDS) as form:
        return _texts(form)


def _texts(form: FormData) -> dict[str, str]:
    fields: dict[str, str] = {}
    for name, value in form.multi_items():
        if not isinstance(value, str) or name in fields or len(name) > LONGEST_FIELD:
            raise Refused(400, "This form holds something that is none of its fields.")
        if name != "text" and len(value) > LONGEST_FIELD:
            raise Refused(422, f"A field takes up to {LONGEST_FIELD} characters.")
        fields[name] = value
    return fields


async def _taken(request: Request, asked: Question, job: Job) -> Response:
    """Hold the case that a job has read, and go on to it."""
    held = await answer(request, job, READ_PATIENCE)
    if not isinstance(held, Held):
        raise Refused(422, TOO_LONG)
    case_id = request.app.state.shelf.put(held)
    return RedirectResponse(address("/plant", replace(asked, moved=()).settings(case=case_id, taken="yes")), 303)


async def save(request: Request) -> Response:
    """The case, with what sliders say in it, as a file for the browser to save; nothing is written here."""
    held = (await _carried(request, question(request))).held
    return _download(held.name, held.text.encode("utf-8"), "application/toml")


async def files(request: Request) -> Response:
    """Report, workbook and JSON: how far they are, then where they are."""
    asked = question(request)
    found = await answer(request, Job("files", (asked.held, asked.moved, asked.system)))
    way = "start" if all(name.startswith(STARTS) for name, _ in asked.moved) else "plant"
    return page(request, "files.html", found=found, asked=asked, way=way, case_id=asked.case_id,
                system=asked.system)  # fmt: skip


async def file(request: Request) -> Response:
    """One of them."""
    name = request.path_params["name"]
    if name not in KINDS:
        raise Refused(404, "There is nothing at this address.")
    asked = question(request)
    found = await answer(request, Job("files", (asked.held, asked.moved, asked.system)))
    if isinstance(found, Going):
        return RedirectResponse(address("/files", asked.parameters()), 303)
    return _download(name, found[name], KINDS[name])


def _download(name: str, content: bytes, kind: str) -> Response:
    disposition = f'attachment; filename="{quote(name)}"'
    return Response(content, media_type=kind, headers={"Content-Disposition": disposition})
