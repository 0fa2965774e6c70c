"""Lesson: three filters on one wash pump, washed one after the other, 55 minutes apart, or side by side."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

from plots.inputs import Measure, WeekPicture
from plots.wall_inputs import Bars, StaggerRound, StaggerWall
from sim.case.load import load_case
from sim.case.quantities import System
from sim.case.records import Case
from sim.case.units import DAY, GRAMS_PER_KILOGRAM, HOUR, MINUTE
from sim.lessons.lesson import SEED, Lesson, Told, of_each
from sim.plant.records import RunResult
from sim.plant.simulate import simulate
from sim.study.compare import Progress
from sim.study.vary import Setting
from sim.study.weeks import weeks
from sim.tell.listing import Column, Listing
from sim.tell.present import UNITS, column
from sim.tell.run.week_view import week_picture

SHARE: Final[dict[str, Setting]] = {
    "washing.together": "share", "washing.lines.supply": 3, "washing.lines.raw": 3, "washing.lines.drain": 3,
}  # fmt: skip
WAYS: Final[tuple[tuple[str, str, dict[str, Setting]], ...]] = (
    ("one after the other", "the same hour", {}),
    ("55 minutes apart", "55 minutes apart", {}),
    ("side by side", "the same hour", SHARE),
)
"""What a way is called, its policy in the case, and what of the case differs."""

DRAWN_WEEK: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Staggered:
    """One way to lay the washes.

    `least_flow_m3_h`: the backwash of the stage that gets the least of the pump, a mean; `left_kg`: what a round of
    washes leaves in the three beds, a mean; `over_min`: feed of the unit over its own limit.
    """

    way: str
    washes: int
    waits: int
    waited_h: float
    over_min: float
    fed_kg: float
    least_flow_m3_h: float
    left_kg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StaggerStudied:
    """Every way, and one week of each."""

    case: Case
    ways: tuple[Staggered, ...]
    drawn: tuple[WeekPicture, ...]

    @property
    def asked_m3_h(self) -> float:
        """The flow that a backwash asks for."""
        return self.case.stages[0].steps[0].flow * HOUR

    @property
    def days(self) -> float:
        """Length of a run [d]."""
        return self.case.run.length / DAY

    def rows(self) -> list[dict[str, Any]]:
        """A row for each way."""
        return [asdict(each) for each in self.ways]

    def told(self, system: System) -> Told:
        """The answer."""
        return Told(table=_listing(self.ways, system), sentences=_sentences(self, system), wall=self._wall(system))

    def _wall(self, system: System) -> StaggerWall:
        _, apart, shared = self.ways
        over = column([each.over_min for each in self.ways], "minutes", system)
        left = column([each.left_kg for each in self.ways], "mass", system)
        mass = UNITS[system]["mass"]
        names = tuple(each.way for each in self.ways)
        rounds = tuple(
            StaggerRound(name=each.way, washes=drawn.washes, held=drawn.held, raw=drawn.raw)
            for each, drawn in zip(self.ways, self.drawn, strict=True)
        )
        return StaggerWall(
            title=f"Washed {shared.way}, three filters have the unit's feed over its limit for {over[2]} min "
            f"in {self.days:.0f} days; {apart.way} for {over[1]} min",
            rounds=rounds,
            bars=(
                Bars(
                    measure=Measure(f"unit's feed over its own limit in {self.days:.0f} days", "min"),
                    names=names, values=tuple(each.over_min for each in self.ways), texts=over,
                ),
                Bars(
                    measure=Measure("left in the beds after a round", mass.symbol),
                    names=names, values=tuple(each.left_kg * mass.per_result_unit for each in self.ways), texts=left,
                ),
            ),
        )  # fmt: skip


def _listing(ways: Sequence[Staggered], system: System) -> Listing:
    flow, mass = UNITS[system]["flow"].symbol, UNITS[system]["mass"].symbol
    numbers: tuple[tuple[str, Sequence[str]], ...] = (
        ("waits for another", [str(each.waits) for each in ways]),
        ("time waited, h", column([each.waited_h for each in ways], "hours", system)),
        (f"least backwash reached, {flow}", column([each.least_flow_m3_h for each in ways], "flow", system)),
        (f"left in the beds after a round, {mass}", column([each.left_kg for each in ways], "mass", system)),
        (f"solids in the unit's feed, {mass}", column([each.fed_kg for each in ways], "mass", system)),
        ("unit's feed over its limit, min", column([each.over_min for each in ways], "minutes", system)),
    )
    return Listing(
        columns=(Column("three washes", "words"), *(Column(head, "numbers") for head, _ in numbers)),
        rows=tuple(zip([each.way for each in ways], *(texts for _, texts in numbers), strict=True)),
    )


def _sentences(studied: StaggerStudied, system: System) -> tuple[str, ...]:
    queued, apart, shared = studied.ways
    flow, mass = UNITS[system]["flow"].symbol, UNITS[system]["mass"].symbol
    over = column([each.over_min for each in studied.ways], "minutes", system)
    reached, asked = column([shared.least_flow_m3_h, studied.asked_m3_h], "flow", system)
    left = column([each.left_kg for each in studied.ways], "mass", system)
    waited = column([queued.waited_h, apart.waited_h], "hours", system)
    return (
        f"At the same hour the filters wait for each other {queued.waits} times, {waited[0]} h in all; 55 minutes "
        f"apart {apart.waits} times.",
        f"Side by side nobody waits {'long' if shared.waits else 'at all'}, but the least backwash gets {reached} of "
        f"{asked} {flow}, and a round leaves {left[2]} {mass} in the beds instead of {left[0]} {mass}.",
        f"The unit's feed is over its own limit for {over[0]}, {over[1]} and {over[2]} min in {studied.days:.0f} "
        "days: while the rinses run the unit is not held, and it matters how many filters the water goes round just "
        "then.",
        "Raw water round a filter is shown here for what it does: ahead of a membrane, or where anybody drinks it, "
        "the command check says stop to that.",
        "Which of these a plant meets depends on its pump, its held times and its tank: here they are those of one "
        "invented plant.",
    )


def study(path: Path, progress: Progress | None = None) -> StaggerStudied:
    """Run the case each way."""
    ways, drawn = [], []
    for place, (name, policy, settings) in enumerate(WAYS):
        if progress is not None:
            progress(name, place, len(WAYS))
        case = load_case(path, settings)
        result = simulate(case, policy, seed=SEED)
        week = weeks(case, policy, seed=SEED)[DRAWN_WEEK - 1]
        ways.append(_staggered(case, name, result))
        drawn.append(week_picture(case, result, week, "si"))
    return StaggerStudied(case=load_case(path), ways=tuple(ways), drawn=tuple(drawn))


def _staggered(case: Case, name: str, result: RunResult) -> Staggered:
    site = result.site
    return Staggered(
        way=name,
        washes=int(site["washes"] or 0),
        waits=int(site["waits"] or 0),
        waited_h=float(site["waited_h"] or 0.0),
        over_min=float(site["downstream_over_min"] or 0.0),
        fed_kg=float(site["downstream_solids_kg"] or 0.0),
        least_flow_m3_h=min(_reached(case, result, stage.name) for stage in case.stages),
        left_kg=sum(_left(case, result, place) for place in range(len(case.stages))) / GRAMS_PER_KILOGRAM,
    )


def _reached(case: Case, result: RunResult, stage: str) -> float:
    """The mean flow of a stage's backwashes [m3/h]."""
    hours = next(each.steps[0].seconds for each in case.stages if each.name == stage) / MINUTE / 60.0
    figures = result.stages[stage]
    return of_each(figures["backwash_m3"], figures["washes"]) / hours


def _left(case: Case, result: RunResult, place: int) -> float:
    """What a wash leaves in the bed of a stage [g], a mean over all washes."""
    stage = case.stages[place]
    left = [run.residual_g_m2 for run in result.runs if run.stage == stage.name and run.number > 1]
    return of_each(sum(left), len(left)) * stage.vessel.area


def situation(system: System) -> tuple[str, str]:
    """What is run."""
    return (
        "Three filters in series ahead of an evaporator are washed every other evening from one pump; water goes "
        "round a filter that is washed.",
        "The unit is held for the first 14 of the 23 minutes of a wash. The washes come one after the other, 55 "
        "minutes apart, or side by side.",
    )


LESSON: Final = Lesson(
    name="stagger",
    files=("stagger.toml",),
    situation=situation,
    watch="All at one hour, 55 minutes apart, or three at once on the same pump: who waits, how clean do the beds "
    "get, and what reaches the unit?",
    again="compare {case}",
    study=study,
)
