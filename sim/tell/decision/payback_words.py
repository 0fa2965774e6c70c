"""What a study of worth says: does a device pay, how sure is that, and what would have to cost how much."""

import math

from sim.case.price.records import Prices
from sim.case.quantities import System
from sim.study.decide.payback import Decided, Payback
from sim.study.many.intervals import Interval
from sim.tell.decision.advice_words import HARDLY, best_words, cautions, nearest_words
from sim.tell.decision.needs_words import HEAVIER, dead_words, needs_words
from sim.tell.decision.sure_words import gain_words
from sim.tell.decision.told import QUANTITIES, amount, volume_price, worse_words

PRICE_WORDS = {
    "water": "water",
    "sewer": "sewer",
    "pumping": "pumping",
    "energy": "energy",
    "salt": "salt",
    "labour": "labour for a wash",
    "cartridge": "a cartridge",
    "lost_production": "lost production",
    "price": "the device",
    "upkeep": "its upkeep",
}
NO_CALENDAR = (
    "No calendar that was tried keeps the limits, so what follows compares with today's, which does not keep them "
    "either."
)
IDLE = (
    "Not worth it: at the best setting found a {device} starts hardly a wash, since the longest run ends first; "
    "what is saved comes from washing less often, which needs no {device}. No price of water or of the {device} "
    "changes that; {heavier} would."
)
WITHOUT = "The cost of a year is without the price and the upkeep of a device."
NOT_COUNTED = (
    "Not counted: what is left of a device at the end, tax, rising prices, and a bed that wears out sooner or later.",
)


def years(value: float) -> str:
    """A time in years.

    >>> years(2.5), years(1.01), years(16.4)
    ('2.5 years', '1 year', '16 years')
    """
    text = f"{value:.2g}" if value < 10 else f"{value:.0f}"
    return f"{text} year{'' if text == '1' else 's'}"


def too_late(each: Decided, prices: Prices) -> str:
    """Within which time a device does not pay for itself: its life or the years counted; empty where it does."""
    after = each.worth.payback
    if after is None or after <= min(each.life or math.inf, prices.years):
        return ""
    if each.life is not None and each.life <= prices.years:
        return f"within its life of {years(each.life)}"
    return f"within the {prices.years} years that are counted"


def paid_words(each: Decided, prices: Prices) -> str:
    """After how long a device has paid for itself; a time that it does not live to see is not told."""
    after = each.worth.payback
    if each.verdict == "idle":
        return "never: it starts hardly a wash"
    if after is None:
        return "not known"
    late = too_late(each, prices)
    return f"not {late}" if late else f"after {years(after)}"


def again_words(each: Decided) -> str:
    """In which years the device is bought again; empty where it is not."""
    *most, last = (f"{time:g}" for time in each.again) if each.again else ("",)
    return f"{', '.join(most)} and {last}" if most else last


def money(value: float | None, found: Payback) -> str:
    """An amount of money."""
    return amount(value, "money", "si", found.prices.currency)


def answer(found: Payback, system: System) -> tuple[str, ...]:
    """What costs nothing, whether each device is worth it, and what gets worse."""
    told = [_free(found, system) if found.has_calendar else NO_CALENDAR]
    told += [verdict_words(found, each, system) for each in found.decided]
    if not found.decided:
        told.append("No device was found that keeps the limits.")
    today, *settings = [each.tried for each in found.bars]
    return (*told, worse_words(settings, today, system))


def _free(found: Payback, system: System) -> str:
    """What the best calendar alone saves, for which nobody has to buy anything, and what gets worse with it."""
    advice, first = found.advice, found.best_calendar
    assert first is not None, "asked for only where there is one"
    today, best = found.bars[0].tried, found.calendar.tried
    now = today.mean(advice.least)
    less = now - best.mean(advice.least)
    if abs(less) <= HARDLY * now:
        return "No calendar that was tried is better than today's."
    quantity = QUANTITIES[advice.least]
    text = amount(abs(less), quantity, system, found.prices.currency)
    of_what = "" if advice.least == "cost" else " of water to drain"
    instead = f"“{first.policy}” {best_words(first, system)}, instead of today's “{found.bars[0].policy}”"
    if less > 0.0:
        told = f"What costs nothing comes first: the best calendar, {instead}, saves {text}{of_what} a year."
    else:
        told = f"The best calendar that keeps the limits, {instead}, takes {text}{of_what} a year more."
    return told


def lost_words(found: Payback, system: System) -> tuple[str, ...]:
    """Why ways that need a device were left out."""
    told = []
    for each in found.advice.policies:
        if each.policy in found.lost:
            unsure = f"{found.advice.replicates} runs are not sure of any setting that it keeps the limits"
            why = unsure if each.outcome == "not sure" else nearest_words(found.advice, each, system)
            told.append(f"“{each.policy}”: {why}.")
    return tuple(told)


def verdict_words(found: Payback, each: Decided, system: System) -> str:
    """Whether a device is worth it beyond the best calendar."""
    if each.verdict == "idle":
        return IDLE.format(device=each.device, heavier=HEAVIER[each.device])
    calendar = "the best calendar" if found.has_calendar else "today's calendar, which breaks a limit,"
    over = f"beyond {calendar} a {each.device}"
    match each.verdict:
        case "pays":
            return f"Worth it: {over} {_saves(found, each)}, {_back(found, each)}."
        case "does not pay":
            return f"Not worth it: {over} {_saves(found, each)}, {_back(found, each)}."
        case "not sure":
            return f"The runs cannot tell whether it is worth it: {over} {_saves(found, each)}."
        case _:
            return (
                f"No price was given to decide it: {over} {_amounts(each, system)}. {break_even(found, each, system)}"
            )


