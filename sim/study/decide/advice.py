"""The best settings of every way to start a wash under limits, sought on one weather and confirmed on another.

All ways are held to the same limits and the same longest run. How a setting is found: `search` and `hunt`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Literal

from sim.case.chemistry.records import Resin
from sim.case.price.records import Price
from sim.case.quantities import System
from sim.case.record import record
from sim.case.records import Case
from sim.case.series.series import largest_demand
from sim.case.stage.records import Stage
from sim.case.trigger.records import Policy, by_calendar
from sim.case.units import DAY
from sim.study.costs import PRICE_OF
from sim.study.decide.hunt import EDGE, Hunt
from sim.study.decide.knobs import Also, Knob, knobs_of, policy_for_all, short_rinses
from sim.study.decide.limits import Limit, earlier_limits, exceeded, standing_limits
from sim.study.decide.search import Aim, Search
from sim.study.decide.trials import Bench, Candidate, Rough, Tried
from sim.study.errors import RequestError
from sim.study.settable import least_rinse
from sim.study.single import policy_named

Least = Literal["cost", "water"]
Outcome = Literal["kept", "not sure", "not kept"]

SHORTEST = 7.0 * DAY  # of a run that may decide anything
LARGEST_SEED = 2**63
SEARCH_SHARE, LEAST_SEARCH = 4, 8  # of the confirming replicates, and how many at least
LEAST_COARSE_SEARCH = 2
SCOUTS = 3  # replicates that every setting of a search is tried on, where it may take more


@record
class Wishes:
    """What a person asks for. `limits` without any: no more hours over the limit than today, beside those that stand
    and those of stages ahead of the last; of a softener without a limit no more hardness sent on than today.

    `today` names the policy of today; without it the case's own, its first calendar, or its first policy. `coarse`:
    fewer settings are tried, on fewer replicates. `units`: those in which a setting is to be a round number.
    """

    least: Least | None = None
    limits: tuple[Limit, ...] = ()
    also: frozenset[Also] = frozenset()
    today: str | None = None
    coarse: bool = False
    units: System = "si"


@record
class Advised:
    """One policy: what was tried, where it stands today and, where limits are kept, the setting advised.

    present and best are of the confirming runs, `scouted` of the first searching ones, all settings of them, `tried`
    of the most searching ones that each was given. `binding` are the limits that stop a cheaper setting; `rivals`:
    whether a cheaper one kept them all in the mean, and was not confirmed. `edges` are the knobs that stand at the
    high end of the range that was tried. Where no setting keeps the limits, `nearest` exceeds them least.
    """

    policy: str
    knobs: tuple[Knob, ...]
    scouted: tuple[Tried, ...]
    tried: tuple[Tried, ...]
    present: Tried
    best: Tried | None
    outcome: Outcome
    binding: tuple[Limit, ...]
    rivals: bool
    nearest: Tried
    edges: tuple[Knob, ...]


@record
class Advice:
    """What a study of the settings of `case` found. `floors` are minutes of rinses that were too short, by key;
    `runs` how many it took. `in_use` names the policy of today, `scouted` is today as the searching runs show it."""

    case: Case
    seed: int
    replicates: int
    least: Least
    limits: tuple[Limit, ...]
    in_use: str
    today: Tried
    scouted: Tried
    policies: tuple[Advised, ...]
    floors: dict[str, float]
    runs: int
    without_rinse: tuple[str, ...]

    def best_of(self, policies: Sequence[Advised]) -> Advised | None:
        """The one of these of which the least is expected; None where no setting of any keeps the limits."""
        aim = Aim(least=self.least, limits=self.limits, today=self.today)
        known = [(each, each.best) for each in policies if each.best is not None]
        return min(known, key=lambda pair: aim.rank(pair[1])[1:4], default=(None, None))[0]

    @property
    def chosen(self) -> Advised | None:
        """The best of all."""
        return self.best_of(self.policies)

    @property
    def calendars(self) -> tuple[Advised, ...]:
        """Those that wash by the calendar alone."""
        named = {each.name: each for each in self.case.policies}
        return tuple(each for each in self.policies if by_calendar(named[each.policy]))


def searching(bench: Bench, *, coarse: bool = False) -> Bench:
    """Runs on other weather and fewer replicates than those of a bench; the same ones where nothing is random."""
    if not bench.case.is_random:
        return bench
    least = LEAST_COARSE_SEARCH if coarse else LEAST_SEARCH
    replicates = max(bench.replicates // SEARCH_SHARE, min(bench.replicates, least))
    return replace(bench, seed=(bench.seed + 1) % LARGEST_SEED, replicates=replicates)


Sought = Mapping[str, tuple[tuple[Knob, ...], tuple[Tried, ...]]]
"""By policy what was varied and what was tried: the knobs and the first searching runs of an earlier study."""


@record
class Advising:
    """A study of settings: what was tried of each policy, from which advice is given at the prices of `bench`."""

    bench: Bench
    least: Least
    limits: tuple[Limit, ...]
    in_use: str
    hunts: tuple[Hunt, ...]

    def advice(self) -> Advice:
        """The best of all that was tried so far; only what is to be confirmed is run."""
        case, bench, hunts = self.bench.case, self.bench, self.hunts
        policies = []
        for place, hunt in enumerate(hunts):
            bench.enter("confirming", hunt.scouts.policy.name, place + 1, len(hunts))
            policies.append(_advised(hunt))
        return Advice(
            case=case, seed=bench.seed, replicates=bench.replicates, least=self.least, limits=self.limits,
            in_use=self.in_use, today=hunts[0].aim.today, scouted=hunts[0].scouts.aim.today, policies=tuple(policies),
            runs=bench.tally.runs, floors=short_rinses(case),
            without_rinse=tuple(stage.name for stage in case.stages if not least_rinse(stage)),
        )  # fmt: skip

    def at_water_price(self, price: float, *, search: bool) -> "Advising":
        """The same study where water plus sewer cost so much [money per m3], sought on there with `search`."""
        prices = self.bench.case.prices
        assert prices is not None
        nothing = Price(value=0.0, low=0.0, high=0.0)
        changed = replace(prices, water=Price(value=price, low=price, high=price), sewer=nothing)
        there = replace(
            self, bench=self.bench.at_prices(changed), hunts=tuple(each.at_prices(changed) for each in self.hunts)
        )
        for each in there.hunts if search else ():
            each.scouts.improve()
        return there

    def learn(self, other: "Advising") -> None:
        """Choose from what was tried there too."""
        prices = self.bench.case.prices
        assert prices is not None
        for mine, theirs in zip(self.hunts, other.hunts, strict=True):
            mine.learn(theirs, prices)


def advise(bench: Bench, wishes: Wishes) -> Advice:
    """The best settings of every policy of the case; `bench` runs what is to be confirmed."""
    return advising(bench, wishes).advice()


def advising(
    bench: Bench, wishes: Wishes, policies: Sequence[Policy] | None = None, sought: Sought | None = None
) -> Advising:
    """The search for the best settings of these policies, or of all of the case.

    With `sought` they are chosen from what was tried there, and nothing else is tried.
    """
    case = bench.case
    if case.run.length < SHORTEST:
        raise RequestError(
            'a run of less than a week decides nothing, since it counts whole washes; try: length = "365 d" in [run] '
            "of the case"
        )
    if largest_demand(case.demand) <= 0.0:
        raise RequestError("the case asks for no water, so no setting differs from another; try: flow in [demand]")
    least = least_of(case, wishes.least)
    limits = _limits(case, wishes, bench.replicates)
    seeking = searching(bench, coarse=wishes.coarse)
    scouting = replace(seeking, replicates=min(SCOUTS, seeking.replicates)) if case.is_random else seeking
    in_use = policy_of_today(case, wishes.today)
    today = as_it_is(in_use)
    aims = [Aim(least=least, limits=limits, today=each.tried([today])[0]) for each in (scouting, seeking, bench)]
    hunts: list[Hunt] = []
    sought_for = case.policies if policies is None else policies
    so_far = _as_they_are(scouting, sought_for) if sought is None else {}
    for place, policy in enumerate(sought_for):
        if sought is None:
            _tell(bench, aims[0], so_far, place + 1, len(sought_for))
        bench.enter("searching", policy.name, place + 1, len(sought_for))
        policy = policy_for_all(case, policy)
        knobs = knobs_of(case, policy, wishes.also, wishes.units)
        scouts = Search(bench=scouting, policy=policy, knobs=knobs, aim=aims[0], coarse=wishes.coarse)
        if sought is None:
            scouts.run()
        else:
            scouts.knobs = sought[policy.name][0]
            scouts.take(sought[policy.name][1])
        seekers = scouts if seeking.replicates == scouting.replicates else scouts.at(seeking, aims[1], [])
        hunts.append(Hunt(scouts=scouts, seekers=seekers, bench=bench, aim=aims[2]))
        if scouts.found:
            so_far[policy.name] = scouts.best
    return Advising(bench=bench, least=least, limits=limits, in_use=in_use.name, hunts=tuple(hunts))


def _as_they_are(bench: Bench, policies: Sequence[Policy]) -> dict[str, Tried]:
    """What every policy shows as the case sets it."""
    shown = bench.tried([as_it_is(each) for each in policies])
    return {policy.name: tried for policy, tried in zip(policies, shown, strict=True)}


def _tell(bench: Bench, aim: Aim, so_far: Mapping[str, Tried], number: int, count: int) -> None:
    """Tell the best so far, by the name of its policy."""
    if bench.rough is None:
        return
    kept = [(way, tried) for way, tried in so_far.items() if not exceeded(aim.limits, tried, aim.today)]
    way, tried = min(kept, key=lambda pair: aim.rank(pair[1])[1:4], default=("", None))
    bench.rough(Rough(number=number, count=count, least=aim.least, today=aim.today, way=way, tried=tried))


def as_it_is(policy: Policy) -> Candidate:
    """A policy as the case has it, floors or no floors."""
    return Candidate(name=f"{policy.name}, present", policy=policy)


def least_of(case: Case, asked: Least | None) -> Least:
    """What is to be least: as asked, else the cost where the case has prices."""
    priced = case.prices is not None and any(
        getattr(case.prices, key) is not None for keys in PRICE_OF.values() for key in keys
    )
    if asked == "cost" and not priced:
        raise RequestError(
            "--least cost: the case gives no price of water, sewer, energy, salt, labour, cartridges or lost "
            'production; try: water = "2.4 per m3" in a table [prices], or --least water'
        )
    return asked or ("cost" if priced else "water")


def policy_of_today(case: Case, name: str | None) -> Policy:
    """The policy that today's washes follow: as asked, else as the case says, else its first calendar or policy."""
    named = name if name is not None else case.today
    if named is not None:
        return policy_named(case, named)
    return next((each for each in case.policies if by_calendar(each)), case.policies[0])


