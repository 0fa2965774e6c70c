"""The first screens of a decision: the answer against today's way, the card's figures, what would change it."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from sim.case.quantities import System
from sim.study.decide.advice import Advice
from sim.study.decide.ends import TODAY, Ends
from sim.study.decide.payback import Payback
from sim.study.decide.trials import Tried
from sim.tell.comparison.first_screen import FirstScreen, laid_out
from sim.tell.decision import advice_words, payback_words
from sim.tell.decision.decision_tables import heads
from sim.tell.decision.sure_words import (
    advice_ranges,
    assumed_sure,
    least_sure,
    money_holds,
    payback_ranges,
    range_rows,
    worth_span,
)
from sim.tell.decision.told import figure, number, worse_keys
from sim.tell.decision.unusual_words import unusual_in_short
from sim.tell.listing import Listing
from sim.tell.present import ABSENT
from sim.tell.sentences import joined

CARD = ("water", "offline_h", "breakthrough_risk")


def advice_screen(advice: Advice, system: System, ends: Ends | None, *, whole: bool = False) -> FirstScreen:
    """Of the best settings; `whole` has all that would change them."""
    ranges, money = advice_ranges(advice, ends, system), advice_words.currency(advice)
    bests = {each.policy: each.best for each in advice.policies if each.best is not None}
    holds = assumed_sure(advice, ends, least_sure(advice, ends)) if bests else ""
    return FirstScreen(
        title=f"{advice.case.title} ({advice_words.runs_words(advice)})",
        answer=_known(*advice_words.foremost(advice), *advice_words.answer(advice, system), holds),
        table=_table(advice, f"{advice.in_use} (today)", bests, ends, money, system),
        legend=_legend(advice),
        change=_known(*advice_words.binding_words(advice, system), *(ranges.change if whole else ranges.brief)),
        foot=_foot(advice),
    )


def payback_screen(found: Payback, system: System, ends: Ends | None, *, whole: bool = False) -> FirstScreen:
    """Of what devices are worth; `whole` has all that would change it."""
    advice, ranges, (today, *bars) = found.advice, payback_ranges(found, ends, system), found.bars
    turning = [payback_words.turning_words(found, each, system) for each in found.decided]
    (firsts, rest), money = _firsts(turning), found.prices.currency
    shown = bars if found.has_calendar else bars[1:]
    table = _table(advice, today.name, {each.name: each.tried for each in shown}, ends, money, system)
    worth = {each.bar.name: each for each in found.decided if each.value is not None}
    rows = []
    if worth:
        own = [worth.get(each.name) for each in (today, *shown)]
        values = [ABSENT if each is None else number(each.value, "money", "si") for each in own]
        spans = [ABSENT if each is None else worth_span(found, each, ends) for each in own]
        rows = [(f"worth over {found.prices.years} years, {money}", *values), ("  over all ranges", *spans)]
    holds = assumed_sure(advice, ends, money_holds(found, ends)) if shown else ""
    return FirstScreen(
        title=f"{found.case.title} ({advice_words.runs_words(advice)})",
        answer=_known(*advice_words.foremost(advice), *payback_words.answer(found, system), holds),
        table=replace(table, rows=(*table.rows, *rows)),
        legend=_legend(advice),
        change=_known(*firsts, *(ranges.change if whole else ranges.brief), *rest),
        foot=_foot(advice),
    )


def _firsts(turning: Sequence[tuple[str, ...]]) -> tuple[list[str], list[str]]:
    """The first of each device, and all others in turn."""
    return [each[0] for each in turning if each], [sentence for each in turning for sentence in each[1:]]


def _known(*sentences: str) -> tuple[str, ...]:
    return tuple(each for each in sentences if each)


def _table(
    advice: Advice, today: str, settings: Mapping[str, Tried], ends: Ends | None, money: str, system: System
) -> Listing:
    """The card's figures of a year, time over the limit, what gets worse, the cost: today's, then each setting."""
    worse = worse_keys(list(settings.values()), advice.today, system) if settings else {}
    beside = ["over_limit_h", *(key for key in worse if key not in (*CARD, "over_limit_h")), "cost"]
    every = {today: advice.today, **settings}
    rows = []
    for key in (*CARD, *beside):
        texts = [figure(tried, key, system) for tried in every.values()]
        if key in CARD or set(texts) != {ABSENT}:
            rows.append((heads([key], system, money)[0], *texts))
        if key == "over_limit_h" and ends is not None and settings:
            rows += range_rows(advice, [TODAY, *settings], ends)
    return laid_out("a year", list(every), rows)


def _legend(advice: Advice) -> str:
    """That limits are kept, of which ways no setting does, and what is beyond what is usual."""
    none = [f"“{each.policy}”" for each in advice.policies if each.best is None]
    lost = f"; no setting of {joined(none)} was found that does" if none else ""
    return " ".join([f"All but today's keep the limits{lost}.", *unusual_in_short(advice)])


def _foot(advice: Advice) -> tuple[str, ...]:
    return (*advice_words.use_words(advice), advice_words.NO_INSTRUCTION)
