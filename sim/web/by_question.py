"""What the ways in by question share: settings beside an answer that follows them."""

from collections.abc import Awaitable, Callable, Mapping
from itertools import groupby
from typing import Any, NamedTuple, TypeVar, get_args
from urllib.parse import parse_qsl, urlencode

from starlette.requests import Request
from starlette.responses import Response

from sim.case.quantities import System
from sim.tell.present import solids_unit
from sim.web.asking import MOST_PARAMETERS, Question, read
from sim.web.cases_read import case_of
from sim.web.desk import Going
from sim.web.errors import Refused
from sim.web.pages import address, page
from sim.web.shelf import Asked
from sim.web.sliders import Slider, in_other_units
from sim.web.worker import Job, Tell

T = TypeVar("T")
OWN = "own"
"""Where the sliders stood before a move, in an address: as the case has them."""


class Setup(NamedTuple):
    """What a page shows before there is an answer: the case, its sliders in either system of units, its stages."""

    title: str
    sliders: Mapping[System, tuple[Slider, ...]]
    stages: tuple[str, ...]
    solids: str


def setup(sliders: Callable[..., tuple[Slider, ...]], about: tuple[Any, ...], _tell: Tell) -> Setup:
    """The setup of a question, by its sliders: what they are `about` is a case, and what else they take."""
    case = case_of(about[0])
    return Setup(
        title=case.title, sliders={each: sliders(*about, each) for each in get_args(System)},
        stages=tuple(each.name for each in case.stages), solids=solids_unit(case.feed.turbidity_ratio, "si").symbol,
    )  # fmt: skip


async def setup_for(request: Request, sliders: Callable[..., tuple[Slider, ...]], *about: Any) -> Setup:
    """The same, worked out."""
    return await read(request, Job(setup, (sliders, about)))


def stood_before(asked: Question) -> Asked | None:
    """Where the sliders stood before the last move; None where the address does not say."""
    text = asked.own.get("was", "")
    if text in ("", OWN):
        return () if text else None
    try:
        pairs = parse_qsl(text, keep_blank_values=True, strict_parsing=True, max_num_fields=MOST_PARAMETERS)
    except ValueError:
        raise Refused(400, "What stood before is not written as an address here has it.") from None
    if len(dict(pairs)) != len(pairs):
        raise Refused(400, "A parameter stands twice in this address.")
    return tuple(sorted(pairs))


async def tried(answering: Awaitable[T]) -> tuple[T | None, Refused | None]:
    """An answer or, beside the page that asks for it, why there is none."""
    try:
        return await answering, None
    except Refused as refused:
        return None, refused


def question_page(
    request: Request, way: str, asked: Question, setup: Setup, found: object, refused: Refused | None,
    *, carries: bool = True, **more: Any,
) -> Response:  # fmt: skip
    """The page of a question; its link to the other units `carries` the sliders along where they can be read."""
    own, other = setup.sliders[asked.system], setup.sliders[asked.switched.system]
    carried = dict(in_other_units(own, other, asked.moved)) if carries else {}
    switch = address(f"/{way}", asked.switched.parameters(**carried | {"was": None}))
    groups = [(name, list(those)) for name, those in groupby(enumerate(own), lambda each: each[1].group)]
    return page(
        request, f"{way}.html", asked, refused.status if refused else 200, setup=setup, sliders=own, groups=groups,
        moved=dict(asked.moved), stands=urlencode(asked.moved) or OWN, switch=switch, found=found, refused=refused,
        **more,
    )  # fmt: skip


def part(request: Request, name: str, asked: Question, found: object, **more: Any) -> Response:
    """The answer alone, for the script; while it is worked out, how far it is."""
    return page(request, f"{name}.html", asked, 202 if isinstance(found, Going) else 200, found=found, **more)
