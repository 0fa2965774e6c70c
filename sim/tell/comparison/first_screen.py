"""The answer of a comparison against today's way, what gets worse, how sure it is: first screen and report alike."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from plots.inputs import Answer
from sim.case.quantities import System
from sim.case.record import record
from sim.case.spelling import plain_duration
from sim.case.trigger.records import by_calendar
from sim.case.units import DAY, HOUR
from sim.study.choice import NO_TIME, Choice, once
from sim.study.compare import Comparison
from sim.study.decide.advice import policy_of_today
from sim.study.decide.limits import MOST_OFF_LINE, Limit
from sim.study.doubts import CannotKeep, Doubt, SameResult, doubts
from sim.study.many.arrays import SITE
from sim.study.many.doubts_of_many import doubts_of
from sim.study.many.repeat import Repeated
from sim.study.ranking import EQUAL_SHARE, RangeTest, less_clearly
from sim.tell.comparison.doubt_words import chemistry_words, first_words, same_words, telling_words
from sim.tell.comparison.leading import named
from sim.tell.comparison.many_words import of_the_runs, runs_words
from sim.tell.comparison.many_words import simulated as runs_simulated
from sim.tell.comparison.range_words import ranges_told
from sim.tell.comparison.remarks import earlier_stage
from sim.tell.comparison.spread_words import kept_words
from sim.tell.comparison.tables import text_table
from sim.tell.decision.told import limit_words
from sim.tell.kpis import CARD, KPIS
from sim.tell.listing import Column, Listing
from sim.tell.present import UNITS, row, written
from sim.tell.sentences import days_words, joined, simulated

NAMED = ("breakthrough_risk", "breach_h", "unmet_m3", "peak_dp_kpa", "offline_h")
"""What may get worse in every case."""
BEHIND = ("bypass_min", "downstream_solids_kg", "downstream_over_min", "downstream_starved_h")
"""What may get worse for a unit behind the train."""
WORSE = (*NAMED, *BEHIND, "cost")
BETTER = ("breakthrough_risk", "breach_h", "unmet_m3", *BEHIND, "cost")
MARK = "!"
RISK_LEGEND = "Breakthrough risk: share of the filter runs that broke through."
ACROSS = 5  # ways that stand side by side; more of them one below the other
HELD = {"over_limit_h": "breach_h", "unmet_m3": "unmet_m3", "raw_min": "bypass_min"}
"""The figures that limits are held against."""
STATES = {
    "supply_kpa": "pressure beyond the supply", "rating_kpa": "pressure beyond a rating",
    "below_clean_kpa": "set point below clean bed", "idle": "own trigger starts no wash",
    "off_line": "washes without end",
}  # fmt: skip
"""The limits that no figure of the site shows."""


@record
class FirstScreen:
    """What stands on a first screen, in this order; of `change` as much as there is room for."""

    title: str
    answer: tuple[str, ...]
    table: Listing
    legend: str
    change: tuple[str, ...]
    foot: tuple[str, ...]


def answer_of(screen: FirstScreen) -> Answer:
    """The same as a report has it."""
    return Answer(
        sentences=screen.answer, table=text_table("Side by side", screen.table), notes=(screen.legend, *screen.foot),
        change=screen.change,
    )  # fmt: skip


def screen_of_one(
    comparison: Comparison, system: System, *, test: RangeTest | None = None, stages: bool = False,
    whole: bool = False,
) -> FirstScreen:  # fmt: skip
    """Of one run of every way; `test` knows the ranges of what is assumed, `whole` has all that they say."""
    case, results, ranges = comparison.case, comparison.results, ranges_told(test, comparison.case, system)
    return first_screen(
        Choice(once(case, comparison.seed, results)), doubts(case, results), system, stages=stages,
        title=simulated(case, comparison.days), earlier=earlier_stage(case, results, system), test=test,
        moves=ranges.change if whole else ranges.brief,
    )  # fmt: skip


def screen_of_many(repeated: Repeated, system: System, *, stages: bool = False) -> FirstScreen:
    """Of many runs of every way."""
    return first_screen(
        Choice(repeated), doubts_of(repeated), system, stages=stages, remarks=of_the_runs(repeated),
        title=f"{repeated.case.title} ({runs_simulated(repeated)})",
    )  # fmt: skip


def first_screen(
    choice: Choice, found: Sequence[Doubt], system: System, *, stages: bool = False, title: str = "",
    earlier: str = "", remarks: Sequence[str] = (), test: RangeTest | None = None, moves: Sequence[str] = (),
) -> FirstScreen:  # fmt: skip
    """All of it: `found` are the doubts of these runs, `earlier` tells of a stage before the one judged.

    `remarks` are of many runs, `moves` tell of the constants that move the answer most.
    """
    words, doubted = _Words(choice, system), telling_words(found, system)
    return FirstScreen(
        title=title,
        answer=(*words.answer(found), *words.sure(test), *remarks),
        table=words.table(stages),
        legend=words.legend(),
        change=(*([earlier] if earlier else []), *moves[:1], *doubted[:1], *moves[1:], *doubted[1:]),
        foot=(*chemistry_words(found), *words.foot()),
    )


def laid_out(first: str, heads: Sequence[str], rows: Sequence[Sequence[str]]) -> Listing:
    """Figures of ways that stand side by side or, where these are many, one below the other."""
    if len(heads) <= ACROSS:
        columns = (Column(first, "words"), *(Column(head, "numbers") for head in heads))
        return Listing(columns=columns, rows=tuple(tuple(row) for row in rows))
    labels = [Column(label, "numbers") for label, *_ in rows]
    lines = [(head, *(texts[place] for _, *texts in rows)) for place, head in enumerate(heads)]
    return Listing(columns=(Column(first, "long words"), *labels), rows=tuple(lines))


@dataclass(frozen=True)
class _Words:
    choice: Choice
    system: System

    def texts(self, key: str, ways: Sequence[str], place: str = SITE) -> tuple[str, ...]:
        """A figure of these ways, all with the same decimals."""
        means = [{key: self.mean(key, way, place)} for way in ways]
        return row(KPIS[key], means, self.system).texts

    def mean(self, key: str, way: str, place: str = SITE) -> float | None:
        found = self.choice.repeated.mean(way, key, place)
        return None if found is None else found.mean

    def unit(self, key: str) -> str:
        prices = self.choice.repeated.case.prices
        return prices.currency if key == "cost" and prices else UNITS[self.system][KPIS[key].quantity].symbol

    def label(self, key: str) -> str:
        return f"{named(key)}, {self.unit(key)}"

    def volume(self, value: float) -> str:
        unit = UNITS[self.system]["volume"]
        return f"{written([value * unit.per_result_unit])[0]} {unit.symbol}"

    @property
    def today(self) -> str:
        """Today's way as a sentence names it."""
        choice, named = self.choice, f"“{self.choice.today}”"
        return f"today's {named}" if choice.repeated.case.today else named

    @property
    def span(self) -> str:
        return days_words(self.choice.repeated.days)

    def answer(self, found: Sequence[Doubt]) -> Iterator[str]:
        """What to do, against today's way, and what gets worse."""
        choice = self.choice
        cannot = [each for each in found if isinstance(each, CannotKeep)]
        judged = [each for each in cannot if each.stage == choice.repeated.case.judged.name]
        yield from first_words(judged)
        yield from self._unkept([each for each in choice.unkept if each != NO_TIME or not judged])
        if len(choice.ways) == 1:
            yield f"The case has one way to start a wash, {self.today}: there is nothing to compare it with."
        elif choice.kind == "same":
            same = [each for each in found if isinstance(each, SameResult) and len(each.policies) == len(choice.ways)]
            yield from same_words(same) or ("No figure sets these ways to start a wash apart.",)
        else:
            yield from self._speaks()
            if choice.is_compared:
                yield from self.turns()
        yield from first_words([each for each in cannot if each not in judged])

    def _unkept(self, limits: Sequence[Limit]) -> Iterator[str]:
        for limit in limits:
            if limit == NO_TIME:
                least = min(self.choice.ways, key=lambda way: self.mean("breach_h", way) or 0.0)
                (text,) = self.texts("breach_h", [least])
                yield f"No way keeps the limit, {self._limit(limit)}: the least is {text} h over it, with “{least}”."
            else:
                yield f"No way keeps this limit: {self._limit(limit)}."

    def _limit(self, limit: Limit) -> str:
        if limit == NO_TIME:
            return kept_words(self.choice.repeated.case, self.system)
        return limit_words(limit, None, self.system)

    def _speaks(self) -> Iterator[str]:
        """Which way to take, or why none."""
        choice, way, today, span = self.choice, f"“{self.choice.way}”", self.today, self.span
        a, b = self.texts("drain_m3", [choice.way, choice.today])
        drained = f"{a} {self.unit('drain_m3')} of water to drain in {span}, {b} with {today}"
        saved = f"{self.volume(choice.drain(choice.today) - choice.drain(choice.way))} of water to drain in {span}"
        match (choice.kind, bool(choice.unkept)):
            case ("take", False):
                yield f"Take {way}: it saves {saved} against {today} ({a}, not {b})."
            case ("take", True):
                yield f"{way} saves {saved} ({a}, not {b}) and is no worse than {today} in any limit."
            case ("mend", False):
                yield f"Take {way}, since {today} breaks a limit: {way} has {drained}."
            case ("mend", True):
                yield f"{way} comes nearest, since {today} breaks more: {way} has {drained}."
            case ("stay", False):
                yield f"Stay with {today}: no other way saves water to drain without breaking a limit."
            case ("stay", True):
                yield f"No other way is better than {today}: none saves water to drain without breaking more."
            case _:
                yield f"No way here keeps every limit ({MARK}); {way} comes nearest: {drained}."
                yield "Other settings may keep them: filterrun advise seeks the best."
        if choice.kind == "stay" and choice.is_compared:
            yield f"{way} has the least: {drained}."

    def turns(self) -> Iterator[str]:
        """What gets worse, and what of the water gets better, with the way spoken of."""
        worse = list(self._changed(WORSE, grows=True))
        better = list(self._changed(BETTER, grows=False))
        if worse:
            yield f"What gets worse with it: {'; '.join(worse)}."
        else:
            yield f"None of these gets worse with it: {joined([named(key) for key in NAMED])}."
        if better:
            yield f"What gets better with it: {'; '.join(better)}."

    def _changed(self, keys: Sequence[str], *, grows: bool) -> Iterator[str]:
        ways = (self.choice.way, self.choice.today)
        for key in keys:
            then, now = (self.mean(key, way) or 0.0 for way in ways)
            a, b = self.texts(key, ways)
            if a != b and (then > now * (1.0 + EQUAL_SHARE) if grows else now > then * (1.0 + EQUAL_SHARE)):
                yield f"{named(key)} {a} {self.unit(key)}, not {b}"

    def sure(self, test: RangeTest | None) -> Iterator[str]:
        """How sure the answer is."""
        choice, case = self.choice, self.choice.repeated.case
        repeated, assumed = choice.repeated, len(case.assumptions)
        if not choice.is_compared:
            return
        count = f"{assumed} of {case.constants} constants {'is' if assumed == 1 else 'are'} assumed"
        if repeated.figures.replicates > 1:
            yield from self._over_years(count)
        elif test is None or not test.over.trials:
            tried = ", and no range was tried" if assumed else ""
            yield f"How sure: {count}{tried}."
        else:
            yield self._over_ranges(test, count)
        if repeated.figures.replicates == 1 and case.is_random:
            yield "The weather is random, and this is one draw of it: --replicates 20 shows more."

    def _over_years(self, count: str) -> Iterator[str]:
        repeated, way, today = self.choice.repeated, self.choice.way, self.choice.today
        pair = repeated.pair(today, way, "drain_m3")
        if not (repeated.case.is_random or repeated.uncertain):
            yield f"How sure: {count}."
        elif pair and pair.difference.low is not None and pair.difference.high is not None:
            drawn = ", with the assumed constants drawn anew for each" if repeated.uncertain else ""
            told = self._saves(pair.difference.low, pair.difference.high)
            yield f"How sure: on average {told} (95 % interval of {runs_words(repeated)}{drawn}); {count}."
            if repeated.case.judged.limit is not None and repeated.over(way) is None:
                kept = [int((repeated.values(each, "breach_h") == 0.0).sum()) for each in (way, today)]
                yield self._keeps(kept[0], kept[1], repeated.figures.replicates)

    def _over_ranges(self, test: RangeTest, count: str) -> str:
        """How far the saving spreads, and in how many of the runs the answer holds and the limit is kept."""
        over, way, today = test.over, self.choice.way, self.choice.today
        runs = [(over.typical, over.kept), *((each.shown, each.kept) for each in over.trials)]
        most = over.typical[way]["offline_h"] + MOST_OFF_LINE * self.choice.repeated.days * DAY / HOUR
        less = [shown[today]["drain_m3"] - shown[way]["drain_m3"] for shown, _ in runs
                if shown[way]["offline_h"] <= most]  # fmt: skip
        endless = len(runs) - len(less)
        left_out = f" (without {endless} of {len(runs)} runs in which it washes without end)" if endless else ""
        told = f"How sure: {count}; over the usual ranges {self._saves(min(less), max(less))}{left_out}."
        if self.choice.kind == "take":
            holds = sum(
                less_clearly(shown[way]["drain_m3"], shown[today]["drain_m3"], "drain_m3")
                and (way in keeping or today not in keeping)
                for shown, keeping in runs
            )
            told += f" In {holds} of {len(runs)} runs it saves water and keeps the limit wherever today's way does."
        return f"{told} {self._keeps(over.keeping(way), over.keeping(today), over.runs)}" if over.limited else told

    def _keeps(self, way: int, today: int, runs: int) -> str:
        """In how many of the runs the limit on which the answer rests is kept."""
        return f"The limit is kept in {way} of {runs} runs with “{self.choice.way}”, in {today} with {self.today}."

    def _saves(self, low: float, high: float) -> str:
        low_text, high_text = self.volume(abs(low)), self.volume(abs(high))
        if low_text == high_text:
            return f"it saves {low_text}" if low >= 0.0 else f"it takes {low_text} more"
        if low >= 0.0:
            return f"it saves {low_text.split()[0]} to {high_text}"
        if high <= 0.0:
            return f"it takes {high_text.split()[0]} to {low_text} more"
        return f"it saves up to {high_text} or takes up to {low_text} more"

    def table(self, stages: bool) -> Listing:
        """The card's three figures of every way, those of each stage below them where asked for."""
        choice, case = self.choice, self.choice.repeated.case
        ways = choice.order
        heads = [f"{way} (today)" if way == choice.today and self._is_todays else way for way in ways]
        rows = self._rows(ways, SITE)
        over = [choice.repeated.over(way) for way in ways]
        if case.run.allowed_breach is not None and all(each is not None for each in over):
            years = [f"{int(each.sum())} of {each.size}" for each in over if each is not None]
            rows.append((f"years over for more than {case.run.allowed_breach / HOUR:g} h", *years))
        if case.prices is not None:
            rows.append((self.label("cost"), *self.texts("cost", ways)))
        rows += self._held(ways)
        if stages and len(case.stages) > 1:
            for stage in case.stages:
                rows += [(f"{stage.name}: {label}", *texts) for label, *texts in self._rows(ways, stage.name)]
        first = f"in {self.span}" if choice.repeated.figures.replicates == 1 else f"mean of {self.span}"
        return laid_out(first, heads, rows)

    @property
    def _is_todays(self) -> bool:
        """Whether what is taken for today's way can be: named so, or a calendar beside other ways."""
        case = self.choice.repeated.case
        return bool(case.today) or (len(self.choice.ways) > 1 and by_calendar(policy_of_today(case, None)))

    def _rows(self, ways: Sequence[str], place: str) -> list[tuple[str, ...]]:
        return [(self.label(key), *self.texts(key, ways, place)) for key in CARD]

    def _held(self, ways: Sequence[str]) -> Iterator[tuple[str, ...]]:
        """A row for each limit that some way breaks, marked where it does."""
        broken = {way: {each.key for each in self._broken(way)} for way in ways}
        for limit in (each for each in (*HELD, *STATES) if any(each in keys for keys in broken.values())):
            key = HELD.get(limit)
            label = self.label(key) if key else STATES[limit]
            texts = self.texts(key, ways) if key else ["yes" if limit in broken[way] else "no" for way in ways]
            if limit == "over_limit_h" and self.choice.repeated.case.run.allowed_breach is not None:
                label, texts = "avoidable time over, h", self._avoidable(ways)
            yield label, *(f"{MARK} {text}" if limit in broken[way] else text
                           for way, text in zip(ways, texts, strict=True))  # fmt: skip

    def _avoidable(self, ways: Sequence[str]) -> tuple[str, ...]:
        """Time over the limit without what no wash would have avoided."""
        over = [[self.mean(key, way) or 0.0 for key in ("breach_h", "breach_unavoidable_h")] for way in ways]
        return row(KPIS["breach_h"], [{"breach_h": all_of_it - part} for all_of_it, part in over], self.system).texts

    def _broken(self, way: str) -> tuple[Limit, ...]:
        return (*self.choice.unkept, *self.choice.broken[way])

    def legend(self) -> str:
        """What the table's words and marks mean."""
        broken = [each for way in self.choice.ways for each in self._broken(way)]
        named = dict.fromkeys(self._legend(each) for each in sorted(broken, key=lambda each: each != NO_TIME))
        return f"{RISK_LEGEND} {MARK} breaks a limit: {'; '.join(named)}." if named else RISK_LEGEND

    def _legend(self, limit: Limit) -> str:
        """A limit; of a demand also why it is unmet."""
        downstream = self.choice.repeated.case.downstream
        no_tank = limit.key == "unmet_m3" and (downstream is None or downstream.unit is None)
        return f"{self._limit(limit)}{' (no tank is given to bridge a wash)' if no_tank else ''}"

    def foot(self) -> Iterator[str]:
        """What is the same for every way, and what stands in for today's."""
        choice, case = self.choice, self.choice.repeated.case
        if not case.today and len(choice.ways) > 1:
            yield f"The case does not name today's way (key today); “{choice.today}” is taken for it."
        longest = [f"{stage.name} {plain_duration(stage.longest_run)}" for stage in case.stages if stage.longest_run]
        is_named = case.judged.limit is None or any(NO_TIME in self._broken(way) for way in choice.ways)
        same = [] if is_named else [f"the limit ({kept_words(case, self.system)})"]
        same += [f"the longest run ({', '.join(longest)})"] if longest else []
        if same:
            yield f"Same for every way: {joined(same)}."
