"""Lesson: one bed washed at two flows, in cold and in warm water: what they lift, what they leave, the runs since."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import product
from typing import Final, Literal

import pandas as pd

from plots.wall_inputs import Residual, WarmWall
from plots.words import Amount, Kind, Label, Sentence, amount, items, label, number, say
from sim.case.records import Case
from sim.case.stage.records import Stage
from sim.case.trigger.records import devices
from sim.case.units import DAY, FLOW, HOUR, MINUTE, RATE, TEMPERATURE, parse_quantity
from sim.lessons.lesson import Display, Guess, Lesson, Ran, Row, Shown, Studied, Way, least
from sim.tell.present import amount_of, degrees
from sim.tell.trigger.settings_sheet import minutes_of
from sim.wash.clean_bed import expanded_bed, expanded_height, packed_depth

TEMPERATURES: Final = ("5 degC", "28 degC")
FLOWS: Final = ("37 m3/h", "20 m3/h")
WATER_KEY: Final = "feed.temperature"
FLOW_KEY: Final = "stage.{place}.step.backwash.flow"
WEAKER: Final = 0.55  # of the backwash of a plant of one's own
DAYS_A_WEEK: Final = 7.0
GRAMS_A_KILOGRAM: Final = 1e3


def figures(ran: Ran) -> Row:
    """One temperature [degC] and one rate of the backwash [m/h].

    What the backwash does to the bed: the share of its depth that it lifts, and its height [m] against the vessel's.
    What the runs gave: their mean [h], washes, the solids that the last wash left in the bed [kg/m3].
    """
    stage = next(each for each in ran.case.stages if each.name == ran.stage)
    temperature, flow = of_way(ran.way)
    lifted, height = _lifted(stage, flow, temperature)
    return {
        "temperature_degc": temperature,
        "backwash_m_h": flow / stage.vessel.area / RATE.units["m/h"].factor,
        "lifted_share": lifted,
        "expanded_height_m": height,
        "vessel_height_m": stage.vessel.height,
        "mean_run_h": ran.of_stage("mean_run_h"),
        "washes": ran.washes,
        "residual_kg_m3": residuals(ran)[-1][1],
    }


def _lifted(stage: Stage, flow: float, temperature: float) -> tuple[float, float]:
    """Share of the bed's depth that an upflow [m3/s] lifts, and the height of the bed in it [m]."""
    layers = expanded_bed(stage, flow, temperature)
    lifted = sum(each.fluidised_share * each.depth for each in layers)
    return lifted / packed_depth(stage), expanded_height(layers)


def residuals(ran: Ran) -> tuple[tuple[float, float], ...]:
    """When each filter run after a wash began [d], and what that wash had left in the bed [kg/m3]."""
    stage = next(each for each in ran.case.stages if each.name == ran.stage)
    per_depth = packed_depth(stage) * GRAMS_A_KILOGRAM
    runs = [run for run in ran.result.runs if run.stage == ran.stage and run.number > 1]
    return tuple((run.start_s / DAY, run.residual_g_m2 / per_depth) for run in runs)


def of_way(way: Way) -> tuple[float, float]:
    """Temperature [degC] and backwash [m3/s] of a way."""
    water, flow, *_ = way.settings.values()
    return parse_quantity(str(water), TEMPERATURE), parse_quantity(str(flow), FLOW)


def own(case: Case) -> Lesson | Sentence:
    """The first filter of a plant that is one vessel with one backwash of a given flow."""
    for place, stage in enumerate(case.stages):
        washes = [step for step in stage.steps if step.do == "backwash"]
        if stage.vessels.count == 1 and len(washes) == 1 and washes[0].flow > 0.0:
            flows = tuple(f"{washes[0].flow * share * HOUR:.6g} m3/h" for share in (1.0, WEAKER))
            return replace(LESSON, ways=ways(FLOW_KEY.format(place=place), flows), stage=stage.name)
    return say("warm_lesson.own")


def ways(key: str, flows: tuple[str, ...]) -> tuple[Way, ...]:
    """Either flow in either water."""
    return tuple(
        Way(name=f"{flow} at {water}", settings={WATER_KEY: water, key: flow})
        for water, flow in product(TEMPERATURES, flows)
    )


