"""In a language that no one speaks, no page, its script or its terminal shows a plain word."""

import asyncio
import re
from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextvars import copy_context
from dataclasses import fields, is_dataclass
from html import unescape
from types import SimpleNamespace
from typing import Any

import pytest
from starlette.requests import Request

from plots.words import typeset
from sim.case import units
from sim.case.price import schema
from sim.case.time_rules import WEEKDAYS
from sim.errors import CaseError
from sim.study.version import PROGRAM
from sim.tell.keys.case_keys import case_keys
from sim.web import app, begun, lessons, log, meter, plant, present, report, rinse, serve, start
from sim.web.cases_read import case_of, parsed
from sim.web.desk import Going, Task
from sim.web.errors import Refused
from sim.web.gate import WordNeeded
from sim.web.pages import own_text, styles
from sim.web.shelf import DEMO, Held, HeldLog, Shelf
from sim.web.worker import Job, case_refused
from sim.write.questions import QUESTIONS
from tests.web.serving import CASES, WORTH
from tests.words.pseudo import plain_words, speaking_pseudo, words_of

HEARD = re.compile(r'(?:aria-label|alt|title|placeholder|data-unit|data-blank)="([^"]*)"')
NOT_READ = re.compile(
    r'<(?!html)(\w+)[^>]* lang="(?!xx)\w\w".*?</\1>|<(script|style|code|textarea|select)\b.*?</\2>', re.DOTALL
)
"""What is marked as of a language, such as refusals; the text of a file or a command; the words that a key takes."""
ELSEWHERE = ()
"""Jobs whose answers have texts of other rooms, which their own tests read."""
OWN = ("about_command", "groups")
"""What the page itself says in these answers."""
LAUNDRY = Held((CASES / "laundry.toml").read_text(encoding="utf-8"), "laundry.toml")
LOG = HeldLog(
    (CASES / "data" / "laundry_log.csv").read_text(encoding="utf-8"), "laundry_log.csv", None,
    (("dates", "day first"), ("negative", "gap"), ("stuck", "gap"), ("resets", "count on")),
)  # fmt: skip
MOVED = "policy.calendar.twin+bed.every=2.5&prices.water=&over_limit=30&stage.0.step.2.minutes=3&use=120"


def texts(value: Any) -> Iterator[str]:
    """Every text in an answer."""
    if isinstance(value, str):
        yield value
    elif is_dataclass(value):
        yield from texts([getattr(value, each.name) for each in fields(value)])
    elif isinstance(value, Mapping):
        yield from texts([*value, *value.values()])
    elif isinstance(value, list | tuple | frozenset):
        for each in value:
            yield from texts(each)


class Here:
    """A desk that does each job at once, in the language spoken here, or lets those who ask wait."""

    def __init__(self, waits: bool) -> None:
        self.waits, self.elsewhere = waits, set[str]()

    async def ask(self, job: Job[Any], _patience: float) -> Any:
        if self.waits and job.function.__name__ not in ("setup", "carry"):
            return Going(Task(job, asyncio.get_running_loop().create_future()).words)
        given = () if job.given is None else (job.given,)
        try:
            found = job.function(*given, *job.args, print)
        except CaseError as error:
            raise case_refused(error) from None
        if job.function.__name__ in ELSEWHERE:
            parts = found._asdict() if hasattr(found, "_asdict") else {"": found}
            self.elsewhere |= set(texts([each for name, each in parts.items() if name not in OWN]))
        return found


def names_of(held: Held) -> set[str]:
    """What a case calls things, and the keys of all cases with their defaults and units."""
    keys = {each.name.replace("_", " ") for each in case_keys().values()}
    defaults = {each.default.strip('"') for each in case_keys().values()}
    kinds = [each for module in (units, schema) for each in vars(module).values() if isinstance(each, units.Kind)]
    titles = {each.capitalize() for each in keys}
    said = {held.name, PROGRAM, '"none"', *WEEKDAYS}
    return {*keys, *defaults, *titles, *texts(parsed(held)), *(unit for kind in kinds for unit in kind.units), *said}


