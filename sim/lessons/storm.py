"""Lesson: one given pulse of solids in the feed, and what four ways to start a wash make of it."""

from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

import pandas as pd

from plots.inputs import Measure
from plots.wall_inputs import StormCourse, StormWall
from sim.case.load import load_case
from sim.case.quantities import System
from sim.case.records import Case
from sim.case.units import DAY, HOUR
from sim.lessons.lesson import SEED, Lesson, Told, listed
from sim.plant.records import Figure, RunResult
from sim.plant.trace import trace
from sim.study.compare import Comparison, Progress, compare
from sim.tell.kpis import KPIS
from sim.tell.listing import Column, Listing
from sim.tell.present import UNITS, row

DRAWN_DAYS: Final = (7.0, 13.0)
STEP: Final = HOUR / 2.0
STORM: Final = (8.0, 10.5)
"""From when to when the feed carries the pulse [d from the start]; in that time washes count as in the storm."""

FIGURES: Final = ("breach_h", "solids_to_service_kg", "peak_dp_kpa", "washes", "drain_m3")


@dataclass(frozen=True, slots=True, kw_only=True)
class Weathered:
    """One way to start a wash: figures of the whole run, and how many washes started while the pulse passed."""

    policy: str
    breach_h: Figure
    solids_to_service_kg: Figure
    peak_dp_kpa: Figure
    washes: Figure
    drain_m3: Figure
    washes_in_the_storm: int


@dataclass(frozen=True, slots=True, kw_only=True)
class StormStudied:
    """Every way to start a wash, and the course of each around the storm."""

    case: Case
    comparison: Comparison
    courses: tuple[pd.DataFrame, ...]

    def rows(self) -> list[dict[str, Any]]:
        """A row for each way to start a wash."""
        return [asdict(each) for each in self.weathered()]

    def weathered(self) -> tuple[Weathered, ...]:
        """The figures of each way to start a wash."""
        return tuple(
            Weathered(
                policy=each.policy,
                **{key: each.site[key] for key in FIGURES},
                washes_in_the_storm=sum(STORM[0] <= start <= STORM[1] for start in _washes(each)),
            )
            for each in self.comparison.results
        )

    def told(self, system: System) -> Told:
        """The answer."""
        found = self.weathered()
        columns = [(Column("what starts a wash", "words"), [each.policy for each in found])]
        for key in FIGURES[:4]:
            fact = row(KPIS[key], [each.site for each in self.comparison.results], system)
            columns.append((Column(fact.label, "numbers"), list(fact.texts)))
        columns.append((Column("in the storm", "numbers"), [str(each.washes_in_the_storm) for each in found]))
        return Told(
            table=Listing(
                columns=tuple(head for head, _ in columns),
                rows=tuple(zip(*(texts for _, texts in columns), strict=True)),
            ),
            sentences=_sentences(found),
            wall=self._wall(system),
        )

    def _wall(self, system: System) -> StormWall:
        pressure = UNITS[system]["pressure"]
        over = _hours(self.weathered())
        least, most = (choose(over, key=lambda name: over[name][0]) for choose in (min, max))
        courses = [
            StormCourse(
                policy=each.policy,
                table=table.assign(pressure=table["pressure"] * pressure.per_result_unit),
                washes=tuple(start for start in _washes(each) if DRAWN_DAYS[0] <= start <= DRAWN_DAYS[1]),
                told=f"{over[each.policy][1]} h",
            )
            for each, table in zip(self.comparison.results, self.courses, strict=True)
        ]
        return StormWall(
            title=f"One storm in {self.comparison.days:g} days: {over[most][1]} h over the limit where the {most} "
            f"starts the wash, {over[least][1]} h where the {least} does",
            courses=tuple(courses),
            feed=Measure("solids in the feed", "mg/L"),
            solids=Measure("solids sent on", "mg/L"),
            pressure=Measure("pressure drop", pressure.symbol),
            limit=self.case.stages[0].limit,
        )


def _hours(found: tuple[Weathered, ...]) -> dict[str, tuple[float, str]]:
    """Time over the limit of each way to start a wash, as a number [h] and as text."""
    texts = row(KPIS["breach_h"], [{"breach_h": each.breach_h} for each in found], "si").texts
    return {each.policy: (float(each.breach_h or 0.0), text) for each, text in zip(found, texts, strict=True)}


def _sentences(found: tuple[Weathered, ...]) -> tuple[str, ...]:
    over = _hours(found)
    ordered = sorted(over, key=lambda name: over[name][0])
    under = [name for name in ordered if over[name][0] == 0.0]
    above = [f"{name} for {over[name][1]} h" for name in ordered if name not in under]
    kept = f"{listed(under)} never" if under else ""
    went = f"over the limit: {listed(above)}" if above else ""
    washes = listed([f"{each.washes_in_the_storm} with {each.policy}" for each in found])
    return (
        f"In the whole run {'; '.join(part for part in (went, kept) if part)}.",
        f"Washes that started while the pulse passed: {washes}.",
        "A storm is one given pulse here. Had it come at another hour after a wash, or been larger, the figures and "
        "their order could be others.",
    )


def study(path: Path, progress: Progress | None = None) -> StormStudied:
    """Run every way to start a wash of the case."""
    case = load_case(path)
    comparison = compare(case, seed=SEED, progress=progress)
    return StormStudied(
        case=case, comparison=comparison, courses=tuple(_course(case, each) for each in comparison.results)
    )


def _course(case: Case, result: RunResult) -> pd.DataFrame:
    """Feed and outlet solids [mg/L] and pressure drop [kPa] by day; nothing where the filter is not in service."""
    start, end = (day * DAY for day in DRAWN_DAYS)
    times = {start + place * STEP for place in range(int((end - start) / STEP) + 1)}
    for run in result.runs:
        times |= {time for time in (run.end_s, run.end_s + 1.0, run.start_s + 60.0) if start <= time <= end}
    samples = trace(case, result.policy, times=sorted(times), seed=SEED)
    table = pd.DataFrame(
        {
            "day": [sample.time_s / DAY for sample in samples],
            "feed": [sample.inlet_mg_l for sample in samples],
            "outlet": [sample.outlet_mg_l for sample in samples],
            "pressure": [sample.signal_kpa for sample in samples],
        }
    )
    serving = [sample.phase == "service" for sample in samples]
    table.loc[[not each for each in serving], ["feed", "outlet", "pressure"]] = float("nan")
    return table


def _washes(result: RunResult) -> list[float]:
    """When washes started [d]."""
    return [run.end_s / DAY for run in result.runs if run.cause is not None]


def situation(system: System) -> tuple[str, str]:
    """What is run."""
    return (
        "A filter on a stream, 18 days; four ways to start a wash, each set for the water between storms.",
        "On the ninth day one pulse of solids comes down the stream, for about two days, the same for all.",
    )


LESSON: Final = Lesson(
    name="storm",
    files=("storm.toml", "storm.csv"),
    situation=situation,
    watch="A calendar, a meter and a pressure gauge: which of them can notice that the water has changed, and who "
    "goes over the limit for how long?",
    again="compare {case}",
    study=study,
)
