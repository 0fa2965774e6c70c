"""Three hundred requests that mean no good: each refused in one sentence, nothing written, no harm to speed."""

import re
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from html import unescape
from pathlib import Path
from typing import Any
from urllib.parse import quote, quote_plus

import pytest

from sim.web.shelf import DEMO
from tests.web.serving import Answer, Served

SENTENCE = re.compile(r'class="refusal" role="alert">\s*<p>(.*?)</p>', re.DOTALL)
TEXT = DEMO.read_text(encoding="utf-8")
EVERY = quote("policy.calendar.twin bed.every")
MARKUP = '<script>alert("here")</script>'


@dataclass(frozen=True)
class Hostile:
    path: str
    method: str = "GET"
    headers: dict[str, str] = field(default_factory=dict)
    body: bytes | None = None
    file: tuple[str, bytes] | None = None


def addresses() -> Iterator[Hostile]:
    """Paths out of the page, and paths to nowhere."""
    for path in (
        "/../../etc/passwd", "/..%2f..%2fetc/passwd", "/%2e%2e/%2e%2e/etc/shadow", "/files/..%2f..%2fetc%2fpasswd",
        "/files/%2e%2e", "/files/../../pyproject.toml", "/files/report.html%00.txt", "/files/.env",
        "/static/page.css", "/templates/base.html", "/sim/web/app.py", "/admin", "/.git/config", "/wp-login.php",
        "/plant/save/../../../etc/hosts", "//evil.example/", "/start%0d%0aSet-Cookie:x=1", "/cancel/../word",
        "/" + "a" * 300, "/start/" + "../" * 50, "/api", "/docs", "/openapi.json", "/start/answer/x",
        "/rinse/answer/", "/page.js/", "/word", "/favicon.ico", "/server-status",
    ):  # fmt: skip
        yield Hostile(path)


def parameters() -> Iterator[Hostile]:
    """Values that are no numbers, lie outside, or carry something else."""
    values = (
        "nan", "NaN", "inf", "-inf", "1e999", "-1", "0", "1e-300", "9" * 400, "0x10", "1_0", "١٢", "½", "four",
        "4 d", "'; DROP TABLE cases; --", "{{7*7}}", "${7*7}", "../../etc/passwd", "__import__('os')", MARKUP,
        "4;ls", "\u202e4", "4\u00a0", "true", "[4]", "{}", "null",
    )  # fmt: skip
    for value in values:
        yield Hostile(f"/start/answer?{EVERY}={quote_plus(value)}")
        yield Hostile(f"/start?feed.turbidity.storms.per_year={quote_plus(value, safe='')}x")
        yield Hostile(f"/rinse?stage.0.step.0.minutes={quote_plus(value)}&guess=1")
    for guess in ("nan", "1e5", "-3", MARKUP, "9" * 50, "3 psi", "0x1", "1/0"):
        yield Hostile(f"/rinse?guess={quote_plus(guess)}")
    for query in (
        "units=imperial", "units=", "units=si&units=us", "case=1", "case=../../etc/passwd", f"case={'a' * 5000}",
        "case=0000000000000000", "unknown=1", "policy=calendar", "feed.turbidity=5", "stage.0.name=x", "%00=1",
        "a%0d%0ab=1", "policy.calendar.twin+bed.at=1", "policy.calendar.__class__=1", "stage.99.step.0.minutes=3",
        "feed.temperature=11", "through=nothing+of+the+kind", f"through={quote_plus(MARKUP)}",
        "&".join(f"feed.x{n}=1" for n in range(120)), "storms=5", "=", "policy.=4", "run.length=18263",
        "policy.calendar.twin+bed.every.x=4",
    ):  # fmt: skip
        yield Hostile(f"/start/answer?{query}" if "through" not in query else f"/start/through?{query}")
        if "through" not in query:
            yield Hostile(f"/meter/answer?{query}")
            yield Hostile(f"/present/answer?way=meter&{query}")
    step = "stage.0.step.0.minutes"
    for was in ("x", "=", "&", "feed.x=1", "a=1&a=1", f"{step}={MARKUP}", f"{step}=nan", "%00=1", "own=1",
                "policy.calendar.twin bed.every=4", "&".join(f"feed.x{n}=1" for n in range(120))):  # fmt: skip
        yield Hostile(f"/rinse?guess=1&was={quote_plus(was)}")
        yield Hostile(f"/meter/answer?was={quote_plus(was)}")
    yield Hostile("/start/answer?was=own")
    yield Hostile("/rinse?stage=nobody&guess=1")
    yield Hostile(f"/rinse?stage={quote_plus(MARKUP)}&guess=1")
    yield Hostile("/start?" + "feed.x=" + "1" * 9000)


