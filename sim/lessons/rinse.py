"""Lesson: the same backwash followed by rinses of several lengths, and the water that goes to service after each."""

from collections.abc import Iterator
from typing import Final

import pandas as pd

from plots.wall_inputs import RinseWall
from plots.words import Sentence, amount, label, say
from sim.case.units import MINUTE
from sim.lessons.lesson import SEED, Display, Lesson, Ran, Row, Shown, Studied, Way, of_each
from sim.plant.trace import trace

KEY: Final = "stage.sand.step.rinse.minutes"
MINUTES: Final = (0, 3, 7, 11)
GRAMS_A_KILOGRAM, MINUTES_AN_HOUR = 1e3, 60.0
DRAWN_RUN: Final = 8  # the return to service that is drawn: the bed has long settled into its rhythm
DRAWN_SECONDS: Final = (1.0, *(10.0 * place for place in range(1, 91)))


def figures(ran: Ran) -> Row:
    """Means of a wash, but for the highest concentration, which is the drawn return's.

    The water sent on counts as dirty above that of a rinsed, ripened bed, as `dirty_water_kg` does.
    """
    washes = ran.number("washes")
    return {
        "rinse_min": ran.way.settings[KEY],
        "dirty_water_g_a_wash": of_each(ran.number("dirty_water_kg"), washes) * GRAMS_A_KILOGRAM,
        "dirty_water_min_a_wash": of_each(ran.number("dirty_water_min"), washes),
        "dirty_water_peak_mg_l": max(after_return(ran)),
        "over_limit_min_a_wash": of_each(ran.number("over_limit_h"), washes) * MINUTES_AN_HOUR,
        "drain_m3_a_wash": of_each(ran.number("drain_m3"), washes),
    }


def after_return(ran: Ran) -> tuple[float, ...]:
    """Solids in the water sent on at DRAWN_SECONDS after the drawn return [mg/L]."""
    start = next(run.start_s for run in ran.result.runs if run.number == DRAWN_RUN)
    times = [start + seconds for seconds in DRAWN_SECONDS]
    return tuple(sample.outlet_mg_l for sample in trace(ran.case, ran.result.policy, times=times, seed=SEED))


def sentences(studied: Studied, display: Display) -> Iterator[Sentence]:
    """What a longer rinse costs and keeps back: 7 minutes against none, then 11 against 7."""
    none, _, some, long = studied.rows
    pairs = ((none, some), (some, long))
    kept = [before["dirty_water_g_a_wash"] - after["dirty_water_g_a_wash"] for before, after in pairs]
    spent = [after["drain_m3_a_wash"] - before["drain_m3_a_wash"] for before, after in pairs]
    keeps = display.amounts([each / GRAMS_A_KILOGRAM for each in kept], "small mass")
    costs = display.amounts(spent, "volume")
    before, after = display.texts([each["dirty_water_peak_mg_l"] for each in (none, some)], "solids")
    minutes, longer = some["rinse_min"], long["rinse_min"]
    yield say("rinse_lesson.gained", minutes=minutes, cost=costs[0], kept=keeps[0], before=before,
              after=amount(after, "mg/L"))  # fmt: skip
    yield say("rinse_lesson.further", minutes=minutes, longer=longer, cost=costs[1], kept=keeps[1])
    yield say("rinse_lesson.depends")


def picture(studied: Studied, display: Display) -> RinseWall:
    """A curve after each return, and two figures as bars."""
    kilograms = [studied.rows[place]["dirty_water_g_a_wash"] / GRAMS_A_KILOGRAM for place in (0, 2)]
    none, some = display.amounts(kilograms, "small mass")
    return RinseWall(
        title=label("rinse_lesson.wall", none=none, minutes=studied.rows[2]["rinse_min"], some=some),
        after_return=pd.DataFrame(
            {way.name: values for way, values in zip(studied.lesson.ways, studied.drawn, strict=True)},
            index=[seconds / MINUTE for seconds in DRAWN_SECONDS],
        ),
        solids=display.measure(label("rinse_lesson.sent_on"), "solids"),
        limit=studied.case.stages[0].limit,
        bars=(
            studied.bars(label("rinse_lesson.after_a_wash"), "dirty_water_g_a_wash", display),
            studied.bars(label("rinse_lesson.to_drain"), "drain_m3_a_wash", display),
        ),
    )


LESSON: Final = Lesson(
    name="rinse",
    files=("rinse.toml",),
    situation=lambda case, display: (say("rinse_lesson.washed"), say("rinse_lesson.rinsed")),
    question=lambda: say("rinse_lesson.question"),
    again=f"sweep {{case}} --vary {KEY}={','.join(map(str, MINUTES))}",
    ways=tuple(Way(name=f"{each} min", settings={KEY: each}) for each in MINUTES),
    figures=figures,
    drawn=after_return,
    columns=(
        Shown(head=lambda unit: label("rinse_lesson.minutes"), key="rinse_min"),
        Shown(head=lambda unit: label("rinse_lesson.dirty"), key="dirty_water_min_a_wash", quantity="minutes"),
        Shown(head=lambda unit: label("rinse_lesson.solids"), key="dirty_water_g_a_wash", quantity="small mass",
              scale=1e-3),
        Shown(head=lambda unit: label("rinse_lesson.highest"), key="dirty_water_peak_mg_l", quantity="solids"),
        Shown(head=lambda unit: label("rinse_lesson.over"), key="over_limit_min_a_wash", quantity="minutes"),
        Shown(head=lambda unit: label("rinse_lesson.drain", unit=unit), key="drain_m3_a_wash", quantity="volume"),
    ),
    sentences=sentences,
    picture=picture,
)
