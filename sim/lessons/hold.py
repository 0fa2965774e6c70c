"""Lesson: a pressure switch ahead of a unit that stops and starts, with holds from nothing to 35 minutes."""

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from typing import Final, Literal, NamedTuple

import pandas as pd

from plots.wall_inputs import HoldWall, Signal
from plots.words import Kind, Label, Name, Number, Sentence, items, label, number, say, span
from sim.case.records import Case
from sim.case.trigger.records import Pressure
from sim.case.units import MINUTE, PA_PER_KPA
from sim.lessons.lesson import SEED, Display, Guess, Lesson, Ran, Row, Shown, Studied, Way, first, of_each
from sim.plant.records import Cause
from sim.plant.trace import trace
from sim.plant.triggers import pressure_set
from sim.study.single import triggers_of

Sight = Literal["early", "in time", "never"]
KEY: Final = "policy.{policy}.{stage}.hold"
OWN_KEY: Final = KEY.format(policy="switch", stage="sand")
HOLDS: Final = ("0 s", "10 s", "45 s", "3 min", "7 min", "14 min", "18 min", "35 min")
MINUTES_AN_HOUR: Final = 60.0
HIGHER: Final = 1.2  # times the set point, to be tried without a hold
BEFORE_MIN, SEEN_MIN, STEP_S = 36.0, 40.0, 5.0
"""How long the signal is shown before the start of a wash, how long in all, and how far apart it is read."""


def figures(ran: Ran) -> Row:
    """Washes that the switch started, of these on a spike alone, and those of the longest run.

    `missed`: times that the pressure drop was at the set point and no wash came of it. `at_the_wash_kpa`: the mean
    pressure drop at which the beds were washed. `works`: the switch started every wash, and none on a spike alone.
    """
    washed = [run for run in ran.result.runs if run.cause is not None and run.stage == ran.stage]
    by_switch = sum(run.cause is Cause.PRESSURE for run in washed)
    by_longest_run = sum(run.cause is Cause.LONGEST_RUN for run in washed)
    early = int(ran.of_stage("early_triggers"))
    return {
        "hold": ran.way.name,
        "by_switch": by_switch,
        "early": early,
        "by_longest_run": by_longest_run,
        "missed": int(ran.of_stage("missed_triggers")),
        "at_the_wash_kpa": of_each(sum(run.end_dp_kpa for run in washed), len(washed)) if washed else math.nan,
        "over_limit_h": ran.of_stage("over_limit_h"),
        "drain_m3": ran.of_stage("drain_m3"),
        "works": by_switch > 0 and early == by_longest_run == 0,
    }


class Seen(NamedTuple):
    """How long the unit runs without a break [min], a mean; `signal` by minutes before the last wash [kPa]."""

    on_min: float
    minutes: tuple[float, ...]
    signal: tuple[float, ...]


def seen(ran: Ran) -> Seen:
    """What the switch saw before the last wash."""
    on = of_each(ran.number("downstream_run_h"), ran.number("downstream_starts")) * MINUTES_AN_HOUR
    ends = [run.end_s for run in ran.result.runs if run.cause is not None and run.stage == ran.stage]
    if not ends:
        return Seen(on, (), ())
    minutes = [place * STEP_S / MINUTE - BEFORE_MIN for place in range(int(SEEN_MIN * MINUTE / STEP_S) + 1)]
    times = [ends[-1] + each * MINUTE for each in minutes]
    samples = trace(ran.case, ran.result.policy, times=times, seed=SEED)
    return Seen(on, tuple(minutes), tuple(each.signal_kpa for each in samples if each.stage == ran.stage))


def own(case: Case) -> Lesson | Sentence:
    """The first filter of a plant whose switch sees the starts of a unit behind it."""
    for policy in case.policies:
        for name, trigger in policy.triggers:
            (stage,) = (each for each in case.stages if each.name == name)
            if isinstance(trigger, Pressure) and case.downstream and stage.start_spike and stage.vessels.count == 1:
                return replace(LESSON, ways=ways(KEY.format(policy=policy.name, stage=name), policy.name), stage=name)
    return say("hold_lesson.own")


def ways(key: str, policy: str) -> tuple[Way, ...]:
    """Every hold."""
    return tuple(Way(name=each, settings={key: each}, policy=policy) for each in HOLDS)


