"""The best settings of every way to start a wash under limits, sought on one weather and confirmed on another.

Settings are chosen by their means on a few replicates of another seed: all of them on three, what looks well there on
some more. What is chosen was lucky on these, so it is run again on the replicates of the study: from the dearest of a
few towards the cheapest, and the last one before the first that is not sure to keep every limit is the one advised.
Going in this order, a limit is wrongly taken as kept in at most one study in twenty, however many are looked at.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from sim.case.records import Case
from sim.case.trigger_records import Calendar, Policy
from sim.study.costs import PRICE_OF
from sim.study.decide.knobs import EDGE, Also, Knob, knobs_of, least_rinse, short_rinses
from sim.study.decide.limits import Limit, exceeded, level, unsure
from sim.study.decide.search import Aim, Search
from sim.study.decide.trials import Bench, Candidate, Tried
from sim.study.errors import RequestError
from sim.study.kpis import System
from sim.study.single import policy_named

Least = Literal["cost", "water"]
Outcome = Literal["kept", "not sure", "not kept"]

RUNGS = (0.0, 0.03, 0.08, 0.2, 0.4)  # of the least cost: how much dearer the settings are that are confirmed
LARGEST_SEED = 2**63
SEARCH_SHARE, LEAST_SEARCH = 4, 8  # of the confirming replicates, and how many at least
LEAST_COARSE_SEARCH = 2
SCOUTS = 3  # replicates that every setting of a search is tried on, where it may take more
PROMISING, SLACK, DEARER = 10, 0.5, 2.0  # settings that take more: how many, over limits by what share, how dear


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """What a person asks for. `limits` without any: no more hours over the limit than today.

    `today` names the policy of today; without it the case's own, its first calendar, or its first policy. `coarse`:
    fewer settings are tried, on fewer replicates. `units`: those in which a setting is to be a round number.
    """

    least: Least | None = None
    limits: tuple[Limit, ...] = ()
    also: frozenset[Also] = frozenset()
    today: str | None = None
    coarse: bool = False
    units: System = "si"


@dataclass(frozen=True, slots=True, kw_only=True)
class Advised:
    """One policy: what was tried, where it stands today and, where limits are kept, the setting advised.

    present and best are of the confirming runs, `tried` of the searching ones. `binding` are the limits that the next
    cheaper setting exceeds. Where no setting keeps the limits, `unmet` has each that none keeps by itself with the
    least that was reached. `edges` are the knobs that stand at an end of the range that was tried.
    """

    policy: str
    knobs: tuple[Knob, ...]
    tried: tuple[Tried, ...]
    present: Tried
    best: Tried | None
    outcome: Outcome
    binding: tuple[Limit, ...]
    unmet: tuple[tuple[Limit, float], ...]
    edges: tuple[Knob, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """What a study of the settings of `case` found. `floors` are minutes of rinses that were too short, by key;
    `runs` how many it took."""

    case: Case
    seed: int
    replicates: int
    least: Least
    limits: tuple[Limit, ...]
    today: Tried
    policies: tuple[Advised, ...]
    floors: dict[str, float]
    runs: int
    without_rinse: tuple[str, ...]

    @property
    def chosen(self) -> Advised | None:
        """The policy of which the least is expected; None where no setting of any keeps the limits."""
        known = [each for each in self.policies if each.best is not None]
        return min(known, key=lambda each: each.best.mean(self.least) if each.best else 0.0, default=None)


def searching(bench: Bench, *, coarse: bool = False) -> Bench:
    """Runs on other weather and fewer replicates than those of a bench; the same ones where nothing is random."""
    if not bench.case.is_random:
        return bench
    least = LEAST_COARSE_SEARCH if coarse else LEAST_SEARCH
    replicates = max(bench.replicates // SEARCH_SHARE, min(bench.replicates, least))
    return replace(bench, seed=(bench.seed + 1) % LARGEST_SEED, replicates=replicates)


Sought = Mapping[str, tuple[tuple[Knob, ...], tuple[Tried, ...]]]
"""By policy what was varied and what was tried: the knobs and the searching runs of an earlier study."""


def advise(
    bench: Bench, wishes: Wishes, policies: Sequence[Policy] | None = None, sought: Sought | None = None
) -> Advice:
    """The best settings of these policies, or of all of the case; `bench` runs what is to be confirmed.

    With `sought` they are chosen from what was tried there, and nothing else is tried.
    """
    case = bench.case
    if case.run.length <= 0.0:
        raise RequestError('a run of no time decides nothing; try: length = "365 d" in [run] of the case')
    least = least_of(case, wishes.least)
    limits = _limits(case, wishes, bench.replicates)
    seeking = searching(bench, coarse=wishes.coarse)
    scouting = replace(seeking, replicates=min(SCOUTS, seeking.replicates))
    today = as_it_is(policy_of_today(case, wishes.today))
    aims = [Aim(least=least, limits=limits, today=each.tried([today])[0]) for each in (scouting, seeking, bench)]
    found = []
    sought_for = case.policies if policies is None else policies
    for place, policy in enumerate(sought_for):
        bench.tell(f"searching {place + 1} of {len(sought_for)}: {policy.name}")
        knobs = knobs_of(case, policy, wishes.also, wishes.units)
        search = Search(bench=scouting, policy=policy, knobs=knobs, aim=aims[0], coarse=wishes.coarse)
        if sought is None:
            search.run()
        else:
            search.take(*sought[policy.name])
        if sought is None and seeking.replicates > scouting.replicates:
            search.look_again(seeking, aims[1], _promising(search))
        bench.tell(f"confirming {place + 1} of {len(sought_for)}: {policy.name}")
        found.append(_advised(search, bench, aims[2]))
    against = aims[2].today
    return Advice(
        case=case, seed=bench.seed, replicates=bench.replicates, least=least, limits=limits, today=against,
        policies=tuple(found), runs=bench.tally.runs, floors=short_rinses(case),
        without_rinse=tuple(stage.name for stage in case.stages if not least_rinse(stage)),
    )  # fmt: skip


def as_it_is(policy: Policy) -> Candidate:
    """A policy as the case has it, floors or no floors."""
    return Candidate(name=f"{policy.name} as it is", policy=policy)


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
    return next((each for each in case.policies if is_calendar(each)), case.policies[0])


def is_calendar(policy: Policy) -> bool:
    """Whether every stage washes by the calendar alone."""
    return all(isinstance(trigger, Calendar) for _, trigger in policy.triggers)


def _limits(case: Case, wishes: Wishes, replicates: int) -> tuple[Limit, ...]:
    limits = wishes.limits
    if not any(each.key in ("risk", "over_limit_h") for each in limits) and case.stages[-1].limit is not None:
        limits = (Limit("over_limit_h", None), *limits)
    for each in limits:
        _require_known(case, each, replicates)
    if case.downstream is not None or case.may_be_drunk:
        limits = (*limits, Limit("raw_min", 0.0))
    return limits


def _require_known(case: Case, limit: Limit, replicates: int) -> None:
    if limit.key == "risk":
        if case.run.allowed_breach is None:
            raise RequestError('--risk: what may a year have? try: allowed_breach = "24 h" in [run] of the case')
        if not case.is_random or replicates < 2 or case.run.length < 365.0 * 86_400.0:
            raise RequestError("--risk takes random weather, runs of a year or more and 2 or more replicates")
    if limit.key == "over_limit_h" and case.stages[-1].limit is None:
        raise RequestError("--over-limit: the last stage has no limit of solids in its filtered water")
    if limit.key == "stopped_h" and (case.downstream is None or case.downstream.unit is None):
        raise RequestError("--unit-stops: the case has no unit downstream")


def _advised(search: Search, bench: Bench, aim: Aim) -> Advised:
    """Confirm what a search found; `aim` has today as the confirming runs show it."""
    tried = tuple((search.scouted | search.found).values())
    ladder = _ladder(search)
    candidates = [each.candidate for each in ladder]
    (present,) = bench.tried([as_it_is(search.policy)])
    best, failed = _confirmed(bench, candidates, aim)
    cheaper = _next_cheaper(search, best) if best is not None else None
    if failed is not None and best is not None:
        binding = unsure(aim.limits, failed, aim.today)
    elif cheaper is not None:
        binding = exceeded(aim.limits, cheaper, search.aim.today)
    else:
        binding = unsure(aim.limits, failed, aim.today) if failed is not None else ()
    return Advised(
        policy=search.policy.name, knobs=search.knobs, tried=tried, present=present, best=best,
        outcome="kept" if best is not None else "not sure" if ladder else "not kept", binding=binding,
        unmet=() if ladder else _unmet(search), edges=() if best is None else _edges(search.knobs, best),
    )  # fmt: skip


def _ladder(search: Search) -> list[Tried]:
    """The settings to be confirmed: the least cost that keeps every limit in the mean, and some dearer ones."""
    kept = sorted((each for each in search.found.values() if not search.aim.rank(each)[0]), key=search.aim.rank)
    if not kept or not search.bench.case.is_random:
        return kept[:1]
    least = kept[0].mean(search.aim.least)
    found: list[Tried] = []
    for rung in RUNGS:
        above = [each for each in kept if each.mean(search.aim.least) >= least * (1.0 + rung) and each not in found]
        found += above[:1]
    return found


def _promising(search: Search) -> list[Tried]:
    """Settings worth more runs, spread over their costs, closer near the least: they keep the limits or nearly do."""

    def cost(each: Tried) -> float:
        return each.mean(search.aim.least)

    near = [each for each in search.found.values() if search.aim.rank(each)[0] <= SLACK]
    near = sorted(near or search.found.values(), key=cost)
    low, high = cost(near[0]), min(cost(near[-1]), DEARER * cost(search.best))
    steps = [low + (high - low) * (place / (PROMISING - 1)) ** 2 for place in range(PROMISING)]
    chosen = [next((each for each in near if cost(each) >= step), near[-1]) for step in steps]
    return list({each.candidate.values: each for each in (*chosen, search.best)}.values())


def _confirmed(bench: Bench, ladder: Sequence[Candidate], aim: Aim) -> tuple[Tried | None, Tried | None]:
    """The cheapest setting down to which all are sure to keep the limits, and the first that is not.

    They are run one after the other, from the dearest on, so what is cheaper than the first that fails is not run.
    """
    best = None
    for candidate in reversed(ladder):
        (each,) = bench.tried([candidate])
        if unsure(aim.limits, each, aim.today):
            return best, each
        best = each
    return best, None


def _next_cheaper(search: Search, best: Tried) -> Tried | None:
    """The dearest of the settings that cost less than the best one, on the searching runs."""
    own = search.found[best.candidate.values].mean(search.aim.least)
    cheaper = [each for each in search.found.values() if each.mean(search.aim.least) < own * (1.0 - EDGE)]
    return max(cheaper, key=lambda each: each.mean(search.aim.least), default=None)


def _unmet(search: Search) -> tuple[tuple[Limit, float], ...]:
    today = search.aim.today
    found = []
    for limit in search.aim.limits:
        least = min(search.found.values(), key=lambda each: level(limit, each))
        if limit.excess(least, today):
            found.append((limit, level(limit, least)))
    return tuple(found)


def _edges(knobs: Sequence[Knob], best: Tried) -> tuple[Knob, ...]:
    pairs = zip(knobs, best.candidate.values, strict=True)
    return tuple(
        knob for knob, value in pairs
        if knob.part != "at" and (value <= knob.low * (1.0 + EDGE) or value >= knob.high * (1.0 - EDGE))
    )  # fmt: skip
