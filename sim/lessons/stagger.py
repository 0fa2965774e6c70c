"""Lesson: three filters on one wash pump, washed one after the other, 55 minutes apart, or side by side."""

from typing import Any, Final

from plots.inputs import WeekPicture
from plots.wall_inputs import StaggerRound, StaggerWall
from sim.case.units import DAY, HOUR, MINUTE
from sim.lessons.lesson import SEED, Display, Lesson, Ran, Row, Shown, Studied, Way, of_each
from sim.study.weeks import weeks
from sim.tell.run.week_view import week_picture

DRAWN_WEEK: Final = 3
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


def drawn_week(ran: Ran) -> WeekPicture:
    """One week, of which the picture takes a round of washes."""
    week = weeks(ran.case, ran.result.policy, seed=SEED)[DRAWN_WEEK - 1]
    return week_picture(ran.case, ran.result, week, "si")


def asked_m3_h(studied: Studied) -> float:
    """The flow that a backwash asks for."""
    return studied.case.stages[0].steps[0].flow * HOUR


def facts(studied: Studied, display: Display) -> dict[str, Any]:
    """The flow reached against the one asked for, the waits of both queues, and the days."""
    queued, apart, shared = studied.rows
    return {
        "reached": display.texts([shared["least_flow_m3_h"], asked_m3_h(studied)], "flow"),
        "waited": display.texts([queued["waited_h"], apart["waited_h"]], "hours"),
        "long": "long" if shared["waits"] else "at all",
        "days": studied.case.run.length / DAY,
    }


def picture(studied: Studied, display: Display) -> StaggerWall:
    """The same evening each way, and two figures as bars."""
    over = display.texts([row["over_min"] for row in studied.rows], "minutes")
    _, apart, shared = studied.lesson.ways
    days = f"{studied.case.run.length / DAY:.0f} days"
    return StaggerWall(
        title=f"Washed {shared.name}, three filters have the unit's feed over its limit for {over[2]} min "
        f"in {days}; {apart.name} for {over[1]} min",
        rounds=tuple(
            StaggerRound(name=way.name, washes=week.washes, held=week.held, raw=week.raw)
            for way, week in zip(studied.lesson.ways, studied.drawn, strict=True)
        ),
        bars=(
            studied.bars(f"unit's feed over its own limit in {days}", "over_min", display),
            studied.bars("left in the beds after a round", "left_kg", display),
        ),
    )


LESSON: Final = Lesson(
    name="stagger",
    files=("stagger.toml",),
    situation=(
        "Three filters in series ahead of an evaporator are washed every other evening from one pump; water goes "
        "round a filter that is washed.",
        "The unit is held for the first 14 of the 23 minutes of a wash. The washes come one after the other, 55 "
        "minutes apart, or side by side.",
    ),
    question="All at one hour, 55 minutes apart, or three at once on the same pump: who waits, how clean do the beds "
    "get, and what reaches the unit?",
    again="compare {case}",
    ways=(
        Way(name="one after the other", policy="the same hour"),
        Way(name="55 minutes apart", policy="55 minutes apart"),
        Way(
            name="side by side", policy="the same hour",
            settings={
                "washing.together": "share", "washing.lines.supply": 3, "washing.lines.raw": 3,
                "washing.lines.drain": 3,
            },
        ),
    ),
    figures=figures,
    drawn=drawn_week,
    columns=(
        Shown(head="three washes", holds="words", key="way"),
        Shown(head="waits for another", key="waits"),
        Shown(head="time waited, h", key="waited_h", quantity="hours"),
        Shown(head="least backwash reached, {unit}", key="least_flow_m3_h", quantity="flow"),
        Shown(head="left in the beds after a round, {unit}", key="left_kg", quantity="mass"),
        Shown(head="solids in the unit's feed, {unit}", key="fed_kg", quantity="mass"),
        Shown(head="unit's feed over its limit, min", key="over_min", quantity="minutes"),
    ),
    facts=facts,
    sentences=(
        "At the same hour the filters wait for each other {waits[0]} times, {waited[0]} h in all; 55 minutes apart "
        "{waits[1]} times.",
        "Side by side nobody waits {long}, but the least backwash gets {reached[0]} of {reached[1]} "
        "{unit[flow].symbol}, and a round leaves {left_kg[2]} {unit[mass].symbol} in the beds instead of "
        "{left_kg[0]} {unit[mass].symbol}.",
        "The unit's feed is over its own limit for {over_min[0]}, {over_min[1]} and {over_min[2]} min in {days:.0f} "
        "days: while the rinses run the unit is not held, and it matters how many filters the water goes round just "
        "then.",
        "Raw water round a filter is shown here for what it does: ahead of a membrane, or where anybody drinks it, "
        "the command check says stop to that.",
        "Which of these a plant meets depends on its pump, its held times and its tank: here they are those of one "
        "invented plant.",
    ),
    picture=picture,
)  # fmt: skip
