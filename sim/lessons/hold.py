"""Lesson: a pressure switch ahead of a unit that stops and goes, with holds from nothing to 35 minutes."""

from typing import Any, Final

import pandas as pd

from plots.wall_inputs import HoldWall
from sim.case.records import Case
from sim.case.units import PA_PER_KPA
from sim.lessons.lesson import Display, Lesson, Ran, Row, Shown, Studied, Way, listed, of_each
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
        "breach_h": ran.number("breach_h"),
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


def facts(studied: Studied, display: Display) -> dict[str, Any]:
    """Sentences on holds that are too short and too long, where there are any, and those between."""
    early = [f"{row['early']} of {row['by_switch']} with {row['hold']}" for row in studied.rows if row["early"]]
    never = [f"{row['missed']} times with {row['hold']}" for row in studied.rows if row["by_switch"] == 0]
    told = {"too_short": "", "too_long": "", "between": listed(window(studied) or ["none"])}
    if early:
        told["too_short"] = f"Washes set off by a spike alone, while the beds still had room: {listed(early)}."
    if never:
        told["too_long"] = (
            f"The unit runs {studied.drawn[-1]:.0f} min at a time. A longer hold never ends: the pressure drop came "
            f"to the set point {listed(never)} and the switch started no wash."
        )
    return told


def title(studied: Studied) -> str:
    """What the picture says."""
    works = window(studied)
    if not works:
        return "No hold tried here is long enough for the spikes and short enough for the unit"
    between = f"from {works[0]} to {works[-1]}" if len(works) > 1 else works[0]
    return f"A hold {between} lets spikes pass and is over before the unit stops, after {studied.drawn[-1]:.0f} min"


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
        pressure=display.measure("pressure drop at the wash", "pressure"),
        set_point=set_point(studied.case)["set_point_kpa"] * display.factor("pressure"),
    )


LESSON: Final = Lesson(
    name="hold",
    files=("hold.toml",),
    situation=(
        "A pressure switch starts the washes of a filter; every start of the unit behind it knocks on the gauge.",
        "The unit has a small tank, so it stops and goes, and while it stands the pressure drop is gone. The switch "
        "must be on for 0 s to 35 min.",
    ),
    question="A short hold takes a knock for a loaded bed; a long one waits for what never lasts so long. Which "
    "holds lie between?",
    again=f"sweep {{case}} --vary '{KEY}={','.join(HOLDS)}' --show early_triggers --show missed_triggers",
    ways=tuple(Way(name=each, settings={KEY: each}) for each in HOLDS),
    figures=figures,
    drawn=on_min,
    common=set_point,
    columns=(
        Shown(head="hold", key="hold"),
        Shown(head="washes by the switch", key="by_switch"),
        Shown(head="set off by a spike alone", key="early"),
        Shown(head="washes by the longest run", key="by_longest_run"),
        Shown(head="set point passed without a wash", key="missed"),
        Shown(head="set point, {unit}", key="set_point_kpa", quantity="pressure"),
        Shown(head="pressure drop at the wash, {unit}", key="at_the_wash_kpa", quantity="pressure"),
        Shown(head="over the limit, h", key="breach_h", quantity="hours"),
        Shown(head="water to drain, {unit}", key="drain_m3", quantity="volume"),
    ),
    facts=facts,
    sentences=(
        "{too_short}",
        "{too_long}",
        "Between them: {between}. How wide that window is depends on the tank and on the spikes: here they are those "
        "of one invented plant.",
    ),
    picture=picture,
)
