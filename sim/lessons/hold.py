"""Lesson: a pressure switch ahead of a unit that stops and goes, with holds from nothing to 35 minutes."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

import pandas as pd

from plots.inputs import Measure
from plots.wall_inputs import HoldWall
from sim.case.quantities import System
from sim.case.records import Case
from sim.case.units import PA_PER_KPA
from sim.lessons.lesson import SEED, Lesson, Told, listed, of_each
from sim.plant.records import Cause, RunResult
from sim.plant.triggers import pressure_set
from sim.study.compare import Progress
from sim.study.single import triggers_of
from sim.study.sweep import sweep
from sim.tell.listing import Column, Listing
from sim.tell.present import UNITS, column

KEY: Final = "policy.switch.sand.hold"
HOLDS: Final = ("0 s", "10 s", "45 s", "3 min", "7 min", "14 min", "18 min", "35 min")
MINUTES_AN_HOUR: Final = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """One hold: washes that the switch started, of these on a spike alone, and those of the longest run.

    `missed`: times that the pressure drop was at the set point and no wash came of it. `at_the_wash_kpa`: the mean
    pressure drop at which the beds were washed.
    """

    hold: str
    by_switch: int
    early: int
    by_longest_run: int
    missed: int
    at_the_wash_kpa: float
    breach_h: float
    drain_m3: float

    @property
    def works(self) -> bool:
        """Whether the switch started every wash, and none of them on a spike alone."""
        return self.by_switch > 0 and self.early == 0 and self.by_longest_run == 0


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldStudied:
    """Every hold, and how long the unit runs without a break [min], a mean of the longest hold's run."""

    case: Case
    holds: tuple[Held, ...]
    on_min: float

    @property
    def set_point_kpa(self) -> float:
        """The set point of the switch."""
        return pressure_set(triggers_of(self.case, "switch")["sand"]) / PA_PER_KPA

    @property
    def window(self) -> tuple[Held, ...]:
        """The holds between: long enough for the spikes, short enough for the unit."""
        return tuple(each for each in self.holds if each.works)

    def rows(self) -> list[dict[str, Any]]:
        """A row for each hold."""
        return [{**asdict(each), "works": each.works} for each in self.holds]

    def told(self, system: System) -> Told:
        """The answer."""
        return Told(table=_listing(self, system), sentences=_sentences(self, system), wall=self._wall(system))

    def _wall(self, system: System) -> HoldWall:
        pressure = UNITS[system]["pressure"]
        table = pd.DataFrame(
            {
                "hold": [each.hold for each in self.holds],
                "early": [each.early for each in self.holds],
                "in_time": [each.by_switch - each.early for each in self.holds],
                "longest_run": [each.by_longest_run for each in self.holds],
                "pressure": [each.at_the_wash_kpa * pressure.per_result_unit for each in self.holds],
                "works": [each.works for each in self.holds],
            }
        )
        return HoldWall(
            title=_title(self),
            table=table,
            pressure=Measure("pressure drop at the wash", pressure.symbol),
            set_point=self.set_point_kpa * pressure.per_result_unit,
        )


def _title(studied: HoldStudied) -> str:
    window = studied.window
    if not window:
        return "No hold tried here is long enough for the spikes and short enough for the unit"
    between = f"from {window[0].hold} to {window[-1].hold}" if len(window) > 1 else window[0].hold
    return f"A hold {between} lets spikes pass and is over before the unit stops, after {studied.on_min:.0f} min"


def _listing(studied: HoldStudied, system: System) -> Listing:
    holds = studied.holds
    pressure = UNITS[system]["pressure"].symbol
    volume = UNITS[system]["volume"].symbol
    columns: tuple[tuple[str, Sequence[str]], ...] = (
        ("hold", [each.hold for each in holds]),
        ("washes by the switch", [str(each.by_switch) for each in holds]),
        ("set off by a spike alone", [str(each.early) for each in holds]),
        ("washes by the longest run", [str(each.by_longest_run) for each in holds]),
        ("set point passed without a wash", [str(each.missed) for each in holds]),
        (f"set point, {pressure}", column([studied.set_point_kpa] * len(holds), "pressure", system)),
        (f"pressure drop at the wash, {pressure}", column([e.at_the_wash_kpa for e in holds], "pressure", system)),
        ("over the limit, h", column([each.breach_h for each in holds], "hours", system)),
        (f"water to drain, {volume}", column([each.drain_m3 for each in holds], "volume", system)),
    )
    return Listing(
        columns=tuple(Column(head, "numbers") for head, _ in columns),
        rows=tuple(zip(*(texts for _, texts in columns), strict=True)),
    )


def _sentences(studied: HoldStudied, system: System) -> tuple[str, ...]:
    early = [each for each in studied.holds if each.early]
    never = [each for each in studied.holds if each.by_switch == 0]
    told = []
    if early:
        counts = listed([f"{each.early} of {each.by_switch} with {each.hold}" for each in early])
        told.append(f"Washes set off by a spike alone, while the beds still had room: {counts}.")
    if never:
        counts = listed([f"{each.missed} times with {each.hold}" for each in never])
        told.append(
            f"The unit runs {studied.on_min:.0f} min at a time. A longer hold never ends: the pressure drop came to "
            f"the set point {counts} and the switch started no wash."
        )
    between = listed([each.hold for each in studied.window]) if studied.window else "none"
    told.append(
        f"Between them: {between}. How wide that window is depends on the tank and on the spikes: here they are "
        "those of one invented plant."
    )
    return tuple(told)


def study(path: Path, progress: Progress | None = None) -> HoldStudied:
    """Run the case with every hold."""
    swept = sweep(path, {KEY: HOLDS}, seed=SEED, progress=progress)
    results = [point.results[0] for point in swept.points]
    last = results[-1].site
    return HoldStudied(
        case=swept.case,
        holds=tuple(_held(hold, result) for hold, result in zip(HOLDS, results, strict=True)),
        on_min=of_each(last["downstream_run_h"], last["downstream_starts"]) * MINUTES_AN_HOUR,
    )


def _held(hold: str, result: RunResult) -> Held:
    site = result.site
    washed = [run for run in result.runs if run.cause is not None]
    return Held(
        hold=hold,
        by_switch=sum(run.cause is Cause.PRESSURE for run in washed),
        early=int(site["early_triggers"] or 0),
        by_longest_run=sum(run.cause is Cause.LONGEST_RUN for run in washed),
        missed=int(site["missed_triggers"] or 0),
        at_the_wash_kpa=of_each(sum(run.end_dp_kpa for run in washed), len(washed)),
        breach_h=float(site["breach_h"] or 0.0),
        drain_m3=float(site["drain_m3"] or 0.0),
    )


def situation(system: System) -> tuple[str, str]:
    """What is run."""
    return (
        "A pressure switch starts the washes of a filter; every start of the unit behind it knocks on the gauge.",
        "The unit has a small tank, so it stops and goes, and while it stands the pressure drop is gone. The switch "
        "must be on for 0 s to 35 min.",
    )


LESSON: Final = Lesson(
    name="hold",
    files=("hold.toml",),
    situation=situation,
    watch="A short hold takes a knock for a loaded bed; a long one waits for what never lasts so long. Which holds "
    "lie between?",
    again=f"sweep {{case}} --vary '{KEY}={','.join(HOLDS)}' --show early_triggers --show missed_triggers",
    study=study,
)
