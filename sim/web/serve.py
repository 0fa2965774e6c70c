"""Serves the page until it is interrupted."""

import ipaddress
import socket
from collections.abc import Callable
from pathlib import Path

import uvicorn

from plots.words import Code, Sentence, paragraph, say
from sim.case.source import parse_toml, read_text
from sim.study.errors import RequestError
from sim.web.app import application
from sim.web.cases_read import case_of, series_files
from sim.web.connections import MOST, Connection
from sim.web.gate import Gate
from sim.web.guard import Hosts
from sim.web.shelf import DEMO, Held

LOCAL = ("127.0.0.1", "localhost", "::1")
MOST_AT_ONCE = 2 * MOST  # answers on their way; connections have their own limit


def first_case(path: Path | None) -> Held:
    """The case that the page starts with: a file, read and checked, or the one that comes with it."""
    if path is None:
        return Held.of(DEMO)
    text = read_text(path)
    held = Held(text, path.name, str(path.parent.resolve()), frozenset(series_files(parse_toml(text, path))))
    case_of(held)
    return held


def is_local(host: str) -> bool:
    """Whether an address can be reached from this computer alone."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def listening(host: str, port: int) -> socket.socket:
    """A socket that listens; RequestError if there can be none."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    own = socket.socket(family, socket.SOCK_STREAM)
    own.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        own.bind((host, port))
        own.listen(128)
    except (OSError, OverflowError) as error:
        own.close()
        reason = getattr(error, "strerror", None) or str(error)
        raise RequestError(
            f"cannot open {host} port {port}: {reason}; --port names another, 0 any that is free"
        ) from error
    return own


def serve(first: Held, *, host: str, port: int, show: Callable[[str], None]) -> None:
    """Serve until interrupted; `show` the address, and what an open one opens."""
    gate = None if is_local(host) else Gate()
    own = listening(host, port)
    bound = own.getsockname()[1]
    open_ = host in ("0.0.0.0", "::")
    hosts = Hosts(frozenset({*LOCAL, "[::1]", host.lower()}), open_=open_)
    shown = "127.0.0.1" if open_ else f"[{host}]" if ":" in host else host
    show(say("page.terminal.address", address=Code(f"http://{shown}:{bound}/")))
    if gate is not None:
        show(paragraph(_opened(host, bound, to_all=open_), say("page.terminal.who_may")))
        show(f"{say('page.terminal.word')} {gate.word}")
    config = uvicorn.Config(
        application(first, hosts=hosts, gate=gate),
        log_level="warning",
        access_log=False,
        server_header=False,
        limit_concurrency=MOST_AT_ONCE,
        timeout_keep_alive=15,
        timeout_graceful_shutdown=1,
        h11_max_incomplete_event_size=20_000,
        ws="none",
        http=Connection,
        proxy_headers=False,
    )
    uvicorn.Server(config).run(sockets=[own])


def _opened(host: str, port: int, *, to_all: bool) -> Sentence:
    if to_all:
        return say("page.terminal.open_to_all", port=Code(str(port)))
    return say("page.terminal.open_to_host", host=Code(host))
