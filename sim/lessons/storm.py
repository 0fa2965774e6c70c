"""Lesson: one given pulse of solids in the feed, and what four ways to start a wash make of it."""

from collections.abc import Iterator
from typing import Final

import pandas as pd

from plots.wall_inputs import StormCourse, StormWall
from plots.words import Name, Number, Sentence, amount, in_days, items, label, say, term
from sim.case.records import Case
from sim.case.units import DAY, HOUR, PA_PER_KPA, PRESSURE, parse_quantity
from sim.lessons.lesson import SEED, Display, Guess, Lesson, Ran, Row, Shown, Studied, Way, by_compare, least
from sim.plant.trace import trace
from sim.plant.triggers import pressure_set
from sim.study.single import triggers_of

DRAWN_DAYS: Final = (7.0, 13.0)
STEP: Final = HOUR / 2.0
STORM: Final = (8.0, 10.5)
"""From when to when the feed carries the pulse [d from the start]; in that time washes count as in the storm."""

POLICIES: Final = ("calendar", "volume", "volume with reserve", "pressure drop")
LATER: Final = ("27 kPa", "30 kPa", "33 kPa", "36 kPa", "39 kPa", "42 kPa")
LATE_SET: Final = "42 kPa"
LATE: Final = Way(
    name="pressure drop, set late", policy="pressure drop", settings={"policy.pressure drop.filter.above": LATE_SET}
)
"""Its set point is reached when the bed has let too much through already; it is in the table and not drawn."""

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


def compared(studied: Studied) -> list[Row]:
    """The ways that are set for the water between storms."""
    return [row for row in studied.rows if row["policy"] != LATE.name]


def hours(studied: Studied, display: Display) -> dict[str, Number]:
    """Time over the limit with each way to start a wash, as text, the least first."""
    rows = compared(studied)
    texts = display.texts([row["over_limit_h"] for row in rows], "hours")
    pairs = sorted(zip(rows, texts, strict=True), key=lambda pair: pair[0]["over_limit_h"] or 0.0)
    return {row["policy"]: text for row, text in pairs}


def sentences(studied: Studied, display: Display) -> Iterator[Sentence]:
    """Who went over the limit and who never did; the washes in the storm; what a late set point does."""
    rows = compared(studied)
    never = [row["policy"] for row in rows if not row["over_limit_h"]]
    above = [f"{name} ({text} h)" for name, text in hours(studied, display).items() if name not in never]
    if above:
        yield say("storm_lesson.over", ways=items(above))
    if never:
        yield say("storm_lesson.never", ways=items(never))
    met = [f"{row['policy']} ({row['washes_in_the_storm']})" for row in rows]
    yield say("storm_lesson.washes", ways=items(met))
    for row in studied.rows:
        if row["policy"] == LATE.name:
            own = pressure_set(triggers_of(studied.case, "pressure drop")["filter"]) / PA_PER_KPA
            late = parse_quantity(LATE_SET, PRESSURE) / PA_PER_KPA
            before, after = display.amounts([own, late], "pressure")
            (over,) = display.amounts([row["over_limit_h"]], "hours")
            yield say("storm_lesson.late", own=before, late=after, over=over)


def tries(lesson: Lesson, case: Case) -> list[Way]:
    """Later and later set points, then a calendar of every day."""
    key = "policy.pressure drop.filter.above"
    later = [Way(name=each, policy="pressure drop", settings={key: each}) for each in LATER]
    return [*later, Way(name="every day", policy="calendar", settings={"policy.calendar.filter.every": "1 d"})]


def tried(studied: Studied, display: Display) -> Iterator[Sentence]:
    """The first set point with which the switch does worse than the calendar; what a wash every day costs."""
    calendar, *_ = studied.rows
    *later, daily = studied.tries
    for row in [each for each in later if each["over_limit_h"] > calendar["over_limit_h"]][:1]:
        over = display.amounts([row["over_limit_h"], calendar["over_limit_h"]], "hours")
        (at,) = display.amounts([parse_quantity(row["policy"], PRESSURE) / PA_PER_KPA], "pressure")
        yield say("storm_lesson.worse_from", at=at, over=over[0], calendar=over[1])
    drain = display.amounts([daily["drain_m3"], calendar["drain_m3"]], "volume")
    over = display.amounts([daily["over_limit_h"], calendar["over_limit_h"]], "hours")
    yield say("storm_lesson.daily", drain=drain[0], drain_own=drain[1], over=over[0], over_own=over[1])


def picture(studied: Studied, display: Display) -> StormWall:
    """Feed, solids sent on and pressure drop, each way to start a wash beside the others."""
    over = hours(studied, display)
    names = list(over)
    least, most = names[0], names[-1]
    courses: list[StormCourse] = []
    for row, (table, washes) in zip(studied.rows, studied.drawn, strict=True):
        if row["policy"] == LATE.name:
            continue
        shown = table.assign(pressure=table["pressure"] * display.factor("pressure"))
        policy = row["policy"]
        courses.append(StormCourse(policy=policy, table=shown, washes=washes, over=amount(over[policy], "h")))
    return StormWall(
        title=label(
            "storm_lesson.wall", plant=studied.plant, length=in_days(studied.case.run.length / DAY),
            most=amount(over[most], "h"), worst=Name(most), least=amount(over[least], "h"), best=Name(least),
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
    guess=Guess(
        asks=lambda: say("storm_lesson.asks"),
        options=lambda lesson, case, display: POLICIES,
        right=lambda studied: least([row["over_limit_h"] for row in compared(studied)]),
    ),
    now=lambda: say("storm_lesson.now"),
    tries=tries,
    tried=tried,
    where="start",
    again="compare {case}",
    ways=(*(Way(name=each, policy=each) for each in POLICIES), LATE),
    figures=figures,
    drawn=course,
    columns=(
        Shown(head=lambda unit: label("storm_lesson.way"), holds="words", key="policy",
              text=lambda way, display: term("lesson_way", way) if way == LATE.name else str(way)),
        Shown(head=lambda unit: label("lesson.over", unit=unit), key="over_limit_h", quantity="hours"),
        Shown(head=lambda unit: label("storm_lesson.to_service", unit=unit), key="solids_to_service_kg",
              quantity="mass"),
        Shown(head=lambda unit: label("storm_lesson.highest", unit=unit), key="peak_dp_kpa", quantity="pressure"),
        Shown(head=lambda unit: label("lesson.washes"), key="washes"),
        Shown(head=lambda unit: label("storm_lesson.in_the_storm"), key="washes_in_the_storm"),
    ),
    sentences=sentences,
    depends=lambda: say("storm_lesson.depends"),
    picture=picture,
    own=by_compare,
)  # fmt: skip
