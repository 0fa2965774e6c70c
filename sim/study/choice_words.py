"""The first screen of a comparison: the answer against today's way, what gets worse, how sure it is."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from sim.case.units import HOUR
from sim.case.wording import plain_duration
from sim.study.choice import NO_TIME, Choice
from sim.study.decide.limits import Limit
from sim.study.decide.told import limit_words
from sim.study.doubt_words import chemistry_words, first_words, same_words, telling_words
from sim.study.doubts import Doubt, SameResult
from sim.study.kpis import KPIS, System
from sim.study.listing import Column, Listing
from sim.study.many.figures import SITE
from sim.study.many.words import runs_words
from sim.study.present import UNITS, row, written
from sim.study.ranking import EQUAL_SHARE, RangeTest, less_clearly
from sim.study.spread_words import RangesTold, kept_words
from sim.study.wording import days_words, joined

CARD = ("drain_m3", "offline_h", "breakthrough_risk")
BROKEN_THROUGH = "filter runs broken through"
NAMES = {
    "breakthrough_risk": BROKEN_THROUGH, "breach_h": "time over the limit", "unmet_m3": "demand not met",
    "peak_dp_kpa": "highest pressure drop", "offline_h": "downtime",
}  # fmt: skip
WORSE = tuple(NAMES)
BETTER = WORSE[:3]
MORE = "More: --all, --stages."
ACROSS = 5  # ways that stand side by side; more of them one below the other
BULLETS = 3
RUN_FIGURES = {"over_limit_h": "breach_h", "unmet_m3": "unmet_m3", "raw_min": "bypass_min"}
BROKEN = {
    "over_limit_h": "Longer over the limit than allowed",
    "unmet_m3": "More demand not met",
    "raw_min": "More raw water sent on while washing",
    "supply_kpa": "More pressure than the supply gives",
    "rating_kpa": "More pressure than a vessel is rated for",
    "below_clean_kpa": "Set point below the clean bed",
    "idle": "No wash started but by the longest run",
    "off_line": "Washed without end",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstScreen:
    """What stands on the first screen, in this order."""

    answer: tuple[str, ...]
    table: Listing
    limits: tuple[str, ...]
    change: tuple[str, ...]
    foot: tuple[str, ...]


def first_screen(
    choice: Choice, found: Sequence[Doubt], system: System, *, stages: bool, earlier: str = "",
    remarks: Sequence[str] = (), test: RangeTest | None = None, ranges: RangesTold,
) -> FirstScreen:  # fmt: skip
    """All of it: `found` are the doubts of these runs, `earlier` tells of a stage before the one judged.

    `remarks` are of many runs.
    """
    words = _Words(choice, system)
    change = [*([earlier] if earlier else []), *_in_turn(ranges.brief, telling_words(found, system))]
    return FirstScreen(
        answer=(*words.answer(found), *words.sure(test), *remarks),
        table=words.table(stages),
        limits=tuple(words.limits()),
        change=tuple(change[:BULLETS]),
        foot=(*chemistry_words(found), *words.foot()),
    )


def _in_turn(moves: Sequence[str], doubts: Sequence[str]) -> Iterator[str]:
    """What moves most, then a doubt, and so on."""
    for place in range(max(len(moves), len(doubts))):
        yield from (*moves[place : place + 1], *doubts[place : place + 1])


@dataclass(frozen=True)
class _Words:
    choice: Choice
    system: System

    def texts(self, key: str, ways: Sequence[str], place: str = SITE) -> tuple[str, ...]:
        """A figure of these ways, all with the same decimals."""
        means = [self.choice.repeated.means(way, place) for way in ways]
        return row(KPIS[key], means, self.system).texts

    def unit(self, key: str) -> str:
        return UNITS[self.system][KPIS[key].quantity].symbol

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
        yield from first_words(found)
        if not first_words(found):
            yield from self._unkept()
        elif choice.unkept[1:]:
            yield from self._unkept(choice.unkept[1:])
        if len(choice.ways) == 1:
            yield f"The case has one way to start a wash, {self.today}: there is nothing to compare it with."
            return
        if choice.kind == "same":
            same = [each for each in found if isinstance(each, SameResult) and len(each.policies) == len(choice.ways)]
            yield from same_words(same) or ("No figure sets these ways to start a wash apart.",)
            return
        yield from self._speaks()
        if choice.is_compared:
            yield from self.turns()

    def _unkept(self, limits: Sequence[Limit] | None = None) -> Iterator[str]:
        for limit in self.choice.unkept if limits is None else limits:
            if limit == NO_TIME:
                kept = kept_words(self.choice.repeated.case, self.system)
                hours = {way: self.choice.repeated.means(way)["breach_h"] or 0.0 for way in self.choice.ways}
                least = min(hours, key=hours.__getitem__)
                (text,) = self.texts("breach_h", [least])
                yield f"No way keeps the limit, {kept}: the least is {text} h over it, with “{least}”."
            else:
                yield f"No way keeps this limit: {limit_words(limit, None, self.system)}."

    def _speaks(self) -> Iterator[str]:
        """Which way to take, or why none."""
        choice, way, today, span = self.choice, f"“{self.choice.way}”", self.today, self.span
        a, b = self.texts("drain_m3", [choice.way, choice.today])
        less, unit = self.volume(choice.drain(choice.today) - choice.drain(choice.way)), self.unit("drain_m3")
        match (choice.kind, bool(choice.unkept)):
            case ("take", False):
                yield f"Take {way}: it saves {less} of water to drain in {span} against {today} ({a}, not {b})."
            case ("take", True):
                yield f"Nearest is {way}, no worse than {today} in any limit."
                yield f"It saves {less} of water to drain in {span} ({a}, not {b})."
            case ("mend", False):
                yield f"Take {way}, since {today} breaks a limit."
                yield f"It takes {a} {unit} of water to drain in {span}, not {b}."
            case ("mend", True):
                yield f"Nearest is {way}: {today} breaks one limit more."
                yield f"It takes {a} {unit} of water to drain in {span}, not {b}."
            case ("stay", False):
                yield f"Stay with {today}: no other way saves water to drain without breaking a limit."
            case ("stay", True):
                yield f"No other way is better than {today}: none saves water to drain without breaking more."
            case _:
                yield "No way is recommended as it is set: each breaks a limit, told below; advise seeks others."
                yield f"Nearest is {way}, with {a} {unit} of water to drain in {span}, not {b} ({today})."
        if choice.kind == "stay" and choice.is_compared:
            yield f"The least to drain has {way}: {a} {unit} in {span}, not {b}."

    def turns(self) -> Iterator[str]:
        """What gets worse, and what of the water gets better, with the way spoken of."""
        worse = list(self._changed(WORSE, grows=True))
        better = list(self._changed(BETTER, grows=False))
        if worse:
            yield f"What gets worse with it: {'; '.join(worse)}."
        else:
            yield "Filter runs broken through, pressure drop, demand not met and downtime are no worse with it."
        if better:
            yield f"What gets better besides: {'; '.join(better)}."

    def _changed(self, keys: Sequence[str], *, grows: bool) -> Iterator[str]:
        means = [self.choice.repeated.means(way) for way in (self.choice.way, self.choice.today)]
        for key in keys:
            then, now = (float(each[key] or 0.0) for each in means)
            a, b = self.texts(key, [self.choice.way, self.choice.today])
            if a != b and (then > now * (1.0 + EQUAL_SHARE) if grows else now > then * (1.0 + EQUAL_SHARE)):
                yield f"{NAMES[key]} {a} {self.unit(key)}, not {b}"

    def sure(self, test: RangeTest | None) -> Iterator[str]:
        """How sure the answer is."""
        choice, case = self.choice, self.choice.repeated.case
        repeated, assumed = choice.repeated, len(case.assumptions)
        if not choice.is_compared:
            return
        count = f"{assumed} of {case.constants} constants assumed"
        if repeated.figures.replicates > 1:
            yield from self._over_years(count)
        elif test is None or not test.over.trials:
            tried = "" if not assumed else "; their ranges were not tried"
            yield f"How sure: {count}{tried}."
        else:
            yield self._over_ranges(test, count)
        if repeated.figures.replicates == 1 and case.is_random:
            yield "The weather is random, and this is one draw of it: --replicates 20 shows more."

    def _over_years(self, count: str) -> Iterator[str]:
        repeated, saved = self.choice.repeated, self.choice.saved()
        if not (repeated.case.is_random or repeated.uncertain):
            yield f"How sure: {count}."
        elif saved is not None and saved.low is not None and saved.high is not None:
            drawn = ", with the assumed constants drawn anew for each" if repeated.uncertain else ""
            told = self._saves(saved.low, saved.high)
            yield f"How sure: {told} (95 % of the mean of {runs_words(repeated)}{drawn}); {count}."

    def _over_ranges(self, test: RangeTest, count: str) -> str:
        """How far the saving spreads, and in how many of the runs the answer holds."""
        way, today = self.choice.way, self.choice.today
        shown = [test.over.typical, *(each.shown for each in test.over.trials)]
        less = [each[today]["drain_m3"] - each[way]["drain_m3"] for each in shown]
        saves = self._saves(min(less), max(less))
        if self.choice.kind != "take":
            return f"How sure: {count}; over their ranges {saves}."
        kept = [test.over.kept, *(each.kept for each in test.over.trials)]
        holds = sum(
            less_clearly(each[way]["drain_m3"], each[today]["drain_m3"], "drain_m3")
            and (way in keeping or today not in keeping)
            for each, keeping in zip(shown, kept, strict=True)
        )
        return (
            f"How sure: {count}; over their ranges {saves}. In {holds} of {test.over.runs} runs it saves water, and "
            "keeps the limit if today's way does."
        )

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
        heads = [f"{way} (today)" if way == choice.today else way for way in ways]
        rows = self._rows(ways, SITE)
        over = [choice.repeated.over(way) for way in ways]
        if case.run.allowed_breach is not None and all(each is not None for each in over):
            years = [f"{int(each.sum())} of {each.size}" for each in over if each is not None]
            rows.append((f"years over for more than {case.run.allowed_breach / HOUR:g} h", *years))
        rows.append(("limits broken", *(self._broken(way) for way in ways)))
        if stages and len(case.stages) > 1:
            for stage in case.stages:
                rows += [(f"{stage.name}: {label}", *texts) for label, *texts in self._rows(ways, stage.name)]
        first = f"in {self.span}" if choice.repeated.figures.replicates == 1 else f"mean of {self.span}"
        if len(ways) <= ACROSS:
            return Listing(
                columns=(Column(first, "words"), *(Column(head, "numbers") for head in heads)), rows=tuple(rows)
            )
        labels = [Column(label, "numbers") for label, *_ in rows]
        lines = [(head, *(texts[place] for _, *texts in rows)) for place, head in enumerate(heads)]
        return Listing(columns=(Column(first, "long words"), *labels), rows=tuple(lines))

    def _broken(self, way: str) -> str:
        return str(len({each.key for each in (*self.choice.unkept, *self.choice.broken[way])}))

    def _rows(self, ways: Sequence[str], place: str) -> list[tuple[str, ...]]:
        labels = (f"water to drain, {self.unit('drain_m3')}", "downtime, h", f"{BROKEN_THROUGH}, %")
        return [(label, *self.texts(key, ways, place)) for label, key in zip(labels, CARD, strict=True)]

    def limits(self) -> Iterator[str]:
        """Each limit that some way breaks, and with which."""
        choice = self.choice
        if choice.kind == "same":
            return
        broken = BROKEN if choice.keeping else BROKEN | {"over_limit_h": "Longer over the limit"}
        for key, words in broken.items():
            ways = [way for way in choice.order if any(limit.key == key for limit in choice.broken[way])]
            if not ways:
                continue
            if key not in RUN_FIGURES:
                yield f"{words}: {joined([f'“{way}”' for way in ways])}."
                continue
            figure = RUN_FIGURES[key]
            *texts, now = self.texts(figure, [*ways, choice.today])
            named = [f"“{way}” {text}" for way, text in zip(ways, texts, strict=True)]
            known = f"{self.unit(figure)}" if choice.today in ways else f"{now} {self.unit(figure)} with {self.today}"
            yield f"{words} ({known}): {', '.join(named)}."

    def foot(self) -> Iterator[str]:
        """What is the same for every way, and what stands in for today's."""
        choice, case = self.choice, self.choice.repeated.case
        if not case.today and len(choice.ways) > 1:
            yield f"The case states no present way (today = ); “{choice.today}” is taken as today's."
        longest = [f"{stage.name} {plain_duration(stage.longest_run)}" for stage in case.stages if stage.longest_run]
        same = [] if case.judged.limit is None else [kept_words(case, self.system)]
        same += [f"longest run {', '.join(longest)}"] if longest else []
        if same:
            yield f"Same for every way: {'; '.join(same)}."
