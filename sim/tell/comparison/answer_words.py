"""The answer of a comparison against today's way: what to do, what gets worse with it, how sure it is."""

import math
from collections.abc import Iterator, Sequence
from typing import Literal

from plots.words import Amount, Kind, Label, Name, Number, Sentence, amount, count, items, label, paragraph, say
from sim.case.records import Case
from sim.study.choice import NO_TIME
from sim.study.decide.limits import OVER_DISSOLVED, Limit
from sim.study.doubts import CannotKeep, Doubt, SameResult
from sim.study.ranking import EQUAL_SHARE, RangeTest, less_clearly
from sim.tell.comparison.doubt_words import first_words, same_words
from sim.tell.comparison.leading import named
from sim.tell.comparison.shown import Shown
from sim.tell.comparison.spread_words import limit_of
from sim.tell.decision.told import limits_words

NAMED = ("breakthrough_risk", "over_limit_h", "unmet_m3", "peak_dp_kpa", "downtime_h")
"""What may get worse in every case."""
BEHIND = ("bypass_min", "downstream_solids_kg", "downstream_over_min", "downstream_starved_h")
"""What may get worse for a unit behind the train."""
DISSOLVED = (*OVER_DISSOLVED, "oxidant_exposure_g_h_m3")
"""What may get worse where something is dissolved."""
WORSE = (*NAMED, *BEHIND, *DISSOLVED, "cost")
BETTER = ("breakthrough_risk", "over_limit_h", "unmet_m3", *BEHIND, *DISSOLVED, "cost")
Present = Literal["named", "taken"]
"""Whether the case names today's way, or another is taken for it."""
Change = Literal["saves", "takes"]


def answer(shown: Shown, found: Sequence[Doubt]) -> Iterator[Sentence]:
    """What to do, against today's way, and what gets worse."""
    choice = shown.choice
    cannot = [each for each in found if isinstance(each, CannotKeep)]
    judged = [each for each in cannot if each.stage == choice.repeated.case.judged.name]
    yield from first_words(judged)
    yield from _unkept(shown, [each for each in choice.unkept if each != NO_TIME or not judged])
    if len(choice.ways) == 1:
        yield say("compare.one_way", way=shown.today)
    elif choice.kind == "same":
        same = [each for each in found if isinstance(each, SameResult) and len(each.policies) == len(choice.ways)]
        yield from same_words(same) or (say("compare.no_difference"),)
    else:
        yield paragraph(*_speaks(shown), *([_worse(shown)] if choice.is_compared else []))
        yield from _better(shown) if choice.is_compared else ()
        if choice.kind == "none":
            yield say("compare.other_settings")
    yield from first_words([each for each in cannot if each not in judged])


def _unkept(shown: Shown, limits: Sequence[Limit]) -> Iterator[Sentence]:
    for limit in limits:
        if limit == NO_TIME:
            case = shown.choice.repeated.case
            least = min(shown.choice.ways, key=lambda way: shown.mean("over_limit_h", way) or 0.0)
            time, limit_of_water = shown.amount("over_limit_h", least), limit_of(case, shown.system)
            yield say("compare.no_way_keeps", limit=limit_of_water, least=time, way=Name(least))
        else:
            yield say("compare.no_way_keeps_this", limit=limits_words([limit], shown.system))


def _speaks(shown: Shown) -> Iterator[Sentence]:
    """Which way to take, or why none."""
    choice, way, name, length = shown.choice, shown.way, shown.today, shown.length
    present: Present = "named" if choice.repeated.case.today else "taken"
    today = Kind(present)
    a, b = shown.texts("drain_m3", [choice.way, choice.today])
    then, now = (amount(text, shown.unit("drain_m3")) for text in (a, b))
    less = choice.drain(choice.today) - choice.drain(choice.way)
    saved = shown.volume(less, less)
    match (choice.kind, bool(choice.unkept)):
        case ("take", False):
            yield say(
                "compare.take", today=today, way=way, name=name, saved=saved, length=length, then=a, now=b
            )  # fmt: skip
        case ("take", True):
            yield say(
                "compare.saves", today=today, way=way, name=name, saved=saved, length=length, then=a, now=b
            )  # fmt: skip
        case ("mend", False):
            yield say("compare.mend", today=today, way=way, name=name, then=then, length=length, now=now)
        case ("mend", True):
            yield say("compare.nearer", today=today, way=way, name=name, then=then, length=length, now=now)
        case ("stay", False):
            yield say("compare.stay", today=today, name=name)
        case ("stay", True):
            yield say("compare.none_better", today=today, name=name)
        case _:
            yield say("compare.nearest", today=today, way=way, name=name, then=then, length=length, now=now)
    if choice.kind == "stay" and choice.is_compared:
        yield say("compare.least", way=way, then=then, length=length, today=name, now=now)


