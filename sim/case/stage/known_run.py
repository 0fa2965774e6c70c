"""One known run of a filter, and the deposit constant that it tells.

The one thing a plant knows of a filter's clogging is that at some flow, so long after a wash, its pressure drop had
risen so far. With the solids of the feed that fixes one constant: the deposit density where deposit narrows the
pores, the gain of head loss where it adds in proportion; the same for every layer of the stage.

What is taken: the mean of the case's feed and of its temperature; for a later stage, what the stages before it let
through while clean and ripe; a bed clean and ripe at first, and the known flow, that of one vessel, without a break.
"""

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sim.case.mistakes import Finding
from sim.case.record import record
from sim.case.records import Solved
from sim.case.series.records import Feed
from sim.case.spelling import printable
from sim.case.stage.clean_run import CleanRun, inflow_of
from sim.case.stage.defaults import constant_of, growth_constant_of, porosity_of
from sim.case.stage.records import Stage
from sim.case.stage.schema import KnownRunTable, LayerTable, StageTable
from sim.case.stage.stages import stages_of
from sim.case.stage.surroundings import Surroundings
from sim.case.units import DEPOSIT, HEAD_LOSS_GAIN, NUMBER_PATTERN, PRESSURE, Kind

TOLERANCE = 1e-12
"""Of the root, relative."""

JUST_ABOVE = 1.0 + 1e-9


@record
class Wanted:
    """A constant that a known run can tell: its key in a layer, the values a file may give, its unit in messages."""

    key: str
    least: float
    most: float
    kind: Kind
    symbol: str

    def written(self, value: float) -> str:
        """The value [SI] with its unit, to four significant figures."""
        return f"{value / self.kind.units[self.symbol].factor:.4g} {self.symbol}"


DENSITY = Wanted(key="deposit_density", least=1e3, most=3e6, kind=DEPOSIT, symbol="kg/m3")
GAIN = Wanted(key="head_loss_gain", least=0.0, most=1e3, kind=HEAD_LOSS_GAIN, symbol="Pa/m per g/m3")


def wanted_of(stage: StageTable) -> Wanted:
    """The constant that the stage's law of growth leaves to be told."""
    return GAIN if growth_constant_of(stage) == GAIN.key else DENSITY


@dataclass(frozen=True, slots=True)
class KnownRuns:
    """The stages with what their known runs tell put in as given, a record of each, and what cannot be."""

    stages: list[StageTable]
    solved: tuple[Solved, ...]
    findings: list[Finding]


def with_known_runs(
    tables: Sequence[StageTable], around: Surroundings, feed: Feed, data: Sequence[Mapping[str, Any]]
) -> KnownRuns:
    """Solve every known run of a train; `data` holds the stages as the file writes them."""
    stages: list[StageTable] = []
    solved: list[Solved] = []
    findings: list[Finding] = []
    for place, table in enumerate(tables):
        known = table.known_run
        if known is not None:
            run = _Run(before=tuple(stages), table=table, known=known, around=around, feed=feed)
            told = _solve(run, ("stage", place, "known_run"), data[place]["known_run"])
            if isinstance(told, Finding):
                findings.append(told)
            else:
                solved += _records(run, told, data[place]["known_run"])
                table = _with(table, wanted_of(table), told)
        stages.append(table)
    return KnownRuns(stages, tuple(solved), findings)


@record
class _Run:
    """A stage with a known run, and what stands before it."""

    before: tuple[StageTable, ...]
    table: StageTable
    known: KnownRunTable
    around: Surroundings
    feed: Feed

    def rise(self, wanted: Wanted, value: float) -> float:
        """What the pressure drop rises by [Pa] with one value of the wanted constant."""
        stages = self._records(_with(self.table, wanted, value))
        load = self.arriving(stages) * self.known.flow * self.known.after / stages[-1].vessel.area
        run = CleanRun(stage=stages[-1], flow=self.known.flow, temperature=self.around.temperature)
        return run.rise(load)

    def arriving(self, stages: Sequence[Stage]) -> float:
        """Solids that the bed can capture [g/m3], at its inlet."""
        inflow = inflow_of(
            stages,
            len(stages) - 1,
            self.feed,
            flow=self.known.flow * stages[-1].vessels.sharing,
            temperature=self.around.temperature,
        )
        return inflow.filterable

    def _records(self, table: StageTable) -> tuple[Stage, ...]:
        return stages_of([*self.before, table], self.around)[0]

    @property
    def least_density(self) -> float:
        """Below it [g/m3] an ultimate deposit that the file gives would not fit the pores."""
        return max((_density_that_fits(layer, self.table) for layer in self.table.layer), default=0.0)