def set_point(studied: Studied) -> Row:
    """The set point of the switch."""
    triggers = triggers_of(studied.case, studied.lesson.ways[0].policy or "")
    return {"set_point_kpa": pressure_set(triggers[studied.stage.name]) / PA_PER_KPA}


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
        yield say("hold_lesson.too_long", minutes=number(studied.drawn[-1].on_min), holds=items(never))
    between = window(studied)
    yield say("hold_lesson.between", holds=items(between)) if between else say("hold_lesson.none_between")


def tries(lesson: Lesson, case: Case) -> list[Way]:
    """No hold, and a set point a fifth higher."""
    way = lesson.ways[0]
    (key,) = way.settings
    above = HIGHER * pressure_set(triggers_of(case, way.policy or "")[lesson.about(case).name]) / PA_PER_KPA
    settings = {key: HOLDS[0], f"{key.removesuffix('hold')}above": f"{above:.6g} kPa"}
    return [Way(name=HOLDS[0], policy=way.policy, settings=settings)]


def tried(studied: Studied, display: Display) -> Iterator[Sentence]:
    """What the higher set point lets pass, and where it has the beds washed."""
    (row,), own = studied.tries, set_point(studied)["set_point_kpa"]
    usual = next((each for each in studied.rows if each["works"]), studied.rows[0])
    at, washed = display.amounts([HIGHER * own, row["at_the_wash_kpa"]], "pressure")
    (over,) = display.amounts([row["over_limit_h"]], "hours")
    drain, drain_usual = display.amounts([row["drain_m3"], usual["drain_m3"]], "volume")
    if row["by_switch"]:
        yield say(
            "hold_lesson.higher", at=at, early=row["early"], washes=row["by_switch"], washed=washed, drain=drain,
            drain_usual=drain_usual, hold=Name(usual["hold"]),
        )  # fmt: skip
    else:
        yield say("hold_lesson.too_high", at=at, over=over)


def title(studied: Studied) -> Label:
    """What the picture says."""
    works = window(studied)
    if not works:
        return label("hold_lesson.wall_none", plant=studied.plant)
    holds = span(Number(works[0]), Number(works[-1]))
    return label("hold_lesson.wall", plant=studied.plant, holds=holds, minutes=number(studied.drawn[-1].on_min))


def signals(studied: Studied, display: Display) -> Iterator[Signal]:
    """What the switch saw before a wash with a hold that is too short, one between, and one that is too long."""
    rows = studied.rows
    places: dict[Sight, int | None] = {
        "early": first([row["early"] > 0 and after["early"] == 0 for row, after in pairwise(rows)]),
        "in time": first([row["works"] for row in rows]),
        "never": first([row["by_switch"] == 0 for row in rows]),
    }
    for kind, place in places.items():
        if place is not None and studied.drawn[place].signal:
            minutes, signal = studied.drawn[place].minutes, studied.drawn[place].signal
            yield Signal(
                name=label("hold_lesson.signal", kind=Kind(kind), hold=Name(rows[place]["hold"])),
                minutes=minutes, signal=tuple(each * display.factor("pressure") for each in signal),
            )  # fmt: skip


def picture(studied: Studied, display: Display) -> HoldWall:
    """What the switch sees, washes by what started them, and the pressure drop at which they came."""
    table = pd.DataFrame(studied.rows)
    return HoldWall(
        title=title(studied),
        table=table.assign(
            in_time=table["by_switch"] - table["early"],
            longest_run=table["by_longest_run"],
            pressure=table["at_the_wash_kpa"] * display.factor("pressure"),
        ),
        pressure=display.measure(label("hold_lesson.pressure"), "pressure"),
        set_point=set_point(studied)["set_point_kpa"] * display.factor("pressure"),
        signals=tuple(signals(studied, display)),
        seen=display.measure(label("hold_lesson.seen"), "pressure"),
    )


LESSON: Final = Lesson(
    name="hold",
    files=("hold.toml",),
    situation=lambda case, display: (say("hold_lesson.switch"), say("hold_lesson.tank")),
    question=lambda: say("hold_lesson.question"),
    guess=Guess(
        asks=lambda: say("hold_lesson.asks"),
        options=lambda lesson, case, display: HOLDS,
        right=lambda studied: first([row["works"] for row in studied.rows]),
        or_none=True,
    ),
    now=lambda: say("hold_lesson.now"),
    tries=tries,
    tried=tried,
    where="start",
    again=f"sweep {{case}} --vary '{OWN_KEY}={','.join(HOLDS)}' --show early_triggers --show missed_triggers",
    ways=ways(OWN_KEY, "switch"),
    figures=figures,
    drawn=seen,
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
    depends=lambda: say("hold_lesson.depends"),
    picture=picture,
    own=own,
)  # fmt: skip