def _worse(shown: Shown) -> Sentence:
    """What gets worse with the way spoken of."""
    worse = list(_changed(shown, WORSE, grows=True))
    if worse:
        return say("compare.worse", figures=items(worse))
    return say("compare.none_worse", figures=items([named(key) for key in NAMED]))


def _better(shown: Shown) -> Iterator[Sentence]:
    """What of the water, and of its cost, gets better with it."""
    better = list(_changed(shown, BETTER, grows=False))
    if better:
        yield say("compare.better", figures=items(better))


def _changed(shown: Shown, keys: Sequence[str], *, grows: bool) -> Iterator[Label]:
    ways = (shown.choice.way, shown.choice.today)
    for key in keys:
        then, now = (shown.mean(key, way) or 0.0 for way in ways)
        a, b = shown.texts(key, ways)
        if a != b and (then > now * (1.0 + EQUAL_SHARE) if grows else now > then * (1.0 + EQUAL_SHARE)):
            yield label("compare.changed", figure=named(key), then=amount(a, shown.unit(key)), now=b)


def sure(shown: Shown, test: RangeTest | None) -> Iterator[Sentence]:
    """How sure the answer is."""
    case, repeated = shown.choice.repeated.case, shown.choice.repeated
    if not shown.choice.is_compared:
        return
    told = list(_assumed(case))
    if repeated.figures.replicates > 1:
        told += _over_years(shown)
    elif test is not None and test.over.trials:
        told += _over_ranges(shown, test)
    elif case.ranged:
        told.append(say("compare.untried"))
    yield paragraph(*told)
    if repeated.figures.replicates == 1 and case.is_random:
        yield say("compare.one_draw")


def _assumed(case: Case) -> Iterator[Sentence]:
    if case.assumptions:
        yield say("compare.sure", count=len(case.assumptions), every=count(case.constants))
    else:
        yield say("compare.all_given")
    if case.stated:
        yield say("compare.given_range", count=len(case.stated))


def _over_years(shown: Shown) -> Iterator[Sentence]:
    repeated, way, today = shown.choice.repeated, shown.choice.way, shown.choice.today
    pair, runs = repeated.pair(today, way, "drain_m3"), count(repeated.figures.replicates)
    if not (repeated.case.is_random or repeated.uncertain) or pair is None:
        return
    low, high = pair.difference.low, pair.difference.high
    if low is None or high is None:
        return
    if low < 0.0 < high:
        saved, more = shown.volume(high, high), shown.volume(-low, -low)
        yield say("compare.on_average_either", saved=saved, more=more, runs=runs)
    else:
        change, span = _saved(shown, low, high)
        yield say("compare.on_average", change=change, span=span, runs=runs)
    if repeated.case.judged.limit is not None and repeated.over(way) is None:
        kept = [int((repeated.values(each, "over_limit_h") == 0.0).sum()) for each in (way, today)]
        yield _keeps(shown, kept[0], kept[1], runs)


def _or_endless(drain: float) -> float:
    """Water to drain; endless where it is not known, since that way washes without end."""
    return drain if drain == drain else math.inf


def _over_ranges(shown: Shown, test: RangeTest) -> Iterator[Sentence]:
    """How far the saving spreads, and in how many of the runs the answer holds and the limit is kept."""
    over, way, today = test.over, shown.choice.way, shown.choice.today
    trials = [(over.typical, over.kept), *((each.shown, each.kept) for each in over.trials)]
    runs = count(len(trials))
    known = [(figures[today]["drain_m3"], figures[way]["drain_m3"]) for figures, _ in trials]
    less = [one - other for one, other in known if one - other == one - other]  # unknown where one washes without end
    low, high = min(less), max(less)
    if low < 0.0 < high:
        yield say("compare.over_ranges_either", saved=shown.volume(high, high), more=shown.volume(-low, -low))
    else:
        change, span = _saved(shown, low, high)
        yield say("compare.over_ranges", change=change, span=span)
    if len(less) < len(trials):
        yield say("compare.endless", count=len(trials) - len(less), runs=runs)
    if shown.choice.kind == "take":
        holds = sum(
            less_clearly(figures[way]["drain_m3"], _or_endless(figures[today]["drain_m3"]), "drain_m3")
            and (way in keeping or today not in keeping)
            for figures, keeping in trials
        )
        yield say("compare.holds", part=count(holds), runs=runs, today=shown.today)
    if over.limited:
        yield _keeps(shown, over.keeping(way), over.keeping(today), count(over.runs))


def _keeps(shown: Shown, way: int, today: int, runs: Number) -> Sentence:
    """In how many of the runs the limit on which the answer rests is kept."""
    return say("compare.keeps", then=count(way), runs=runs, way=shown.way, now=count(today), today=shown.today)


def _saved(shown: Shown, low: float, high: float) -> tuple[Kind, Amount]:
    """Whether water is saved or taken, and from how much to how much."""
    change: Change = "saves" if low >= 0.0 else "takes"
    least, most = sorted([abs(low), abs(high)])
    return Kind(change), shown.volume(least, most)
