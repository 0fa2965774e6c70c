"""The best settings of one policy: a coarse look over the range of each setting, then finer ones about the best.

It starts from several places, so that what one of them never gets to is found from another. The present values come
last: they are tried, but nothing else depends on them. What is best is chosen among all that was ever tried.
"""

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Literal

from sim.case.record import record
from sim.case.records import Case
from sim.case.trigger.records import Policy
from sim.case.units import MINUTE
from sim.study.decide.knobs import Knob, restored_by, salt_for, settable_to, short_rinses, with_values
from sim.study.decide.limits import ROUNDING, Limit, excess, hours_over
from sim.study.decide.trials import Bench, Candidate, Steps, Tried

# Finer looks, each half as wide as the one before: to 1 % of a value, or to 5 % in weather that is random.
ROUNDS, ROUNDS_AT_RANDOM, ROUNDS_COARSE = 5, 3, 2
ROUNDS_FROM_A_PLACE, ROUNDS_FROM_A_PLACE_COARSE = 2, 1  # before it is known which place leads furthest
PLACES = (0.15, 0.35, 0.55, 0.75, 0.95)  # shares of all ranges at once
STARTS, STARTS_COARSE = 2, 1  # of these, the best ones; more where there none keeps the limits
STEPS = (0.95, 1.0, 1.05)  # factors on two settings that lean on each other
WALKS, WALKS_AT_RANDOM = 3, 1  # with them
POLISHES, POLISHES_AT_RANDOM = 6, 1  # to neighbours that can be set
AGAIN = (0.71, 1.41)  # times its best value: where a setting is sought again once others have moved
STAY = ("at", "hold")  # settings that do not grow with the others
DIGITS = 9  # of what is least: settings that agree in as many are equal

Values = tuple[float, ...]
Rank = tuple[float, float, float, float, Values]


@record
class Aim:
    """What is to be least, under which limits, measured against today's way to start a wash."""

    least: Literal["cost", "water"]
    limits: tuple[Limit, ...]
    today: Tried

    def rank(self, tried: Tried) -> Rank:
        """What is better comes first.

        By how much limits are exceeded, the cost or the water; of equal ones what delivers more, then what is less
        over limits, then the lower values, so that the order of trying decides nothing.
        """
        unmet = tried.mean("unmet_m3")
        return (
            excess(self.limits, tried, self.today), float(f"{tried.mean(self.least):.{DIGITS}g}"),
            float(f"{unmet:.{DIGITS}g}"), hours_over(tried), tried.candidate.values,
        )  # fmt: skip


