"""The language of a page: as its address says, else as the browser asks, else that of the command."""

from starlette.datastructures import Headers, QueryParams
from starlette.types import ASGIApp, Receive, Scope, Send

from plots.words import languages, speaking, spoken

MOST_WISHES = 20


class Spoken:
    """Answers every request in its language."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request; a language that there is not is refused where the address is read."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        asked = QueryParams(scope["query_string"]).get("language", "")
        wished = wish(Headers(scope=scope).get("accept-language", ""))
        with speaking(asked if asked in languages() else wished or spoken()):
            await self._app(scope, receive, send)


def wish(header: str) -> str | None:
    """Which of our languages the header of a browser likes best, of any country; None where it names none.

    >>> wish("xx, en;q=0.4, EN-au;Q=0.8"), wish("en;q=0"), wish("*, en;q=much"), wish("en;q=nan")
    ('en', None, None, None)
    """
    liked = [each for each in map(_wish, header.split(",")[:MOST_WISHES]) if 0.0 < each[0] <= 1.0]
    liked.sort(key=lambda each: -each[0])  # of two liked alike the first
    return next((language for _, language in liked), None)


def _wish(part: str) -> tuple[float, str]:
    """How much a language is liked, and which; 0 for one that is not ours."""
    tag, _, weight = part.partition(";")
    language = tag.strip().lower().partition("-")[0]
    try:
        share = float(weight.strip().lower().removeprefix("q=") or 1.0)
    except ValueError:
        share = 0.0
    return (share if language in languages() else 0.0), language
