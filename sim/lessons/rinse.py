"""Lesson: the same backwash followed by rinses of several lengths, and the water that goes to service after each."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

import pandas as pd

from plots.inputs import Measure
from plots.wall_inputs import Bars, RinseWall
from sim.case.load import load_case
from sim.case.quantities import System
from sim.case.records import Case
from sim.case.units import GRAMS_PER_KILOGRAM, MINUTE
from sim.lessons.lesson import SEED, Lesson, Told, of_each
from sim.plant.records import RunResult
from sim.plant.trace import trace
from sim.study.compare import Progress
from sim.study.sweep import Point, sweep
from sim.tell.listing import Column, Listing
from sim.tell.present import UNITS, column

KEY: Final = "stage.sand.step.rinse.minutes"
MINUTES: Final = (0, 3, 7, 11)
MINUTES_AN_HOUR: Final = 60.0
DRAWN_RUN: Final = 8  # the return to service that is drawn: the bed has long settled into its rhythm
DRAWN_SECONDS: Final = (1.0, *(10.0 * place for place in range(1, 91)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Rinse:
    """One length of the rinse; all but the highest concentration, which is the drawn return's, are means of a wash.

    The water sent on counts as dirty above that of a rinsed, ripened bed, as `dirty_return_kg` does.
    """

    rinse_min: int
    dirty_return_g_a_wash: float
    dirty_return_min_a_wash: float
    dirty_return_peak_mg_l: float
    over_limit_min_a_wash: float
    drain_m3_a_wash: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RinseStudied:
    """Every rinse, and the solids [mg/L] in the water after the drawn return at DRAWN_SECONDS."""

    case: Case
    rinses: tuple[Rinse, ...]
    after_return: tuple[tuple[float, ...], ...]

    def rows(self) -> list[dict[str, Any]]:
        """A row for each rinse."""
        return [asdict(each) for each in self.rinses]

    def told(self, system: System) -> Told:
        """The answer."""
        texts = _Texts.of(self.rinses, system)
        return Told(table=texts.listing(), sentences=_sentences(self.rinses, system), wall=self._wall(texts, system))

    def _wall(self, texts: "_Texts", system: System) -> RinseWall:
        first, _, kept, _ = self.rinses
        grams = column([first.dirty_return_g_a_wash / 1e3, kept.dirty_return_g_a_wash / 1e3], "small mass", system)
        table = pd.DataFrame(
            {f"{rinse.rinse_min} min": values for rinse, values in zip(self.rinses, self.after_return, strict=True)},
            index=[seconds / MINUTE for seconds in DRAWN_SECONDS],
        )
        names = tuple(table.columns)
        units = UNITS[system]
        stage = self.case.stages[0]
        return RinseWall(
            title=f"Without a rinse {grams[0]} g of solids go on to service after each wash, "
            f"after {kept.rinse_min} minutes of rinse {grams[1]} g",
            after_return=table,
            solids=Measure("solids in the water sent on", units["solids"].symbol),
            limit=stage.limit,
            bars=(
                Bars(
                    measure=Measure("solids sent on after a wash", units["small mass"].symbol),
                    names=names, values=tuple(each.dirty_return_g_a_wash for each in self.rinses), texts=texts.grams,
                ),
                Bars(
                    measure=Measure("water to drain in a wash", units["volume"].symbol),
                    names=names,
                    values=tuple(each.drain_m3_a_wash * units["volume"].per_result_unit for each in self.rinses),
                    texts=texts.water,
                ),
            ),
        )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class _Texts:
    """The table's columns as text."""

    minutes: tuple[str, ...]
    grams: tuple[str, ...]
    lasting: tuple[str, ...]
    highest: tuple[str, ...]
    over: tuple[str, ...]
    water: tuple[str, ...]
    volume: str

    @classmethod
    def of(cls, rinses: Sequence[Rinse], system: System) -> "_Texts":
        return cls(
            minutes=tuple(str(each.rinse_min) for each in rinses),
            grams=column([each.dirty_return_g_a_wash / GRAMS_PER_KILOGRAM for each in rinses], "small mass", system),
            lasting=column([each.dirty_return_min_a_wash for each in rinses], "minutes", system),
            highest=column([each.dirty_return_peak_mg_l for each in rinses], "solids", system),
            over=column([each.over_limit_min_a_wash for each in rinses], "minutes", system),
            water=column([each.drain_m3_a_wash for each in rinses], "volume", system),
            volume=UNITS[system]["volume"].symbol,
        )

    def listing(self) -> Listing:
        columns = (
            ("rinse, min", self.minutes),
            ("dirty water sent on, min a wash", self.lasting),
            ("solids in it, g a wash", self.grams),
            ("highest, mg/L", self.highest),
            ("over the limit, min a wash", self.over),
            (f"water to drain, {self.volume} a wash", self.water),
        )
        return Listing(
            columns=tuple(Column(head, "numbers") for head, _ in columns),
            rows=tuple(zip(*(texts for _, texts in columns), strict=True)),
        )


