"""The best settings of one policy: a coarse look over the range of each setting, then finer ones about the best."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field

from sim.case.trigger_records import Policy
from sim.case.units import MINUTE
from sim.study.decide.knobs import Knob, short_rinses, with_values
from sim.study.decide.limits import Limit, excess
from sim.study.decide.trials import Bench, Candidate, Steps, Tried

# Finer looks, each half as wide as the one before: to 1 % of a value, or to 5 % in weather that is random.
ROUNDS, ROUNDS_AT_RANDOM, ROUNDS_COARSE = 5, 3, 2
STEPS = (0.95, 1.0, 1.05)  # factors on two settings that lean on each other
WALKS, WALKS_AT_RANDOM = 3, 1  # with them
AGAIN = (0.71, 1.41)  # times its best value: where a setting is sought again once others have moved
TOGETHER = (0.25, 0.35, 0.5, 0.71, 1.41, 2.0, 2.83, 4.0)  # factors on all settings of a policy at once
STAY = ("at", "hold")  # settings that do not grow with the others
GROWTHS = 2  # of a range whose best lies at its end

Values = tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Aim:
    """What is to be least, under which limits, measured against today's way to start a wash."""

    least: str
    limits: tuple[Limit, ...]
    today: Tried

    def rank(self, tried: Tried) -> tuple[float, float, float]:
        """What is better comes first: by how much limits are exceeded, the cost or the water, time over the limit."""
        hours = tried.mean("over_limit_h")
        return excess(self.limits, tried, self.today), tried.mean(self.least), 0.0 if hours != hours else hours


