"""The search for the settings of one policy in random weather: on few runs, on more, and confirmed on others.

What is chosen was lucky on the runs that it was chosen by, so a few settings are run on the replicates of the study:
from the dearest towards the cheapest, and the last one before the first that is not sure to keep every limit is
taken. Going in this order, a limit is wrongly taken as kept in at most one study in twenty, however many are looked
at. Then every other setting that was tried, and that may be better, is run there too, so that none is surely better:
at 95 %, corrected for the number of settings that were tried.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from sim.case.price.records import Prices
from sim.case.record import record
from sim.study.decide.limits import Limit, exceeded, level, unsure
from sim.study.decide.search import Aim, Search
from sim.study.decide.trials import Bench, Tried, priced
from sim.study.many.intervals import CONFIDENCE

RUNGS = (0.0, 0.03, 0.08, 0.2, 0.4)  # of the least cost: how much costlier the settings are that are confirmed
PROMISING, SLACK, DEARER = 10, 0.5, 2.0  # settings that take more: how many, over limits by what share, how dear
SOME, HALF = 0.3, 0.5  # shares of the runs of a setting that keep a limit: as many leave it a chance
EDGE = 1e-6  # of what is least: settings that differ by less are equal


@record
class Found:
    """What became of a hunt: the setting that is confirmed, what stops a cheaper one, whether any kept the limits."""

    best: Tried | None
    binding: tuple[Limit, ...]
    rivals: bool
    any_kept: bool


@dataclass(slots=True, kw_only=True)
class Hunt:
    """Every setting tried of a policy: `scouts` on few runs, the promising ones of them also as `seekers` on more.

    `bench` has the runs of the study, `aim` today as these show it. Where nothing is random all three are the same.
    """

    scouts: Search
    seekers: Search
    bench: Bench
    aim: Aim

    @property
    def tried(self) -> tuple[Tried, ...]:
        """Every setting that was tried, on the most of the searching runs that it was given."""
        return tuple((self.scouts.found | self.seekers.found).values())

    def at_prices(self, prices: Prices) -> "Hunt":
        """The same hunt where other prices hold, so far as it has got."""

        def there(search: Search) -> Search:
            aim = replace(search.aim, today=priced(search.aim.today, prices))
            found = [priced(each, prices) for each in search.found.values()]
            return search.at(search.bench.at_prices(prices), aim, found)

        aim = replace(self.aim, today=priced(self.aim.today, prices))
        scouts, seekers = there(self.scouts), there(self.seekers)
        return Hunt(
            scouts=scouts, seekers=scouts if self.seekers is self.scouts else seekers,
            bench=self.bench.at_prices(prices), aim=aim,
        )  # fmt: skip

    def learn(self, other: "Hunt", prices: Prices) -> None:
        """Take over what was tried elsewhere, at the prices that hold here."""
        for mine, theirs in ((self.scouts, other.scouts), (self.seekers, other.seekers)):
            mine.take(priced(each, prices) for values, each in theirs.found.items() if values not in mine.found)

    def confirmed(self) -> Found:
        """The best setting as the runs of the study show it, and what stops a cheaper one."""
        if self.seekers is not self.scouts:
            self._look_again(_promising(self.scouts))
        ladder = self._ladder()
        best, failed = self._climb_down(ladder)
        if self.bench.case.is_random:
            best = self._unbeaten(best, failed)
        cheaper = self._cheaper(best)
        binding: tuple[Limit, ...] = ()
        if best is None:
            binding = () if failed is None else unsure(self.aim.limits, failed, self.aim.today)
        elif failed is not None and failed.mean(self.aim.least) < best.mean(self.aim.least):
            binding = unsure(self.aim.limits, failed, self.aim.today)
        elif cheaper:
            binding = self._exceeded(cheaper[-1])
        kept = [each for each in cheaper if not self._exceeded(each)]
        return Found(best=best, binding=binding, rivals=bool(kept), any_kept=bool(ladder))

    def nearest(self) -> Tried:
        """What exceeds the limits least, on the searching runs."""
        return self.seekers.best

    def _look_again(self, tried: Iterable[Tried]) -> None:
        """Run these on the seeking runs as well."""
        new = [each.candidate for each in tried if each.candidate.values not in self.seekers.found]
        self.seekers.take(self.seekers.bench.tried(new))

    def _ladder(self) -> list[Tried]:
        """The settings to be confirmed: the least cost that keeps every limit in the mean, and some costlier ones."""
        seekers, what = self.seekers, self.aim.least
        kept = sorted((each for each in seekers.found.values() if not seekers.aim.rank(each)[0]),
                      key=seekers.aim.rank)  # fmt: skip
        if not kept or not self.bench.case.is_random:
            return kept[:1]
        least = kept[0].mean(what)
        found: list[Tried] = []
        for rung in RUNGS:
            above = [each for each in kept if each.mean(what) >= least * (1.0 + rung) and each not in found]
            found += above[:1]
        return found

    def _climb_down(self, ladder: Sequence[Tried]) -> tuple[Tried | None, Tried | None]:
        """The cheapest setting down to which all are sure to keep the limits, and the first that is not.

        They are run one by one, from the dearest on, so what is cheaper than the first that fails is not run.
        """
        best = None
        for rung in reversed(ladder):
            (each,) = self.bench.tried([rung.candidate])
            if unsure(self.aim.limits, each, self.aim.today):
                return best, each
            best = each
        return best, None

    def _unbeaten(self, best: Tried | None, failed: Tried | None) -> Tried | None:
        """The best setting, or one that was tried too and is surely better; all that may be so are run."""
        sure = 1.0 - (1.0 - CONFIDENCE) / max(len(self.scouts.found), 1)
        if best is None:
            best = self._safe(failed, sure)
        if best is None:
            return None
        for each in self._run(self._contenders(best)):
            less = each.less_than(best, self.aim.least, sure)
            if less is not None and less.low is not None and less.low > 0.0 and self._keeps(each, sure):
                best = each
        return best

    def _run(self, settings: Iterable[Tried]) -> Iterator[Tried]:
        """These on the runs of the study, one by one."""
        return (tried for each in settings for tried in self.bench.tried([each.candidate]))

    def _keeps(self, tried: Tried, sure: float) -> bool:
        return not unsure(self.aim.limits, tried, self.aim.today, sure)

    def _contenders(self, best: Tried) -> list[Tried]:
        """Settings that cost less than the best one and may keep the limits, the cheapest first."""
        what = self.aim.least
        own = self.scouts.found[best.candidate.values].mean(what)
        cheaper = [each for each in self.scouts.found.values() if each.mean(what) < own]
        return sorted(self._may_keep(cheaper), key=lambda each: each.mean(what))

    def _safe(self, failed: Tried | None, sure: float) -> Tried | None:
        """The first setting that is sure of the limits; next comes what is furthest from those that failed so far."""
        left = {each.candidate.values: each for each in self._may_keep(self.scouts.found.values())}
        broken = dict.fromkeys(() if failed is None else unsure(self.aim.limits, failed, self.aim.today))

        def near(each: Tried) -> tuple[float, float]:
            own, today = self.seekers.found[each.candidate.values], self.seekers.aim.today
            used = sum(level(limit, own) / (limit.allowed(today) or 1.0) for limit in broken)
            return used, each.mean(self.aim.least)

        while left:
            values = min(left, key=lambda values: near(left[values]))
            (each,) = self._run([left.pop(values)])
            if self._keeps(each, sure):
                return each
            broken |= dict.fromkeys(unsure(self.aim.limits, each, self.aim.today, sure))
        return None

    def _may_keep(self, tried: Iterable[Tried]) -> list[Tried]:
        """Those of which runs keep each limit: some of few, half of more."""
        found = [each for each in tried if self._share_kept(each, self.scouts) >= SOME]
        if self.seekers is not self.scouts:
            self._look_again(found)
        return [each for each in found if self._share_kept(each) >= HALF]

    def _share_kept(self, tried: Tried, search: Search | None = None) -> float:
        """The share of the searching runs of a setting that keep the limit which the fewest of them keep."""
        search = search or self.seekers
        own, today = search.found[tried.candidate.values], search.aim.today
        return min((limit.share_kept(own, today) for limit in self.aim.limits), default=1.0)

    def _cheaper(self, best: Tried | None) -> list[Tried]:
        """The settings that cost less than the best one on the searching runs, the cheapest first."""
        if best is None:
            return []
        what = self.aim.least
        most = self.scouts.found[best.candidate.values].mean(what) * (1.0 - EDGE)
        return sorted((each for each in self.scouts.found.values() if each.mean(what) < most),
                      key=lambda each: each.mean(what))  # fmt: skip

    def _exceeded(self, tried: Tried) -> tuple[Limit, ...]:
        """The limits that a setting exceeds in the mean of the most searching runs that it was given."""
        values = tried.candidate.values
        search = self.seekers if values in self.seekers.found else self.scouts
        return exceeded(self.aim.limits, search.found[values], search.aim.today)


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
