"""What the ways in by question share: settings beside an answer that follows them."""

from collections.abc import Awaitable, Callable, Mapping
from itertools import groupby
from typing import Any, NamedTuple, TypeVar, get_args

from starlette.requests import Request
from starlette.responses import Response

from sim.case.quantities import System
from sim.tell.present import solids_unit
from sim.web.asking import Question, read
from sim.web.cases_read import case_of
from sim.web.desk import Going
from sim.web.errors import Refused
from sim.web.pages import address, page
from sim.web.sliders import Slider, in_other_units
from sim.web.worker import Job, Tell

T = TypeVar("T")


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
    groups = [(name, list(those)) for name, those in groupby(enumerate(own), lambda each: each[1].group)]
    return page(
        request, f"{way}.html", asked, refused.status if refused else 200, setup=setup, sliders=own, groups=groups,
        moved=dict(asked.moved), switch=address(f"/{way}", asked.switched.parameters(**carried)), found=found,
        refused=refused, **more,
    )  # fmt: skip


def part(request: Request, name: str, asked: Question, found: object, **more: Any) -> Response:
    """The answer alone, for the script; while it is worked out, how far it is."""
    return page(request, f"{name}.html", asked, 202 if isinstance(found, Going) else 200, found=found, **more)