def options(lesson: Lesson, case: Case, display: Display) -> list[Label]:
    """Either backwash in either water."""
    stage = next(each for each in case.stages if lesson.stage in (None, each.name))
    return [
        label("warm_lesson.wash", water=warmth(water, display),
              rate=rate(flow / stage.vessel.area / RATE.units["m/h"].factor, display))
        for water, flow in map(of_way, lesson.ways)
    ]  # fmt: skip


def rate(metres_an_hour: float, display: Display) -> Amount:
    """A rate of the backwash with its unit."""
    return amount_of(metres_an_hour * RATE.units["m/h"].factor, "rate", display.system)


def warmth(temperature: float, display: Display) -> Amount:
    """A temperature with its unit."""
    return degrees(temperature, display.system)


Change = Literal["same", "shorter", "longer"]


def change(before: Row, after: Row) -> tuple[Change, int]:
    """What became of the mean run, and by how much in whole percent."""
    percent = round(100.0 * (after["mean_run_h"] / before["mean_run_h"] - 1.0))
    return ("same" if percent == 0 else "shorter" if percent < 0 else "longer"), percent


def sentences(studied: Studied, display: Display) -> Iterator[Sentence]:
    """What the weak backwash changes in either water, and with which ones the bed reaches over its vessel."""
    cold, cold_weak, warm, warm_weak = studied.rows
    for before, after in ((cold, cold_weak), (warm, warm_weak)):
        kind, percent = change(before, after)
        yield say(
            "warm_lesson.changed", change=Kind(kind), water=warmth(before["temperature_degc"], display),
            weak=rate(after["backwash_m_h"], display), strong=rate(before["backwash_m_h"], display),
            percent=abs(percent), lifted=number(100.0 * after["lifted_share"]),
        )  # fmt: skip
    (height,) = display.amounts([cold["vessel_height_m"]], "length")
    too_high = [
        label("warm_lesson.wash", rate=rate(row["backwash_m_h"], display),
              water=warmth(row["temperature_degc"], display))
        for row in studied.rows
        if row["expanded_height_m"] > row["vessel_height_m"]
    ]  # fmt: skip
    if devices(dict(studied.case.policies[0].triggers)[studied.stage.name]).switch is None:
        yield say("warm_lesson.no_switch")
    if too_high:
        yield say("warm_lesson.vessel_over", height=height, washes=items(too_high))
    else:
        yield say("warm_lesson.vessel_stays", height=height)


def tries(lesson: Lesson, case: Case) -> list[Way]:
    """The weak backwash in warm water, for twice as long."""
    weak = lesson.ways[-1].settings
    minutes = f"{list(weak)[1].removesuffix('flow')}minutes"
    return [Way(name="twice", settings={**weak, minutes: 2.0 * _minutes(lesson.about(case))})]


def _minutes(stage: Stage) -> float:
    (backwash,) = (step for step in stage.steps if step.do == "backwash")
    return backwash.seconds / MINUTE


def tried(studied: Studied, display: Display) -> Iterator[Sentence]:
    """What the weak backwash leaves, for its minutes and for twice as many, and the strong one."""
    cold, _, warm, weak = studied.rows
    minutes, rows = _minutes(studied.stage), (cold, warm, weak, *studied.tries)
    in_cold, in_warm, short, long = display.amounts([row["residual_kg_m3"] for row in rows], "deposit")
    yield say(
        "warm_lesson.colder", strong=rate(warm["backwash_m_h"], display), in_cold=in_cold, in_warm=in_warm,
        cold=warmth(cold["temperature_degc"], display), warm=warmth(warm["temperature_degc"], display),
    )  # fmt: skip
    yield say("warm_lesson.twice", weak=rate(weak["backwash_m_h"], display), minutes=minutes_of(minutes * MINUTE),
              twice=minutes_of(2.0 * minutes * MINUTE), short=short, long=long, strong=in_warm)  # fmt: skip


