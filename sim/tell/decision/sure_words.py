"""How sure a decision is, of the money and of the water, and what of the assumed would change it."""

from collections.abc import Sequence

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
from sim.study.over_ranges import Move, OverRanges
from sim.tell.comparison.spread_words import (
    Named,
    Names,
    RangesTold,
    brief_words,
    change_words,
    refused_words,
    spread_caption,
    spread_listing,
)
from sim.tell.decision.told import HEADS, QUANTITIES, amount, number, unit_of
from sim.tell.present import ABSENT, written
from sim.tell.review.constant_names import constant_name, meaning
from sim.tell.sentences import joined

TOLD_AT_MOST = 3


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


def assumed_sure(advice: Advice, ends: Ends | None, holds: str) -> str:
    """How much of the plant is assumed, whether the answer `holds` then, and whether the limits are always kept."""
    count, of = len(advice.case.assumptions), advice.case.constants
    tried = ", and their ranges were not tried" if ends is None and count else ""
    told = f"How sure: {count} of {of} constants {'is' if count == 1 else 'are'} assumed{tried}{holds}."
    if ends is None or not (over := advice_over(advice, ends)).limited:
        return told
    always = all(over.keeping(name) == over.runs for name in over.typical if name != TODAY)
    kept = "are kept" if always else "are not always kept: go there in steps, and watch the water"
    return f"{told} Over their usual ranges the limits {kept}."


def range_rows(advice: Advice, names: Sequence[str], ends: Ends) -> list[tuple[str, ...]]:
    """Time over the limit over the ranges of what is assumed, and how often the limits are kept: a row each."""
    over, rows = advice_over(advice, ends), []
    if advice.case.judged.limit is not None:
        spans = [written(ends.span(name, HOURS)) for name in names]
        rows.append(("  over what is assumed", *(" to ".join(dict.fromkeys(span)) for span in spans)))
    if over.limited:
        against = any(limit.most is None for limit in advice.limits)
        kept = [ABSENT if against and name == TODAY else f"{over.keeping(name)} of {over.runs}" for name in names]
        rows.append((within_words(advice), *kept))
    return rows


def within_words(advice: Advice) -> str:
    """The runs that keep the limits: "no more than today" is today anew in every run of the ranges."""
    against = any(limit.most is None for limit in advice.limits)
    return "runs no worse than today's" if against else "runs within the limits"


def money_holds(found: Payback, ends: Ends | None) -> str:
    """Whether the answers on the money turn within the ranges of the prices and of what is assumed."""
    valued = [each for each in found.decided if each.value is not None and each.verdict != "idle"]
    if not valued:
        return ""
    ranges = {each.device: each.price_range for each in valued if each.price_range}
    margins = {} if ends is None else {each.device: worth_margin(found, each, ends) for each in valued}
    turns = {
        "the prices given": [device for device, (low, high) in ranges.items() if (low > 0.0) != (high > 0.0)],
        "what is assumed": [device for device, known in margins.items() if known and known.turns],
    }
    told = [f"on the {joined(devices)} with {what}" for what, devices in turns.items() if devices]
    exact = "" if ranges else "; no range of a price is given"
    if told:
        return f"; the answer turns {' and '.join(told)}{exact}"
    return f"; within the ranges given and tried no answer on a device turns{exact}"


def worth_span(found: Payback, each: Decided, ends: Ends | None) -> str:
    """From where to where the worth of a device goes over the prices and over what is assumed."""
    known = None if ends is None else worth_margin(found, each, ends)
    values = [*(each.price_range or ()), *([known.low, known.high] if known else [])]
    if not values:
        return ABSENT
    return " to ".join(dict.fromkeys(number(end, "money", "si") for end in (min(values), max(values))))


def least_sure(advice: Advice, ends: Ends | None) -> str:
    """Whether another way has less over the ranges of what is assumed; empty where that was not tried."""
    known = None if ends is None else least_margin(advice, ends)
    if known is None:
        return ""
    what = "cost" if advice.least == "cost" else "water to drain"
    who = f"in {len(known.turns)} of {len(known.trials)} trials another" if known.turns else "no other"
    return f"; over their usual ranges, with the same settings, {who} way has clearly less {what}"


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
    return _ranges(found.advice, ends, told, over, names, moves, system)


def advice_ranges(advice: Advice, ends: Ends | None, system: System) -> RangesTold:
    """What the ranges of what is assumed make of the settings advised: turns, spread, what moves them most."""
    if ends is None or advice.chosen is None:
        return RangesTold()
    what = "costs" if advice.least == "cost" else "takes"
    told = turn_words(advice, least_margin(advice, ends), f"Another way than “{advice.chosen.policy}” {what} less")
    prices = advice.case.prices
    names = _names(system, "" if prices is None else prices.currency)
    over, moves = advice_over(advice, ends), advice_moves(advice, ends)
    return _ranges(advice, ends, told, over, names, moves, system)


def _ranges(
    advice: Advice, ends: Ends, told: Sequence[str], over: OverRanges, names: Names, moves: Sequence[Move],
    system: System,
) -> RangesTold:  # fmt: skip
    return RangesTold(
        order=(*told, *refused_words(ends.refused, advice.case)),
        caption=spread_caption(over),
        spread=spread_listing(over, names, "setting, of a year", system, within_words(advice)),
        change=change_words(over, moves, names, advice.case, system),
        brief=brief_words(moves, names, advice.case, system),
    )


def _names(system: System, money: str) -> Names:
    """What each figure that spreads is called."""
    return {key: Named(words=HEADS[key], quantity=QUANTITIES[key], unit=unit_of(key, system, money))
            for key in (WORTH, *SPREAD)}  # fmt: skip
