"""How sure a decision is, of the money and of the water, and what of the assumed would change it."""

import math
from collections.abc import Mapping, Sequence

from sim.case.quantities import System
from sim.study.decide.advice import Advice
from sim.study.decide.ends import SPREAD, TODAY, Ends, Margin, Trial
from sim.study.decide.margins import (
    HOURS,
    WORTH,
    advice_moves,
    advice_over,
    least_margin,
    payback_moves,
    payback_over,
    worth_margin,
)
from sim.study.decide.payback import Decided, Payback
from sim.study.decide.trials import Tried
from sim.study.over_ranges import OverRanges
from sim.tell.comparison.spread_words import Named, Names, RangesTold, change_words, spread_caption, spread_listing
from sim.tell.decision.told import HEADS, QUANTITIES, amount, number
from sim.tell.present import UNITS, solids_unit, written
from sim.tell.review.constant_names import constant_name, meaning

AS_TODAY = "as washes are started today"
TOLD_AT_MOST = 3


def money_sure(found: Payback, each: Decided, ends: Ends | None, system: System) -> str:
    """How sure the worth of a device is, over the prices and over what is assumed; empty where it has none."""
    if each.value is None:
        return ""
    told = [_over_prices(found, each), _over_constants(found, each, ends, system)]
    return f"How sure of the money: {'; '.join(one for one in told if one)}."


def _over_prices(found: Payback, each: Decided) -> str:
    if each.price_range is None:
        return "the prices are taken as exact, since no range of them was given"
    low, high = each.price_range
    if (low > 0.0) == (high > 0.0):
        return f"the answer holds at every price of the ranges given ({span_words(low, high, found)})"
    return f"it could come out the other way within the ranges of the prices ({span_words(low, high, found)})"


def _over_constants(found: Payback, each: Decided, ends: Ends | None, system: System) -> str:
    if ends is None or (known := worth_margin(found, each, ends)) is None:
        return ""
    span = span_words(known.low, known.high, found)
    beside = _beside(found, each, ends, system)
    if known.turns:
        return f"it could come out the other way if the plant is not as assumed ({span}), {beside}"
    return f"it holds over the usual ranges of what is assumed of the plant ({span}), {beside}"


def _beside(found: Payback, each: Decided, ends: Ends, system: System) -> str:
    """What the water of a device does over the same ranges."""
    over, name = payback_over(found, ends), each.bar.name
    water = over.span(name, "water")
    assert water is not None
    low, high = (amount(end, "volume", system) for end in (water.low, water.high))
    drain = low if low == high else f"{number(water.low, 'volume', system)} to {high}"
    kept = f" and {over.keeping(name)} of {over.runs} runs {_within(found.advice)}" if over.limited else ""
    return f"with {drain} to drain{kept}"


def span_words(low: float, high: float, found: Payback) -> str:
    """Two worths, the lower one first, as from a loss to a gain."""
    texts = [amount(abs(value), "money", "si", found.prices.currency) for value in (low, high)]
    if low < 0.0 <= high:
        return f"a loss of {texts[0]} to a gain of {texts[1]}"
    near, far = texts if high >= 0.0 else texts[::-1]
    ends = near if near == far else f"{near.removesuffix(f' {found.prices.currency}')} to {far}"
    return f"a {'loss' if high < 0.0 else 'gain'} of {ends}"


def gain_words(value: float, found: Payback) -> str:
    """A worth, or a loss."""
    return span_words(value, value, found)


def water_sure(
    advice: Advice, settings: Mapping[str, tuple[str, Tried]], ends: Ends | None, system: System
) -> str:
    """How sure the filtered water is with some settings, by the names that `ends` has: in words, and as they ran."""
    case, count = advice.case, len(advice.case.assumptions)
    assumed = f"{count} of {case.constants} figures of the plant (its constants) are assumed, not measured"
    if case.judged.limit is None:
        return f"How sure: {assumed}." if count else ""
    told = f"How sure of the water: {_hours_told(advice, settings, system)}."
    if not count:
        return f"{told} Nothing of the plant is assumed."
    if ends is None:
        return f"{told} But {assumed}, and their ranges were not tried."
    named = {name: words for name, (words, _) in settings.items()} | {TODAY: AS_TODAY}
    spans = {words: ends.span(name, HOURS) for name, words in named.items()}
    over = advice_over(advice, ends)
    kept = {
        words: f", {over.keeping(name)} of {over.runs} runs {_within(advice)}"
        for name, words in named.items() if advice.limits and not (name == TODAY and _is_against_today(advice))
    }  # fmt: skip
    texts = "; ".join(f"{_hours_between(*span)} {words}{kept.get(words, '')}" for words, span in spans.items())
    if max(spans[words][1] for words, _ in settings.values()) <= _allowed(advice) < math.inf:
        return f"{told} {assumed[0].upper()}{assumed[1:]}; within their usual ranges it stays within that: {texts}."
    return (
        f"{told} But {assumed}: within their usual ranges a year of the same settings is over the limit for "
        f"{texts}. Go there in steps, and watch the water."
    )