def _sentences(rinses: Sequence[Rinse], system: System) -> tuple[str, ...]:
    none, _, some, long = rinses
    unit = UNITS[system]["volume"].symbol
    longer = ((none, some), (some, long))
    saved = [before.dirty_return_g_a_wash - after.dirty_return_g_a_wash for before, after in longer]
    spent = [after.drain_m3_a_wash - before.drain_m3_a_wash for before, after in longer]
    grams = column([each / GRAMS_PER_KILOGRAM for each in saved], "small mass", system)
    water = column(spent, "volume", system)
    peaks = column([none.dirty_return_peak_mg_l, some.dirty_return_peak_mg_l], "solids", system)
    return (
        f"A rinse of {some.rinse_min} minutes costs {water[0]} {unit} a wash and keeps {grams[0]} g out of the water "
        f"sent on, whose highest solids go from {peaks[0]} to {peaks[1]} mg/L.",
        f"From {some.rinse_min} to {long.rinse_min} minutes it costs {water[1]} {unit} more and keeps back "
        f"{grams[1]} g more.",
        "How many minutes that takes depends on the vessel, on the flow and on what the backwash leaves: here they "
        "are those of one invented filter.",
    )


def study(path: Path, progress: Progress | None = None) -> RinseStudied:
    """Run the case with every rinse."""
    swept = sweep(path, {KEY: MINUTES}, seed=SEED, progress=progress)
    drawn = [_after_return(path, point) for point in swept.points]
    rinses = [_rinse(int(str(point.settings[KEY])), point.results[0], max(values))
              for point, values in zip(swept.points, drawn, strict=True)]  # fmt: skip
    return RinseStudied(case=swept.case, rinses=tuple(rinses), after_return=tuple(drawn))


def _rinse(minutes: int, result: RunResult, highest: float) -> Rinse:
    site, washes = result.site, result.site["washes"]
    return Rinse(
        rinse_min=minutes,
        dirty_return_g_a_wash=of_each(site["dirty_return_kg"], washes) * GRAMS_PER_KILOGRAM,
        dirty_return_min_a_wash=of_each(site["dirty_return_min"], washes),
        dirty_return_peak_mg_l=highest,
        over_limit_min_a_wash=of_each(site["breach_h"], washes) * MINUTES_AN_HOUR,
        drain_m3_a_wash=of_each(site["drain_m3"], washes),
    )


def _after_return(path: Path, point: Point) -> tuple[float, ...]:
    """Solids in the water sent on after the drawn return [mg/L]."""
    (result,) = point.results
    start = next(run.start_s for run in result.runs if run.number == DRAWN_RUN)
    case = load_case(path, point.settings)
    samples = trace(case, result.policy, times=[start + seconds for seconds in DRAWN_SECONDS], seed=SEED)
    return tuple(sample.outlet_mg_l for sample in samples)


def situation(system: System) -> tuple[str, str]:
    """What is run."""
    return (
        "A sand filter is washed every night, each time with the same backwash of 9 minutes.",
        "After it comes a rinse to drain of 0, 3, 7 or 11 minutes; then the filter goes back to service.",
    )


LESSON: Final = Lesson(
    name="rinse",
    files=("rinse.toml",),
    situation=situation,
    watch="The backwash has left dirty water in the vessel. How many minutes of rinse does it take until hardly any "
    "of it goes on to service, and what do further minutes buy?",
    again=f"sweep {{case}} --vary {KEY}={','.join(map(str, MINUTES))}",
    study=study,
)
