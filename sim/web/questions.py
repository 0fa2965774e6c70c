"""The ways in by question: “What should start a wash?”, “Why rinse?” and “Is a meter worth it?”."""

import hashlib
from dataclasses import replace
from typing import Any

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from sim.case.quantities import System
from sim.web.asking import Question, answer, cancel, narrow, question
from sim.web.desk import Going
from sim.web.errors import Refused
from sim.web.jobs import Setup
from sim.web.pages import address, page
from sim.web.sliders import Slider, in_other_units
from sim.web.worker import Asked, Job
from sim.web.worth_sliders import blank_prices, moved_runs

OTHER: dict[System, System] = {"si": "us", "us": "si"}
START_OWN = ("through",)
RINSE_OWN = ("stage", "guess", "at")
SETUP_PATIENCE = 60.0
LONGEST_GUESS = 20
NO_GUESS = "none"


async def home(request: Request) -> Response:
    """The ways in, which no worker is needed for."""
    asked = question(request)
    switch = address("/", _switched(asked).parameters())
    return page(request, "home.html", asked=asked, case_id=asked.case_id, system=asked.system, switch=switch)


async def start(request: Request) -> Response:
    """“What should start a wash?”, with its answer as far as it is there."""
    asked = question(request, START_OWN)
    setup = await _setup(request, "start_setup", asked)
    found, refused = await _found(request, start_job(request, asked))
    others = await _through(request, asked) if refused is None else None
    return page(
        request, "start.html", 422 if refused else 200, found=found, refused=refused, through=others,
        **_common(asked, setup, "/start", await _setup(request, "start_setup", _switched(asked))),
    )  # fmt: skip


def start_job(request: Request, asked: Question) -> Job:
    """The comparison that an address asks for."""
    return Job("start_answer", (asked.held, asked.moved, asked.system, narrow(request)))


async def start_answer(request: Request) -> Response:
    """The answer alone, for the script."""
    asked = question(request, START_OWN)
    found = await answer(request, start_job(request, asked))
    return page(request, "start_answer.html", _status(found), found=found, asked=asked)


async def start_through(request: Request) -> Response:
    """One way to start a wash through time, for the script."""
    asked = question(request, START_OWN)
    found = await _through(request, asked)
    if found is None:
        raise Refused(400, "This address does not say which way to start a wash is to be shown through time.")
    return page(request, "through.html", _status(found), through=found, asked=asked)


async def _through(request: Request, asked: Question) -> Any:
    policy = asked.own.get("through")
    if not policy:
        return None
    return await answer(request, Job("through", (asked.held, asked.moved, asked.system, policy, narrow(request))))


async def rinse(request: Request) -> Response:
    """“Why rinse?”: the answer stands there once a guess is written down."""
    asked = question(request, RINSE_OWN)
    stage = asked.own.get("stage")
    setup = await _setup(request, "rinse_setup", asked, stage)
    guess, wrong = _guess(asked, setup)
    found, refused = (None, wrong)
    if guess is not None and wrong is None:
        found, refused = await _found(request, rinse_job(request, asked))
    elif not asked.moved:
        asked = replace(asked, moved=unrinsed(setup.sliders))
    other = await _setup(request, "rinse_setup", _switched(asked), stage)
    return page(
        request, "rinse.html", 422 if refused else 200, found=found, refused=refused, guess=guess,
        at=asked.own.get("at") or ("" if refused else standing(setup.sliders, asked)), no_guess=NO_GUESS,
        same=refused is not None or _same(setup, asked), stage=stage or setup.stages[0],
        **_common(asked, setup, "/rinse", other),
    )  # fmt: skip


def rinse_job(request: Request, asked: Question) -> Job:
    """The wash that an address asks for."""
    return Job("rinse_answer", (asked.held, asked.moved, asked.system, asked.own.get("stage"), narrow(request)))


async def rinse_answer(request: Request) -> Response:
    """The answer alone, for the script."""
    asked = question(request, RINSE_OWN)
    setup = await _setup(request, "rinse_setup", asked, asked.own.get("stage"))
    guess, wrong = _guess(asked, setup)
    if guess is None or wrong is not None:
        raise wrong or Refused(400, "Write down your guess first; then the answer shows.")
    found = await answer(request, rinse_job(request, asked))
    return page(request, "rinse_answer.html", _status(found), found=found, asked=asked, guess=guess,
                same=_same(setup, asked), setup=setup, no_guess=NO_GUESS)  # fmt: skip


def unrinsed(sliders: tuple[Slider, ...]) -> Asked:
    """Every rinse left out: where a first guess is asked for, since the plant's own rinse leaves little to see."""
    return tuple((each.key, "0") for each in sliders if each.label.startswith("rinse"))


def standing(sliders: tuple[Slider, ...], asked: Question) -> str:
    """What tells one standing of the sliders from another, in an address."""
    return hashlib.sha256(repr(moved_runs(sliders, dict(asked.moved))).encode()).hexdigest()[:8]


