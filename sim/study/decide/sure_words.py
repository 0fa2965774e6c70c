"""How sure a decision is, of the money and of the water, and which assumed constants turn it."""

import math
from collections.abc import Mapping

from sim.study.constants import constant_name, meaning
from sim.study.decide.advice import Advice
from sim.study.decide.ends import By, Ends, Margin, Trial, margin
from sim.study.decide.payback import Decided, Payback, value_of
from sim.study.decide.told import amount, number
from sim.study.decide.trials import Tried
from sim.study.kpis import System
from sim.study.present import solids_unit, written

HOURS = "over_limit_h"
TODAY = "today's washes"  # their name among the settings that are run at the ends
AS_TODAY = "as washes are started today"
TOLD_AT_MOST = 6
EQUAL = 0.01  # of the least: settings that are as near as that count as equal


def worth_margin(found: Payback, each: Decided, ends: Ends) -> Margin | None:
    """What a device is worth over the ranges of the assumed constants."""
    return margin(ends, lambda tried: value_of(found.prices, each.device, tried[found.calendar.words],
                                               tried[each.bar.words]))  # fmt: skip


def least_margin(advice: Advice, ends: Ends) -> Margin | None:
    """By how much the next best way lies above the chosen one; below 0 it has clearly less of it."""
    chosen = advice.chosen
    if chosen is None:
        return None
    name = chosen.policy
    others = ends.typical.keys() - {name, TODAY}
    if not others:
        return None

    def of(tried: By) -> float:
        least = min(tried[other].mean(advice.least) for other in others)
        return least - (1.0 - EQUAL) * tried[name].mean(advice.least)

    return margin(ends, of)


def money_sure(found: Payback, each: Decided, ends: Ends | None) -> str:
    """How sure the worth of a device is, over the prices and over what is assumed; empty where it has none."""
    if each.value is None:
        return ""
    told = [_over_prices(found, each), _over_constants(found, each, ends)]
    return f"How sure of the money: {'; '.join(one for one in told if one)}."


def _over_prices(found: Payback, each: Decided) -> str:
    if each.price_range is None:
        return "the prices are taken as exact, since no range of them was given"
    low, high = each.price_range
    if (low > 0.0) == (high > 0.0):
        return f"the answer holds at every price of the ranges given ({span_words(low, high, found)})"
    return f"it could come out the other way within the ranges of the prices ({span_words(low, high, found)})"


def _over_constants(found: Payback, each: Decided, ends: Ends | None) -> str:
    known = None if ends is None else worth_margin(found, each, ends)
    if known is None:
        return ""
    span = span_words(known.low, known.high, found)
    if known.turns:
        return f"it could come out the other way if the plant is not as assumed ({span})"
    if math.isclose(known.low, known.high, rel_tol=1e-9):
        return "over the usual ranges of what is assumed of the plant it stays the same"
    return f"it holds over the usual ranges of what is assumed of the plant ({span})"


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
    if case.stages[-1].limit is None:
        return f"How sure: {assumed}." if count else ""
    told = f"How sure of the water: {_hours_told(advice, settings, system)}."
    if not count:
        return f"{told} Nothing of the plant is assumed."
    if ends is None:
        return f"{told} But {assumed}, and their ranges were not tried."
    named = {name: words for name, (words, _) in settings.items()} | {TODAY: AS_TODAY}
    spans = {words: ends.span(name, HOURS) for name, words in named.items()}
    texts = ", ".join(f"{_hours_between(*span)} {words}" for words, span in spans.items())
    if max(spans[words][1] for words, _ in settings.values()) <= _allowed(advice) < math.inf:
        return f"{told} {assumed[0].upper()}{assumed[1:]}; within their usual ranges it stays within that: {texts}."
    return (
        f"{told} But {assumed}: within their usual ranges a year of the same settings has {texts}. Go there in "
        "steps, and watch the water."
    )


def _hours_told(advice: Advice, settings: Mapping[str, tuple[str, Tried]], system: System) -> str:
    """Hours over the limit with each setting and today, and how many are allowed."""
    case = advice.case
    solids = solids_unit(case.feed.turbidity_ratio, system)
    (limit,) = written([(case.stages[-1].limit or 0.0) * solids.per_result_unit])
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
        return f"How sure of the least: {over} another way has clearly less {what} for some values."
    return f"How sure of the least: {over} no other way has clearly less {what}."


def turn_words(advice: Advice, known: Margin | None, what: str) -> tuple[str, ...]:
    """Which assumed constants turn an answer: `what` then holds."""
    if known is None or not known.turns:
        return ()
    causes = [_cause(advice, trial) for trial, _ in known.turns]
    more = f"; {len(causes) - TOLD_AT_MOST} more" if len(causes) > TOLD_AT_MOST else ""
    any_of = "any of these is so: " if len(causes) > 1 else ""
    return (f"{what} if {any_of}{'; '.join(causes[:TOLD_AT_MOST])}{more}.",)


def _cause(advice: Advice, trial: Trial) -> str:
    if len(trial.keys) > 1:
        return f"all that is assumed is {trial.end}"
    (key,) = trial.keys
    what = f" ({known})" if (known := meaning(key)) else ""
    return f"{constant_name(key, advice.case.stages)}{what} is {trial.end}"


def payback_turns(found: Payback, ends: Ends | None) -> tuple[str, ...]:
    """Which assumed constants turn what a device is worth, and what could not be tried."""
    if ends is None:
        return ()
    told: list[str] = []
    for each in found.decided:
        if each.verdict == "idle":
            continue
        turned = "not worth it" if each.verdict == "pays" else "worth it"
        told += turn_words(found.advice, worth_margin(found, each, ends), f"A {each.device} is {turned}")
    return (*told, *refused_words(found.advice, ends))


def advice_turns(advice: Advice, ends: Ends | None) -> tuple[str, ...]:
    """Which assumed constants turn what is least, and what could not be tried."""
    if ends is None or advice.chosen is None:
        return ()
    what = "costs" if advice.least == "cost" else "takes"
    told = turn_words(advice, least_margin(advice, ends), f"Another way than “{advice.chosen.policy}” {what} less")
    return (*told, *refused_words(advice, ends))


def refused_words(advice: Advice, ends: Ends) -> tuple[str, ...]:
    """The ends of ranges that could not be run."""
    keys = "; ".join(f"{constant_name(key, advice.case.stages)} {end}" for key, end, _ in ends.refused)
    return (f"Not tried, since the case cannot run there: {keys}.",) if keys else ()
