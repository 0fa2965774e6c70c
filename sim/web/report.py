"""Report, workbook and JSON of a comparison, for the browser to save."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from plots.words import ENGLISH, say, speaking
from sim.case.records import Case
from sim.study.compare import compare
from sim.study.many.workers import local
from sim.study.ranking import range_test
from sim.study.whole_files import as_json
from sim.tell.comparison.files_of_one import report_files
from sim.tell.comparison.range_json import range_json
from sim.tell.prepared import head_of
from sim.web.asking import answer, question
from sim.web.carried import moved_settings
from sim.web.cases_read import case_of
from sim.web.desk import Going
from sim.web.errors import Refused
from sim.web.pages import address, download, page
from sim.web.shelf import Stand
from sim.web.start import runs_told
from sim.web.worker import Job, Tell

LONGEST = 1200.0  # s: its page says how far it is, and can cancel it
STARTS = ("policy.", "washing.", "feed.turbidity", "feed.suspended_solids", "storms")
"""What “What should start a wash?” moves."""
KINDS = {
    "report.html": "text/html",
    "tables.xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "result.json": "application/json",
}


def made(stand: Stand, tell: Tell) -> dict[str, bytes]:
    """The files at these settings, as the command compare makes them."""
    held, _, system = stand
    settings = moved_settings(stand)

    def again(_: Path, changed: Mapping[str, Any]) -> Case:
        return case_of(held, {**settings, **changed})

    case = case_of(held, settings)
    comparison = compare(case, progress=runs_told(tell))
    test = None
    if case.assumptions:
        with local(1) as crew:
            test = range_test(
                Path(held.name), case, comparison.results, crew, load=again,
                progress=lambda done, goal: tell(say("page.working.runs_ranges", number=done, of=goal)),
            )  # fmt: skip
    tell(say("page.working.draws_report"))
    with speaking(ENGLISH):
        found = report_files(comparison, system, head_of(Path(held.name)), test=test)
    found["result.json"] = as_json(comparison.to_json() | {"order": range_json(test) if test else None})
    return {name: each if isinstance(each := found[name], bytes) else each.encode("utf-8") for name in KINDS}


async def jobs(request: Request) -> tuple[Job[dict[str, bytes]], ...]:
    """The files that an address asks for."""
    return (Job(made, (question(request).stand,), LONGEST),)


async def show(request: Request) -> Response:
    """How far they are, then where they are."""
    asked = question(request)
    (job,) = await jobs(request)
    way = "start" if all(name.startswith(STARTS) for name, _ in asked.moved) else "plant"
    return page(request, "files.html", asked, found=await answer(request, job), way=way)


async def show_file(request: Request) -> Response:
    """One of them."""
    name = request.path_params["name"]
    if name not in KINDS:
        raise Refused(404, "There is nothing at this address.")
    (job,) = await jobs(request)
    found = await answer(request, job)
    if isinstance(found, Going):
        return RedirectResponse(address("/files", question(request).parameters()), 303)
    return download(name, found[name], KINDS[name])