def _saves(found: Payback, each: Decided) -> str:
    yearly = each.worth.yearly
    told = f"saves {money(yearly, found)} a year" if yearly > 0.0 else f"costs {money(-yearly, found)} a year more"
    return f"{told} after its upkeep" if each.worth.upkeep else told


def _back(found: Payback, each: Decided) -> str:
    """Whether the price comes back in time."""
    late = too_late(each, found.prices)
    price = money(each.worth.price, found)
    if each.worth.yearly <= 0.0:
        return f"and never earns its price of {price}"
    if late:
        return f"too little to earn its price of {price} {late}"
    return f"and has paid for itself after {years(each.worth.payback or 0.0)}"


def _value(found: Payback, each: Decided) -> str:
    """What a device is worth or loses, that it is bought again, and how sure its saving is."""
    prices, value = found.prices, each.value
    over = f"over {prices.years} years, at {100.0 * prices.discount_rate:g} % interest,"
    loses = value is not None and value < 0.0
    worth = f"loses {money(-(value or 0.0), found)}" if loses else f"is worth {money(value, found)}"
    again = ""
    if each.again:
        which = f"a second {each.device} in year" if len(each.again) == 1 else f"a new {each.device} in years"
        again = f", {which} {again_words(each)} counted"
    return f"{over} it {worth}{again}{_sure(found, each)}"


def _sure(found: Payback, each: Decided) -> str:
    """How sure the saving is."""
    low, high = each.saving.low, each.saving.high
    if low is None or high is None or abs(high - low) < 1e-9 * max(abs(low), 1.0):
        return ""
    ends = f"{money(low - each.worth.upkeep, found)} to {money(high - each.worth.upkeep, found)}"
    return f" (sure to 95 %: {ends} a year, by {found.advice.replicates} runs)"


def _amounts(each: Decided, system: System) -> str:
    water = _more_or_less(each.water, system, "of water to drain")
    washes = each.washes.mean
    count = f", with {abs(washes):.3g} washes {'less' if washes > 0 else 'more'}" if washes else ""
    return f"takes {water} a year{count}"


def _more_or_less(less: Interval, system: System, what: str) -> str:
    def side(value: float) -> str:
        return f"{amount(abs(value), 'volume', system)} {'less' if value >= 0.0 else 'more'}"

    if less.low is None or less.high is None or less.half == 0.0:
        return f"{side(less.mean)} {what}"
    return f"{side(less.mean)} {what} (95 %: {side(less.low)} to {side(less.high)})"


def break_even(found: Payback, each: Decided, system: System) -> str:
    """What would have to cost how much for the device to pay within the years that the case asks for."""
    within = f"{found.prices.payback_within:g} years"
    unit, volume = volume_price(system)
    if each.water.mean <= 0.0 and each.worth.price is None:
        return f"No price of water lets a {each.device} pay: it sends as much water to drain or more."
    if each.worth.price is None:
        if each.most_price == 0.0:
            return f"No price of a {each.device} lets it pay: by the prices given it saves no more than its upkeep."
        if each.most_price is not None:
            return f"It pays within {within} if it costs less than {money(each.most_price, found)}."
        per_1000 = 1000.0 / found.prices.payback_within / each.water.mean
        return (
            f"It pays within {within} if for every 1,000 that it costs, water plus sewer cost more than "
            f"{per_1000 * volume:.3g} a {unit}."
        )
    if each.break_even is None:
        return f"No price of water lets it pay within {within}: it sends as much water to drain or more."
    if each.break_even == 0.0:
        return f"It pays within {within} even if water and sewer cost nothing."
    price = f"{each.break_even * volume:.3g} {found.prices.currency}"
    return f"It pays within {within} if water plus sewer cost more than {price} a {unit}."


def turning_words(found: Payback, each: Decided, system: System) -> tuple[str, ...]:
    """What would change the answer on a device: prices, days, and its own failure."""
    if each.verdict == "idle":
        return ()  # there is nothing that a price could change
    name = each.device[0].upper() + each.device[1:]
    swings = f"{name}: {swing_words(found, each)}" if each.swings and each.value is not None else ""
    if each.verdict == "open":
        return (dead_words(found, each, system), swings)
    even = f"{name}: {break_even(found, each, system)}"
    value = f"{name}: {_value(found, each)}."
    return (even, dead_words(found, each, system), value, swings, needs_words(found, each, system))


def swing_words(found: Payback, each: Decided) -> str:
    """Which price matters most, and whether it turns the answer."""
    first = each.swings[0]
    turns = [PRICE_WORDS[swing.price] for swing in each.swings if (swing.at_low > 0.0) != (swing.at_high > 0.0)]
    ends = f"{gain_words(first.at_low, found)} at its low end, {gain_words(first.at_high, found)} at its high end"
    told = f"what matters most is the price of {PRICE_WORDS[first.price]}: {ends}"
    return f"{told}. " + (
        f"The answer turns within the range of {', '.join(turns)}." if turns else "No single price turns the answer."
    )


def remarks(found: Payback) -> tuple[str, ...]:
    """What the bars are, and what is left out."""
    best = (
        "The best calendar keeps the same limits as everything else here and costs nothing, so a device is credited "
        "only with what it has over that."
    )
    return (
        *([best] if found.has_calendar else []),
        *([WITHOUT] if found.advice.least == "cost" else []),
        *NOT_COUNTED,
        *cautions(found.advice),
    )
