"""Lesson: one given pulse of solids in the feed, and what four ways to start a wash make of it."""

from typing import Final

import pandas as pd

from plots.wall_inputs import StormCourse, StormWall
from sim.case.units import DAY, HOUR
from sim.lessons.lesson import SEED, Display, Lesson, Ran, Row, Shown, Studied, Way, listed
from sim.plant.trace import trace

DRAWN_DAYS: Final = (7.0, 13.0)
STEP: Final = HOUR / 2.0
STORM: Final = (8.0, 10.5)
"""From when to when the feed carries the pulse [d from the start]; in that time washes count as in the storm."""

POLICIES: Final = ("calendar", "volume", "volume with reserve", "pressure drop")
FIGURES: Final = ("breach_h", "solids_to_service_kg", "peak_dp_kpa", "washes", "drain_m3")


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


def hours(studied: Studied, display: Display) -> dict[str, str]:
    """Time over the limit with each way to start a wash, as text, the least first."""
    texts = display.texts([row["breach_h"] for row in studied.rows], "hours")
    pairs = sorted(zip(studied.rows, texts, strict=True), key=lambda pair: pair[0]["breach_h"] or 0.0)
    return {row["policy"]: text for row, text in pairs}


def facts(studied: Studied, display: Display) -> dict[str, str]:
    """Who went over the limit and who never did; the washes in the storm."""
    never = [row["policy"] for row in studied.rows if not row["breach_h"]]
    above = [f"{name} for {text} h" for name, text in hours(studied, display).items() if name not in never]
    kept = f"{listed(never)} never" if never else ""
    went = f"over the limit: {listed(above)}" if above else ""
    return {
        "over": "; ".join(part for part in (went, kept) if part),
        "met": listed([f"{row['washes_in_the_storm']} with {row['policy']}" for row in studied.rows]),
    }


def picture(studied: Studied, display: Display) -> StormWall:
    """Feed, solids sent on and pressure drop, each way to start a wash beside the others."""
    over = hours(studied, display)
    names = list(over)
    least, most = names[0], names[-1]
    courses: list[StormCourse] = []
    for row, (table, washes) in zip(studied.rows, studied.drawn, strict=True):
        shown = table.assign(pressure=table["pressure"] * display.factor("pressure"))
        policy = row["policy"]
        courses.append(StormCourse(policy=policy, table=shown, washes=washes, told=f"{over[policy]} h"))
    return StormWall(
        title=f"One storm in {studied.case.run.length / DAY:g} days: {over[most]} h over the limit where the {most} "
        f"starts the wash, {over[least]} h where the {least} does",
        courses=tuple(courses),
        feed=display.measure("solids in the feed", "solids"),
        solids=display.measure("solids sent on", "solids"),
        pressure=display.measure("pressure drop", "pressure"),
        limit=studied.case.stages[0].limit,
    )


LESSON: Final = Lesson(
    name="storm",
    files=("storm.toml", "storm.csv"),
    situation=(
        "A filter on a stream, 18 days; four ways to start a wash, each set for the water between storms.",
        "On the ninth day one pulse of solids comes down the stream, for about two days, the same for all.",
    ),
    question="A calendar, a meter and a pressure gauge: which of them can notice that the water has changed, and who "
    "goes over the limit for how long?",
    again="compare {case}",
    ways=tuple(Way(name=each, policy=each) for each in POLICIES),
    figures=figures,
    drawn=course,
    columns=(
        Shown(head="what starts a wash", holds="words", key="policy"),
        Shown(head="over the limit, {unit}", key="breach_h", quantity="hours"),
        Shown(head="solids sent to service, {unit}", key="solids_to_service_kg", quantity="mass"),
        Shown(head="highest pressure drop, {unit}", key="peak_dp_kpa", quantity="pressure"),
        Shown(head="washes", key="washes"),
        Shown(head="in the storm", key="washes_in_the_storm"),
    ),
    facts=facts,
    sentences=(
        "In the whole run {over}.",
        "Washes that started while the pulse passed: {met}.",
        "A storm is one given pulse here. Had it come at another hour after a wash, or been larger, the figures and "
        "their order could be others.",
    ),
    picture=picture,
)
