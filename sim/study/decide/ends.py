"""Whether a decision rests on a constant that was only assumed: its settings run at both ends of every range."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from sim.case.price.records import Prices
from sim.case.record import record
from sim.errors import CaseError
from sim.study.decide.limits import Limit, exceeded
from sim.study.decide.trials import AMOUNT, Bench, Candidate, Tried, priced
from sim.study.many.assumed_settings import MONEY, Setting
from sim.study.over_ranges import At, End, OverRanges
from sim.study.ranking import ends_of_ranges, trial_name

TODAY = "today's washes"  # their name among the settings that are run at the ends
SPREAD = ("cost", "water", "downtime_h", "over_limit_h", "breakthrough_risk", "pressure_kpa")
"""The figures whose spread over the ranges is told."""
EFFICIENCY, ENERGY = f"{MONEY}pump_efficiency", f"{AMOUNT}energy"

By = Mapping[str, Tried]
"""What was shown by the name of each setting."""


@record
class Trial:
    """Assumed constants at an end of their ranges, and what the settings then showed."""

    keys: tuple[str, ...]
    end: End
    tried: By


@record
class Ends:
    """The settings of a decision in one run each at typical values and at the ends.

    `refused`: ends at which the case cannot be run, with why.
    """

    assumed: int
    constants: int
    typical: By
    trials: tuple[Trial, ...]
    refused: tuple[tuple[str, End, str], ...]

    def span(self, name: str, key: str) -> tuple[float, float]:
        """The least and the most of a figure of one setting over all of them; nan where it does not apply."""
        values = [each[name].mean(key) for each in (self.typical, *(trial.tried for trial in self.trials))]
        return min(values), max(values)


@record
class Margin:
    """By how much an answer holds, at typical values and in each trial: it turns where the sign does."""

    typical: float
    trials: tuple[tuple[Trial, float], ...]

    @property
    def low(self) -> float:
        """The least of all."""
        return min([self.typical, *(value for _, value in self.trials)])

    @property
    def high(self) -> float:
        """The most of all."""
        return max([self.typical, *(value for _, value in self.trials)])

    @property
    def turns(self) -> tuple[tuple[Trial, float], ...]:
        """The trials in which the answer turns."""
        return tuple((trial, value) for trial, value in self.trials if (value > 0.0) != (self.typical > 0.0))

    def to_json(self, name: str, figure: str) -> dict[str, Any]:
        """Plain data for a JSON file."""
        turns = [{"keys": list(trial.keys), "end": trial.end, "value": value} for trial, value in self.turns]
        return {
            "name": name, "figure": figure, "typical": self.typical, "low": self.low, "high": self.high,
            "holds": not turns, "turns": turns,
        }  # fmt: skip


def ends_of(bench: Bench, settings: Mapping[str, Candidate]) -> Ends:
    """One run of each setting, by its name, with every assumed constant at both ends, one by one and together."""
    case = bench.case
    typical = _shown(bench.alone(), settings)
    trials: list[Trial] = []
    refused: list[tuple[str, End, str]] = []
    wanted = ends_of_ranges(case)
    for place, (assumptions, end, values) in enumerate(wanted):
        alone = len(assumptions) == 1
        bench.enter("constants" if alone else "all constants", assumptions[0].key, place + 1, len(wanted))
        if not values:
            continue
        try:
            tried = _money(bench, values, typical) or _shown(bench.alone(values), settings)
        except CaseError as error:
            refused.append((trial_name(assumptions), end, str(error.problems[0])))
            continue
        trials.append(Trial(keys=tuple(each.key for each in assumptions), end=end, tried=tried))
    return Ends(
        assumed=len(case.assumptions), constants=case.constants, typical=typical, trials=tuple(trials),
        refused=tuple(refused),
    )  # fmt: skip


def _shown(bench: Bench, settings: Mapping[str, Candidate]) -> By:
    return dict(zip(settings, bench.tried(list(settings.values())), strict=True))


def _money(bench: Bench, values: Mapping[str, Setting], typical: By) -> By:
    """What is another where a constant of money alone is: nothing is run again. Empty where another one is too."""
    prices, other = bench.case.prices, values.get(EFFICIENCY)
    if prices is None or set(values) != {EFFICIENCY}:
        return {}
    return {name: _pumped(each, prices, float(other or 0.0)) for name, each in typical.items()}


def _pumped(tried: Tried, prices: Prices, efficiency: float) -> Tried:
    """The same runs by a pump of another efficiency."""
    energy = tried.figures[ENERGY] * prices.pump_efficiency / efficiency
    return priced(replace(tried, figures={**tried.figures, ENERGY: energy}), prices)


def over_ranges(
    ends: Ends, limits: Sequence[Limit], more: Callable[[By], Mapping[str, float]], key: str
) -> OverRanges:
    """How far the figures of the settings spread, and how often they keep the limits; no more than today is no more
    than today with the same constants. `more` gives another figure, called `key`, of some settings."""

    def shown(tried: By) -> dict[str, dict[str, float]]:
        others = more(tried)
        return {
            name: {figure: each.mean(figure) for figure in SPREAD}
            | ({key: others[name]} if name in others else {key: float("nan")})
            for name, each in tried.items()
        }

    def kept(tried: By) -> frozenset[str]:
        return frozenset(name for name, each in tried.items() if not exceeded(limits, each, tried[TODAY]))

    return OverRanges(
        typical=shown(ends.typical),
        kept=kept(ends.typical),
        limited=bool(limits),
        trials=tuple(
            At(keys=each.keys, end=each.end, shown=shown(each.tried), kept=kept(each.tried)) for each in ends.trials
        ),
    )


def margin(ends: Ends, of: Callable[[By], float | None]) -> Margin | None:
    """By how much an answer holds by a measure of it; None where that is not known."""
    typical = of(ends.typical)
    found = [(trial, of(trial.tried)) for trial in ends.trials]
    if typical is None or typical != typical:
        return None
    return Margin(typical=typical, trials=tuple((trial, value) for trial, value in found if value is not None))
