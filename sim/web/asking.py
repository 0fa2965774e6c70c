"""From a request to a job and back: parameters read strictly, answers waited for while somebody waits."""

import asyncio
from collections.abc import Iterable
from dataclasses import replace
from typing import TypeVar, cast

from starlette.requests import Request

from plots.words import languages
from sim.case.quantities import System
from sim.case.record import record
from sim.web.desk import Desk, Going
from sim.web.errors import Refused
from sim.web.shelf import Asked, Held, Shelf, Stand
from sim.web.worker import Job

MOST_PARAMETERS = 100
T = TypeVar("T")
PATIENCE = 1.5  # s until a page comes without its answer, and says how far that is
READ_PATIENCE = 120.0  # s; a page without its case is none, and the first reading after an installation compiles
SLIDER = ("policy.", "washing.", "stage.", "feed.", "storms", "prices.", "use", "swing", "days", "over_limit")
BLANK = ("prices.", "over_limit")  # without a value these are blank, and not as the case has them


@record
class Question:
    """What an address asks: the case, the units, where sliders stand, and the page's own parameters.

    `language` is None where the browser's choice holds.
    """

    held: Held
    case_id: str | None
    system: System
    language: str | None
    moved: Asked
    own: dict[str, str]

    @property
    def stand(self) -> Stand:
        """What its answer follows from."""
        return Stand(self.held, self.moved, self.system)

    @property
    def plain(self) -> dict[str, str | None]:
        """The case, the units and the language alone, as parameters of an address."""
        units = None if self.system == "si" else self.system
        return {"case": self.case_id, "units": units, "language": self.language}

    def parameters(self, **other: str | None) -> dict[str, str | None]:
        """All of it as parameters of an address, some of them changed; None leaves one out."""
        return {**self.plain, **self.own, **dict(self.moved), **other}

    def settings(self) -> dict[str, str | None]:
        """The same without the page's own parameters: what another page is to go on with."""
        return {**self.plain, **dict(self.moved)}

    @property
    def switched(self) -> "Question":
        """The same question in the other system of units, where no slider has been moved."""
        return replace(self, system="us" if self.system == "si" else "si", moved=())


def question(request: Request, own: Iterable[str] = ()) -> Question:
    """The question of a request; Refused for a parameter that is unknown or doubled."""
    pairs = request.query_params.multi_items()
    if len(pairs) > MOST_PARAMETERS:
        raise Refused(400, f"An address here has up to {MOST_PARAMETERS} parameters.")
    given = dict(pairs)
    if len(given) != len(pairs):
        raise Refused(400, "A parameter stands twice in this address.")
    if any(not (name + value).isprintable() for name, value in pairs):
        raise Refused(400, "There is something in this address that cannot be printed.")
    system = given.pop("units", "si")
    if system not in ("si", "us"):
        raise Refused(400, "Units are si or us.")
    language = given.pop("language", None)
    if language is not None and language not in languages():
        raise Refused(400, f"A language is one of {', '.join(languages())}.")
    case_id = given.pop("case", None)
    held = cast(Shelf, request.app.state.shelf).get(case_id)
    named = {name: value for name in own if (value := given.pop(name, None)) is not None}
    for name in given:
        if not name.startswith(SLIDER):
            raise Refused(400, "There is a parameter in this address that this page does not know.")
    moved = tuple(sorted((name, value) for name, value in given.items() if value or name.startswith(BLANK)))
    return Question(
        held=held, case_id=case_id, system=cast(System, system), language=language, moved=moved, own=named
    )


def narrow(request: Request) -> bool:
    """Whether the script says that the screen is small."""
    return request.headers.get("x-part") == "narrow"


async def answer(request: Request, job: Job[T], patience: float = PATIENCE) -> T | Going:
    """The answer of a job, or how far it is; given up when the browser has gone."""
    desk = cast(Desk, request.app.state.desk)
    asking = asyncio.ensure_future(desk.ask(job, patience))
    leaving = asyncio.ensure_future(_left(request))
    try:
        await asyncio.wait({asking, leaving}, return_when=asyncio.FIRST_COMPLETED)
        if asking.done():
            return asking.result()
        raise Refused(409, "The browser did not wait for this.")
    finally:
        asking.cancel()
        leaving.cancel()


async def read(request: Request, job: Job[T]) -> T:
    """The answer of a job that only reads a case, which no page is shown without."""
    found = await answer(request, job, READ_PATIENCE)
    if isinstance(found, Going):
        raise Refused(422, "This case takes too long to read.")
    return found


async def _left(request: Request) -> None:
    while (await request.receive())["type"] != "http.disconnect":
        pass
