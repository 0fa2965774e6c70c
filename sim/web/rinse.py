"""“Why rinse?”: one wash, and what its first jar reads, once a guess is written down."""

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any, NamedTuple

from starlette.requests import Request
from starlette.responses import Response

from plots.one import Shown, show_rinsed
from plots.words import Name, Sentence, amount, label, localised, say, term
from sim.case.quantities import System
from sim.case.records import Case
from sim.case.units import MINUTE, parse_quantity
from sim.study.returned import Returned, after_wash
from sim.study.settable import RANGES, step_by_hand
from sim.tell.run.rinse_view import rinsed
from sim.tell.run.rinse_words import first_jar_words, rinse_facts
from sim.tell.sentences import assumed_count
from sim.web.asking import Question, answer, narrow, question
from sim.web.by_question import Setup, part, question_page, setup_for, stood_before, tried
from sim.web.cases_read import case_of, parsed
from sim.web.errors import Refused
from sim.web.shelf import Asked, Held, Stand
from sim.web.sliders import Slider, feed_sliders, moved, settings_of, slider_of
from sim.web.worker import Job, Tell

LONGEST_GUESS = 20
NO_GUESS = "none"


class RinseAnswer(NamedTuple):
    """One wash: its first jar, its figure, and its figures in words."""

    sentence: str
    figure: Shown
    facts: tuple[tuple[str, str], ...]
    assumed: str
    compared: bool


def sliders(held: Held, stage: str | None, system: System) -> tuple[Slider, ...]:
    """Backwash and rinse of one stage, then the water: what it carries, and its temperature all the time.

    Where that has a season, it stands at the middle.
    """
    data, temperature = parsed(held), RANGES["feed.temperature"]
    raw = data["feed"]["temperature"]
    degrees = parse_quantity(raw if isinstance(raw, str) else raw.get("mean", "15 degC"), temperature.units.kind)
    return (
        *_steps(data["stage"], _stage(case_of(held), stage), system),
        next(feed_sliders(data["feed"], system)),
        slider_of(
            "feed.temperature", label("page.group.water"), term("slider", "temperature"), temperature, degrees, system
        ),
    )


def _steps(stages: Sequence[Mapping[str, Any]], name: str, system: System) -> Iterator[Slider]:
    """The steps as the file has them; what stands at no minutes there can be moved too."""
    place = next(place for place, each in enumerate(stages) if each["name"] == name)
    for do in ("backwash", "rinse"):
        steps = [(number, step) for number, step in enumerate(stages[place]["step"]) if step["do"] == do]
        for count, (number, each) in enumerate(steps, 1):
            seconds = float(each["minutes"]) * MINUTE
            step, group = term("slider", do), label("page.group.wash")
            yield slider_of(
                f"stage.{place}.step.{number}.minutes", group,
                step if len(steps) == 1 else label("page.rinse.step", step=step, number=count),
                step_by_hand(do, seconds), seconds, system, form="rinse" if do == "rinse" else "number",
            )  # fmt: skip


def _stage(case: Case, asked: str | None) -> str:
    names = [stage.name for stage in case.stages]
    if asked is not None and asked not in names:
        raise Refused(404, "This case has no filter of that name.")
    return asked or names[0]


@lru_cache(maxsize=8)
def _washed(stand: Stand, stage: str | None) -> tuple[Case, Returned]:
    """One wash of one stage at these settings."""
    held, _, system = stand
    name = _stage(case_of(held), stage)
    case = case_of(held, settings_of(sliders(held, stage, system), stand))
    return case, after_wash(case, case.policies[0].name, name)


def answered(stand: Stand, stage: str | None, before: Asked | None, narrow: bool, _tell: Tell) -> RinseAnswer:
    """One wash of one stage at these settings, what it sends on, and in grey the one at settings `before`.

    Its scale holds the case's own wash too, wherever sliders stand.
    """
    system = stand.system
    case, returned = _washed(stand, stage)
    own, *earlier = (
        rinsed(*_washed(stand._replace(moved=each), stage), system).outlet
        for each in ((), *([] if before is None else [before]))
    )
    picture = replace(
        rinsed(case, returned, system), top=float(own["solids"].max()), earlier=earlier[0] if earlier else None
    )
    return RinseAnswer(
        sentence=first_jar_words(case, returned, system),
        figure=show_rinsed(picture, narrow=narrow),
        facts=tuple(rinse_facts(returned, system)),
        assumed=assumed_count(case.assumptions),
        compared=before is not None,
    )


