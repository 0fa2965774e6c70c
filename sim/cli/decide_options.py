"""Options of the studies that decide: what is to be least, and the limits that a setting is to keep."""

from pathlib import Path
from typing import Any, cast

import click

from sim.case.quantities import System
from sim.case.record import record
from sim.cli.options import MOST_REPLICATES, adding, study_option, workers_option

REPLICATES = 40  # where the weather is random and nothing is said
LONGEST_YEAR = 8784.0  # h
MOST_PRESSURE = 1e7  # Pa


class Finite(click.FloatRange):
    """A number of a range; `nan`, which no range holds, is refused too."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """The number; click's own error for anything else."""
        if str(value).strip().lower().lstrip("+-") == "nan":
            raise click.BadParameter(f"{value!r} is not a number.", ctx, param)
        return float(super().convert(value, param, ctx))


decide_options = adding((
    click.option("--least", type=click.Choice(["cost", "water"]),
                 help="What is to be least; cost if the case gives prices, else water to drain."),
    click.option("--today", metavar="NAME", help="The policy of today; the first calendar of the case if not given."),
    click.option("--risk", type=Finite(0.0, 1.0, min_open=True), metavar="SHARE",
                 help="At most this share of the years with more hours over the limit than the case allows."),
    click.option("--over-limit", type=Finite(0.0, LONGEST_YEAR), metavar="HOURS",
                 help="At most so many hours a year over the limit; no more than today if neither is given."),
    click.option("--pressure", metavar="PRESSURE", help='At most this pressure drop, as in "30 kPa".'),
    click.option("--unit-stops", type=Finite(0.0, LONGEST_YEAR), metavar="HOURS",
                 help="At most so many hours a year in which the unit downstream is held."),
    click.option("--no-overlap", is_flag=True, help="No wash has to wait for another."),
    click.option("--also", multiple=True, type=click.Choice(["backwash", "rinse", "hours", "salt"]),
                 help="Also try other minutes of these steps, other hours of the day, or other salt of a "
                 "regeneration together with its volume. Repeatable."),
    click.option("--replicates", type=click.IntRange(1, MOST_REPLICATES), metavar="N",
                 help=f"Runs of each setting that is told, each in other weather; {REPLICATES} if not given, "
                 "1 where nothing is random."),
    click.option("--coarse", is_flag=True, help="Try fewer settings, on fewer runs: sooner there, less exact."),
    workers_option(help="one for each core once that is worth it"),
    study_option,
    click.option("--ranges/--no-ranges", default=True, help="Try every assumed constant at both ends of its range."),
))  # fmt: skip


@record
class Asked:
    """What was asked for."""

    least: str | None
    today: str | None
    risk: float | None
    over_limit: float | None
    pressure: str | None
    unit_stops: float | None
    no_overlap: bool
    also: tuple[str, ...]
    replicates: int | None
    coarse: bool
    workers: int | None
    study: Path | None
    ranges: bool

    def wishes(self, units: System) -> Any:
        """As a study takes it; RequestError for a pressure that cannot be read."""
        from sim.study.decide.advice import Wishes
        from sim.study.decide.limits import Limit

        limits = []
        if self.risk is not None:
            limits.append(Limit("risk", self.risk))
        if self.over_limit is not None:
            limits.append(Limit("over_limit_h", self.over_limit))
        if self.pressure is not None:
            limits.append(Limit("pressure_kpa", _kilopascals(self.pressure)))
        if self.unit_stops is not None:
            limits.append(Limit("stopped_h", self.unit_stops))
        if self.no_overlap:
            limits.append(Limit("waits", 0.0))
        least, also = cast(Any, self.least), cast(Any, frozenset(self.also))  # click has checked both
        return Wishes(
            least=least, limits=tuple(limits), also=also, today=self.today, coarse=self.coarse, units=units
        )

    def count(self, random: bool) -> int:
        """How many replicates."""
        return self.replicates or (REPLICATES if random else 1)


def _kilopascals(text: str) -> float:
    from sim.case.units import PA_PER_KPA, PRESSURE, parse_quantity
    from sim.errors import RefusedValue
    from sim.study.errors import RequestError

    try:
        found = parse_quantity(text, PRESSURE)
        if not 0.0 < found <= MOST_PRESSURE:
            raise RefusedValue(text, "above 0, up to 100 bar", "30 kPa")
        return found / PA_PER_KPA
    except RefusedValue as refused:
        raise RequestError(
            f"--pressure: given {refused.given}; allowed: {refused.allowed}; try: {refused.try_}"
        ) from None
