"""What stands before every page: who may ask, from where, how much at once; and what every answer forbids.

Nothing here trusts a header for more than it is: a foreign page cannot forge Host, Origin or Sec-Fetch-Site in a
browser, and what is no browser gains nothing by forging them.
"""

import asyncio
import ipaddress
from base64 import b64encode
from collections.abc import Callable
from dataclasses import dataclass
from hashlib import sha256

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from sim.web.errors import Refused
from sim.web.gate import Gate

LONGEST_PATH, LONGEST_QUERY, LONGEST_HEADERS = 200, 8000, 16_000
LARGEST_BODY = (1 << 20) - 1
SLOWEST_BODY = 15.0  # s for a body to arrive
METHODS = ("GET", "HEAD", "POST")
OPEN_TO_ALL = ("/word", "/page.js")

SOURCES = {
    "default-src": "'none'",
    "script-src": "'self'",
    "img-src": "'self' data:",
    "connect-src": "'self'",
    "form-action": "'self'",
    "base-uri": "'none'",
    "frame-ancestors": "'none'",
}
HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}

Refusal = Callable[[Request, Refused], Response]


@dataclass(frozen=True, slots=True)
class Hosts:
    """The names that a browser may call this page by: local ones, and with `open_` any address of the machine."""

    names: frozenset[str]
    open_: bool = False

    def allows(self, host: str) -> bool:
        """Whether a Host header is one of them; its port is free."""
        name = host.rpartition(":")[0] if host.rpartition(":")[2].isdigit() else host
        if name.lower() in self.names:
            return True
        try:
            ipaddress.ip_address(name.strip("[]"))
        except ValueError:
            return False
        return self.open_  # a number cannot be made to point elsewhere, as a name can


class Guard:
    """Refuses what is not for this page, bounds what is, and adds the headers that keep answers harmless."""

    def __init__(
        self, app: ASGIApp, *, hosts: Hosts, gate: Gate | None, refusal: Refusal, styles: Callable[[], str]
    ) -> None:
        self._app, self._hosts, self._gate, self._refusal, self._styles = app, hosts, gate, refusal, styles

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        started = False

        async def careful_send(message: Message) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers[name] = value
                sources = SOURCES | {"style-src": _own(self._styles())}
                headers["Content-Security-Policy"] = "; ".join(f"{name} {each}" for name, each in sources.items())
                headers.setdefault("Cache-Control", "no-store")
            await send(message)

        try:
            self._examine(scope)
            await self._app(scope, _bounded(receive), careful_send)
        except Refused as refused:
            if not started:
                await self._refusal(Request(scope), refused)(scope, receive, careful_send)

    def _examine(self, scope: Scope) -> None:
        headers = Headers(scope=scope)
        if sum(len(name) + len(value) for name, value in scope["headers"]) > LONGEST_HEADERS:
            raise Refused(431, "The headers of this request are too long.")
        if scope["method"] not in METHODS:
            raise Refused(405, "This page is read with GET and asked with POST, and knows no other method.")
        if len(headers.getlist("host")) != 1 or not self._hosts.allows(headers["host"]):
            raise Refused(400, "This page answers only to the address that it was started with.")
        _require_own_origin(scope["method"], headers)
        if len(scope["raw_path"]) > LONGEST_PATH or len(scope["query_string"]) > LONGEST_QUERY:
            raise Refused(414, "This address is too long.")
        length = headers.get("content-length", "0")
        if not (length.isascii() and length.isdigit()) or int(length[:12]) > LARGEST_BODY:
            raise Refused(413, "A page here takes up to 1 MiB; this is more.")
        if self._gate is not None and scope["path"] not in OPEN_TO_ALL:
            self._gate.require(Request(scope).cookies)


def _own(styles: str) -> str:
    """The one style that a page may have in itself, as its header names it."""
    return f"'sha256-{b64encode(sha256(styles.encode()).digest()).decode('ascii')}'"


def _require_own_origin(method: str, headers: Headers) -> None:
    foreign = Refused(403, "This was asked for by a page of somebody else, so nothing was done.")
    origin = headers.get("origin")
    if origin is not None and origin != f"http://{headers['host']}":
        raise foreign
    if origin is None and method == "POST":
        raise foreign
    site = headers.get("sec-fetch-site", "same-origin")
    followed = headers.get("sec-fetch-mode") == "navigate" and headers.get("sec-fetch-dest") == "document"
    if site not in ("same-origin", "none") and not (followed and method == "GET"):
        raise foreign


def _bounded(receive: Receive) -> Receive:
    """A body that may be neither too large nor too slow, whatever its headers say."""
    taken, complete, until = 0, False, asyncio.get_running_loop().time() + SLOWEST_BODY

    async def bounded() -> Message:
        nonlocal taken, complete
        if complete:
            return await receive()
        try:
            async with asyncio.timeout_at(until):
                message = await receive()
        except TimeoutError:
            raise Refused(408, "This request did not arrive in time.") from None
        taken += len(message.get("body", b""))
        complete = not message.get("more_body", False)
        if taken > LARGEST_BODY:
            raise Refused(413, "A page here takes up to 1 MiB; this is more.")
        return message

    return bounded
