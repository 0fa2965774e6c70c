"""Pages from templates, every text escaped."""

import re
from collections.abc import Mapping
from functools import cache
from hashlib import sha256
from importlib.resources import files
from typing import Any
from urllib.parse import quote, urlencode

from jinja2 import Environment, FunctionLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from plots.lesson_page import lesson_styles
from plots.report import as_data, in_styles, report_styles, template_text
from plots.words import label, languages, say, spoken, term, typeset
from plots.words.written import colon, group_sign, locale
from sim.study.version import PROGRAM
from sim.tell.sentences import caution, plant_cautions
from sim.web.asking import Question
from sim.web.errors import Refused

_CASE = re.compile("[0-9a-f]{16}")  # its id, where what is held cannot be asked


def titles() -> dict[str, str]:
    """The ways in, by their addresses."""
    return {
        "start": say("page.ways.start"),
        "rinse": say("page.ways.rinse"),
        "meter": say("page.ways.meter"),
        "lessons": label("lesson.all"),
        "log": say("log_page.title"),
        "plant": label("page.my_plant"),
    }


def page(request: Request, name: str, asked: Question | None, status: int = 200, **values: Any) -> Response:
    """A page or a fragment; `asked` is None where what was asked for cannot be read."""
    common = {
        "caution": caution(), "plant_cautions": plant_cautions(), "titles": titles(),
        "here": request.scope["path"], "asked": asked, "plain": kept(request) if asked is None else asked.plain,
        "system": "si" if asked is None else asked.system, "choices": _choices(request, asked),
    }  # fmt: skip
    html = _environment().get_template(name).render(**common, **values)
    return HTMLResponse(html, status_code=status)


def kept(request: Request) -> dict[str, str]:
    """The case, the units and the language of an address, as far as they can be used, whatever else is wrong."""
    held = request.app.state.shelf.holds if "app" in request.scope else _CASE.fullmatch
    usable = {"case": held, "units": {"us"}.__contains__, "language": languages().__contains__}
    return {name: value for name, each in usable.items() if (value := request.query_params.get(name)) and each(value)}


def _choices(request: Request, asked: Question | None) -> dict[str, str]:
    """The address of a page in every language, by what the language calls itself; a form that was sent has none."""
    if asked is None or request.method != "GET":
        return {}
    path = request.scope["path"]
    return {each: address(path, asked.parameters(language=each)) for each in languages()}


def own_name(language: str) -> str:
    """What a language calls itself.

    >>> own_name("fr")
    'français'
    """
    from babel.core import Locale

    return str(Locale.parse(language).get_language_name())


def refusal(request: Request, refused: Refused) -> Response:
    """The page of a request that is not met; only a fragment where the script asked."""
    name = "refused_part.html" if "x-part" in request.headers else "refused.html"
    return page(request, name, None, refused.status, refused=refused)


def address(path: str, parameters: Mapping[str, str | None]) -> str:
    """An address with those of its parameters that have a value.

    >>> address("/start", {"units": "us", "case": None})
    '/start?units=us'
    """
    given = {name: value for name, value in parameters.items() if value is not None}
    return f"{path}?{urlencode(given)}" if given else path


def download(name: str, content: bytes, kind: str) -> Response:
    """A file for the browser to save."""
    disposition = f'attachment; filename="{quote(name)}"'
    return Response(content, media_type=kind, headers={"Content-Disposition": disposition})


def part(name: str) -> tuple[str, str]:
    """A script of the page, and its address: one for each content, so that a browser may keep it."""
    text = own_text("static", name)
    return text, address(f"/{name}", {"content": sha256(text.encode()).hexdigest()[:12]})


def styles() -> str:
    """The styles of every page: those of the report, and its own after them, with their one text."""
    own = own_text("static", "page.css").replace("SIDEWAYS", in_styles(label("page.sideways")))
    return report_styles() + lesson_styles() + own


@cache
def own_text(*path: str) -> str:
    """A text that comes with the page."""
    return files("sim.web").joinpath(*path).read_text(encoding="utf-8")


def _template(name: str) -> str:
    return template_text(name) if name in ("parts.html", "lesson_parts.html") else own_text("templates", name)


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=FunctionLoader(_template),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {"as_data": as_data, "typeset": typeset, "tidy": tidy, "combined": combined}
    called = (address, colon, group_sign, label, locale, own_name, say, spoken, term)
    environment.globals |= {each.__name__: each for each in called}
    environment.globals |= {"program": PROGRAM, "part": lambda name: part(name)[1], "styles": styles}
    return environment


def tidy(value: float | None) -> str:
    """A number for a field.

    >>> tidy(4.0), tidy(50192.7), tidy(0.35), tidy(None)
    ('4', '50192.7', '0.35', '')
    """
    return "" if value is None else f"{value:.10g}"


def combined(one: Mapping[str, Any], other: Mapping[str, Any]) -> dict[str, Any]:
    """Parameters of both, those of the second first.

    >>> combined({"a": 1, "b": 2}, {"b": 3})
    {'a': 1, 'b': 3}
    """
    return {**one, **other}
