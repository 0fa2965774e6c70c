"""The application: its addresses, its guard, and its desk."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.formparsers import MultiPartException
from starlette.requests import ClientDisconnect, Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp

from sim.web import plant, questions
from sim.web.connections import network_of
from sim.web.desk import Desk
from sim.web.errors import Refused
from sim.web.gate import COOKIE, Gate, WordNeeded
from sim.web.guard import Guard, Hosts
from sim.web.pages import page, refusal, script, styles
from sim.web.shelf import Held, Shelf

LONGEST_WORD = 100


def application(first: Held, *, hosts: Hosts, gate: Gate | None = None, workers: int | None = None) -> ASGIApp:
    """The page over a case; with a gate every browser tells its word first."""
    desk = Desk(workers)

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
        exception_handlers={Refused: _refused, HTTPException: _no_such_page, ClientDisconnect: _went,
                            MultiPartException: _no_form, Exception: _fault},
    )  # fmt: skip
    app.router.redirect_slashes = False  # an address is right or wrong
    app.state.desk, app.state.shelf, app.state.gate = desk, Shelf(first), gate
    return Guard(app, hosts=hosts, gate=gate, refusal=_refusal)


def _routes() -> list[Route]:
    def get(path: str, endpoint: Any) -> Route:
        return Route(path, endpoint, methods=["GET"])

    def post(path: str, endpoint: Any) -> Route:
        return Route(path, endpoint, methods=["POST"])

    return [
        get("/", questions.home),
        get("/start", questions.start),
        get("/start/answer", questions.start_answer),
        get("/start/through", questions.start_through),
        get("/rinse", questions.rinse),
        get("/rinse/answer", questions.rinse_answer),
        get("/meter", questions.meter),
        get("/meter/answer", questions.meter_answer),
        get("/plant", plant.plant),
        get("/plant/save", plant.save),
        post("/plant/open", plant.open_file),
        post("/plant/text", plant.take_text),
        post("/plant/fields", plant.take_fields),
        get("/files", plant.files),
        get("/files/{name}", plant.file),
        post("/cancel/{kind}", questions.cancelled),
        get("/cancelled", questions.was_cancelled),
        post("/word", _word),
        get("/look.css", _styles),
        get("/page.js", _script),
    ]


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
    response = RedirectResponse("/", 303)
    response.set_cookie(COOKIE, gate.open(word, network), httponly=True, samesite="strict")
    return response


async def _styles(_: Request) -> Response:
    return Response(styles(), media_type="text/css")


async def _script(_: Request) -> Response:
    return Response(script(), media_type="text/javascript")


def _refusal(request: Request, refused: Refused) -> Response:
    """The page of a refusal; where the word is asked for, the page that asks."""
    if isinstance(refused, WordNeeded) and "x-part" not in request.headers:
        return page(request, "word.html", status=refused.status, refused=refused, case_id=None, system="si")
    return refusal(request, refused)


async def _refused(request: Request, refused: Exception) -> Response:
    assert isinstance(refused, Refused)
    return _refusal(request, refused)


async def _no_such_page(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    sentences = {404: "There is nothing at this address.", 405: "This address is not asked in that way."}
    sentence = sentences.get(error.status_code, "This request could not be read.")
    return _refusal(request, Refused(error.status_code, sentence))


async def _no_form(request: Request, _: Exception) -> Response:
    return _refusal(request, Refused(400, "This form could not be read."))


async def _went(request: Request, _: Exception) -> Response:
    return _refusal(request, Refused(400, "The browser went before its request was complete."))


async def _fault(request: Request, _: Exception) -> Response:
    return _refusal(request, Refused(500, "The page itself has failed here; its terminal says why."))