@dataclass(slots=True, kw_only=True)
class Search:
    """The settings of a policy that were tried so far; `scouted` on fewer replicates than those that were found."""

    bench: Bench
    policy: Policy
    knobs: tuple[Knob, ...]
    aim: Aim
    coarse: bool = False
    found: dict[Values, Tried] = field(default_factory=dict)
    ranks: dict[Values, tuple[float, float, float]] = field(default_factory=dict)
    scouted: dict[Values, Tried] = field(default_factory=dict)

    def run(self) -> None:
        """Try what is to be tried, one setting after the other, each at the best of the others."""
        rounds = ROUNDS_AT_RANDOM if self.bench.case.is_random else ROUNDS
        self.look([tuple(knob.present for knob in self.knobs)])
        self._pass(ROUNDS_COARSE if self.coarse else rounds)
        if len(self.knobs) > 1:
            self.look(self._together())
        if self.coarse:
            return
        if len(self.knobs) > 1:
            self._pass_again(rounds // 2)
        for first, second in self._pairs():
            self._look_around(first, second)

    def take(self, knobs: tuple[Knob, ...], tried: Sequence[Tried]) -> None:
        """Choose from these instead, whatever they cost when they were tried."""
        self.knobs = knobs
        for each in tried:
            self._keep(each.candidate.values, each)

    def look_again(self, bench: Bench, aim: Aim, promising: Sequence[Tried]) -> None:
        """Go on from these settings alone, run on more replicates."""
        self.scouted, self.found, self.ranks = self.found, {}, {}
        self.bench, self.aim = bench, aim
        for each in bench.tried([each.candidate for each in promising]):
            self._keep(each.candidate.values, each)

    def _keep(self, values: Values, tried: Tried) -> None:
        self.found[values], self.ranks[values] = tried, self.aim.rank(tried)

    def _pass(self, rounds: int) -> None:
        """One setting after the other over its range, then between its best value and the neighbours of that."""
        for place in range(len(self.knobs)):
            self.look([self._moved(place, value) for value in self.knobs[place].coarse()])
            self._grow(place)
            self._refine(place, 1 if self.knobs[place].part in STAY else rounds)

    def _pass_again(self, rounds: int) -> None:
        """Once more, near the best of each setting: the others have moved; hours and holds hardly lean on them."""
        for place, knob in enumerate(self.knobs):
            if knob.part not in STAY:
                best = self._best_values()[place]
                self.look([self._moved(place, value) for value in knob.within([best * each for each in AGAIN])])
                self._refine(place, rounds)

    def _refine(self, place: int, rounds: int) -> None:
        """Halve the way from the best value to its neighbours, until nothing is between that can be set."""
        for _ in range(rounds):
            if not self.look([self._moved(place, value) for value in self._nearer(place)]):
                return

    def _together(self) -> list[Values]:
        """All settings of triggers times the same factor: a train gets nowhere while one stage lags behind."""
        found = []
        for factor in TOGETHER:
            values = [
                ([knob.present] if knob.part in STAY or knob.of_a_step else knob.within([knob.present * factor]))
                for knob in self.knobs
            ]
            if all(values):
                found.append(tuple(each[0] for each in values))
        return found

    def _pairs(self) -> list[tuple[int, int]]:
        """Settings that lean on each other: a volume and its reserve, one stage and the next."""
        own = [place for place, knob in enumerate(self.knobs) if knob.part not in STAY and not knob.of_a_step]
        return list(itertools.pairwise(own))

    def _look_around(self, first: int, second: int) -> None:
        """Move two settings at once by small factors, for as long as that helps: their best may lie on a slope."""
        for _ in range(WALKS_AT_RANDOM if self.bench.case.is_random else WALKS):
            best = self._best_values()
            wanted = []
            for one, other in itertools.product(STEPS, STEPS):
                values = list(best)
                for place, factor in ((first, one), (second, other)):
                    near = self.knobs[place].within([best[place] * factor])
                    values[place] = near[0] if near else best[place]
                wanted.append(tuple(values))
            self.look(wanted)
            if self._best_values() == best:
                return

    def _grow(self, place: int) -> None:
        """Go on beyond the end of a range where the best lies there."""
        for _ in range(GROWTHS):
            grown = self.knobs[place].grown(self._best_values()[place])
            if grown is None:
                return
            self.knobs = (*self.knobs[:place], grown, *self.knobs[place + 1 :])
            self.look([self._moved(place, value) for value in grown.coarse()])

    @property
    def best(self) -> Tried:
        """The best that was tried."""
        return min(self.found.values(), key=self.aim.rank)

    def look(self, wanted: Sequence[Values]) -> bool:
        """Run what is new among these values; whether anything was."""
        made = {values: self._candidate(values) for values in dict.fromkeys(wanted) if values not in self.found}
        possible = {values: each for values, each in made.items() if each is not None}
        for values, tried in zip(possible, self.bench.tried(list(possible.values())), strict=True):
            self._keep(values, tried)
        return bool(possible)

    def _moved(self, place: int, value: float) -> Values:
        """The best values with another one of one knob."""
        best = self._best_values()
        return (*best[:place], value, *best[place + 1 :])

    def _best_values(self) -> Values:
        if not self.found:
            return tuple(knob.present for knob in self.knobs)
        return min(self.ranks, key=self.ranks.__getitem__)

    def _nearer(self, place: int) -> tuple[float, ...]:
        """Values between the best one and its neighbours on either side."""
        best, knob = self._best_values(), self.knobs[place]
        line = sorted(
            values[place] for values in self.found if (*values[:place], *values[place + 1 :]) == _without(best, place)
        )
        here = line.index(best[place])
        pairs = itertools.pairwise(line[max(here - 1, 0) : here + 2])
        return tuple(value for below, above in pairs for value in knob.between(below, above))

    def _candidate(self, values: Values) -> Candidate | None:
        return candidate_of(self.bench, self.policy, self.knobs, values)


def _without(values: Values, place: int) -> Values:
    return (*values[:place], *values[place + 1 :])


def candidate_of(bench: Bench, policy: Policy, knobs: Sequence[Knob], values: Values) -> Candidate | None:
    """The policy at some values with the floors that always hold; None where they contradict each other."""
    made = with_values(policy, knobs, values)
    if made is None:
        return None
    steps = short_rinses(bench.case) | {
        knob.key(policy.name): value / MINUTE
        for knob, value in zip(knobs, values, strict=True)
        if knob.of_a_step and value != knob.present
    }
    name = f"{policy.name} at {', '.join(f'{value:.6g}' for value in values)}"
    return Candidate(name=name, policy=made, steps=_sorted(steps), values=values)


def _sorted(steps: dict[str, float]) -> Steps:
    return tuple(sorted(steps.items()))
