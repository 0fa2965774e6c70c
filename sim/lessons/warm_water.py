"""Lesson: one bed washed at two flows, in cold and in warm water: what they lift, what they leave, the runs since."""

from itertools import product
from typing import Final

import pandas as pd

from plots.wall_inputs import Residual, WarmWall
from sim.case.records import Case
from sim.case.stage.records import Stage
from sim.case.units import DAY, FLOW, RATE, TEMPERATURE, parse_quantity
from sim.lessons.lesson import Display, Lesson, Ran, Row, Shown, Studied, Way
from sim.tell.present import degrees, measured
from sim.wash.clean_bed import expanded_bed, expanded_height, packed_depth

TEMPERATURES: Final = ("5 degC", "28 degC")
FLOWS: Final = ("37 m3/h", "20 m3/h")
WATER_KEY: Final = "feed.temperature"
FLOW_KEY: Final = "stage.bed.step.backwash.flow"
DAYS_A_WEEK: Final = 7.0
GRAMS_A_KILOGRAM: Final = 1e3


def figures(ran: Ran) -> Row:
    """One temperature [degC] and one rate of the backwash [m/h].

    What the backwash does to the bed: the share of its depth that it lifts, and its height [m] against the vessel's.
    What the runs gave: their mean [h], washes, the solids that the last wash left in the bed [kg/m3].
    """
    (stage,) = ran.case.stages
    temperature = parse_quantity(str(ran.way.settings[WATER_KEY]), TEMPERATURE)
    flow = parse_quantity(str(ran.way.settings[FLOW_KEY]), FLOW)
    lifted, height = _lifted(stage, flow, temperature)
    return {
        "temperature_degc": temperature,
        "backwash_m_h": flow / stage.vessel.area / RATE.units["m/h"].factor,
        "lifted_share": lifted,
        "expanded_height_m": height,
        "vessel_height_m": stage.vessel.height,
        "mean_run_h": ran.result.site["mean_run_h"],
        "washes": ran.count("washes"),
        "residual_kg_m3": residuals(ran)[-1][1],
    }


def _lifted(stage: Stage, flow: float, temperature: float) -> tuple[float, float]:
    """Share of the bed's depth that an upflow [m3/s] lifts, and the height of the bed in it [m]."""
    layers = expanded_bed(stage, flow, temperature)
    lifted = sum(each.fluidised_share * each.depth for each in layers)
    return lifted / packed_depth(stage), expanded_height(layers)


def residuals(ran: Ran) -> tuple[tuple[float, float], ...]:
    """When each filter run after a wash began [d], and what that wash had left in the bed [kg/m3]."""
    per_depth = packed_depth(ran.case.stages[0]) * GRAMS_A_KILOGRAM
    return tuple((run.start_s / DAY, run.residual_g_m2 / per_depth) for run in ran.result.runs[1:])


def rate(metres_an_hour: float, display: Display) -> str:
    """A rate of the backwash with its unit."""
    return " ".join(measured(metres_an_hour * RATE.units["m/h"].factor, "rate", display.system))


def warmth(temperature: float, display: Display) -> str:
    """A temperature with its unit."""
    return degrees(temperature, display.system)


def change(before: Row, after: Row, whose: str) -> str:
    """What became of the mean run, in whole percent."""
    percent = round(100.0 * (after["mean_run_h"] / before["mean_run_h"] - 1.0))
    if percent == 0:
        return f"leaves {whose} as it is"
    return f"{'shortens' if percent < 0 else 'lengthens'} {whose} by {abs(percent)} %"


def facts(studied: Studied, display: Display) -> dict[str, str]:
    """What the weak backwash changes in either water, and with which ones the bed reaches over its vessel."""
    cold, cold_weak, warm, warm_weak = studied.rows
    (height,) = display.texts([cold["vessel_height_m"]], "length")
    too_high = [
        f"{rate(row['backwash_m_h'], display)} at {warmth(row['temperature_degc'], display)}"
        for row in studied.rows
        if row["expanded_height_m"] > row["vessel_height_m"]
    ]
    return {
        "cold_change": change(cold, cold_weak, "the mean run"),
        "warm_change": change(warm, warm_weak, "it"),
        "vessel": f"The vessel is {height} {display.unit('length')} high",
        "reach": f": the bed reaches over it with {' and with '.join(too_high)}, and grains would go to the drain, "
        "which the runs do not count" if too_high else ", and the bed stays in it each time",
    }  # fmt: skip