def strangers() -> Iterator[Hostile]:
    """Requests that other pages and other names make."""
    for host in (
        "evil.example", "evil.example:80", "127.0.0.1.evil.example", "localhost.evil.example", "", "0.0.0.0", "[::]",
        "192.168.0.7", "filterrun", "127.0.0.1@evil.example", "2130706433", "127.1", "%31", "a" * 300,
        "169.254.169.254",
    ):  # fmt: skip
        for path in ("/", "/start/answer", "/plant/save"):
            yield Hostile(path, headers={"Host": host})
    for origin in (
        "http://evil.example", "null", "https://127.0.0.1", "http://127.0.0.1:1", "file://", "http://localhost",
    ):  # fmt: skip
        yield Hostile("/start/answer", headers={"Origin": origin})
        yield Hostile("/plant/fields", method="POST", headers={"Origin": origin}, body=b"title=x")
        yield Hostile("/plant/new", method="POST", headers={"Origin": origin}, body=b"water=lake")
        yield Hostile("/cancel/start", method="POST", headers={"Origin": origin}, body=b"")
    for site, mode, kind in (
        ("cross-site", "no-cors", "image"), ("cross-site", "cors", "empty"), ("same-site", "no-cors", "script"),
        ("cross-site", "navigate", "iframe"),
    ):  # fmt: skip
        headers = {"Sec-Fetch-Site": site, "Sec-Fetch-Mode": mode, "Sec-Fetch-Dest": kind}
        yield Hostile("/start/answer", headers=headers)
        yield Hostile("/plant/text", method="POST", headers=headers, body=b"text=x")
    yield Hostile("/plant/fields", method="POST", body=b"title=without+an+origin")