def _limits(case: Case, wishes: Wishes, replicates: int) -> tuple[Limit, ...]:
    limits = wishes.limits
    if not any(each.key in ("risk", "over_limit_h") for each in limits) and case.judged.limit is not None:
        limits = (Limit("over_limit_h", None), *limits)
    if any(_softens_without_limit(stage) for stage in case.stages):
        limits = (*limits, Limit("hardness_leak_kg", None))
    for each in limits:
        _require_known(case, each, replicates)
    asked = next((each.most for each in limits if each.key == "over_limit_h" and each.most is not None), 0.0)
    return (*limits, *earlier_limits(case, asked), *standing_limits(case))


def _softens_without_limit(stage: Stage) -> bool:
    """Whether no limit says how much hardness a softener may let through."""
    return stage.limits.hardness is None and any(isinstance(layer.uptake, Resin) for layer in stage.layers)


def _require_known(case: Case, limit: Limit, replicates: int) -> None:
    if limit.key == "risk":
        if case.run.allowed_over_limit is None:
            raise RequestError('--risk: what may a year have? try: allowed_over_limit = "24 h" in [run] of the case')
        if not case.is_random or replicates < 2 or case.run.length < 365.0 * 86_400.0:
            raise RequestError("--risk takes random weather, runs of a year or more and 2 or more replicates")
    if limit.key == "over_limit_h" and case.judged.limit is None:
        raise RequestError("--over-limit: the last stage has no limit of solids in its filtered water")
    if limit.key == "stopped_h" and (case.downstream is None or case.downstream.unit is None):
        raise RequestError("--unit-stops: the case has no unit downstream")


def _advised(hunt: Hunt) -> Advised:
    """What a hunt comes to."""
    found = hunt.confirmed()
    (present,) = hunt.bench.tried([as_it_is(hunt.scouts.policy)])
    return Advised(
        policy=hunt.scouts.policy.name, knobs=hunt.scouts.knobs, scouted=tuple(hunt.scouts.found.values()),
        tried=hunt.tried, present=present, best=found.best,
        outcome="kept" if found.best is not None else "not sure" if found.any_kept else "not kept",
        binding=found.binding, rivals=found.rivals, nearest=hunt.nearest(),
        edges=() if found.best is None else _edges(hunt.scouts.knobs, found.best),
    )  # fmt: skip


def _edges(knobs: Sequence[Knob], best: Tried) -> tuple[Knob, ...]:
    pairs = zip(knobs, best.candidate.values, strict=True)
    return tuple(knob for knob, value in pairs if knob.end is not None and value >= knob.high * (1.0 - EDGE))
