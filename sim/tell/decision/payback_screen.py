"""The first screen of what devices are worth: what costs nothing, each device, how sure, and what decides."""

from collections.abc import Sequence
from dataclasses import replace

from plots.words import Name, Sentence, label
from sim.case.quantities import System
from sim.study.decide.ends import Ends
from sim.study.decide.payback import Bar, Payback, device_prices
from sim.tell.comparison.first_screen import FirstScreen
from sim.tell.decision import advice_words, payback_words
from sim.tell.decision.decision_screens import figures_listing, foot, kept_words
from sim.tell.decision.sure_words import assumed_sure, money_holds, payback_ranges, worth_span
from sim.tell.decision.told import bar_name, number
from sim.tell.present import ABSENT


def payback_screen(found: Payback, system: System, ends: Ends | None, *, whole: bool = False) -> FirstScreen:
    """Of what devices are worth; `whole` has all that would change it."""
    advice, ranges, (today, *bars) = found.advice, payback_ranges(found, ends, system), found.bars
    shown = bars if found.has_calendar else bars[1:]
    table = figures_listing(
        advice, [bar_name(each) for each in (today, *shown)], {each.name: each.tried for each in shown}, ends,
        found.prices.currency, system,
    )  # fmt: skip
    sure = [assumed_sure(advice, ends, *money_holds(found, ends))] if shown else []
    turning = [payback_words.turning_words(found, each, system) for each in found.decided]
    return FirstScreen(
        title=f"{found.case.title} ({advice_words.runs_words(advice)})",
        answer=(*advice_words.foremost(advice), *payback_words.answer(found, system), *sure),
        table=replace(table, rows=(*table.rows, *_worth_rows(found, [today, *shown], ends))),
        legend=kept_words(advice, system),
        change=_by_turns(turning, ranges.change if whole else ranges.brief),
        foot=foot(advice),
    )  # fmt: skip


def _worth_rows(found: Payback, bars: Sequence[Bar], ends: Ends | None) -> list[tuple[str, ...]]:
    """What each device is worth, and over all ranges; nothing where no device has a price.

    Of devices that pay the price too: of the others the answer names it.
    """
    worth = {each.bar.name: each for each in found.decided if each.value is not None}
    if not worth:
        return []
    own = [worth.get(each.name) for each in bars]
    values = [ABSENT if each is None else number(each.value, "money", "si") for each in own]
    spans = [ABSENT if each is None else worth_span(found, each, ends) for each in own]
    prices = [None if each is None else device_prices(found.prices, each.device).price for each in own]
    asked = [ABSENT if each is None else number(each.value, "money", "si") for each in prices]
    head = label("decision_screen.worth", years=found.prices.years, currency=Name(found.prices.currency))
    price = label("decision_screen.price", currency=Name(found.prices.currency))
    priced = [(price, *asked)] if any(each.verdict == "pays" for each in found.decided) else []
    return [*priced, (head, *values), (label("decision_screen.over_ranges"), *spans)]


def _by_turns(turning: Sequence[Sequence[Sentence]], ranges: Sequence[str]) -> tuple[str, ...]:
    """The first of each device, what the ranges say, and all else of each device."""
    return (*(each[0] for each in turning if each), *ranges, *(one for each in turning for one in each[1:]))
