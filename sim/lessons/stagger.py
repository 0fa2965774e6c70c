"""Lesson: three filters on one wash pump, washed one after the other, 55 minutes apart, or side by side."""

import math
from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Final, NamedTuple

import pandas as pd

from plots.inputs import WeekPicture
from plots.wall_inputs import StaggerRound, StaggerWall
from plots.words import Amount, Sentence, Term, amount, in_days, label, say, term
from sim.case.records import Case
from sim.case.units import DAY, HOUR, MINUTE
from sim.lessons.lesson import SEED, Display, Guess, Lesson, Ran, Row, Shown, Studied, Way, by_compare, least, of_each
from sim.plant.simulate import Plant
from sim.study.moments import moment
from sim.study.weeks import weeks
from sim.tell.run.week_view import week_picture

APART: Final = (15, 20, 25, 30, 35)  # minutes
CLOSE: Final = 25
DRAWN_WEEK: Final = 3
BEFORE, AFTER, EVERY = 5 * MINUTE, 35 * MINUTE, 20.0
"""How long before and after the start of a wash the unit's feed is looked at, and how often [s]."""
GRAMS_A_KILOGRAM, MINUTES_AN_HOUR = 1e3, 60.0


def figures(ran: Ran) -> Row:
    """The washes, their waits, the unit's feed over its own limit, and what the stages get and keep.

    `least_flow_m3_h`: the backwash of the stage that gets the least of the pump, a mean; `left_kg`: what a round of
    washes leaves in the three beds, a mean.
    """
    places = range(len(ran.case.stages))
    return {
        "way": ran.way.name,
        "washes": ran.count("washes"),
        "waits": ran.count("waits"),
        "waited_h": ran.number("waited_h"),
        "over_min": ran.number("downstream_over_min"),
        "fed_kg": ran.number("downstream_solids_kg"),
        "least_flow_m3_h": min(_reached(ran, place) for place in places),
        "left_kg": sum(_left(ran, place) for place in places) / GRAMS_A_KILOGRAM,
    }


def _reached(ran: Ran, place: int) -> float:
    """The mean flow of a stage's backwashes [m3/h]."""
    stage = ran.case.stages[place]
    hours = stage.steps[0].seconds / MINUTE / MINUTES_AN_HOUR
    found = ran.result.stages[stage.name]
    return of_each(found["backwash_m3"], found["washes"]) / hours


def _left(ran: Ran, place: int) -> float:
    """What a wash leaves in the bed of a stage [g], a mean over all washes."""
    stage = ran.case.stages[place]
    left = [run.residual_g_m2 for run in ran.result.runs if run.stage == stage.name and run.number > 1]
    return of_each(sum(left), len(left)) * stage.vessel.area


class Evening(NamedTuple):
    """One week, of which the picture takes a round of washes; solids in the unit's feed around them by time [mg/L].

    Where nothing flows to the unit there is none.
    """

    week: WeekPicture
    feed: pd.Series


def drawn_week(ran: Ran) -> Evening:
    """A week, and what reaches the unit in it while filters wash and for a while after."""
    week = weeks(ran.case, ran.result.policy, seed=SEED)[DRAWN_WEEK - 1]
    washes = [run.end_s for run in ran.result.runs if run.cause and week.start_s <= run.end_s < week.end_s]
    looks = range(int((BEFORE + AFTER) / EVERY))
    times = sorted({wash - BEFORE + place * EVERY for wash in washes for place in looks})
    plant, feed = Plant(ran.case, ran.result.policy, seed=SEED), list[float]()
    for time in times:
        plant.run_until(time)
        found = plant.look().solids_sent_on(len(ran.case.stages) - 1)
        feed.append(math.nan if found is None else found)
    return Evening(
        week=week_picture(ran.case, ran.result, week, "si"),
        feed=pd.Series(feed, index=[moment(ran.case.run.start, time) for time in times]),
    )


def _named(way: str) -> Term:
    return term("lesson_way", way)


def asked_m3_h(studied: Studied) -> float:
    """The flow that a backwash asks for."""
    return studied.case.stages[0].steps[0].flow * HOUR


def sentences(studied: Studied, display: Display) -> Iterator[Sentence]:
    """The waits of both queues, the flow reached against the one asked for, what stays and what the unit gets."""
    queued, apart, shared = studied.rows
    (hours,) = display.texts([queued["waited_h"]], "hours")
    yield say("stagger_lesson.waits", waits=queued["waits"], hours=hours, waits_apart=apart["waits"])
    flows = display.texts([shared["least_flow_m3_h"], asked_m3_h(studied)], "flow")
    reached, asked = flows[0], amount(flows[1], display.unit("flow"))
    yield say("stagger_lesson.no_wait", reached=reached, asked=asked)
    left = display.amounts([row["left_kg"] for row in studied.rows], "mass")
    yield say("stagger_lesson.left", shared=left[2], queued=left[0])
    over = display.texts([row["over_min"] for row in studied.rows], "minutes")
    yield say("stagger_lesson.over", queued=over[0], apart=over[1], shared=over[2], length=length(studied))
    yield say("stagger_lesson.stop")


