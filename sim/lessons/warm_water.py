"""Lesson: one bed washed at two flows, in cold and in warm water: what they lift, what they leave, the runs since."""

from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

import pandas as pd

from plots.inputs import Measure
from plots.wall_inputs import Residual, WarmWall
from sim.case import units
from sim.case.load import load_case
from sim.case.quantities import System
from sim.case.records import Case
from sim.case.stage.records import Stage
from sim.case.units import DAY, GRAMS_PER_KILOGRAM, RATE, TEMPERATURE, parse_quantity
from sim.lessons.lesson import SEED, Lesson, Told
from sim.study.compare import Progress
from sim.study.sweep import Point, sweep
from sim.tell.listing import Column, Listing
from sim.tell.present import UNITS, column, degrees, measured
from sim.wash.clean_bed import expanded_bed, expanded_height, packed_depth

TEMPERATURES: Final = ("5 degC", "28 degC")
FLOWS: Final = ("37 m3/h", "20 m3/h")
WATER: Final = "feed.temperature"
FLOW: Final = "stage.bed.step.backwash.flow"
WEEK: Final = 7.0 * DAY


@dataclass(frozen=True, slots=True, kw_only=True)
class Washed:
    """One temperature [degC] and one rate of the backwash [m/h].

    What the backwash does to the bed: the share of its depth that it lifts, and its height [m] against the vessel's.
    What the runs gave: their mean [h], washes, the solids that the last wash left in the bed [kg/m3].
    """

    temperature_degc: float
    backwash_m_h: float
    lifted_share: float
    expanded_height_m: float
    vessel_height_m: float
    mean_run_h: float
    washes: int
    residual_kg_m3: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WarmStudied:
    """Each temperature with each rate; `residuals`: when each wash ended [d], and what it left [kg/m3]."""

    case: Case
    washed: tuple[Washed, ...]
    residuals: tuple[tuple[tuple[float, float], ...], ...]

    def rows(self) -> list[dict[str, Any]]:
        """A row for each temperature and rate."""
        return [asdict(each) for each in self.washed]

    def told(self, system: System) -> Told:
        """The answer."""
        return Told(
            table=_listing(self.washed, system), sentences=_sentences(self.washed, system), wall=self._wall(system)
        )

    def _wall(self, system: System) -> WarmWall:
        deposit, depth = UNITS[system]["deposit"], UNITS[system]["length"]
        heights = column([each.expanded_height_m for each in self.washed], "length", system)
        means = column([each.mean_run_h for each in self.washed], "hours", system)
        panels: dict[str, list[Residual]] = {}
        for each, mean, height, residual in zip(self.washed, means, heights, self.residuals, strict=True):
            table = pd.DataFrame(residual, columns=["week", "residual"])
            table["week"] *= DAY / WEEK
            table["residual"] *= deposit.per_result_unit
            name = f"{_rate(each, system)}: mean run {mean} h"
            panels.setdefault(f"water of {_warmth(each, system)}", []).append(
                Residual(
                    name=name, table=table, height=each.expanded_height_m * depth.per_result_unit,
                    height_text=f"{_rate(each, system)}: {height} {depth.symbol}",
                )
            )  # fmt: skip
        cold, warm = self.washed[:2], self.washed[2:]
        return WarmWall(
            title=f"A backwash of {_rate(cold[1], system)} instead of {_rate(cold[0], system)} {_change(*cold)} at "
            f"{_warmth(cold[0], system)}, and {_change(*warm, again=True)} at {_warmth(warm[0], system)}",
            panels={name: tuple(each) for name, each in panels.items()},
            residual=Measure("left in the bed by each wash", deposit.symbol),
            height=Measure("height in the wash", depth.symbol),
            top=self.washed[0].vessel_height_m * depth.per_result_unit,
        )


def _rate(washed: Washed, system: System) -> str:
    return " ".join(measured(washed.backwash_m_h * RATE.units["m/h"].factor, "rate", system))


def _warmth(washed: Washed, system: System) -> str:
    return degrees(washed.temperature_degc, system)


def _lifted_percent(washed: Washed) -> str:
    """Whole percent: the model counts the bed in a few sublayers."""
    return f"{100.0 * washed.lifted_share:.0f}"


def _change(before: Washed, after: Washed, *, again: bool = False) -> str:
    """What became of the mean run, in whole percent.

    "again" leaves out what a sentence has named before.
    """
    percent = round(100.0 * (after.mean_run_h / before.mean_run_h - 1.0))
    whose = "it" if again else "the mean run"
    if percent == 0:
        return f"leaves {whose} as it is"
    return f"{'shortens' if percent < 0 else 'lengthens'} {whose} by {abs(percent)} %"


