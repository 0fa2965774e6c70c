"""A filter-year of the product beside a filter-year of the plain tick loops, at equal cells and for the same KPIs.

Both have their weather and the rows of their beds at hand: the loop's are typed before it starts, the product keeps
those of its last call.
"""

from __future__ import annotations

from dataclasses import dataclass

from sim.case.records import Case
from sim.plant import RunResult, simulate
from sim.plant.build import build_rows
from sim.weather.forcing import made_forcing
from tests import twin
from tests.agreement.compare import TICKS_A_RUN
from tests.agreement.plants import twin_of
from tests.bench.cases import PRESSURE
from tests.bench.table import counts_line
from tests.bench.timing import interleaved
from tests.twin.spec import HOUR

TICK = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Race:
    """Median seconds of both sides for one case, and how far they agree."""

    product: float
    loop: float
    result: RunResult
    other: twin.TwinResult

    @property
    def ratio(self) -> float:
        """How many times faster the product is."""
        return self.loop / self.product

    @property
    def washes(self) -> tuple[int, int]:
        """Washes begun, by the product and by the loop."""
        return sum(run.cause is not None for run in self.result.runs), len(self.other.wash_starts)

    @property
    def solids_apart(self) -> float:
        """Share by which the solids sent to service differ."""
        ours = self.result.site["solids_to_service_kg"] or 0.0
        return abs(self.other.solids_to_service_kg / ours - 1.0)

    @property
    def agree(self) -> bool:
        """Whether both did the same: the washes to what the loop's tick adds up to, the solids to 0.5 %."""
        ours, theirs = self.washes
        mean_run = HOUR * (self.result.site["mean_run_h"] or 0.0)
        late = TICKS_A_RUN * TICK * max(ours, theirs)
        return abs(ours - theirs) * mean_run <= late and self.solids_apart <= 5e-3

    def __str__(self) -> str:
        ours, theirs = self.washes
        same = "the same" if self.agree else "NOT THE SAME"
        return (
            f"{same}: {ours} and {theirs} washes, solids to service {100 * self.solids_apart:.2f} % apart; "
            f"{counts_line(self.result.counts)}"
        )


def race(case: Case, repeats: int = 7) -> Race:
    """The product and the compiled loop in turn."""
    plant = twin_of(case, PRESSURE)
    taken = interleaved(
        {"product": lambda: simulate(case, PRESSURE), "loop": lambda: twin.run_compiled(plant, TICK)}, repeats
    )
    return Race(
        product=taken["product"],
        loop=taken["loop"],
        result=simulate(case, PRESSURE),
        other=twin.run_compiled(plant, TICK),
    )


def product_seconds(case: Case, repeats: int = 7) -> float:
    """Median seconds of the product when it has to make its weather and its rows first."""

    def anew() -> None:
        made_forcing.cache_clear()
        build_rows.cache_clear()
        simulate(case, PRESSURE)

    return interleaved({"anew": anew}, repeats)["anew"]