def _hours_told(advice: Advice, settings: Mapping[str, tuple[str, Tried]], system: System) -> str:
    """Hours over the limit with each setting and today, and how many are allowed."""
    case = advice.case
    solids = solids_unit(case.feed.turbidity_ratio, system)
    (limit,) = written([(case.judged.limit or 0.0) * solids.per_result_unit])
    runs = f"in {advice.replicates} runs in other weather than they were chosen in, " if advice.replicates > 1 else ""
    every = {words: tried.mean(HOURS) for words, tried in settings.values()}
    every[AS_TODAY] = advice.today.mean(HOURS)
    if not any(every.values()):
        *most, last = every
        return f"{runs}no time over the limit of {limit} {solids.symbol} of solids {', '.join(most)} or {last}"
    texts = ", ".join(f"{number(value, 'hours', 'si')} h {words}" for words, value in every.items())
    allowed = _allowed(advice)
    told = "" if math.isinf(allowed) else f"; {number(allowed, 'hours', 'si')} h are allowed"
    return f"{runs}over the limit of {limit} {solids.symbol} of solids in a year for {texts}{told}"


def _is_against_today(advice: Advice) -> bool:
    """Whether a limit asks for no more than today, which every run of the ranges has anew."""
    return any(limit.most is None for limit in advice.limits)


def _within(advice: Advice) -> str:
    """What it means here that a run keeps the limits."""
    return "no worse than today's" if _is_against_today(advice) else "within the limits"


def _hours_between(low: float, high: float) -> str:
    texts = [number(value, "hours", "si") for value in (low, high)]
    if texts[0] == texts[1]:
        return f"{texts[0]} h"
    return f"{texts[0]} to {texts[1]} h" if low > 0.0 else f"up to {texts[1]} h"


def _allowed(advice: Advice) -> float:
    """The hours a year over the limit that are allowed; inf where no limit is set on them."""
    limit = next((each for each in advice.limits if each.key == HOURS), None)
    return math.inf if limit is None else limit.allowed(advice.today)


def least_sure(advice: Advice, ends: Ends | None) -> str:
    """Whether another way has less over the ranges of what is assumed; empty where that was not tried."""
    known = None if ends is None else least_margin(advice, ends)
    if known is None:
        return ""
    what = "cost" if advice.least == "cost" else "water to drain"
    over = "over the usual ranges of what is assumed of the plant, with the same settings,"
    if known.turns:
        trials = f"in {len(known.turns)} of {len(known.trials)} trials"
        return f"How sure of the least: {over} another way has clearly less {what} {trials}."
    return f"How sure of the least: {over} no other way has clearly less {what}."


def turn_words(advice: Advice, known: Margin | None, what: str) -> tuple[str, ...]:
    """In how many trials an answer turns, so that `what` then holds, and which turn it most."""
    if known is None or not known.turns:
        return ()
    turns = sorted(known.turns, key=lambda each: -abs(each[1] - known.typical))
    causes = "; ".join(_cause(advice, trial) for trial, _ in turns[:TOLD_AT_MOST])
    first = "if" if len(turns) == 1 else f"in {len(turns)} of {len(known.trials)} trials, most clearly if"
    return (f"{what} {first} {causes}.",)


def _cause(advice: Advice, trial: Trial) -> str:
    if len(trial.keys) > 1:
        return f"all that is assumed is {trial.end}"
    (key,) = trial.keys
    what = f" ({known})" if (known := meaning(key)) else ""
    return f"{constant_name(key, advice.case.stages)}{what} is {trial.end}"


def payback_ranges(found: Payback, ends: Ends | None, system: System) -> RangesTold:
    """What the ranges of what is assumed make of the worth of a device: turns, spread, what moves it most."""
    if ends is None:
        return RangesTold()
    told: list[str] = []
    for each in found.decided:
        if each.verdict != "idle":
            turned = "not worth it" if each.verdict == "pays" else "worth it"
            told += turn_words(found.advice, worth_margin(found, each, ends), f"A {each.device} is {turned}")
    names = _names(system, found.prices.currency)
    over, moves = payback_over(found, ends), payback_moves(found, ends)
    change = change_words(over, moves, names, found.case, system)
    return _ranges(found.advice, ends, told, over, names, change, system)


def advice_ranges(advice: Advice, ends: Ends | None, system: System) -> RangesTold:
    """What the ranges of what is assumed make of the settings advised: turns, spread, what moves them most."""
    if ends is None or advice.chosen is None:
        return RangesTold()
    what = "costs" if advice.least == "cost" else "takes"
    told = turn_words(advice, least_margin(advice, ends), f"Another way than “{advice.chosen.policy}” {what} less")
    prices = advice.case.prices
    names = _names(system, "" if prices is None else prices.currency)
    over, moves = advice_over(advice, ends), advice_moves(advice, ends)
    return _ranges(advice, ends, told, over, names, change_words(over, moves, names, advice.case, system), system)


def _ranges(
    advice: Advice, ends: Ends, told: Sequence[str], over: OverRanges, names: Names, change: tuple[str, ...],
    system: System,
) -> RangesTold:  # fmt: skip
    return RangesTold(
        order=(*told, *refused_words(advice, ends)),
        caption=spread_caption(over),
        spread=spread_listing(over, names, "setting, of a year", system, f"runs {_within(advice)}"),
        change=change,
    )


def _names(system: System, money: str) -> Names:
    """What each figure that spreads is called."""
    return {
        key: Named(
            words="time over the limit" if key == HOURS else HEADS[key], quantity=QUANTITIES[key],
            unit=money if QUANTITIES[key] == "money" else UNITS[system][QUANTITIES[key]].symbol,
        )
        for key in (WORTH, *SPREAD)
    }  # fmt: skip


def refused_words(advice: Advice, ends: Ends) -> tuple[str, ...]:
    """The ends of ranges that could not be run."""
    keys = "; ".join(f"{constant_name(key, advice.case.stages)} {end}" for key, end, _ in ends.refused)
    return (f"Not tried, since the case cannot run there: {keys}.",) if keys else ()
