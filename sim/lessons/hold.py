"""Lesson: a pressure switch ahead of a unit that stops and starts, with holds from nothing to 35 minutes."""

from collections.abc import Iterator
from typing import Final

import pandas as pd

from plots.wall_inputs import HoldWall
from plots.words import Label, Name, Number, Sentence, items, label, number, say, span
from sim.case.records import Case
from sim.case.units import PA_PER_KPA
from sim.lessons.lesson import Display, Lesson, Ran, Row, Shown, Studied, Way, of_each
from sim.plant.records import Cause
from sim.plant.triggers import pressure_set
from sim.study.single import triggers_of

KEY: Final = "policy.switch.sand.hold"
HOLDS: Final = ("0 s", "10 s", "45 s", "3 min", "7 min", "14 min", "18 min", "35 min")
MINUTES_AN_HOUR: Final = 60.0


def figures(ran: Ran) -> Row:
    """Washes that the switch started, of these on a spike alone, and those of the longest run.

    `missed`: times that the pressure drop was at the set point and no wash came of it. `at_the_wash_kpa`: the mean
    pressure drop at which the beds were washed. `works`: the switch started every wash, and none on a spike alone.
    """
    washed = [run for run in ran.result.runs if run.cause is not None]
    by_switch = sum(run.cause is Cause.PRESSURE for run in washed)
    by_longest_run = sum(run.cause is Cause.LONGEST_RUN for run in washed)
    early = ran.count("early_triggers")
    return {
        "hold": ran.way.name,
        "by_switch": by_switch,
        "early": early,
        "by_longest_run": by_longest_run,
        "missed": ran.count("missed_triggers"),
        "at_the_wash_kpa": of_each(sum(run.end_dp_kpa for run in washed), len(washed)),
        "over_limit_h": ran.number("over_limit_h"),
        "drain_m3": ran.number("drain_m3"),
        "works": by_switch > 0 and early == by_longest_run == 0,
    }


def on_min(ran: Ran) -> float:
    """How long the unit runs without a break [min], a mean."""
    return of_each(ran.number("downstream_run_h"), ran.number("downstream_starts")) * MINUTES_AN_HOUR


def set_point(case: Case) -> Row:
    """The set point of the switch."""
    return {"set_point_kpa": pressure_set(triggers_of(case, "switch")["sand"]) / PA_PER_KPA}


def window(studied: Studied) -> list[str]:
    """The holds between: long enough for the spikes, short enough for the unit."""
    return [row["hold"] for row in studied.rows if row["works"]]


def sentences(studied: Studied, display: Display) -> Iterator[Sentence]:
    """On holds that are too short and too long, where there are any, and those between."""
    early = [label("hold_lesson.early_with", early=row["early"], washes=row["by_switch"], hold=Name(row["hold"]))
             for row in studied.rows if row["early"]]  # fmt: skip
    never = [label("hold_lesson.missed_with", times=row["missed"], hold=Name(row["hold"]))
             for row in studied.rows if row["by_switch"] == 0]  # fmt: skip
    if early:
        yield say("hold_lesson.too_short", holds=items(early))
    if never:
        yield say("hold_lesson.too_long", minutes=number(studied.drawn[-1]), holds=items(never))
    between = window(studied)
    yield say("hold_lesson.between", holds=items(between)) if between else say("hold_lesson.none_between")


def title(studied: Studied) -> Label:
    """What the picture says."""
    works = window(studied)
    if not works:
        return label("hold_lesson.wall_none")
    holds = span(Number(works[0]), Number(works[-1]))
    return label("hold_lesson.wall", holds=holds, minutes=number(studied.drawn[-1]))


def picture(studied: Studied, display: Display) -> HoldWall:
    """Washes by what started them, and the pressure drop at which they came."""
    table = pd.DataFrame(studied.rows)
    return HoldWall(
        title=title(studied),
        table=table.assign(
            in_time=table["by_switch"] - table["early"],
            longest_run=table["by_longest_run"],
            pressure=table["at_the_wash_kpa"] * display.factor("pressure"),
        ),
        pressure=display.measure(label("hold_lesson.pressure"), "pressure"),
        set_point=set_point(studied.case)["set_point_kpa"] * display.factor("pressure"),
    )


LESSON: Final = Lesson(
    name="hold",
    files=("hold.toml",),
    situation=lambda case, display: (say("hold_lesson.switch"), say("hold_lesson.tank")),
    question=lambda: say("hold_lesson.question"),
    again=f"sweep {{case}} --vary '{KEY}={','.join(HOLDS)}' --show early_triggers --show missed_triggers",
    ways=tuple(Way(name=each, settings={KEY: each}) for each in HOLDS),
    figures=figures,
    drawn=on_min,
    common=set_point,
    columns=(
        Shown(head=lambda unit: label("hold_lesson.hold"), key="hold"),
        Shown(head=lambda unit: label("hold_lesson.by_switch"), key="by_switch"),
        Shown(head=lambda unit: label("hold_lesson.early"), key="early"),
        Shown(head=lambda unit: label("hold_lesson.by_longest_run"), key="by_longest_run"),
        Shown(head=lambda unit: label("hold_lesson.missed"), key="missed"),
        Shown(head=lambda unit: label("hold_lesson.set_point", unit=unit), key="set_point_kpa", quantity="pressure"),
        Shown(head=lambda unit: label("hold_lesson.at_the_wash", unit=unit), key="at_the_wash_kpa",
              quantity="pressure"),
        Shown(head=lambda unit: label("lesson.over", unit=unit), key="over_limit_h", quantity="hours"),
        Shown(head=lambda unit: label("lesson.drain", unit=unit), key="drain_m3", quantity="volume"),
    ),
    sentences=sentences,
    picture=picture,
)  # fmt: skip