def tries(lesson: Lesson, case: Case) -> list[Way]:
    """The second and the third filter so many minutes after the one before."""
    policy, first = "55 minutes apart", datetime(2000, 1, 1, 21, 25)
    return [
        Way(name=f"{apart}", policy=policy, settings={
            f"policy.{policy}.{stage.name}.at": (first + timedelta(minutes=apart * place)).time()
            for place, stage in enumerate(case.stages)
        })
        for apart in APART
    ]  # fmt: skip


def tried(studied: Studied, display: Display) -> Iterator[Sentence]:
    """The unit's feed with washes 25 minutes apart, and the least spacing from which on nobody waits."""
    close = studied.tries[APART.index(CLOSE)]
    (over,) = display.texts([close["over_min"]], "minutes")
    yield say("stagger_lesson.close", minutes=CLOSE, over=over, length=length(studied), waits=close["waits"])
    waiting = [place for place, row in enumerate(studied.tries) if row["waits"]]
    least = (*APART, 55)[waiting[-1] + 1 if waiting else 0]
    yield say("stagger_lesson.least", minutes=least)


def length(studied: Studied) -> Amount:
    """Of the runs."""
    return in_days(round(studied.case.run.length / DAY))


def picture(studied: Studied, display: Display) -> StaggerWall:
    """The same evening each way, and two figures as bars."""
    over = display.texts([row["over_min"] for row in studied.rows], "minutes")
    _, apart, shared = studied.lesson.ways
    names = [_named(each.name) for each in studied.lesson.ways]
    below, reached = studied.case.downstream, [row["least_flow_m3_h"] for row in studied.rows]
    *flows, asked = display.texts([*reached, asked_m3_h(studied)], "flow")
    assert below is not None
    return StaggerWall(
        title=label("stagger_lesson.wall", plant=studied.plant, shared=_named(shared.name), over=over[2],
                    length=length(studied), apart=_named(apart.name), over_apart=over[1]),
        rounds=tuple(
            StaggerRound(
                name=label("stagger_lesson.round", way=_named(way.name), reached=flow,
                           asked=amount(asked, display.unit("flow"))),
                washes=drawn.week.washes, held=drawn.week.held, raw=drawn.week.raw,
                feed=drawn.feed * display.factor("solids"),
            )
            for way, drawn, flow in zip(studied.lesson.ways, studied.drawn, flows, strict=True)
        ),
        feed=display.measure(label("stagger_lesson.feed"), "solids"),
        limit=(below.feed_limit or math.inf) * display.factor("solids"),
        bars=(
            studied.bars(label("stagger_lesson.over_in", length=length(studied)), "over_min", display, names),
            studied.bars(label("stagger_lesson.left_after"), "left_kg", display, names),
        ),
    )


LESSON: Final = Lesson(
    name="stagger",
    files=("stagger.toml",),
    situation=lambda case, display: (say("stagger_lesson.filters"), say("stagger_lesson.unit")),
    question=lambda: say("stagger_lesson.question"),
    guess=Guess(
        asks=lambda: say("stagger_lesson.asks"),
        options=lambda lesson, case, display: [_named(each.name) for each in lesson.ways],
        right=lambda studied: least([row["over_min"] for row in studied.rows]),
    ),
    now=lambda: say("stagger_lesson.now"),
    tries=tries,
    tried=tried,
    where="plant",
    again="compare {case}",
    ways=(
        Way(name="one after the other", policy="the same hour"),
        Way(name="55 minutes apart", policy="55 minutes apart"),
        Way(name="side by side", policy="the same hour", settings={"washing.together": "overlap"}),
    ),
    figures=figures,
    drawn=drawn_week,
    columns=(
        Shown(head=lambda unit: label("stagger_lesson.washes"), holds="words", key="way",
              text=lambda way, display: _named(way)),
        Shown(head=lambda unit: label("stagger_lesson.waits"), key="waits"),
        Shown(head=lambda unit: label("stagger_lesson.waited"), key="waited_h", quantity="hours"),
        Shown(head=lambda unit: label("stagger_lesson.reached", unit=unit), key="least_flow_m3_h", quantity="flow"),
        Shown(head=lambda unit: label("stagger_lesson.left", unit=unit), key="left_kg", quantity="mass"),
        Shown(head=lambda unit: label("stagger_lesson.fed", unit=unit), key="fed_kg", quantity="mass"),
        Shown(head=lambda unit: label("stagger_lesson.over"), key="over_min", quantity="minutes"),
    ),
    sentences=sentences,
    depends=lambda: say("stagger_lesson.depends"),
    picture=picture,
    own=by_compare,
)  # fmt: skip
