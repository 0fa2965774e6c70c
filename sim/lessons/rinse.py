"""Lesson: the same backwash followed by rinses of several lengths, and the water that goes to service after each."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

import numpy as np
import pandas as pd

from plots.wall_inputs import RinseWall
from plots.words import Sentence, amount, label, say
from sim.case.records import Case
from sim.case.units import MINUTE
from sim.lessons.lesson import SEED, Display, Guess, Lesson, Ran, Row, Shown, Studied, Way, first, of_each
from sim.plant.trace import trace
from sim.study.returned import after_wash

KEY: Final = "stage.{place}.step.rinse.minutes"
MINUTES: Final = (0, 3, 7, 11)
GRAMS_A_KILOGRAM, MINUTES_AN_HOUR = 1e3, 60.0
HALF: Final = "half"
DRAWN_RUN: Final = 8  # the return to service that is drawn: the bed has long settled into its rhythm
DRAWN_SECONDS: Final = (1.0, *(10.0 * place for place in range(1, 91)))
KEPT_BACK: Final = 0.1  # of what goes on without a rinse: so much is hardly any


def figures(ran: Ran) -> Row:
    """Means of a wash.

    The water sent on counts as dirty above that of a rinsed, ripened bed, as `dirty_water_kg` does.
    """
    washes = ran.washes
    minutes, *_ = ran.way.settings.values()
    left = [run.residual_g_m2 for run in ran.result.runs if run.stage == ran.stage and run.number > 1]
    return {
        "rinse_min": minutes,
        "half": ran.way.name == HALF,
        "dirty_water_g_a_wash": of_each(ran.of_stage("dirty_water_kg"), washes) * GRAMS_A_KILOGRAM,
        "dirty_water_min_a_wash": of_each(ran.of_stage("dirty_water_min"), washes),
        "over_limit_min_a_wash": of_each(ran.of_stage("over_limit_h"), washes) * MINUTES_AN_HOUR,
        "drain_m3_a_wash": of_each(ran.of_stage("drain_m3"), washes),
        "left_g_m2": of_each(sum(left), len(left)),
    }


def after_return(ran: Ran) -> tuple[float, ...]:
    """Solids in the water sent on at DRAWN_SECONDS after the drawn return [mg/L]."""
    start = next(run.start_s for run in ran.result.runs if run.number == DRAWN_RUN)
    times = [start + seconds for seconds in DRAWN_SECONDS]
    return tuple(sample.outlet_mg_l for sample in trace(ran.case, ran.result.policy, times=times, seed=SEED))


def after_first_wash(ran: Ran) -> tuple[float, ...]:
    """The same once water flows again after the first wash of a plant of one's own."""
    minutes, solids = zip(*after_wash(ran.case, ran.result.policy, ran.stage, seed=SEED).outlet, strict=True)
    return tuple(map(float, np.interp([each / MINUTE for each in DRAWN_SECONDS], minutes, solids)))


def shortest(studied: Studied) -> int | None:
    """The shortest rinse of these after which hardly any goes on to service."""
    grams = [row["dirty_water_g_a_wash"] for row in studied.rows]
    return first([each <= KEPT_BACK * grams[0] for each in grams])


def own(case: Case) -> Lesson | Sentence:
    """The first filter of a plant that has a limit, a rinse, and one way to name it."""
    for place, stage in enumerate(case.stages):
        if stage.limit is not None and [step.do for step in stage.steps].count("rinse") == 1:
            ways_there = ways(KEY.format(place=place))
            return replace(LESSON, ways=ways_there, stage=stage.name, drawn=after_first_wash)
    return say("rinse_lesson.own")


def ways(key: str) -> tuple[Way, ...]:
    """A rinse of several lengths."""
    return tuple(Way(name=f"{each} min", settings={key: each}) for each in MINUTES)


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


def tries(lesson: Lesson, case: Case) -> list[Way]:
    """Every whole minute between; where there is one backwash, the longest rinse after half of it."""
    (key,) = lesson.ways[0].settings
    between = [Way(name=f"{each} min", settings={key: each}) for each in range(MINUTES[-1]) if each not in MINUTES]
    washes = [step.seconds / MINUTE for step in lesson.about(case).steps if step.do == "backwash"]
    if len(washes) != 1:
        return between
    half = {key: MINUTES[-1], key.replace("rinse", "backwash"): washes[0] / 2.0}
    return [*between, Way(name=HALF, settings=half)]


def tried(studied: Studied, display: Display) -> Iterator[Sentence]:
    """The shortest of all these rinses that will do; what half the backwash leaves in the bed and sends on."""
    grams = {row["rinse_min"]: row["dirty_water_g_a_wash"]
             for row in (*studied.rows, *studied.tries) if not row["half"]}  # fmt: skip
    kept = [minutes for minutes in grams if grams[minutes] <= KEPT_BACK * grams[0]]
    fewest = min(kept, default=MINUTES[-1])
    texts = display.amounts([grams[each] / GRAMS_A_KILOGRAM for each in (fewest, 0)], "small mass")
    which = say("rinse_lesson.fewest", minutes=fewest, sent=texts[0], unrinsed=texts[1])
    yield which if kept else say("rinse_lesson.none_so_few", minutes=fewest, sent=texts[0], unrinsed=texts[1])
    for half in (row for row in studied.tries if row["half"]):
        whole, area = studied.rows[-1], studied.stage.vessel.area
        pairs = [(row["left_g_m2"] * area, row["dirty_water_g_a_wash"]) for row in (half, whole)]
        left, sent = (display.amounts([each / GRAMS_A_KILOGRAM for each in those], "small mass")
                      for those in zip(*pairs, strict=True))  # fmt: skip
        yield say("rinse_lesson.halved", minutes=half["rinse_min"], left=left[0], left_whole=left[1], sent=sent[0],
                  sent_whole=sent[1])  # fmt: skip


def picture(studied: Studied, display: Display) -> RinseWall:
    """A curve after each return, and two figures as bars."""
    kilograms = [studied.rows[place]["dirty_water_g_a_wash"] / GRAMS_A_KILOGRAM for place in (0, 2)]
    none, some = display.amounts(kilograms, "small mass")
    return RinseWall(
        title=label("rinse_lesson.wall", plant=studied.plant, none=none, minutes=studied.rows[2]["rinse_min"],
                    some=some),
        after_return=pd.DataFrame(
            {way.name: values for way, values in zip(studied.lesson.ways, studied.drawn, strict=True)},
            index=[seconds / MINUTE for seconds in DRAWN_SECONDS],
        ),
        solids=display.measure(label("rinse_lesson.sent_on"), "solids"),
        limit=studied.stage.limit,
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
    guess=Guess(
        asks=lambda: say("rinse_lesson.asks"),
        options=lambda lesson, case, display: [each.name for each in lesson.ways],
        right=shortest,
        or_none=True,
    ),
    now=lambda: say("rinse_lesson.now"),
    tries=tries,
    tried=tried,
    where="rinse",
    again=f"sweep {{case}} --vary 'stage.sand.step.rinse.minutes={','.join(map(str, MINUTES))}'",
    ways=ways(KEY.format(place=0)),
    figures=figures,
    drawn=after_return,
    read=lambda curve: {"dirty_water_peak_mg_l": max(curve)},
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
    depends=lambda: say("rinse_lesson.depends"),
    picture=picture,
    own=own,
)
