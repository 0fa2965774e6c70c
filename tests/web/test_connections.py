"""Connections that owe something for ever take nobody's place: one address never closes the page to others."""

import asyncio
import socket
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from types import SimpleNamespace

import pytest
from starlette.requests import Request

from sim.web.app import home
from sim.web.connections import HEAD_WITHIN, MOST_OF_ONE, NEXT_WITHIN
from sim.web.serve import first_case
from sim.web.shelf import Shelf
from tests.web.serving import Served

ELSEWHERE = 20  # connections that browsers of other tests may still hold


def connect(page: Served, said: bytes, stack: ExitStack) -> socket.socket:
    own = stack.enter_context(socket.create_connection(("127.0.0.1", page.port), timeout=60.0))
    own.sendall(said)
    return own


def is_closed(own: socket.socket) -> bool:
    """Whether the other side has closed; what it had said before is taken."""
    own.settimeout(0.05)
    try:
        while own.recv(65_536):
            pass
    except TimeoutError:
        return False
    except OSError:
        return True
    return True


HALF = b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Slow: "
TRICKLE = (
    b"POST /plant/text HTTP/1.1\r\nHost: 127.0.0.1:%d\r\nOrigin: http://127.0.0.1:%d\r\n"
    b"Content-Type: application/x-www-form-urlencoded\r\nContent-Length: 1000\r\n\r\ntext="
)


@pytest.mark.parametrize("kind", ["nothing at all", "heads that never end", "bodies that never end"])
def test_a_page_answers_beside_many_that_never_finish(page: Served, kind: str) -> None:
    trickle = TRICKLE % (page.port, page.port)
    said = {"nothing at all": b"", "heads that never end": HALF, "bodies that never end": trickle}
    with ExitStack() as stack:
        others = [connect(page, said[kind], stack) for _ in range(125)]
        assert page.ask("/").status == 200
        left = [each for each in others if not is_closed(each)]
        assert len(left) <= MOST_OF_ONE
        assert len(left) >= MOST_OF_ONE - ELSEWHERE  # nobody is closed before all places are taken


def test_forty_that_share_an_address_are_all_answered(page: Served) -> None:
    whole = b"GET / HTTP/1.1\r\nHost: 127.0.0.1:%d\r\n\r\n" % page.port
    with ExitStack() as stack:
        others = [connect(page, whole, stack) for _ in range(40)]
        assert all(each.recv(12) == b"HTTP/1.1 200" for each in others)
        assert not any(map(is_closed, others))


@pytest.mark.long
def test_what_is_owed_has_a_deadline(page: Served) -> None:
    """A head that trickles, and a connection that is kept without a next request."""
    whole = b"GET / HTTP/1.1\r\nHost: 127.0.0.1:%d\r\n\r\n" % page.port
    with ExitStack() as stack:
        trickling, kept, both = (connect(page, said, stack) for said in (HALF, whole, whole + HALF))
        began = time.monotonic()
        while time.monotonic() - began < HEAD_WITHIN - 1.0:
            trickling.sendall(b"a")
            time.sleep(1.0)
        assert not is_closed(trickling)
        time.sleep(3.0)
        assert is_closed(trickling)
        time.sleep(max(0.0, began + NEXT_WITHIN + 2.0 - time.monotonic()))
        assert is_closed(kept)
        assert is_closed(both)


def test_the_first_page_needs_no_worker() -> None:
    """There is no desk here that could be asked."""
    state = SimpleNamespace(shelf=Shelf(first_case(None)))
    scope = {"type": "http", "method": "GET", "path": "/", "query_string": b"", "headers": [],
             "app": SimpleNamespace(state=state)}  # fmt: skip
    with ThreadPoolExecutor(1) as thread:  # the tests of the page in a browser leave a loop in this one
        answer = thread.submit(asyncio.run, home(Request(scope))).result()
    assert answer.status_code == 200
    assert "market_hall.toml" in bytes(answer.body).decode()


@pytest.mark.parametrize("text", ["a." * 20_000 + "b = 1", "\n".join(["a." * 900 + f"b{n} = 1" for n in range(100)])])
def test_a_key_of_many_parts_in_the_text_box_is_refused_unparsed(page: Served, text: str) -> None:
    answer = page.post("/plant/text", {"text": text})
    assert answer.status == 422
    assert "2000 characters" in answer.text or "up to 20 levels" in answer.text
