"""What a device would need to pay, or what it may lose and still pay; and what its water does once it is dead.

The same sentences stand with “worth it” and with “not worth it”.
"""

import math
from collections.abc import Iterator

from sim.case.quantities import System
from sim.case.records import Case
from sim.case.series.records import Changeable, Profile, Steady
from sim.case.units import HOUR
from sim.study.decide.money import price_value
from sim.study.decide.payback import Decided, Payback, thresholds
from sim.study.decide.trials import Tried
from sim.tell.decision.told import QUANTITIES, amount, number, volume_price, what_if_words

HEAVIER = {"meter": "days of more use between two washes", "switch": "water with more solids"}


def needs_words(found: Payback, each: Decided, system: System) -> str:
    """At which price of the device, at which price of water and on what kind of days it is worth it."""
    prices = found.prices
    told = " or ".join(_prices_words(found, each, system))
    over = f"Over {prices.years} years, with the settings of this answer, a {each.device} is worth it"
    if not told:
        told = "at no price of its own or of water, since it saves no more than its upkeep and no water"
    return f"{over} {told}. {days_words(found.case, each.device)}"


def _prices_words(found: Payback, each: Decided, system: System) -> Iterator[str]:
    """Each price that decides, with the one of the case."""
    most, least = thresholds(found, each)
    prices, (unit, volume) = found.prices, volume_price(system)
    now = (price_value(prices.water) + price_value(prices.sewer)) * volume
    if most > 0.0:
        texts = [amount(each_price, "money", "si", prices.currency) for each_price in (most, each.worth.price)]
        yield f"if it costs less than {texts[0]} ({texts[1]} here)"
    if least == 0.0:
        yield "even if water and sewer cost nothing"
    elif least is not None:
        yield f"if water plus sewer cost more than {least * volume:.3g} a {unit} ({now:.3g} here)"


def days_words(case: Case, device: str) -> str:
    """What kind of days let a device do more than a calendar, and what days the case has."""
    if device == "switch":
        told = "the solids of its feed never change" if isinstance(case.feed.solids, Steady) else _solids(case)
        return f"What a switch has over a calendar comes from filter runs that load unlike: here {told}."
    unlike = list(_unlike(case))
    told = ", ".join(unlike) if unlike else "every day uses as much as any other"
    return f"What a meter has over a calendar comes from days of unlike use: here {told}."


def _solids(case: Case) -> str:
    return f"the solids of its feed change{' at random' if isinstance(case.feed.solids, Changeable) else ''}"


def _unlike(case: Case) -> Iterator[str]:
    """How the days of a case differ in use."""
    demand = case.demand
    if isinstance(demand.flow, Profile):
        days = [factor * math.fsum(demand.flow.hourly) * HOUR for factor in demand.flow.weekday]
        if max(days) > min(days):
            yield f"weekdays use {100.0 * min(days) / max(days):.0f} to 100 % of the busiest"
    elif not isinstance(demand.flow, Steady):
        yield "they are those of a record"
    if demand.season is not None and demand.season.swing > 0.0:
        yield f"use swings by {100.0 * demand.season.swing:.0f} % up and down over the year"
    if demand.wander is not None:
        yield f"days differ at random by {100.0 * math.expm1(demand.wander.spread):.0f} %, two in three within that"
    if demand.closed:
        yield f"{len(demand.closed)} days are closed"


def dead_words(found: Payback, each: Decided, system: System) -> str:
    """What a device that no longer works does to the water, beside the same one in order; empty where it starts
    hardly a wash."""
    if each.verdict == "idle":
        return ""
    figures = "; ".join(_beside(each, system))
    return f"If {what_if_words(found.case, each.what_ifs[-1])}. Until somebody notices: {figures}."


def _beside(each: Decided, system: System) -> Iterator[str]:
    """Each figure of a dead device, and in order."""
    for key, words in (
        ("breakthrough_risk", "of its filter runs break through"),
        ("over_limit_h", "a year over the limit"),
        ("water", "a year to drain"),
        ("pressure_kpa", "of pressure drop at most"),
    ):
        if each.dead.interval(key) is not None:
            dead, well = (_level(one, key) for one in (each.dead, each.bar.tried))
            told = number(well, QUANTITIES[key], system)
            yield f"{amount(dead, QUANTITIES[key], system)} {words} ({told} in order)"


def _level(tried: Tried, key: str) -> float:
    return float(tried.figures[key].max()) if key == "pressure_kpa" else tried.mean(key)
