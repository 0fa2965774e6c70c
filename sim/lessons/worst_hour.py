"""Lesson: two vessels of carbon at one depth and at twice as much, washed in the peak of the day and at night."""

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from plots.wall_inputs import BarsWall
from plots.words import Amount, Label, Sentence, in_days, label, say, term
from sim.case.records import Case
from sim.case.units import DAY
from sim.lessons.lesson import Display, Guess, Lesson, Ran, Row, Shown, Studied, Way, by_compare, least, of_each

KEY: Final = "stage.carbon.layer.carbon.depth"
PEAK, NIGHT = "washed in the peak", "washed at night"
DEPTHS: Final = ("0.45 m", "0.9 m")
HALF: Final = "0.225 m"
MORE: Final = ("0.5 m", "0.55 m", "0.6 m", "0.7 m", "0.8 m", "0.9 m")
GRAMS_A_KILOGRAM: Final = 1e3
TIMES: Final = (2, 8, 40, 200)  # the mean: what there is to guess


def figures(ran: Ran) -> Row:
    """Chlorine behind the carbon: the mean of all its water and the highest; and of what comes, the share that is.

    `mean_mg_l` is what a sample made up of all the water of the run would show.
    """
    solutes = ran.result.solutes["site"]["free_chlorine"]
    comes = of_each(solutes["in"] * GRAMS_A_KILOGRAM, _taken_up(ran))
    worst = ran.number("oxidant_peak_mg_l")
    return {
        "depth_m": ran.case.stages[0].layers[0].depth,
        "washed": ran.way.policy,
        "mean_mg_l": of_each(solutes["to_service"] * GRAMS_A_KILOGRAM, ran.number("treated_m3")),
        "worst_mg_l": worst,
        "passing_share": of_each(worst, comes),
        "over_h": ran.number("oxidant_over_h"),
    }


def _taken_up(ran: Ran) -> float:
    """The water that brought the chlorine [m3]: that sent on, and the rinses."""
    return ran.number("treated_m3") + ran.number("rinse_m3")



def nearest(studied: Studied) -> int:
    """The place of the guess nearest to what the worst hour has of the mean, by factors."""
    peak = studied.rows[0]
    times = of_each(peak["worst_mg_l"], peak["mean_mg_l"])
    return least([abs(math.log(each / times)) for each in TIMES])


def named(row: Row, display: Display) -> Label:
    """A way by the depth of its carbon and the hour of its washes."""
    (depth,) = display.amounts([row["depth_m"]], "length")
    return label("worst_lesson.named", depth=depth, washed=term("lesson_way", row["washed"]))


def sentences(studied: Studied, display: Display) -> Iterator[Sentence]:
    """The worst hour against the mean, then the other hour, then twice the depth."""
    peak, night, deep, _ = studied.rows
    depths = display.amounts([peak["depth_m"], deep["depth_m"]], "length")
    mean, worst, by_night, limit = display.amounts(
        [peak["mean_mg_l"], peak["worst_mg_l"], night["worst_mg_l"], limit_of(studied)], "dissolved"
    )
    over = display.amounts([row["over_h"] for row in studied.rows], "hours")
    times = round(of_each(peak["worst_mg_l"], peak["mean_mg_l"]))
    yield say("worst_lesson.hour", depth=depths[0], mean=mean, worst=worst, times=times, limit=limit, over=over[0],
              length=length(studied))  # fmt: skip
    yield say("worst_lesson.night", worst=by_night, over=over[1])
    share, squared = display.amounts([peak["passing_share"], deep["passing_share"]], "share")
    yield say("worst_lesson.twice", depth=depths[0], share=share, deep=depths[1], squared=squared)


def tries(lesson: Lesson, case: Case) -> list[Way]:
    """Half the lesser depth washed at night, then more and more carbon washed in the peak."""
    half = Way(name=HALF, settings={KEY: HALF}, policy=NIGHT)
    return [half, *(Way(name=each, settings={KEY: each}, policy=PEAK) for each in MORE)]