def words_left(
    endpoint: Any, query: str = "", held: Held | None = None, *, waits: bool = False, name: str = "rinse",
    language: str = "xx",
) -> set[str]:
    """The plain words of a page, in what a reader sees and hears."""
    held, desk = held or Held.of(DEMO), Here(waits)
    shelf = Shelf(held)
    shelf.put_log(LOG)
    scope = {
        "type": "http", "method": "GET", "path": "/", "query_string": query.encode("ascii"), "headers": [],
        "app": SimpleNamespace(state=SimpleNamespace(desk=desk, shelf=shelf)), "path_params": {"name": name},
    }  # fmt: skip

    async def never() -> Any:
        await asyncio.sleep(3600.0)

    async def asked() -> str:
        return bytes((await endpoint(Request(scope, never))).body).decode("utf-8")

    # In a thread: a browser that other tests have opened keeps a loop running in this one.
    with speaking_pseudo(language), ThreadPoolExecutor(1) as thread:
        html = thread.submit(copy_context().run, asyncio.run, asked()).result()
    assert f'<html lang="{language}"' in html or "<html" not in html
    html = NOT_READ.sub(" ", html)
    seen = unescape(" ".join([re.sub("<[^>]*>", " ", html), *HEARD.findall(html)]))
    for each in sorted(desk.elsewhere, key=len, reverse=True):
        seen = seen.replace(typeset(each), " ") if len(each) > 2 else seen
    known = names_of(held) | ({each.si for each in QUESTIONS} if endpoint is begun.show else set())
    left = set(plain_words(seen, [typeset(each) for each in known if len(each) > 2], language))
    return left - words_of(case_of(held))


@pytest.mark.parametrize(
    ("endpoint", "query", "held"),
    [
        (app.home, "", None), (app.home, "units=us", None), (app._was_cancelled, "", None),
        (start.show, "through=calendar", None), (start.show_answer, "units=us", None),
        (rinse.show, "", None), (rinse.show, "", LAUNDRY), (rinse.show, "guess=3&units=us", None),
        (rinse.show, "guess=3&at=other", None), (rinse.show_answer, "guess=none", None),
        (meter.show, "prices.water=9&units=us", WORTH),
        (lessons.list_all, "", None), (lessons.show, "", None), (lessons.show, "guess=1&own=yes", None),
        (lessons.show_questions, "", None), (lessons.show_answers, "units=us", None),
        (lessons.show_slides, "slide=3", None), (present.show, "", None), (present.show, "way=rinse", None),
        (start.show, "ask=yes", None), (begun.show, "", None), (rinse.show, "guess=3&was=own", None),
        (meter.show, "prices.water=9&was=own", WORTH), (present.show, "way=meter", WORTH),
        (plant.show, "", None), (plant.show, f"units=us&{MOVED}", None), (plant.show, "taken=yes", LAUNDRY),
        (log.show, "", None), pytest.param(log.show, f"log={LOG.id}", LAUNDRY, marks=pytest.mark.long),
    ],
)  # fmt: skip
def test_a_page_shows_no_plain_word(endpoint: Any, query: str, held: Held | None) -> None:
    assert words_left(endpoint, query, held) == set()


@pytest.mark.parametrize("endpoint", [start.show, rinse.show, meter.show, report.show])
def test_a_page_that_waits_shows_no_plain_word(endpoint: Any) -> None:
    assert words_left(endpoint, "guess=3" if endpoint is rinse.show else "", waits=True) == set()


@pytest.mark.parametrize("refused", [Refused(404, "There is nothing at this address."), WordNeeded])
def test_a_refusal_shows_no_plain_word_but_its_reason(refused: Any) -> None:
    """Errors are English, and marked so."""

    async def refusing(request: Request) -> Any:
        return app._refusal(request, refused if isinstance(refused, Refused) else refused())

    assert words_left(refusing) == set()
    assert words_left(start.show, "policy.volume+with+reserve.twin+bed.volume=100") == set()


@pytest.mark.parametrize("host", ["127.0.0.1", "0.0.0.0"])
def test_the_terminal_shows_no_plain_word(host: str, monkeypatch: pytest.MonkeyPatch) -> None:
    lines, held = list[str](), Held.of(DEMO)
    monkeypatch.setattr(serve.uvicorn.Server, "run", lambda _, sockets: sockets[0].close())
    with speaking_pseudo():
        serve.serve(held, host=host, port=0, show=lines.append)
    assert len(lines) == (1 if host == "127.0.0.1" else 3)
    word = lines[-1].rpartition(" ")[2]
    assert plain_words(" ".join(lines).replace(word, ""), ["http://127.0.0.1"]) == []


def test_script_and_styles_say_nothing_of_their_own() -> None:
    script = re.sub(r"(?m)^\s*//.*$| // .*$", "", own_text("static", "page.js")).replace('"use strict"', "")
    written = [each for group in re.findall(r'"([^"\n]*)"|`([^`]*)`', script) for each in group if each]
    assert len(written) > 50
    assert [each for each in written if re.search(r"[A-Za-z]{2,} [A-Za-z]{2,} [A-Za-z]{2,}", each)] == []
    with speaking_pseudo():
        assert [each for each in re.findall(r'content: "([^"]*)"', styles()) if re.search(r"[A-Za-z]{3}", each)] == []
