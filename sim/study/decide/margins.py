"""By how much a decision holds over the ranges of what is assumed, how far figures spread, and what moves them."""

from collections.abc import Mapping, Sequence

from sim.study.decide.advice import Advice
from sim.study.decide.ends import TODAY, By, Ends, Margin, margin, over_ranges
from sim.study.decide.payback import Decided, Payback, value_of
from sim.study.over_ranges import Move, OverRanges

EQUAL = 0.01  # of a figure: settings, or ends of a range, that are as near as that count as equal
HOURS, LEAST_HOURS = "over_limit_h", 0.5
WORTH = "worth"


def worth_margin(found: Payback, each: Decided, ends: Ends) -> Margin | None:
    """What a device is worth over the ranges of the assumed constants."""
    return margin(ends, lambda tried: value_of(found.prices, each.device, tried[found.calendar.name],
                                               tried[each.bar.name]))  # fmt: skip


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


def payback_over(found: Payback, ends: Ends) -> OverRanges:
    """How far the figures of the bars spread, what each device is worth among them."""

    def worth(tried: By) -> Mapping[str, float]:
        known = {
            each.bar.name: value_of(found.prices, each.device, tried[found.calendar.name], tried[each.bar.name])
            for each in found.decided
        }
        return {name: value for name, value in known.items() if value is not None}

    return over_ranges(ends, found.advice.limits, worth, WORTH)


def payback_moves(found: Payback, ends: Ends) -> tuple[Move, ...]:
    """The constants that move most what a device is worth and how long the water is over the limit."""
    known = [margin for each in found.decided if (margin := worth_margin(found, each, ends)) is not None]
    small = EQUAL * max((abs(each.typical) for each in known), default=0.0)
    figures = {WORTH: small} if known else {found.advice.least: _small(found.advice, ends)}
    return payback_over(found, ends).moves(figures | {HOURS: LEAST_HOURS}, _alone(known))


def advice_over(advice: Advice, ends: Ends) -> OverRanges:
    """How far the figures of the settings advised spread."""
    return over_ranges(ends, advice.limits, lambda _: {}, WORTH)


def advice_moves(advice: Advice, ends: Ends) -> tuple[Move, ...]:
    """The constants that move most what is to be least and how long the water is over the limit."""
    known = least_margin(advice, ends)
    figures = {advice.least: _small(advice, ends), HOURS: LEAST_HOURS}
    return advice_over(advice, ends).moves(figures, _alone([] if known is None else [known]))


def _small(advice: Advice, ends: Ends) -> float:
    return EQUAL * max(abs(each.mean(advice.least)) for each in ends.typical.values())


def _alone(margins: Sequence[Margin]) -> list[str]:
    """The constants that turn an answer by themselves."""
    return [trial.keys[0] for each in margins for trial, _ in each.turns if len(trial.keys) == 1]
