"""The application: its addresses, its guard, and its desk."""

from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from typing import Any

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.formparsers import MultiPartException
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import ClientDisconnect, Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp

from sim.web import begun, lessons, log, meter, plant, present, report, rinse, start
from sim.web.asking import question
from sim.web.connections import network_of
from sim.web.desk import Desk
from sim.web.errors import Refused
from sim.web.gate import COOKIE, Gate, WordNeeded
from sim.web.guard import Guard, Hosts
from sim.web.pages import address, kept, page, part, refusal, styles
from sim.web.shelf import Held, Shelf
from sim.web.spoken import Spoken
from sim.web.worker import Job

LONGEST_WORD = 100
KEPT = ", ".join(("private", "max-age=31536000", "immutable"))
Endpoint = Callable[[Request], Awaitable[Response]]


def application(first: Held, *, hosts: Hosts, gate: Gate | None = None, workers: int | None = None) -> ASGIApp:
    """The page over a case; with a gate every browser tells its word first."""
    desk = Desk(Job(start.warm_up, ()), workers)

    @asynccontextmanager
    async def lifespan(_: Starlette) -> AsyncIterator[None]:
        desk.open()
        try:
            yield
        finally:
            desk.close()

    app = Starlette(
        routes=_routes(),
        lifespan=lifespan,
        exception_handlers=dict.fromkeys(
            (Refused, HTTPException, ClientDisconnect, MultiPartException, Exception), _refused
        ),
    )
    app.router.redirect_slashes = False  # an address is right or wrong
    app.state.desk, app.state.shelf, app.state.gate = desk, Shelf(first), gate
    zipped = GZipMiddleware(app, compresslevel=5)
    return Spoken(Guard(zipped, hosts=hosts, gate=gate, refusal=_refusal, styles=styles))


def _routes() -> list[Route]:
    asked: dict[str, Endpoint] = {
        "/": home,
        "/start": start.show,
        "/start/answer": start.show_answer,
        "/rinse": rinse.show,
        "/rinse/answer": rinse.show_answer,
        "/present": present.show,
        "/present/answer": present.show_answer,
        "/lessons": lessons.list_all,
        "/lesson/{name}": lessons.show,
        "/lesson/{name}/questions": lessons.show_questions,
        "/lesson/{name}/answers": lessons.show_answers,
        "/lesson/{name}/slides": lessons.show_slides,
        "/meter": meter.show,
        "/meter/answer": meter.show_answer,
        "/log": log.show,
        "/log/save": log.save,
        "/log/save/{name}": log.save,
        "/plant": plant.show,
        "/plant/new": begun.show,
        "/plant/save": plant.save,
        "/files": report.show,
        "/files/{name}": report.show_file,
        "/cancelled": _was_cancelled,
        "/page.js": _part("page.js"),
        "/train.js": _part("train.js"),
        "/lesson.js": _part("lesson.js"),
    }
    told: dict[str, Endpoint] = {
        "/log": log.take,
        "/log/use": log.use,
        "/plant/new": begun.take,
        "/plant/open": plant.open_file,
        "/plant/text": plant.take_text,
        "/plant/fields": plant.take_fields,
        "/cancel/start": _cancels(start.jobs),
        "/cancel/rinse": _cancels(rinse.jobs),
        "/cancel/meter": _cancels(meter.jobs),
        "/cancel/present": _cancels(present.jobs),
        "/cancel/lesson/{name}": _cancels(lessons.jobs),
        "/cancel/files": _cancels(report.jobs),
        "/cancel/log": _cancels(log.jobs),
        "/word": _word,
    }
    gets = [Route(path, endpoint, methods=["GET"]) for path, endpoint in asked.items()]
    return gets + [Route(path, endpoint, methods=["POST"]) for path, endpoint in told.items()]


async def home(request: Request) -> Response:
    """The ways in, which no worker is needed for."""
    asked = question(request)
    return page(request, "home.html", asked, switch=address("/", asked.switched.parameters()))


def _cancels(jobs: Callable[[Request], Awaitable[tuple[Job[Any], ...]]]) -> Endpoint:
    """Stop the work on an answer; then a page says so."""

    async def cancelled(request: Request) -> Response:
        for job in await jobs(request):
            request.app.state.desk.cancel(job)
        return RedirectResponse(address("/cancelled", kept(request)), 303)

    return cancelled


async def _was_cancelled(request: Request) -> Response:
    """What is seen after that."""
    return page(request, "cancelled.html", question(request))


async def _word(request: Request) -> Response:
    """Let a browser in that tells the word."""
    gate: Gate | None = request.app.state.gate
    if gate is None:
        raise Refused(404, "There is nothing at this address.")
    async with request.form(max_files=0, max_fields=2) as form:
        word = form.get("word")
    if not isinstance(word, str) or len(word) > LONGEST_WORD:
        raise Refused(400, "The word is three short words from the terminal.")
    network = network_of(request.client.host if request.client else "")
    response = RedirectResponse(address("/", kept(request)), 303)
    response.set_cookie(COOKIE, gate.open(word, network), httponly=True, samesite="strict")
    return response


def _part(name: str) -> Endpoint:
    """A script, to be kept by a browser that asked for just this content."""

    async def sent(request: Request) -> Response:
        text, own = part(name)
        same = request.query_params.get("content") == own.rpartition("=")[2]
        return Response(text, media_type="text/javascript", headers={"Cache-Control": KEPT} if same else None)

    return sent


def _refusal(request: Request, refused: Refused) -> Response:
    """The page of a refusal; where the word is asked for, the page that asks."""
    if isinstance(refused, WordNeeded) and "x-part" not in request.headers:
        return page(request, "word.html", None, refused.status, refused=refused)
    return refusal(request, refused)


async def _refused(request: Request, error: Exception) -> Response:
    return _refusal(request, _as_refused(error))


def _as_refused(error: Exception) -> Refused:
    match error:
        case Refused():
            return error
        case HTTPException(status_code=404):
            return Refused(404, "There is nothing at this address.")
        case HTTPException(status_code=405):
            return Refused(405, "This address is not asked in that way.")
        case HTTPException():
            return Refused(error.status_code, "This request could not be read.")
        case MultiPartException():
            return Refused(400, "This form could not be read.")
        case ClientDisconnect():
            return Refused(400, "The browser went before its request was complete.")
        case _:
            return Refused(500, "The page itself has failed here; its terminal says why.")
