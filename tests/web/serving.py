"""The page started as a person starts it, and asked over its port."""

import http.client
import queue
import re
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlencode

from sim.web.shelf import Held
from tests.decide.steady import AREA, FLOW, STEADY

ROOT = Path(__file__).parent.parent.parent
CASES = ROOT / "cases"
# A month of a steady feed: nothing random, so that what a meter is worth is found in a second or two.
WORTH = Held(STEADY.format(days=30, rate=repr(FLOW / AREA)), "worth.toml")
PATIENCE = 120.0  # s until the page says where it is, and until its workers are ready


@dataclass(frozen=True, slots=True)
class Answer:
    """What came back."""

    status: int
    headers: dict[str, str]
    content: bytes

    @property
    def text(self) -> str:
        return self.content.decode("utf-8", "replace")


@dataclass(frozen=True, slots=True)
class Served:
    """A page that is up: its port, its process, what its terminal said at the start, and the folder it runs in."""

    port: int
    process: "subprocess.Popen[str]"
    said: tuple[str, ...]
    folder: Path

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def ask(
        self, path: str, *, method: str = "GET", headers: dict[str, str] | None = None, body: bytes | None = None
    ) -> Answer:
        """One request, its path sent as it stands."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=90.0)
        try:
            connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
            sent = {"Host": f"127.0.0.1:{self.port}", **(headers or {})}
            if body is not None:
                sent.setdefault("Content-Length", str(len(body)))
            for name, value in sent.items():
                connection.putheader(name, value)
            connection.endheaders(body)
            response = connection.getresponse()
            named = {name.lower(): value for name, value in response.getheaders()}
            return Answer(response.status, named, response.read())
        finally:
            connection.close()

    def post(self, path: str, fields: dict[str, str], **headers: str) -> Answer:
        """A form as a browser of this page sends it."""
        kind = {"Content-Type": "application/x-www-form-urlencoded", "Origin": self.address, **headers}
        return self.ask(path, method="POST", headers=kind, body=urlencode(fields).encode("ascii"))

    def upload(self, name: str, content: bytes, path: str = "/plant/open") -> Answer:
        """A file as a browser of this page sends it."""
        edge = "edge-of-a-part"
        head = f'--{edge}\r\nContent-Disposition: form-data; name="file"; filename="{name}"\r\n\r\n'
        body = head.encode("utf-8") + content + f"\r\n--{edge}--\r\n".encode("ascii")
        headers = {"Content-Type": f"multipart/form-data; boundary={edge}", "Origin": self.address}
        return self.ask(path, method="POST", headers=headers, body=body)

    def settled(self, path: str) -> Answer:
        """The answer at an address once it is worked out."""
        until = time.monotonic() + PATIENCE
        while time.monotonic() < until:
            answer = self.ask(path)
            if answer.status != 202 and b"data-going" not in answer.content:
                return answer
            time.sleep(0.2)
        raise AssertionError(f"{path} was not answered in {PATIENCE} s")


@contextmanager
def served(*words: str, cwd: Path | None = None) -> Iterator[Served]:
    """`filterrun page` on a free port, its workers ready; ended by its own process at the end."""
    code = "from sim.cli import main; main()"
    process = subprocess.Popen(
        [sys.executable, "-c", code, "page", "--port", "0", *words],
        stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True, cwd=cwd or ROOT,
    )  # fmt: skip
    try:
        first, *said = _lines(process, 4 if "--host" in words else 2)
        assert first == "Starting the page.\n"
        found = re.search(r"http://\S+:(\d+)/", said[0])
        assert found is not None, said
        page = Served(int(found[1]), process, tuple(said), cwd or ROOT)
        if "--host" not in words:
            assert page.settled("/start/answer").status == 200
        yield page
    finally:
        process.terminate()
        process.wait(20.0)


def _lines(process: "subprocess.Popen[str]", count: int) -> Iterator[str]:
    heard: queue.Queue[str] = queue.Queue()
    stream = process.stderr
    assert stream is not None

    def listen() -> None:
        with stream:
            for line in stream:
                heard.put(line)

    threading.Thread(target=listen, daemon=True).start()
    for _ in range(count):
        yield heard.get(timeout=PATIENCE)