def methods() -> Iterator[Hostile]:
    for method in ("PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "PROPFIND", "BREW"):
        for path in ("/start", "/plant/save", "/plant/open"):
            yield Hostile(path, method=method)
    for path in ("/start", "/rinse", "/files", "/plant", "/page.js"):
        yield Hostile(path, method="POST", headers={"Origin": "own"}, body=b"a=1")
    for path in ("/plant/open", "/plant/text", "/plant/fields", "/cancel/start"):
        yield Hostile(path)


def bodies() -> Iterator[Hostile]:
    """Bodies too large, not what they say, or not of this form."""
    own = {"Origin": "own"}
    form = {**own, "Content-Type": "application/x-www-form-urlencoded"}
    yield Hostile("/plant/text", "POST", {**form, "Content-Length": "99999999"}, b"text=x")
    yield Hostile("/plant/text", "POST", {**form, "Content-Length": "-5"}, b"text=x")
    yield Hostile("/plant/text", "POST", {**form, "Content-Length": "1e3"}, b"text=x")
    yield Hostile("/plant/text", "POST", form, b"text=" + b"a" * 1_100_000)
    yield Hostile("/plant/fields", "POST", form, b"&".join(b"f%d=1" % n for n in range(3000)))
    yield Hostile("/plant/fields", "POST", form, b"title=a&title=b")
    yield Hostile("/plant/fields", "POST", form, b"title=" + b"a" * 3000)
    for name in (
        "nothing", "stage.7.name", "stage.x.name", "__class__", "stage", "run", "policy.calendar", "stage.0.layer",
        "stage.0.vessel", "feed.file", "run.start.x", "stage.0.step.0.do.x", "..", "",
    ):  # fmt: skip
        yield Hostile("/plant/fields", "POST", form, f"{quote_plus(name)}=1".encode())
    for name in ("units", "text", "title", "__class__", "stage.0.name", ""):
        yield Hostile("/plant/new", "POST", form, f"{quote_plus(name)}=1".encode())
    for key, value in (("diameter", "nan m"), ("diameter", MARKUP), ("flow", "1e999 m3/h"), ("hours", "0x10"),
                       ("train", "media," * 50), ("water", "../../etc/passwd"), ("turbidity", "5 NTU" + "0" * 3000)):
        yield Hostile("/plant/new", "POST", form, f"{key}={quote_plus(value)}".encode())
    yield Hostile("/plant/open", "POST", {**own, "Content-Type": "multipart/form-data"}, b"x")
    yield Hostile("/plant/open", "POST", {**own, "Content-Type": "multipart/form-data; boundary=b"}, b"--c\r\n\r\nx")
    yield Hostile("/plant/open", "POST", {**own, "Content-Type": "application/json"}, b'{"file": "x"}')
    yield Hostile("/plant/open", "POST", form, b"file=x")
    for kind in ("text/xml", "application/octet-stream", "text/plain"):
        yield Hostile("/plant/text", "POST", {**own, "Content-Type": kind}, b"<!DOCTYPE x [<!ENTITY y SYSTEM 'f'>]>")


def files() -> Iterator[Hostile]:
    """Case files that are none, or ask for what they should not have."""

    def with_(old: str, new: str) -> bytes:
        assert old in TEXT
        return TEXT.replace(old, new).encode("utf-8")

    title = 'title = "Flower market: stream water through one twin-media bed"'
    turbidity = next(line for line in TEXT.split("\n") if line.startswith("turbidity = "))
    contents = [
        b"", b"\x00" * 1000, b"\xff\xfe\x00", b"PK\x03\x04" + bytes(300), b"MZ" + bytes(100), b"%PDF-1.7", b"{}",
        b"a = 1", b"[" * 100_000, b"a = " + b"[" * 5000 + b"]" * 5000, b"x" * 3000, b"=" * 10, b"\n" * 500_000,
        TEXT.encode("utf-16"), with_('length = "90 d"', 'length = "18263 d"'),
        with_('length = "90 d"', 'length = "1e300 d"'), with_('length = "90 d"', "length = nan"),
        with_('length = "90 d"', 'length = "inf d"'), with_('length = "90 d"', 'length = "-1 d"'),
        with_('length = "90 d"', 'length = "9**9**9 d"'), with_("minutes = 9", "minutes = inf"),
        with_("minutes = 9", "minutes = -9"), with_("minutes = 9", 'minutes = "9"'), with_(title, "title = 5"),
        with_(title, f"title = '{MARKUP}'\nmark = '{MARKUP}'"), with_(title, 'title = ""'),
        with_(title, f'title = "{"a" * 1900}"'), with_("[run]", f"['{MARKUP}']\n[run]"),
        with_('medium = "sand"', 'medium = "' + MARKUP.replace('"', "'") + '"'),
        with_(turbidity, 'turbidity = { file = "/etc/passwd", column = "a", unit = "NTU" }'),
        with_(turbidity, 'turbidity = { file = "../../../etc/hosts", column = "a", unit = "NTU" }'),
        with_(turbidity, 'turbidity = { file = "\\\\\\\\host\\\\share", column = "a", unit = "NTU" }'),
        with_("spread = 1.3", "spread = 99"), with_('every = "4 d"', 'every = "1 s"'),
    ]  # fmt: skip
    for content in contents:
        yield Hostile("/plant/open", file=("case.toml", content))
    for name in ("../../../tmp/x.toml", "a\\b.toml", "x" * 500 + ".toml", "nul", ".toml", MARKUP.replace('"', "'")):
        yield Hostile("/plant/open", file=(name, b"not = 'a case'"))


def all_of_them() -> list[Hostile]:
    kinds = (addresses, parameters, strangers, methods, bodies, files)
    return [each for kind in kinds for each in kind()]


def send(page: Served, hostile: Hostile) -> tuple[int, str]:
    if hostile.file is not None:
        answer = page.upload(*hostile.file)
    else:
        headers = {name: page.address if value == "own" else value for name, value in hostile.headers.items()}
        answer = asked_whole(page, hostile.path, method=hostile.method, headers=headers, body=hostile.body)
    assert "<script>alert" not in answer.text
    return answer.status, answer.text


def asked_whole(page: Served, path: str, **given: Any) -> Answer:
    """The answer, asked for again where its end was lost: to close on unread input resets a connection.

    As RFC 9112, section 9.6, warns of; what was refused is refused again.
    """
    for _ in range(4):
        try:
            return page.ask(path, **given)
        except ConnectionResetError:
            continue
    return page.ask(path, **given)


def seen(folder: Path) -> dict[str, tuple[int, int]]:
    return {str(path): (path.stat().st_size, path.stat().st_mtime_ns) for path in sorted(folder.rglob("*"))}


def time_of_an_answer(page: Served, offset: float) -> float:
    """The fastest of some settings that nobody has asked for yet, which other work disturbs least [s]."""
    times = []
    for count in range(9):
        start = time.perf_counter()
        answer = page.settled(f"/start/answer?{EVERY}={offset + count / 10:g}")
        times.append(time.perf_counter() - start)
        assert answer.status == 200
    return min(times)


def test_there_are_three_hundred() -> None:
    found = all_of_them()
    assert len(found) >= 300
    assert len({repr(each) for each in found}) == len(found)


@pytest.mark.parametrize("every", [pytest.param(1, marks=pytest.mark.long), 4])
def test_each_is_refused_and_the_page_stays_as_it_was(page: Served, every: int) -> None:
    """All of them, or one in so many."""
    before = seen(page.folder)
    wrong = []
    for hostile in all_of_them()[::every]:
        status, text = send(page, hostile)
        told = SENTENCE.findall(text)
        sentence = unescape(told[0]) if len(told) == 1 else ""
        plain = 400 <= status < 500 and sentence.endswith(".") and "\n" not in sentence and "Traceback" not in text
        if not plain and text != "Invalid HTTP request received.":
            wrong.append((hostile, status, told or text[-1500:]))
    assert wrong == []
    assert seen(page.folder) == before
    assert page.process.poll() is None
    assert page.ask("/").status == 200


@pytest.mark.long
@pytest.mark.timed
def test_an_answer_takes_as_long_after_them_as_before(page: Served) -> None:
    speed = time_of_an_answer(page, 2.0)
    for hostile in all_of_them():
        send(page, hostile)
    assert time_of_an_answer(page, 3.0) < 2.0 * speed + 0.1


def test_a_head_line_without_end_is_not_waited_for(page: Served) -> None:
    answer = page.ask("/" + "a" * 15_000)
    assert answer.status == 414
    assert page.ask("/start/answer", headers={"X-Long": "a" * 18_000}).status in (400, 431)
    assert page.ask(f"/start/answer?{quote('feed.x')}={'1' * 15_000}").status == 414


def test_get_changes_nothing(page: Served) -> None:
    before = page.ask("/plant/save").content
    for path in ("/plant/new", "/start?storms=1", f"/start?{EVERY}=3", "/rinse?guess=2", "/plant", "/files"):
        page.ask(path)
    assert page.ask("/plant/save").content == before == TEXT.encode("utf-8")


def test_every_answer_forbids_what_it_does_not_need(page: Served) -> None:
    for path in ("/", "/start", "/nowhere", "/page.js", "/plant/save"):
        headers = page.ask(path).headers
        assert headers["content-security-policy"].startswith("default-src 'none'")
        assert "unsafe" not in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["x-frame-options"] == "DENY"
        assert headers["cache-control"] == "no-store"
        assert "server" not in headers


def test_a_browser_keeps_scripts_by_their_content_and_no_page(page: Served) -> None:
    text = page.ask("/start").content.decode("utf-8")
    addresses = re.findall(r'src="(/[a-z]+\.js\?[^"]+)"', text)
    assert len(addresses) == 3
    for address in addresses:
        assert page.ask(address).headers["cache-control"] == "private, max-age=31536000, immutable"
        assert page.ask(f"{address}0").headers["cache-control"] == "no-store"
