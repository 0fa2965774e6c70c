"""How sure a decision is, of the money and of the water, and what of the assumed would change it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Literal

from plots.words import (
    Amount,
    Items,
    Kind,
    Label,
    Name,
    Sentence,
    Term,
    amount,
    items,
    label,
    paragraph,
    say,
    span,
    term,
)
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
from sim.tell.decision.told import QUANTITIES, bar_name, figure_name, number, unit_of
from sim.tell.present import ABSENT, written
from sim.tell.review.constant_names import constant_name, meaning

SHOWN_AT_MOST = 3
Over = Literal["prices", "assumed", "both"]


def assumed_sure(advice: Advice, ends: Ends | None, *holds: Sentence) -> Sentence:
    """How much of the plant is assumed, whether the limits are always kept then, and whether the answer `holds`."""
    assumed, constants = len(advice.case.assumptions), advice.case.constants
    if ends is None and assumed:
        return paragraph(say("sure.assumed_untried", count=assumed, constants=constants), *holds)
    count = say("sure.assumed", count=assumed, constants=constants)
    if ends is None or not (over := advice_over(advice, ends)).limited:
        return paragraph(count, *holds)
    always = all(over.keeping(name) == over.runs for name in over.typical if name != TODAY)
    return paragraph(count, say("sure.limits_kept") if always else say("sure.limits_not_kept"), *holds)


def range_rows(advice: Advice, names: Sequence[str], ends: Ends) -> list[tuple[str, ...]]:
    """Time over the limit over the ranges of what is assumed, and how often the limits are kept: a row each."""
    over, rows = advice_over(advice, ends), []
    if advice.case.judged.limit is not None:
        spans = [written(ends.span(name, HOURS)) for name in names]
        rows.append((f"  {label('sure.over_assumed')}", *(span(low, high) for low, high in spans)))
    if over.limited:
        against = any(limit.most is None for limit in advice.limits)
        kept = [label("sure.some_of", some=over.keeping(name), every=over.runs) for name in names]
        rows.append((within_words(advice), *(ABSENT if against and name == TODAY else text
                                             for name, text in zip(names, kept, strict=True))))  # fmt: skip
    return rows


def within_words(advice: Advice) -> Label:
    """The runs that keep the limits: "no more than today" is today anew in every run of the ranges."""
    against = any(limit.most is None for limit in advice.limits)
    return label("sure.no_worse") if against else label("sure.within_limits")


def money_holds(found: Payback, ends: Ends | None) -> tuple[Sentence, ...]:
    """Whether the answers on the money change within the ranges of the prices and of what is assumed."""
    valued = [each for each in found.decided if each.value is not None and each.verdict != "idle"]
    if not valued:
        return ()
    changes = [
        say("sure.may_not_be_worth_it", over=Kind(over), device=term("device", each.device))
        if (each.value or 0.0) > 0.0
        else say("sure.may_be_worth_it", over=Kind(over), device=term("device", each.device))
        for each in valued
        if (over := _changes_over(found, each, ends)) is not None
    ]
    exact = [] if any(each.price_range for each in valued) else [say("sure.no_price_range")]
    return (*(changes or [say("sure.no_answer_changes")]), *exact)


def _changes_over(found: Payback, each: Decided, ends: Ends | None) -> Over | None:
    """Over which ranges the answer on a device changes."""
    known = None if ends is None else worth_margin(found, each, ends)
    low, high = each.price_range or (0.0, 0.0)
    match (low > 0.0) != (high > 0.0), known is not None and bool(known.turns):
        case True, True:
            return "both"
        case True, False:
            return "prices"
        case False, True:
            return "assumed"
        case _:
            return None


def worth_span(found: Payback, each: Decided, ends: Ends | None) -> Amount:
    """From where to where the worth of a device goes over the prices and over what is assumed."""
    known = None if ends is None else worth_margin(found, each, ends)
    values = [*(each.price_range or ()), *([known.low, known.high] if known else [])]
    if not values:
        return amount(ABSENT)
    low, high = (number(end, "money", "si") for end in (min(values), max(values)))
    return span(low, high)


def least_sure(advice: Advice, ends: Ends | None) -> tuple[Sentence, ...]:
    """Whether another way has less over the ranges of what is assumed; nothing where that was not tried."""
    known, least = None if ends is None else least_margin(advice, ends), Kind(advice.least)
    if known is None:
        return ()
    if known.turns:
        return (say("sure.another_way", least=least, some=len(known.turns), every=len(known.trials)),)
    return (say("sure.no_other_way", least=least),)


def _causes(advice: Advice, known: Margin) -> Items:
    """The trials in which an answer changes most clearly."""
    turns = sorted(known.turns, key=lambda each: -abs(each[1] - known.typical))
    return items([_cause(advice, trial) for trial, _ in turns[:SHOWN_AT_MOST]])


def _cause(advice: Advice, trial: Trial) -> str:
    end = term("end", trial.end)
    if len(trial.keys) > 1:
        return f"{term('assumed', 'all')} ({end})"
    (key,) = trial.keys
    what = f"{known}; " if (known := meaning(key)) else ""
    return f"{constant_name(key, advice.case.stages)} ({what}{end})"


def _worth_changes(found: Payback, each: Decided, ends: Ends) -> Iterator[Sentence]:
    """In how many trials the answer on a device changes, and which change it most."""
    known = worth_margin(found, each, ends)
    if each.verdict == "idle" or known is None or not known.turns:
        return
    count, every, causes = len(known.turns), len(known.trials), _causes(found.advice, known)
    device = term("device", each.device)
    if each.verdict == "pays":
        yield say("sure.not_worth_it", device=device, count=count, every=every, causes=causes)
    else:
        yield say("sure.worth_it", device=device, count=count, every=every, causes=causes)


def _least_changes(advice: Advice, ends: Ends) -> Iterator[Sentence]:
    """In how many trials another way has less, and which change that most."""
    known = least_margin(advice, ends)
    if advice.chosen is None or known is None or not known.turns:
        return
    way, causes = Name(advice.chosen.policy), _causes(advice, known)
    count, every = len(known.turns), len(known.trials)
    if advice.least == "cost":
        yield say("sure.another_costs_less", way=way, count=count, every=every, causes=causes)
    else:
        yield say("sure.another_drains_less", way=way, count=count, every=every, causes=causes)


def payback_ranges(found: Payback, ends: Ends | None, system: System) -> RangesTold:
    """What the ranges of what is assumed make of the worth of a device: turns, spread, what moves it most."""
    if ends is None:
        return RangesTold()
    changes = [sentence for each in found.decided for sentence in _worth_changes(found, each, ends)]
    names: dict[str, Term] = {each.name: bar_name(each) for each in found.bars}
    return _ranges(found.advice, ends, changes, payback_over(found, ends), payback_moves(found, ends), names, system)


def advice_ranges(advice: Advice, ends: Ends | None, system: System) -> RangesTold:
    """What the ranges of what is assumed make of the settings advised: turns, spread, what moves them most."""
    if ends is None or advice.chosen is None:
        return RangesTold()
    changes, over, moves = list(_least_changes(advice, ends)), advice_over(advice, ends), advice_moves(advice, ends)
    return _ranges(advice, ends, changes, over, moves, {}, system)


def _ranges(
    advice: Advice, ends: Ends, changes: Sequence[Sentence], over: OverRanges, moves: Sequence[Move],
    names: Mapping[str, Term], system: System,
) -> RangesTold:  # fmt: skip
    """`names` are those that settings are shown by, where they have others than in the study."""

    def name(way: str) -> str:
        return term("today", "washes") if way == TODAY else names.get(way, way)

    figures, own = _figures(advice, system), [replace(each, way=name(each.way)) for each in moves]
    spread = spread_listing(over, figures, label("sure.setting"), system, within_words(advice))
    return RangesTold(
        order=(*changes, *refused_words(ends.refused, advice.case)),
        caption=spread_caption(over),
        spread=replace(spread, rows=tuple((name(way), *texts) for way, *texts in spread.rows)),
        change=change_words(over, own, figures, advice.case, system),
        brief=brief_words(own, figures, advice.case, system),
    )


def _figures(advice: Advice, system: System) -> Names:
    """What each figure that spreads is called."""
    prices = advice.case.prices
    money = "" if prices is None else prices.currency
    return {key: Named(words=figure_name(key), quantity=QUANTITIES[key], unit=unit_of(key, system, money))
            for key in (WORTH, *SPREAD)}  # fmt: skip