def _density_that_fits(layer: LayerTable, stage: StageTable) -> float:
    """Deposit density at which the ultimate deposit given narrows the pores to the floor [g/m3]."""
    if layer.ultimate_deposit is None:
        return 0.0
    return layer.ultimate_deposit / (porosity_of(layer) - constant_of(stage, "porosity_floor"))


def _with(table: StageTable, wanted: Wanted, value: float) -> StageTable:
    """The stage with the constant given in every layer."""
    layers = [layer.model_copy(update={wanted.key: value}) for layer in table.layer]
    return table.model_copy(update={"layer": layers})


def _solve(run: _Run, path: tuple[str | int, ...], raw: Mapping[str, Any]) -> float | Finding:
    """The constant with which the pressure drop rises by what is known; a finding where there is none."""
    wanted, fits = wanted_of(run.table), run.least_density
    if wanted is GAIN:
        at_least, at_most = GAIN.least, GAIN.most
        smallest, largest = run.rise(GAIN, at_least), run.rise(GAIN, at_most)
    else:
        at_least, at_most = max(DENSITY.least, fits * JUST_ABOVE), DENSITY.most
        smallest, largest = run.rise(DENSITY, at_most), run.rise(DENSITY, at_least)
    gain = run.known.gain
    if not smallest <= gain <= largest or smallest == largest:
        bound = fits if wanted is DENSITY and fits > DENSITY.least else None
        return _out_of_reach(run, wanted, (smallest, largest), bound, path, raw)
    if wanted is GAIN:  # the law is linear in its constant
        return at_least + (at_most - at_least) * (gain - smallest) / (largest - smallest)
    return _root(lambda density: run.rise(DENSITY, density) - gain, at_least, at_most)


def _root(function: Callable[[float], float], low: float, high: float) -> float:
    """The zero between `low` and `high`, both above 0, to TOLERANCE of itself; sought on a logarithmic scale."""
    from scipy.optimize import brentq

    def scaled(logarithm: float) -> float:
        return function(math.exp(logarithm))

    return math.exp(float(brentq(scaled, math.log(low), math.log(high), xtol=TOLERANCE, rtol=TOLERANCE)))


def _out_of_reach(
    run: _Run,
    wanted: Wanted,
    reach: tuple[float, float],
    bound: float | None,
    path: tuple[str | int, ...],
    raw: Mapping[str, Any],
) -> Finding:
    arriving = run.arriving(stages_of([*run.before, run.table], run.around)[0])
    smallest, largest = (_as_in(raw["gain"], rise) for rise in reach)
    least = wanted.written(wanted.least if bound is None else bound)
    gain, after, flow = _as_given(raw)
    why = "" if bound is None else " (with a lower one the ultimate_deposit given would not fit the pores)"
    return Finding(
        (*path, "gain"),
        f"{gain} more after {after} of flow at {flow}, with {arriving:.3g} mg/L arriving",
        f"{smallest} to {largest}: what a {wanted.key} from {least}{why} to {wanted.written(wanted.most)} gives then",
        "flow, time and rise of one and the same run, with the solids and the filter coefficients that it had",
    )


def _as_in(quantity: str, value: float) -> str:
    """A pressure [Pa] in the unit of a pressure that the file gives.

    >>> _as_in("8 psi", 34473.786)
    '5 psi'
    """
    symbol = re.sub(f"^{NUMBER_PATTERN} *", "", quantity.strip(" "))
    return f"{value / PRESSURE.units[symbol].factor:.3g} {symbol}"


def _records(run: _Run, value: float, raw: Mapping[str, Any]) -> list[Solved]:
    """One for each layer that would otherwise have assumed the constant, with the range that is usual."""
    base, key = f"stage.{run.table.name}.layer.", wanted_of(run.table).key
    return [
        Solved(key=each.key, value=value, low=each.low, high=each.high, unit=each.unit, known=_as_given(raw))
        for each in stages_of([*run.before, run.table], run.around)[1].assumptions
        if each.key.startswith(base) and each.key.endswith(f".{key}")
    ]


def _as_given(raw: Mapping[str, Any]) -> tuple[str, str, str]:
    """Gain, time and flow of the known run as the file has them.

    >>> _as_given({"flow": "25 gpm", "gain": "8 psi ", "after": "4 d"})
    ('8 psi', '4 d', '25 gpm')
    """
    gain, after, flow = (printable(raw[key].strip(" ")) for key in ("gain", "after", "flow"))
    return gain, after, flow