def _same(setup: Setup, asked: Question) -> bool:
    """Whether the sliders stand where they stood for the guess; they do on the address that brings it."""
    at = asked.own.get("at")
    return at is None or at == standing(setup.sliders, asked)


def _guess(asked: Question, setup: Setup) -> tuple[str | None, Refused | None]:
    """What somebody guesses of the first jar, without its unit, or why that cannot be read."""
    text = asked.own.get("guess", "").strip()
    if not text:
        return None, None
    unit = len(setup.solids)
    plain = text[:-unit].strip() if text.lower().endswith(setup.solids.lower()) else text
    number = plain.replace(",", ".")
    if text != NO_GUESS and not (len(text) <= LONGEST_GUESS and number.isascii() and _is_number(number)):
        return None, Refused(422, f"A guess is a number of {setup.solids}, such as 2.5.")
    return plain, None


def _is_number(text: str) -> bool:
    whole, _, part = text.partition(".")
    return (whole + part).isdigit()


async def meter(request: Request) -> Response:
    """“Is a meter worth it?”, with its answer as far as it is there."""
    asked = question(request)
    setup = await _setup(request, "worth_setup", asked)
    try:
        found, refused = await _worth(request, asked, setup), None
    except Refused as why:
        found, refused = None, why
    other = await _setup(request, "worth_setup", _switched(asked))
    common = _common(asked, setup, "/meter", other if refused is None else None)
    return page(request, "meter.html", refused.status if refused else 200, found=found, refused=refused,
                blank=blank_prices(setup.sliders), **common)  # fmt: skip


async def meter_answer(request: Request) -> Response:
    """The answer alone, for the script."""
    asked = question(request)
    found = await _worth(request, asked, await _setup(request, "worth_setup", asked))
    return page(request, "meter_answer.html", _status(found), found=found, asked=asked)


def worth_jobs(request: Request, asked: Question, setup: Setup) -> tuple[Job, Job]:
    """The runs that an address asks for, and the money that is worked out on top of them."""
    runs = Job("worth_runs", (asked.held, moved_runs(setup.sliders, dict(asked.moved))))
    return runs, Job("worth_answer", (asked.held, asked.moved, asked.system, narrow(request)))


async def _worth(request: Request, asked: Question, setup: Setup) -> Any:
    """The answer, or how far its runs are; prices alone ask for no new ones."""
    runs, money = worth_jobs(request, asked, setup)
    kept = await answer(request, runs)
    return kept if isinstance(kept, Going) else await answer(request, replace(money, given=kept))


async def cancelled(request: Request) -> Response:
    """Stop the work on an answer; then a page says so."""
    asked = question(request, (*START_OWN, *RINSE_OWN))
    for job in await _jobs_of(request, request.path_params["kind"], asked):
        cancel(request, job)
    return RedirectResponse(address("/cancelled", {"case": asked.case_id, "units": asked.parameters()["units"]}), 303)


async def _jobs_of(request: Request, kind: str, asked: Question) -> tuple[Job, ...]:
    match kind:
        case "start":
            return (start_job(request, asked),)
        case "rinse":
            return (rinse_job(request, asked),)
        case "meter":
            return worth_jobs(request, asked, await _setup(request, "worth_setup", asked))
        case "files":
            return (Job("files", (asked.held, asked.moved, asked.system)),)
        case _:
            raise Refused(404, "There is nothing at this address.")


async def was_cancelled(request: Request) -> Response:
    """What is seen after that."""
    asked = question(request)
    return page(request, "cancelled.html", asked=asked, case_id=asked.case_id, system=asked.system)


async def _setup(request: Request, name: str, asked: Question, *more: Any) -> Setup:
    found = await answer(request, Job(name, (asked.held, *more, asked.system)), SETUP_PATIENCE)
    if isinstance(found, Going):
        raise Refused(422, "This case takes too long to read.")
    assert isinstance(found, Setup)
    return found


async def _found(request: Request, job: Job) -> tuple[Any, Refused | None]:
    """The answer of a job or, beside the page that asks for it, why there is none."""
    try:
        return await answer(request, job), None
    except Refused as refused:
        return None, refused


def _switched(asked: Question) -> Question:
    """The same question in the other system of units, where no slider has been moved."""
    return replace(asked, system=OTHER[asked.system], moved=())


def _common(asked: Question, setup: Setup, path: str, other: Setup | None = None) -> dict[str, Any]:
    """What every page of a question needs."""
    moved = dict(asked.moved)
    there = _switched(asked).parameters()
    if other is not None:
        pairs = zip(setup.sliders, other.sliders, strict=True)
        there |= {one.key: in_other_units(one, two, moved[one.key]) for one, two in pairs if one.key in moved}
    return {
        "asked": asked,
        "setup": setup,
        "moved": moved,
        "case_id": asked.case_id,
        "system": asked.system,
        "switch": address(path, there),
    }


def _status(found: Any) -> int:
    return 202 if isinstance(found, Going) else 200