def picture(studied: Studied, display: Display) -> WarmWall:
    """What each wash left, cold water beside warm; below, how high each backwash lifts the bed."""
    cold, cold_weak, warm, warm_weak = studied.rows
    strong, weak = (rate(row["backwash_m_h"], display) for row in (cold, cold_weak))
    percents = (change(cold, cold_weak)[1], change(warm, warm_weak)[1])
    changes = [amount(number(each), "%") for each in percents]
    heights = display.amounts([row["expanded_height_m"] for row in studied.rows], "length")
    means = display.texts([row["mean_run_h"] for row in studied.rows], "hours")
    panels: dict[str, list[Residual]] = {}
    for row, mean, height, left in zip(studied.rows, means, heights, studied.drawn, strict=True):
        table = pd.DataFrame(left, columns=["week", "residual"])
        table["week"] /= DAYS_A_WEEK
        name = rate(row["backwash_m_h"], display)
        panels.setdefault(label("warm_lesson.panel", water=warmth(row["temperature_degc"], display)), []).append(
            Residual(
                name=label("warm_lesson.mean_run", rate=name, hours=mean),
                table=table.assign(residual=table["residual"] * display.factor("deposit")),
                height=row["expanded_height_m"] * display.factor("length"),
                height_text=label("warm_lesson.reaches", rate=name, height=height),
            )
        )
    return WarmWall(
        title=label(
            "warm_lesson.wall", plant=studied.plant, weak=weak, strong=strong, change=changes[0],
            change_warm=changes[1],
            cold=warmth(cold["temperature_degc"], display), warm=warmth(warm["temperature_degc"], display),
        ),
        panels={name: tuple(each) for name, each in panels.items()},
        residual=display.measure(label("warm_lesson.residual"), "deposit"),
        height=display.measure(label("warm_lesson.in_the_wash"), "length"),
        top=cold["vessel_height_m"] * display.factor("length"),
    )


def situation(case: Case, display: Display) -> tuple[Sentence, Sentence]:
    """The bed; the temperatures and the rates."""
    area = case.stages[0].vessel.area
    cold, warm = (warmth(parse_quantity(each, TEMPERATURE), display) for each in TEMPERATURES)
    per_hour = RATE.units["m/h"].factor
    strong, weak = (rate(parse_quantity(each, FLOW) / area / per_hour, display) for each in FLOWS)
    return say("warm_lesson.bed"), say("warm_lesson.water", cold=cold, warm=warm, strong=strong, weak=weak)


LESSON: Final = Lesson(
    name="warm-water",
    files=("warm_water.toml",),
    situation=situation,
    question=lambda: say("warm_lesson.question"),
    guess=Guess(
        asks=lambda: say("warm_lesson.asks"),
        options=options,
        right=lambda studied: least([-row["residual_kg_m3"] for row in studied.rows]),
    ),
    now=lambda: say("warm_lesson.now"),
    tries=tries,
    tried=tried,
    where="rinse",
    again=f"sweep {{case}} --vary '{WATER_KEY}={','.join(TEMPERATURES)}'"
          f" --vary 'stage.bed.step.backwash.flow={','.join(FLOWS)}' --show mean_run_h",
    ways=ways(FLOW_KEY.format(place=0), FLOWS),
    figures=figures,
    drawn=residuals,
    columns=(
        Shown(head=lambda unit: label("warm_lesson.water"), holds="words", key="temperature_degc", text=warmth),
        Shown(head=lambda unit: label("warm_lesson.backwash"), holds="words", key="backwash_m_h", text=rate),
        # Whole percent: the model counts the bed in a few sublayers.
        Shown(head=lambda unit: label("warm_lesson.lifted"), key="lifted_share",
              text=lambda share, display: f"{100.0 * share:.0f}"),
        Shown(head=lambda unit: label("warm_lesson.height", unit=unit), key="expanded_height_m", quantity="length"),
        Shown(head=lambda unit: label("lesson.mean_run"), key="mean_run_h", quantity="hours"),
        Shown(head=lambda unit: label("lesson.washes"), key="washes"),
        Shown(head=lambda unit: label("warm_lesson.left", unit=unit), key="residual_kg_m3", quantity="deposit"),
    ),
    sentences=sentences,
    depends=lambda: say("warm_lesson.depends"),
    picture=picture,
    own=own,
)
