"""What a device would need to pay, or what it may lose and still pay; and what its water does once it is dead.

The same sentences stand with “worth it” and with “not worth it”.
"""

import math
from collections.abc import Iterator
from typing import Literal

from plots.words import (
    Amount,
    Kind,
    Number,
    Sentence,
    Term,
    amount,
    in_years,
    items,
    localised,
    paragraph,
    say,
    span,
    term,
)
from sim.case.price.records import Prices
from sim.case.quantities import System
from sim.case.records import Case
from sim.case.series.records import Changeable, Profile, Series, Steady
from sim.case.units import HOUR
from sim.study.decide.money import price_value
from sim.study.decide.payback import Decided, Payback, thresholds
from sim.tell.decision import told
from sim.tell.decision.told import QUANTITIES, figure_name, highest, longest_words, volume_price

FeedKind = Literal["steady", "changing", "random"]
WATER_OF_THE_DEAD = ("breakthrough_risk", "over_limit_h", "water", "pressure_kpa")


def device_name(each: Decided) -> Term:
    """What a device is called."""
    return term("device", each.device)


def water_and_sewer(prices: Prices) -> float:
    """What water costs that goes to drain [money per m3]."""
    return price_value(prices.water) + price_value(prices.sewer)


def water_price(value: float, system: System) -> Number:
    """A price of water [money per m3] for the volume that prices are given for."""
    return localised(f"{value * volume_price(system)[1]:.3g}")


def needs_words(found: Payback, each: Decided, system: System) -> Sentence:
    """At which price of the device, at which price of water and on what kind of days it is worth it."""
    return paragraph(*_prices_words(found, each, system), days_words(found.case, each.device))


def _prices_words(found: Payback, each: Decided, system: System) -> Iterator[Sentence]:
    """Each price that decides, with the one of the case."""
    most, least = thresholds(found, each)
    prices, device = found.prices, device_name(each)
    years, unit = in_years(prices.years), volume_price(system)[0]
    if most > 0.0:
        limit, now = told.amount(most, "money", "si", prices.currency), told.number(each.worth.price, "money", "si")
        yield say("needs.below_price", years=years, device=device, most=limit, price=now)
    if least is None:
        if most <= 0.0:
            yield say("needs.nothing", years=years, device=device)
    elif least == 0.0:
        yield say("needs.for_no_water", years=years, device=device)
    else:
        price = amount(water_price(least, system), prices.currency)
        now = water_price(water_and_sewer(prices), system)
        yield say("needs.from_water", years=years, device=device, least=price, unit=unit, now=now)


def days_words(case: Case, device: str) -> Sentence:
    """What kind of days let a device do more than a calendar, and what days the case has."""
    if device == "switch":
        return say("needs.solids", feed=Kind(_feed_kind(case.feed.solids)))
    return paragraph(say("needs.unlike_days"), *(list(_unlike(case)) or [say("needs.same_days")]))


def _feed_kind(solids: Series) -> FeedKind:
    match solids:
        case Steady():
            return "steady"
        case Changeable():
            return "random"
        case _:
            return "changing"


def _unlike(case: Case) -> Iterator[Sentence]:
    """How the days of a case differ in use."""
    demand = case.demand
    if isinstance(demand.flow, Profile):
        days = [factor * math.fsum(demand.flow.hourly) * HOUR for factor in demand.flow.weekday]
        if max(days) > min(days):
            least = localised(f"{100.0 * min(days) / max(days):.0f}")
            yield say("needs.weekdays", share=span(least, localised("100"), "%"))
    elif not isinstance(demand.flow, Steady):
        yield say("needs.record")
    if demand.season is not None and demand.season.swing > 0.0:
        yield say("needs.season", share=_percent(demand.season.swing))
    if demand.wander is not None:
        yield say("needs.random", share=_percent(math.expm1(demand.wander.spread)))
    if demand.closed:
        yield say("needs.closed", count=len(demand.closed))


def _percent(share: float) -> Amount:
    return amount(localised(f"{100.0 * share:.0f}"), "%")


def dead_words(found: Payback, each: Decided, system: System) -> Sentence:
    """What a device that no longer works does to the water, beside the same one in order."""
    return paragraph(
        say("needs.dead", device=Kind(each.device), longest=longest_words(found.case, each.dead)),
        say("needs.until_noticed", figures=items(list(_beside(each, system)))),
    )


def _beside(each: Decided, system: System) -> Iterator[str]:
    """Each figure of a dead device, and in order."""
    for key in WATER_OF_THE_DEAD:
        if each.dead.interval(key) is not None:
            dead, well = (highest(one, key) for one in (each.dead, each.bar.tried))
            quantity = QUANTITIES[key]
            yield (
                f"{figure_name(key)} {told.amount(dead, quantity, system)} ({told.number(well, quantity, system)})"
            )
