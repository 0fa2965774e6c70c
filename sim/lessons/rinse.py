"""Lesson: the same backwash followed by rinses of several lengths, and the water that goes to service after each."""

from typing import Final

import pandas as pd

from plots.wall_inputs import RinseWall
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

    The water sent on counts as dirty above that of a rinsed, ripened bed, as `dirty_return_kg` does.
    """
    washes = ran.number("washes")
    return {
        "rinse_min": ran.way.settings[KEY],
        "dirty_return_g_a_wash": of_each(ran.number("dirty_return_kg"), washes) * GRAMS_A_KILOGRAM,
        "dirty_return_min_a_wash": of_each(ran.number("dirty_return_min"), washes),
        "dirty_return_peak_mg_l": max(after_return(ran)),
        "over_limit_min_a_wash": of_each(ran.number("breach_h"), washes) * MINUTES_AN_HOUR,
        "drain_m3_a_wash": of_each(ran.number("drain_m3"), washes),
    }


def after_return(ran: Ran) -> tuple[float, ...]:
    """Solids in the water sent on at DRAWN_SECONDS after the drawn return [mg/L]."""
    start = next(run.start_s for run in ran.result.runs if run.number == DRAWN_RUN)
    times = [start + seconds for seconds in DRAWN_SECONDS]
    return tuple(sample.outlet_mg_l for sample in trace(ran.case, ran.result.policy, times=times, seed=SEED))


def facts(studied: Studied, display: Display) -> dict[str, tuple[str, ...]]:
    """What a longer rinse costs and keeps back: 7 minutes against none, then 11 against 7."""
    none, _, some, long = studied.rows
    pairs = ((none, some), (some, long))
    kept = [before["dirty_return_g_a_wash"] - after["dirty_return_g_a_wash"] for before, after in pairs]
    return {
        "kept": display.texts([each / GRAMS_A_KILOGRAM for each in kept], "small mass"),
        "spent": display.texts([after["drain_m3_a_wash"] - before["drain_m3_a_wash"] for before, after in pairs],
                               "volume"),
        "peaks": display.texts([each["dirty_return_peak_mg_l"] for each in (none, some)], "solids"),
    }  # fmt: skip


def picture(studied: Studied, display: Display) -> RinseWall:
    """A curve after each return, and two figures as bars."""
    kilograms = [studied.rows[place]["dirty_return_g_a_wash"] / GRAMS_A_KILOGRAM for place in (0, 2)]
    grams = display.texts(kilograms, "small mass")
    return RinseWall(
        title=f"Without a rinse {grams[0]} g of solids go on to service after each wash, "
        f"after {studied.rows[2]['rinse_min']} minutes of rinse {grams[1]} g",
        after_return=pd.DataFrame(
            {way.name: values for way, values in zip(studied.lesson.ways, studied.drawn, strict=True)},
            index=[seconds / MINUTE for seconds in DRAWN_SECONDS],
        ),
        solids=display.measure("solids in the water sent on", "solids"),
        limit=studied.case.stages[0].limit,
        bars=(
            studied.bars("solids sent on after a wash", "dirty_return_g_a_wash", display),
            studied.bars("water to drain in a wash", "drain_m3_a_wash", display),
        ),
    )


LESSON: Final = Lesson(
    name="rinse",
    files=("rinse.toml",),
    situation=(
        "A sand filter is washed every night, each time with the same backwash of 9 minutes.",
        "After it comes a rinse to drain of 0, 3, 7 or 11 minutes; then the filter goes back to service.",
    ),
    question="The backwash has left dirty water in the vessel. How many minutes of rinse does it take until hardly "
    "any of it goes on to service, and what do further minutes buy?",
    again=f"sweep {{case}} --vary {KEY}={','.join(map(str, MINUTES))}",
    ways=tuple(Way(name=f"{each} min", settings={KEY: each}) for each in MINUTES),
    figures=figures,
    drawn=after_return,
    columns=(
        Shown(head="rinse, min", key="rinse_min"),
        Shown(head="dirty water sent on, min a wash", key="dirty_return_min_a_wash", quantity="minutes"),
        Shown(head="solids in it, g a wash", key="dirty_return_g_a_wash", quantity="small mass", scale=1e-3),
        Shown(head="highest, mg/L", key="dirty_return_peak_mg_l", quantity="solids"),
        Shown(head="over the limit, min a wash", key="over_limit_min_a_wash", quantity="minutes"),
        Shown(head="water to drain, {unit} a wash", key="drain_m3_a_wash", quantity="volume"),
    ),
    facts=facts,
    sentences=(
        "A rinse of {rinse_min[2]} minutes costs {spent[0]} {unit[volume].symbol} a wash and keeps {kept[0]} g out "
        "of the water sent on, whose highest solids go from {peaks[0]} to {peaks[1]} mg/L.",
        "From {rinse_min[2]} to {rinse_min[3]} minutes it costs {spent[1]} {unit[volume].symbol} more and keeps back "
        "{kept[1]} g more.",
        "How many minutes that takes depends on the vessel, on the flow and on what the backwash leaves: here they "
        "are those of one invented filter.",
    ),
    picture=picture,
)