def _listing(washed: tuple[Washed, ...], system: System) -> Listing:
    depth, deposit = UNITS[system]["length"].symbol, UNITS[system]["deposit"].symbol
    columns = (
        (Column("water", "words"), [_warmth(each, system) for each in washed]),
        (Column("backwash", "words"), [_rate(each, system) for each in washed]),
        (Column("bed lifted, %", "numbers"), [_lifted_percent(each) for each in washed]),
        (
            Column(f"height in the wash, {depth}", "numbers"),
            column([each.expanded_height_m for each in washed], "length", system),
        ),
        (Column("mean run, h", "numbers"), column([each.mean_run_h for each in washed], "hours", system)),
        (Column("washes", "numbers"), [str(each.washes) for each in washed]),
        (
            Column(f"left by the last wash, {deposit}", "numbers"),
            column([each.residual_kg_m3 for each in washed], "deposit", system),
        ),
    )
    return Listing(
        columns=tuple(head for head, _ in columns), rows=tuple(zip(*(texts for _, texts in columns), strict=True))
    )


def _sentences(washed: tuple[Washed, ...], system: System) -> tuple[str, ...]:
    cold, warm = washed[:2], washed[2:]
    height = column([washed[0].vessel_height_m], "length", system)[0]
    unit = UNITS[system]["length"].symbol
    too_high = [each for each in washed if each.expanded_height_m > each.vessel_height_m]
    shares = [_lifted_percent(each) for each in washed]
    over = (
        f"The vessel is {height} {unit} high: the bed reaches over it with "
        f"{' and with '.join(f'{_rate(each, system)} at {_warmth(each, system)}' for each in too_high)}, and grains "
        "would go to the drain, which the runs do not count."
        if too_high
        else f"The vessel is {height} {unit} high, and the bed stays in it each time."
    )
    return (
        f"{_rate(cold[1], system)} instead of {_rate(cold[0], system)} {_change(*cold)} at "
        f"{_warmth(cold[0], system)}, where it lifts {shares[1]} % of the bed, and {_change(*warm, again=True)} at "
        f"{_warmth(warm[0], system)}, where it lifts {shares[3]} %.",
        over,
        "Which flow is too much and which too little depends on the grains, the vessel and the season: these are "
        "those of one invented bed.",
    )


def study(path: Path, progress: Progress | None = None) -> WarmStudied:
    """Run the case at each temperature with each rate."""
    swept = sweep(path, {WATER: TEMPERATURES, FLOW: FLOWS}, seed=SEED, progress=progress)
    stages = [load_case(path, point.settings).stages[0] for point in swept.points]
    residuals = tuple(_residuals(point, stage) for point, stage in zip(swept.points, stages, strict=True))
    washed = [
        _washed(point, stage, left[-1][1])
        for point, stage, left in zip(swept.points, stages, residuals, strict=True)
    ]
    return WarmStudied(case=swept.case, washed=tuple(washed), residuals=residuals)


def _washed(point: Point, stage: Stage, residual: float) -> Washed:
    temperature = parse_quantity(str(point.settings[WATER]), TEMPERATURE)
    (result,) = point.results
    flow = parse_quantity(str(point.settings[FLOW]), units.FLOW)
    lifted, height = _lifted(stage, flow, temperature)
    mean, washes = result.site["mean_run_h"], result.site["washes"]
    assert mean is not None
    return Washed(
        temperature_degc=temperature,
        backwash_m_h=flow / stage.vessel.area / RATE.units["m/h"].factor,
        lifted_share=lifted,
        expanded_height_m=height,
        vessel_height_m=stage.vessel.height,
        mean_run_h=mean,
        washes=int(washes or 0),
        residual_kg_m3=residual,
    )


def _lifted(stage: Stage, flow: float, temperature: float) -> tuple[float, float]:
    """Share of the bed's depth that an upflow [m3/s] lifts, and the height of the bed in it [m]."""
    layers = expanded_bed(stage, flow, temperature)
    lifted = sum(each.fluidised_share * each.depth for each in layers)
    return lifted / packed_depth(stage), expanded_height(layers)


def _residuals(point: Point, stage: Stage) -> tuple[tuple[float, float], ...]:
    """When each filter run after a wash began [d], and what that wash had left in the bed [kg/m3]."""
    (result,) = point.results
    per_depth = packed_depth(stage) * GRAMS_PER_KILOGRAM
    return tuple((run.start_s / DAY, run.residual_g_m2 / per_depth) for run in result.runs[1:])


def situation(system: System) -> tuple[str, str]:
    """What is run."""
    cold, warm = (degrees(parse_quantity(each, TEMPERATURE), system) for each in TEMPERATURES)
    area = load_case(LESSON.path).stages[0].vessel.area
    strong, weak = (" ".join(measured(parse_quantity(each, units.FLOW) / area, "rate", system)) for each in FLOWS)
    return (
        "A deep bed of anthracite, fine grains on top, coarse ones below, is washed when its pressure drop says so.",
        f"The water has {cold} or {warm}, the backwash {strong} or {weak}; 90 days each, all else the same.",
    )


LESSON: Final = Lesson(
    name="warm-water",
    files=("warm_water.toml",),
    situation=situation,
    watch="Cold water is thicker and lifts grains more easily. What can go wrong with the strong backwash in cold "
    "water, what with the weak one in warm water, and where does it show: in the wash, or weeks later in the runs?",
    again=f'sweep {{case}} --vary {WATER}="{",".join(TEMPERATURES)}" --vary {FLOW}="{",".join(FLOWS)}" '
    "--show mean_run_h",
    study=study,
)
