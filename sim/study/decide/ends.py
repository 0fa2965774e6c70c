"""Whether a decision rests on a constant that was only assumed: its settings run at both ends of every range."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from sim.errors import CaseError
from sim.study.decide.trials import Bench, Candidate, Tried
from sim.study.ranking import End, ends_of_ranges, trial_name

By = Mapping[str, Tried]
"""What was shown by the name of each setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """Assumed constants at an end of their ranges, and what the settings then showed."""

    keys: tuple[str, ...]
    end: End
    tried: By


@dataclass(frozen=True, slots=True, kw_only=True)
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


@dataclass(frozen=True, slots=True, kw_only=True)
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
        bench.tell(f"assumed constants, {place + 1} of {len(wanted)}: {trial_name(assumptions)}, {end}")
        if not values:
            continue
        try:
            tried = _shown(bench.alone(values), settings)
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


def margin(ends: Ends, of: Callable[[By], float | None]) -> Margin | None:
    """By how much an answer holds by a measure of it; None where that is not known."""
    typical = of(ends.typical)
    found = [(trial, of(trial.tried)) for trial in ends.trials]
    if typical is None or typical != typical:
        return None
    return Margin(typical=typical, trials=tuple((trial, value) for trial, value in found if value is not None))


def ends_json(ends: Ends, margins: list[dict[str, Any]]) -> dict[str, Any]:
    """Plain data for a JSON file."""
    return {
        "assumed": ends.assumed,
        "constants": ends.constants,
        "runs": (1 + len(ends.trials)) * len(ends.typical),
        "answers": margins,
        "refused": [{"key": key, "end": end, "why": why} for key, end, why in ends.refused],
    }