@dataclass(slots=True, kw_only=True)
class Search:
    """The settings of a policy that were tried so far, all on the runs of one bench."""

    bench: Bench
    policy: Policy
    knobs: tuple[Knob, ...]
    aim: Aim
    coarse: bool = False
    found: dict[Values, Tried] = field(default_factory=dict)
    ranks: dict[Values, Rank] = field(default_factory=dict)

    def run(self) -> None:
        """Try what is to be tried: from several places, then on from the best of all, the present values among it."""
        places = PLACES if len(self._own) > 1 else PLACES[2:3]
        starts = [tuple(knob.start(share) for knob in self.knobs) for share in places]
        self.look(starts)
        known = sorted((each for each in dict.fromkeys(starts) if each in self.found), key=self.ranks.__getitem__)
        for count, start in enumerate(known):
            if count >= (STARTS_COARSE if self.coarse else STARTS) and not self.ranks[self.best_values][0]:
                break
            self._descend(start, ROUNDS_FROM_A_PLACE_COARSE if self.coarse else ROUNDS_FROM_A_PLACE)
        if self.found:
            near = len(self.knobs) > 1 and not self.ranks[self.best_values][0]
            self._descend(self.best_values, self._rounds, near=near)
        self.improve()
        if self.look([tuple(knob.present for knob in self.knobs)]):
            self.improve()

    def improve(self) -> None:
        """Go on from the best there is."""
        if not self.found:
            return
        if not self.coarse:
            for first, second in self._pairs():
                self._look_around(first, second)
        for _ in range(POLISHES_AT_RANDOM if self._is_random or self.coarse else POLISHES):
            before = self._best_rank
            self.look(self._beside(self.best_values))
            if self._best_rank == before:
                return

    def at(self, bench: Bench, aim: Aim, tried: Iterable[Tried]) -> "Search":
        """The same settings on other runs or at other prices, with what was tried there."""
        other = Search(bench=bench, policy=self.policy, knobs=self.knobs, aim=aim, coarse=self.coarse)
        other.take(tried)
        return other

    def take(self, tried: Iterable[Tried]) -> None:
        """Choose from these too."""
        for each in tried:
            self.found[each.candidate.values], self.ranks[each.candidate.values] = each, self.aim.rank(each)

    @property
    def best(self) -> Tried:
        """The best that was tried."""
        return self.found[self.best_values]

    @property
    def best_values(self) -> Values:
        """Its values."""
        return min(self.ranks, key=self.ranks.__getitem__)

    @property
    def _best_rank(self) -> tuple[float, ...]:
        """Its rank apart from its values: nothing is gained by going on among equals."""
        return self.ranks[self.best_values][:4]

    def look(self, wanted: Sequence[Values]) -> bool:
        """Run what is new among these values; whether anything was."""
        made = {values: self.candidate(values) for values in dict.fromkeys(wanted) if values not in self.found}
        possible = [each for each in made.values() if each is not None]
        self.take(self.bench.tried(possible))
        return bool(possible)

    def candidate(self, values: Values) -> Candidate | None:
        """The policy at some values; None where they contradict each other."""
        return candidate_of(self.bench, self.policy, self.knobs, values)

    @property
    def _is_random(self) -> bool:
        return self.bench.case.is_random

    @property
    def _rounds(self) -> int:
        if self.coarse:
            return ROUNDS_COARSE
        return ROUNDS_AT_RANDOM if self._is_random else ROUNDS

    @property
    def _own(self) -> list[int]:
        """The settings of triggers that grow with one another."""
        return [place for place, knob in enumerate(self.knobs) if knob.part not in STAY and not knob.of_a_step]

    def _descend(self, here: Values, rounds: int, *, near: bool = False) -> None:
        """One setting after the other over its range, or near what is best of it, then ever nearer."""
        for place, knob in enumerate(self.knobs):
            stays = knob.part in STAY
            values = knob.coarse()
            if near:
                values = () if stays else knob.within([here[place] * each for each in AGAIN])
            here = self._best_along(here, place, values, 1 if stays else rounds)

    def _best_along(self, here: Values, place: int, values: Sequence[float], rounds: int) -> Values:
        """The best of these values of one knob, and of those between it, or what equals it, and the neighbours, in so
        many rounds."""
        line = {here[place]: here}
        for _ in range(rounds + 1):
            new = {value: self._moved(here, place, value) for value in values if value not in line}
            self.look(list(new.values()))
            line |= {value: each for value, each in new.items() if each in self.found}
            best = min(line, key=lambda value: self.ranks[line[value]])
            order, equal = sorted(line), [value for value, each in line.items() if self._equals(each, line[best])]
            first, last = order.index(min(equal)), order.index(max(equal))
            pairs = [*itertools.pairwise(order[max(first - 1, 0) : first + 1]),
                     *itertools.pairwise(order[last : last + 2])]  # fmt: skip
            values = [value for below, above in pairs for value in self.knobs[place].between(below, above)]
        return line[best]

    def _equals(self, one: Values, other: Values) -> bool:
        """Whether two settings cost the same, as a range of volumes does between two numbers of washes."""
        return self.ranks[one][:2] == self.ranks[other][:2]

    def _moved(self, values: Values, place: int, value: float) -> Values:
        """The values with another one of a knob, which takes along what leans on it.

        A reserve its volume: what is left before it stays. Salt its volume, days of a calendar their salt: the share
        of what is restored that is used up stays.
        """
        found = [*values[:place], value, *values[place + 1 :]]
        knob, case = self.knobs[place], self.bench.case
        for other, along in enumerate(self.knobs):
            if along.stage != knob.stage:
                continue
            if (knob.part, along.part) == ("reserve", "volume"):
                found[other] = min(along.rounded(values[other] + value - values[place]), along.high)
            elif knob.of_salt and along.part == "volume":
                now, then = (restored_by(case, knob, each) for each in (values[place], value))
                if then < math.inf:
                    volume = settable_to(values[other] * then / now / along.unit) * along.unit
                    found[other] = min(max(volume, along.low), along.high)
            elif knob.part == "every" and along.of_salt:
                found[other] = salt_for(case, along, values[other], value / values[place])
        return tuple(found)

    def _pairs(self) -> list[tuple[int, int]]:
        """Settings of different stages that lean on each other: those of one stage and of the next."""
        found = itertools.pairwise(self._own)
        return [(one, other) for one, other in found if self.knobs[one].stage != self.knobs[other].stage]

    def _look_around(self, first: int, second: int) -> None:
        """Move two settings at once by small factors, for as long as that helps: their best may lie on a slope."""
        for _ in range(WALKS_AT_RANDOM if self._is_random else WALKS):
            best, before = self.best_values, self._best_rank
            wanted = []
            for one, other in itertools.product(STEPS, STEPS):
                values = list(best)
                for place, factor in ((first, one), (second, other)):
                    near = self.knobs[place].within([best[place] * factor])
                    values[place] = near[0] if near and factor != 1.0 else best[place]
                wanted.append(tuple(values))
            self.look(wanted)
            if self._best_rank == before:
                return

    def _beside(self, best: Values) -> list[Values]:
        """The best values with the next one of each knob on either side, and those beside what equals them."""
        found = []
        for place, knob in enumerate(self.knobs):
            equal = [each[place] for each in self.found if self._equals(each, best)
                     and each == (*best[:place], each[place], *best[place + 1 :])]  # fmt: skip
            near = [*knob.beside(min(equal)), *knob.beside(max(equal))]
            found += [self._moved(best, place, value) for value in near]
        return found


