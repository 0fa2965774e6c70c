"""Lesson: one given pulse of solids in the feed, and what four ways to start a wash make of it."""

from collections.abc import Iterator
from typing import Final

import pandas as pd

from plots.wall_inputs import StormCourse, StormWall
from plots.words import Name, Number, Sentence, amount, in_days, items, label, say
from sim.case.units import DAY, HOUR
from sim.lessons.lesson import SEED, Display, Lesson, Ran, Row, Shown, Studied, Way
from sim.plant.trace import trace

DRAWN_DAYS: Final = (7.0, 13.0)
STEP: Final = HOUR / 2.0
STORM: Final = (8.0, 10.5)
"""From when to when the feed carries the pulse [d from the start]; in that time washes count as in the storm."""

POLICIES: Final = ("calendar", "volume", "volume with reserve", "pressure drop")
FIGURES: Final = ("over_limit_h", "solids_to_service_kg", "peak_dp_kpa", "washes", "drain_m3")


def figures(ran: Ran) -> Row:
    """Figures of the whole run, and how many washes started while the pulse passed."""
    return {
        "policy": ran.way.name,
        **{key: ran.result.site[key] for key in FIGURES},
        "washes_in_the_storm": sum(STORM[0] <= start <= STORM[1] for start in _washes(ran)),
    }


def _washes(ran: Ran) -> list[float]:
    """When washes started [d]."""
    return [run.end_s / DAY for run in ran.result.runs if run.cause is not None]


def course(ran: Ran) -> tuple[pd.DataFrame, tuple[float, ...]]:
    """Around the storm: feed and outlet solids [mg/L] and pressure drop [kPa] by day; the days of its washes.

    Where the filter is not in service there is nothing.
    """
    start, end = (day * DAY for day in DRAWN_DAYS)
    times = {start + place * STEP for place in range(int((end - start) / STEP) + 1)}
    for run in ran.result.runs:
        times |= {time for time in (run.end_s, run.end_s + 1.0, run.start_s + 60.0) if start <= time <= end}
    samples = trace(ran.case, ran.result.policy, times=sorted(times), seed=SEED)
    columns = ["day", "feed", "outlet", "pressure"]
    values = [(each.time_s / DAY, each.inlet_mg_l, each.outlet_mg_l, each.signal_kpa) for each in samples]
    table = pd.DataFrame(values, columns=columns)
    table.loc[[sample.phase != "service" for sample in samples], columns[1:]] = float("nan")
    return table, tuple(day for day in _washes(ran) if DRAWN_DAYS[0] <= day <= DRAWN_DAYS[1])


def hours(studied: Studied, display: Display) -> dict[str, Number]:
    """Time over the limit with each way to start a wash, as text, the least first."""
    texts = display.texts([row["over_limit_h"] for row in studied.rows], "hours")
    pairs = sorted(zip(studied.rows, texts, strict=True), key=lambda pair: pair[0]["over_limit_h"] or 0.0)
    return {row["policy"]: text for row, text in pairs}


def sentences(studied: Studied, display: Display) -> Iterator[Sentence]:
    """Who went over the limit and who never did; the washes in the storm."""
    never = [row["policy"] for row in studied.rows if not row["over_limit_h"]]
    above = [f"{name} ({text} h)" for name, text in hours(studied, display).items() if name not in never]
    if above:
        yield say("storm_lesson.over", ways=items(above))
    if never:
        yield say("storm_lesson.never", ways=items(never))
    met = [f"{row['policy']} ({row['washes_in_the_storm']})" for row in studied.rows]
    yield say("storm_lesson.washes", ways=items(met))
    yield say("storm_lesson.depends")


def picture(studied: Studied, display: Display) -> StormWall:
    """Feed, solids sent on and pressure drop, each way to start a wash beside the others."""
    over = hours(studied, display)
    names = list(over)
    least, most = names[0], names[-1]
    courses: list[StormCourse] = []
    for row, (table, washes) in zip(studied.rows, studied.drawn, strict=True):
        shown = table.assign(pressure=table["pressure"] * display.factor("pressure"))
        policy = row["policy"]
        courses.append(StormCourse(policy=policy, table=shown, washes=washes, over=amount(over[policy], "h")))
    return StormWall(
        title=label(
            "storm_lesson.wall", length=in_days(studied.case.run.length / DAY), most=amount(over[most], "h"),
            worst=Name(most), least=amount(over[least], "h"), best=Name(least),
        ),
        courses=tuple(courses),
        feed=display.measure(label("lesson.feed"), "solids"),
        solids=display.measure(label("lesson.solids_on"), "solids"),
        pressure=display.measure(label("lesson.pressure"), "pressure"),
        limit=studied.case.stages[0].limit,
    )


LESSON: Final = Lesson(
    name="storm",
    files=("storm.toml", "storm.csv"),
    situation=lambda case, display: (say("storm_lesson.filter"), say("storm_lesson.pulse")),
    question=lambda: say("storm_lesson.question"),
    again="compare {case}",
    ways=tuple(Way(name=each, policy=each) for each in POLICIES),
    figures=figures,
    drawn=course,
    columns=(
        Shown(head=lambda unit: label("storm_lesson.way"), holds="words", key="policy"),
        Shown(head=lambda unit: label("lesson.over", unit=unit), key="over_limit_h", quantity="hours"),
        Shown(head=lambda unit: label("storm_lesson.to_service", unit=unit), key="solids_to_service_kg",
              quantity="mass"),
        Shown(head=lambda unit: label("storm_lesson.highest", unit=unit), key="peak_dp_kpa", quantity="pressure"),
        Shown(head=lambda unit: label("lesson.washes"), key="washes"),
        Shown(head=lambda unit: label("storm_lesson.in_the_storm"), key="washes_in_the_storm"),
    ),
    sentences=sentences,
    picture=picture,
)  # fmt: skip