def _asked(request: Request) -> Question:
    return question(request, ("stage", "guess", "at", "was"))


async def jobs(request: Request) -> tuple[Job[RinseAnswer], ...]:
    """The wash that an address asks for."""
    asked = _asked(request)
    return (Job(answered, (asked.stand, asked.own.get("stage"), stood_before(asked), narrow(request))),)


async def show(request: Request) -> Response:
    """The page: the answer stands there once a guess is written down."""
    asked = _asked(request)
    before = await setup_for(request, sliders, asked.held, asked.own.get("stage"))
    own = before.sliders[asked.system]
    guess, refused = _guess(asked, before)
    found = None
    if guess is not None and refused is None:
        (job,) = await jobs(request)
        found, refused = await tried(answer(request, job))
    elif not asked.moved:
        asked = replace(asked, moved=unrinsed(own))
    at, same = _stood(own, asked) if refused is None else (asked.own.get("at", ""), True)
    return question_page(
        request, "rinse", asked, before, found, refused, guess=guess, guessed=_guessed(guess, before),
        no_guess=NO_GUESS, at=at, same=same, stage=asked.own.get("stage") or before.stages[0],
        left_out=_left_out(own, asked),
    )  # fmt: skip


async def show_answer(request: Request) -> Response:
    """The answer alone."""
    asked = _asked(request)
    before = await setup_for(request, sliders, asked.held, asked.own.get("stage"))
    guess, wrong = _guess(asked, before)
    if guess is None or wrong is not None:
        raise wrong or Refused(400, "Write down your guess first; then the answer shows.")
    (job,) = await jobs(request)
    return part(request, "rinse_answer", asked, await answer(request, job), guess=guess, no_guess=NO_GUESS,
                guessed=_guessed(guess, before), same=_stood(before.sliders[asked.system], asked)[1])  # fmt: skip


def unrinsed(own: tuple[Slider, ...]) -> Asked:
    """Every rinse left out: where a first guess is asked for, since the plant's own rinse leaves little to see."""
    return tuple((each.key, "0") for each in own if each.form == "rinse")


def _left_out(own: tuple[Slider, ...], asked: Question) -> Sentence | None:
    """How much of the plant's own rinse is left out."""
    gone = sum(each.value or 0.0 for each, value in moved(own, asked.moved) if each.form == "rinse" and not value)
    return say("page.rinse.left_out", minutes=amount(localised(f"{gone:g}"), "min")) if gone else None


def _guessed(guess: str | None, before: Setup) -> Name:
    """A guess with its unit."""
    return Name(f"{guess} {before.solids}")


def _stood(own: tuple[Slider, ...], asked: Question) -> tuple[str, bool]:
    """What tells this standing of the sliders from others, and whether it is that of the guess.

    It is on the address that brings the guess.
    """
    stands = tuple(sorted((each.key, repr(value)) for each, value in moved(own, asked.moved)))
    now = hashlib.sha256(repr(stands).encode()).hexdigest()[:8]
    at = asked.own.get("at") or now
    return at, at == now


def _guess(asked: Question, before: Setup) -> tuple[str | None, Refused | None]:
    """What somebody guesses of the first jar, without its unit, or why that cannot be read."""
    text = asked.own.get("guess", "").strip()
    if not text:
        return None, None
    plain = text[: -len(before.solids)].strip() if text.lower().endswith(before.solids.lower()) else text
    number = plain.replace(",", ".", 1).replace(".", "", 1)
    if text != NO_GUESS and not (len(text) <= LONGEST_GUESS and number.isascii() and number.isdigit()):
        return None, Refused(422, f"A guess is a number of {before.solids}, such as 2.5.")
    return plain, None
