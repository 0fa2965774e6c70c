"""How sure a decision is, in one plain sentence, and which assumed constants turn it."""

import math

from sim.study.constants import constant_name
from sim.study.decide.advice import Advice
from sim.study.decide.ends import By, Ends, Margin, Trial, margin
from sim.study.decide.payback import Decided, Payback, value_of
from sim.study.decide.told import amount, number
from sim.study.decide.trials import Tried

TOLD_AT_MOST = 6
EQUAL = 0.01  # of the least: settings that are as near as that count as equal


def worth_margin(found: Payback, each: Decided, ends: Ends) -> Margin | None:
    """What a device is worth over the ranges of the assumed constants."""
    return margin(ends, lambda tried: value_of(found.prices, each.device, tried[found.calendar.words],
                                               tried[each.bar.words]))  # fmt: skip


def least_margin(advice: Advice, ends: Ends) -> Margin | None:
    """By how much the next best way lies above the chosen one; below 0 it has clearly less of it."""
    chosen = advice.chosen
    if chosen is None or len(ends.typical) < 2:
        return None
    name = chosen.policy

    def of(tried: By) -> float:
        others = min(each.mean(advice.least) for other, each in tried.items() if other != name)
        return others - (1.0 - EQUAL) * tried[name].mean(advice.least)

    return margin(ends, of)


def payback_sure(found: Payback, each: Decided, ends: Ends | None) -> str:
    """How sure the worth of a device is."""
    told = [_prices(found, each), hours_words(found.advice, found.calendar.tried, each.bar.tried)]
    told.append(_rests(found.advice, None if ends is None else _worth_holds(found, each, ends)))
    return f"How sure: {'; '.join(one for one in told if one)}."


def advice_sure(advice: Advice, ends: Ends | None) -> str:
    """How sure the least is; empty where no setting keeps the limits."""
    chosen = advice.chosen
    if chosen is None or chosen.best is None:
        return ""
    told = [hours_words(advice, advice.today, chosen.best)]
    told.append(_rests(advice, None if ends is None else _least_holds(advice, ends)))
    return f"How sure: {'; '.join(one for one in told if one)}."


def _prices(found: Payback, each: Decided) -> str:
    """Whether the answer holds over the ranges of the prices."""
    if each.value is None:
        return ""
    if each.price_range is None:
        return "the prices are taken as exact, since no range of them was given"
    low, high = each.price_range
    span = f"({gain_words(low, found)} to {gain_words(high, found)})"
    if each.verdict == "pays":
        if low > 0.0:
            return f"worth it at every price of the ranges given {span}"
        return f"worth it at typical prices, not with every price at its worst {span}"
    if high <= 0.0:
        return f"not worth it at any price of the ranges given {span}"
    return f"worth it only at better prices than typical, as with every one at its best {span}"


def gain_words(value: float, found: Payback) -> str:
    """A worth, or a loss."""
    text = amount(abs(value), "money", "si", found.prices.currency)
    return f"a loss of {text}" if value < 0.0 else f"a gain of {text}"


def hours_words(advice: Advice, before: Tried, after: Tried) -> str:
    """Hours over the limit with a setting and with the one it stands against, and how many are allowed."""
    if math.isnan(after.mean("over_limit_h")):
        return ""
    new, old = (number(each.mean("over_limit_h"), "hours", "si") for each in (after, before))
    return f"{new} h a year over the limit instead of {old} h{allowed_words(advice)}"


def allowed_words(advice: Advice) -> str:
    """How many hours over the limit are allowed."""
    limit = next((each for each in advice.limits if each.key == "over_limit_h"), None)
    if limit is None:
        return ""
    return f", {number(limit.allowed(advice.today), 'hours', 'si')} h allowed"


def _rests(advice: Advice, holds: str | None) -> str:
    """What the answer rests on, beside its prices."""
    count = len(advice.case.assumptions)
    runs = f"by {advice.replicates} runs in other weather than the choice was made in" if advice.replicates > 1 else (
        "nothing here is random, so it is as sure as the description of the plant"
    )  # fmt: skip
    if not count:
        return f"{runs}, which assumes no constant"
    constants = f"{runs}, with {count} of {advice.case.constants} constants assumed"
    return f"{constants} ({'their ranges were not tried' if holds is None else holds})"


def _worth_holds(found: Payback, each: Decided, ends: Ends) -> str:
    known = worth_margin(found, each, ends)
    if known is None:
        return f"over their ranges{_hours_span(ends, each.bar.words)}"
    low, high = gain_words(known.low, found), gain_words(known.high, found)
    span = f"still {low}" if low == high else f"{low} to {high}"
    verdict = "the answer turns for some" if known.turns else "the answer holds"
    told = f"over their ranges, with the same settings, {span}: {verdict}"
    return told + _hours_span(ends, each.bar.words)


def _least_holds(advice: Advice, ends: Ends) -> str:
    known, chosen = least_margin(advice, ends), advice.chosen
    assert chosen is not None
    what = "cost" if advice.least == "cost" else "water to drain"
    told = "over their ranges, with the same settings"
    if known is not None and known.turns:
        told += f", another way has clearly less {what} for some"
    elif known is not None:
        told += f", no other way has clearly less {what}"
    return told + _hours_span(ends, chosen.policy)


def _hours_span(ends: Ends, name: str) -> str:
    low, high = ends.span(name, "over_limit_h")
    if math.isnan(low):
        return ""
    return f", but {number(low, 'hours', 'si')} to {number(high, 'hours', 'si')} h a year over the limit"


def turn_words(advice: Advice, known: Margin | None, what: str) -> tuple[str, ...]:
    """Which assumed constants turn an answer: `what` then holds."""
    if known is None or not known.turns:
        return ()
    causes = [_cause(advice, trial) for trial, _ in known.turns]
    more = f", and in {len(causes) - TOLD_AT_MOST} more trials" if len(causes) > TOLD_AT_MOST else ""
    return (f"{what} if {'; '.join(causes[:TOLD_AT_MOST])}{more}.",)


def _cause(advice: Advice, trial: Trial) -> str:
    one = len(trial.keys) == 1
    return f"{constant_name(trial.keys[0], advice.case.stages) if one else 'each of them'} is {trial.end}"


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