def picture(studied: Studied, display: Display) -> WarmWall:
    """What each wash left, cold water beside warm; below, how high each backwash lifts the bed."""
    cold, cold_weak, warm, warm_weak = studied.rows
    strong, weak = (rate(row["backwash_m_h"], display) for row in (cold, cold_weak))
    heights = display.texts([row["expanded_height_m"] for row in studied.rows], "length")
    means = display.texts([row["mean_run_h"] for row in studied.rows], "hours")
    panels: dict[str, list[Residual]] = {}
    for row, mean, height, left in zip(studied.rows, means, heights, studied.drawn, strict=True):
        table = pd.DataFrame(left, columns=["week", "residual"])
        table["week"] /= DAYS_A_WEEK
        name = rate(row["backwash_m_h"], display)
        panels.setdefault(f"water of {warmth(row['temperature_degc'], display)}", []).append(
            Residual(
                name=f"{name}: mean run {mean} h",
                table=table.assign(residual=table["residual"] * display.factor("deposit")),
                height=row["expanded_height_m"] * display.factor("length"),
                height_text=f"{name}: {height} {display.unit('length')}",
            )
        )
    return WarmWall(
        title=f"A backwash of {weak} instead of {strong} {change(cold, cold_weak, 'the mean run')} at "
        f"{warmth(cold['temperature_degc'], display)}, and {change(warm, warm_weak, 'it')} at "
        f"{warmth(warm['temperature_degc'], display)}",
        panels={name: tuple(each) for name, each in panels.items()},
        residual=display.measure("left in the bed by each wash", "deposit"),
        height=display.measure("height in the wash", "length"),
        top=cold["vessel_height_m"] * display.factor("length"),
    )


def given(case: Case, display: Display) -> dict[str, str]:
    """Temperatures and rates as the situation names them."""
    area = case.stages[0].vessel.area
    cold, warm = (warmth(parse_quantity(each, TEMPERATURE), display) for each in TEMPERATURES)
    per_hour = RATE.units["m/h"].factor
    strong, weak = (rate(parse_quantity(each, FLOW) / area / per_hour, display) for each in FLOWS)
    return {"cold": cold, "warm": warm, "strong": strong, "weak": weak}


LESSON: Final = Lesson(
    name="warm-water",
    files=("warm_water.toml",),
    situation=(
        "A deep bed of anthracite, fine grains on top, coarse ones below, is washed when its pressure drop says so.",
        "The water has {cold} or {warm}, the backwash {strong} or {weak}; 90 days each, all else the same.",
    ),
    given=given,
    question="Cold water is thicker and lifts grains more easily. What can go wrong with the strong backwash in cold "
    "water, what with the weak one in warm water, and where does it show: in the wash, or weeks later in the runs?",
    again=f'sweep {{case}} --vary {WATER_KEY}="{",".join(TEMPERATURES)}" --vary {FLOW_KEY}="{",".join(FLOWS)}" '
    "--show mean_run_h",
    ways=tuple(
        Way(name=f"{flow} at {water}", settings={WATER_KEY: water, FLOW_KEY: flow})
        for water, flow in product(TEMPERATURES, FLOWS)
    ),
    figures=figures,
    drawn=residuals,
    columns=(
        Shown(head="water", holds="words", key="temperature_degc", text=warmth),
        Shown(head="backwash", holds="words", key="backwash_m_h", text=rate),
        # Whole percent: the model counts the bed in a few sublayers.
        Shown(head="bed lifted, %", key="lifted_share", text=lambda share, display: f"{100.0 * share:.0f}"),
        Shown(head="height in the wash, {unit}", key="expanded_height_m", quantity="length"),
        Shown(head="mean run, h", key="mean_run_h", quantity="hours"),
        Shown(head="washes", key="washes"),
        Shown(head="left by the last wash, {unit}", key="residual_kg_m3", quantity="deposit"),
    ),
    facts=facts,
    sentences=(
        "{backwash_m_h[1]} instead of {backwash_m_h[0]} {cold_change} at {temperature_degc[0]}, where it lifts "
        "{lifted_share[1]} % of the bed, and {warm_change} at {temperature_degc[2]}, where it lifts "
        "{lifted_share[3]} %.",
        "{vessel}{reach}.",
        "Which flow is too much and which too little depends on the grains, the vessel and the season: these are "
        "those of one invented bed.",
    ),
    picture=picture,
)