def candidate_of(bench: Bench, policy: Policy, knobs: Sequence[Knob], values: Values) -> Candidate | None:
    """The policy at some values with the floors that always hold; None where they contradict each other.

    Other values than the present ones do, where a volume is more than their salt restores.
    """
    made = with_values(policy, knobs, values)
    if made is None or (values != tuple(knob.present for knob in knobs) and _is_too_much(bench.case, knobs, values)):
        return None
    steps: dict[str, float | str] = {**short_rinses(bench.case)}
    for knob, value in zip(knobs, values, strict=True):
        if knob.of_a_step and value != knob.present:
            steps[knob.key(policy.name)] = value / MINUTE if knob.in_minutes else f"{value:.10g} g"
    name = f"{policy.name} at {', '.join(f'{value:.6g}' for value in values)}"
    return Candidate(name=name, policy=made, steps=_sorted(steps), values=values)


def _is_too_much(case: Case, knobs: Sequence[Knob], values: Values) -> bool:
    """Whether a volume is more than what the salt that is tried with it restores."""
    volumes = {knob.stage: value for knob, value in zip(knobs, values, strict=True) if knob.part == "volume"}
    return any(
        volumes[knob.stage] > restored_by(case, knob, value) * (1.0 + ROUNDING)
        for knob, value in zip(knobs, values, strict=True) if knob.of_salt and knob.stage in volumes
    )  # fmt: skip


def _sorted(steps: dict[str, float | str]) -> Steps:
    return tuple(sorted(steps.items()))