def tried(studied: Studied, display: Display) -> Iterator[Sentence]:
    """Whether half the carbon is enough at night, and the least of these depths that is in the peak."""
    half, *more = studied.tries
    (worst,), (over,) = display.amounts([half["worst_mg_l"]], "dissolved"), display.amounts([half["over_h"]], "hours")
    (depth,) = display.amounts([half["depth_m"]], "length")
    yield say("worst_lesson.half", depth=depth, worst=worst, over=over)
    kept = [row["depth_m"] for row in more if not row["over_h"]]
    (most,) = display.amounts([min(kept, default=more[-1]["depth_m"])], "length")
    yield say("worst_lesson.enough", depth=most) if kept else say("worst_lesson.not_enough", depth=most)


def limit_of(studied: Studied) -> float:
    """Of chlorine behind the carbon [mg/L]."""
    limit = studied.case.stages[0].limits.chlorine
    assert limit is not None
    return limit


def length(studied: Studied) -> Amount:
    """Of the runs."""
    return in_days(round(studied.case.run.length / DAY))


def picture(studied: Studied, display: Display) -> BarsWall:
    """The mean and the worst hour on one scale, and the hours over the limit."""
    peak = studied.rows[0]
    mean, worst = display.amounts([peak["mean_mg_l"], peak["worst_mg_l"]], "dissolved")
    names = [named(row, display) for row in studied.rows]
    most = max(row["worst_mg_l"] for row in studied.rows)
    return BarsWall(
        title=label("worst_lesson.wall", plant=studied.plant, mean=mean, worst=worst),
        bars=(
            replace(studied.bars(label("worst_lesson.mean"), "mean_mg_l", display, names), most=most),
            replace(studied.bars(label("worst_lesson.worst"), "worst_mg_l", display, names), most=most),
            studied.bars(label("worst_lesson.over_in", length=length(studied)), "over_h", display, names),
        ),
    )


LESSON: Final = Lesson(
    name="worst-hour",
    files=("worst_hour.toml",),
    situation=lambda case, display: (say("worst_lesson.vessels"), say("worst_lesson.peak")),
    question=lambda: say("worst_lesson.question"),
    guess=Guess(
        asks=lambda: say("worst_lesson.asks"),
        options=lambda lesson, case, display: [label("worst_lesson.times", times=each) for each in TIMES],
        right=nearest,
    ),
    now=lambda: say("worst_lesson.now"),
    tries=tries,
    tried=tried,
    where="plant",
    again=f"sweep {{case}} --vary {KEY}='{','.join(DEPTHS)}' --show oxidant_peak_mg_l --show oxidant_over_h",
    ways=tuple(
        Way(name=f"{depth}, {policy}", settings={KEY: depth}, policy=policy)
        for depth in DEPTHS for policy in (PEAK, NIGHT)
    ),
    figures=figures,
    drawn=lambda ran: None,
    columns=(
        Shown(head=lambda unit: label("worst_lesson.depth", unit=unit), key="depth_m", quantity="length"),
        Shown(head=lambda unit: label("worst_lesson.washed"), holds="words", key="washed",
              text=lambda way, display: term("lesson_way", way)),
        Shown(head=lambda unit: label("worst_lesson.mean_in", unit=unit), key="mean_mg_l", quantity="dissolved"),
        Shown(head=lambda unit: label("worst_lesson.worst_in", unit=unit), key="worst_mg_l", quantity="dissolved"),
        Shown(head=lambda unit: label("worst_lesson.passing", unit=unit), key="passing_share", quantity="share"),
        Shown(head=lambda unit: label("worst_lesson.over", unit=unit), key="over_h", quantity="hours"),
    ),
    sentences=sentences,
    depends=lambda: say("worst_lesson.depends"),
    picture=picture,
    own=by_compare,
)  # fmt: skip
