"""What a study of worth says: does a device pay, how sure is that, and what would have to cost how much."""

import math
from collections.abc import Iterator
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
    in_years,
    items,
    label,
    localised,
    paragraph,
    say,
    span,
    term,
)
from sim.case.price.records import Prices
from sim.case.quantities import System
from sim.case.records import Case
from sim.case.trigger.records import devices
from sim.study.decide.payback import SALT_BAND, Bar, Decided, Payback
from sim.tell.decision import told
from sim.tell.decision.advice_words import HARDLY, best_words, cautions, only_rinses
from sim.tell.decision.needs_words import (
    days_words,
    dead_words,
    device_name,
    needs_words,
    water_and_sewer,
    water_price,
)
from sim.tell.decision.told import QUANTITIES, figure_name, setting_words, volume_price, worse_keys, worse_words
from sim.tell.present import UNITS
from sim.tell.sentences import quoted

Late = Literal["life", "study", "interest"]
Change = Literal["less", "more"]
Sign = Literal["gain", "loss"]


def calendar_name(found: Payback) -> Term:
    """The calendar that devices are compared with."""
    return term("calendar", "best" if found.has_calendar else "today")


def money(value: float | None, found: Payback) -> Amount:
    """An amount of money."""
    return told.amount(value, "money", "si", found.prices.currency)


def _late(each: Decided, prices: Prices) -> tuple[Late, Amount]:
    """How late a device pays for itself, and within or after which years; "interest" is in time without it."""
    after = each.worth.payback or 0.0
    if after <= min(each.life or math.inf, prices.years):
        return "interest", in_years(after)
    if each.life is not None and each.life <= prices.years:
        return "life", in_years(each.life)
    return "study", in_years(prices.years)


def paid_words(each: Decided, prices: Prices) -> Label:
    """After how long a device has paid for itself; a time that it does not live to see is not named."""
    if each.verdict == "idle":
        return label("payback.idle")
    if each.worth.payback is None:
        return label("payback.not_known")
    late, years = _late(each, prices)
    return label("payback.paid", late=Kind(late), years=years)


def again_words(each: Decided) -> Items:
    """In which years the device is bought again; empty where it is not."""
    return items([localised(f"{time:g}") for time in each.again])


def answer(found: Payback, system: System) -> tuple[Sentence, ...]:
    """What costs nothing, what gets worse with it, whether each device is worth it, and what that makes worse."""
    free = _free(found, system) if found.has_calendar else say("payback.no_calendar")
    verdicts = [verdict_words(found, each, system) for each in found.decided] or [say("payback.no_device")]
    return (free, *verdicts, *_salt(found, system), *_also_worse(found, system))


def _salt(found: Payback, system: System) -> Iterator[Sentence]:
    """The salt of a year with a meter, beside the band of the trade; that days alike leave it nothing to save."""
    for each in found.decided:
        now, then = (tried.mean("salt_kg") for tried in (found.calendar.tried, each.bar.tried))
        if each.device != "meter" or each.salt is None or not now > 0.0:
            continue
        device, calendar = device_name(each), calendar_name(found)
        before, after = (told.amount(salt, "mass", system) for salt in (now, then))
        low, high = (localised(f"{100.0 * end:g}") for end in SALT_BAND)
        band, less = span(low, high, "%"), 1.0 - then / now
        if less > HARDLY:
            share = amount(localised(f"{100.0 * less:.3g}"), "%")
            yield say(
                "payback.salt_less", then=after, device=device, now=before, calendar=calendar, share=share, band=band
            )
        else:
            none = say(
                "payback.salt_no_less", then=after, device=device, now=before, calendar=calendar, band=band
            )
            yield paragraph(none, days_words(found.case, each.device))


def _free(found: Payback, system: System) -> Sentence:
    """What the best calendar alone saves, for which nobody has to buy anything, and what gets worse with it."""
    advice, first = found.advice, found.best_calendar
    assert first is not None
    today, best = found.bars[0], found.calendar.tried
    now = today.tried.mean(advice.least)
    less = now - best.mean(advice.least)
    if abs(less) <= HARDLY * now:
        return say("payback.stay")
    saved = told.amount(abs(less), QUANTITIES[advice.least], system, found.prices.currency)
    way, setting, least = Name(first.policy), best_words(first, system), Kind(advice.least)
    in_use, present = Name(today.policy), _setting(found, today, system)
    first_of_all = (
        say("payback.free", least=least, way=way, setting=setting, amount=saved, today=in_use, now=present)
        if less > 0.0
        else say("payback.costlier", least=least, way=way, setting=setting, amount=saved, today=in_use, now=present)
    )
    return paragraph(first_of_all, *only_rinses(advice, first, system), worse_words(best, today.tried, system))


def _setting(found: Payback, bar: Bar, system: System) -> Items:
    """The setting of a bar."""
    knobs = next(one.knobs for one in found.advice.policies if one.policy == bar.policy)
    values = bar.tried.candidate.values or tuple(knob.present for knob in knobs)
    return setting_words(knobs, values, system)


def _also_worse(found: Payback, system: System) -> Iterator[Sentence]:
    """What gets worse with a device and does not with the best calendar."""
    today = found.bars[0].tried
    calendar = worse_keys([found.calendar.tried], today, system)
    worse = worse_keys([each.bar.tried for each in found.decided], today, system) if found.decided else ()
    if more := [figure_name(key) for key in worse if key not in calendar]:
        yield say("payback.also_worse", figures=items(more))


def verdict_words(found: Payback, each: Decided, system: System) -> Sentence:
    """Whether a device is worth it beyond the best calendar."""
    match each.verdict:
        case "idle":
            return say("payback.idle", device=Kind(each.device))
        case "open":
            return paragraph(*_open_words(found, each, system), break_even(found, each, system))
        case "not sure" | "pays" | "does not pay":
            counted = [say("payback.upkeep_counted")] if each.worth.upkeep else []
            return paragraph(_money_words(found, each, system), *counted)


def _money_words(found: Payback, each: Decided, system: System) -> Sentence:
    """Whether the price of a device comes back."""
    device, calendar, setting = device_name(each), calendar_name(found), _setting(found, each.bar, system)
    yearly, price, saved = each.worth.yearly, money(each.worth.price, found), money(abs(each.worth.yearly), found)
    late, years = _late(each, found.prices)
    if each.verdict == "not sure":
        span = _sure_span(found, each)
        return say("payback.undecided", device=device, setting=setting, calendar=calendar, span=span)
    if each.verdict == "pays":
        return say("payback.pays", device=device, setting=setting, calendar=calendar, saved=saved, years=years)
    if yearly > 0.0:
        return say(
            "payback.too_late", late=Kind(late), device=device, calendar=calendar, saved=saved, price=price,
            years=years,
        )  # fmt: skip
    if -yearly <= HARDLY * found.calendar.tried.mean("cost"):
        return say("payback.saves_nothing", device=device, calendar=calendar, price=price)
    return say("payback.costs_more", device=device, calendar=calendar, more=saved, price=price)


def _sure_span(found: Payback, each: Decided) -> Amount:
    """Where the saving of a year lies, its upkeep taken off: from one end of its interval to the other."""
    low, high = (
        told.number((end or 0.0) - each.worth.upkeep, "money", "si") for end in (each.saving.low, each.saving.high)
    )
    return span(low, high, found.prices.currency)


def _open_words(found: Payback, each: Decided, system: System) -> Iterator[Sentence]:
    """The water and the washes that a device without a price makes less or more."""
    water, washes = each.water, each.washes.mean
    device, calendar, setting = device_name(each), calendar_name(found), _setting(found, each.bar, system)
    if water.mean:
        change, less = _change(water.mean), told.amount(abs(water.mean), "volume", system)
        yield say("payback.open", change=change, device=device, setting=setting, calendar=calendar, water=less)
    else:
        yield say("payback.open_same", device=device, setting=setting, calendar=calendar)
    if water.half:
        low, high = (told.number(end, "volume", system) for end in (water.low, water.high))
        yield say("payback.open_sure", span=span(low, high, UNITS[system]["volume"].symbol))
    if washes:
        yield say("payback.washes", change=_change(washes), washes=localised(f"{abs(washes):.3g}"))


def _change(less: float) -> Kind:
    change: Change = "less" if less > 0.0 else "more"
    return Kind(change)


def break_even(found: Payback, each: Decided, system: System) -> Sentence:
    """What would have to cost how much for the device to pay within the years that the case asks for."""
    prices, device = found.prices, device_name(each)
    within, (unit, volume) = in_years(prices.payback_within), volume_price(system)
    if each.worth.price is None:
        if each.water.mean <= 0.0:
            return say("payback.no_price_of_water", device=device)
        if each.most_price == 0.0:
            return say("payback.no_price_of_device", device=device)
        if each.most_price is not None:
            return say("payback.pays_below", within=within, device=device, most=money(each.most_price, found))
        per_1000 = amount(localised(f"{1000.0 / prices.payback_within / each.water.mean * volume:.3g}"))
        return say("payback.pays_per_1000", within=within, device=device, price=per_1000, unit=unit)
    if each.break_even is None:
        return say("payback.no_price_of_water", device=device)
    if each.break_even == 0.0:
        return say("payback.pays_for_no_water", within=within, device=device)
    least, now = (water_price(price, system) for price in (each.break_even, water_and_sewer(prices)))
    price = amount(least, prices.currency)
    return say("payback.pays_from_water", within=within, device=device, price=price, unit=unit, now=now)


def turning_words(found: Payback, each: Decided, system: System) -> tuple[Sentence, ...]:
    """What would change the answer on a device: prices, days, and its own failure."""
    if each.verdict == "idle":
        return ()  # there is nothing that a price could change
    swings = [swing_words(found, each)] if each.swings and each.value is not None else []
    if each.verdict == "open":
        return (dead_words(found, each, system), *swings)
    return (
        break_even(found, each, system), dead_words(found, each, system), _value_words(found, each), *swings,
        needs_words(found, each, system),
    )  # fmt: skip


def _value_words(found: Payback, each: Decided) -> Sentence:
    """What a device is worth or loses, that it is bought again, and how sure its saving is."""
    prices, value = found.prices, each.value or 0.0
    sign: Sign = "loss" if value < 0.0 else "gain"
    words = [
        say(
            "payback.value", sign=Kind(sign), years=in_years(prices.years), device=device_name(each),
            rate=amount(localised(f"{100.0 * prices.discount_rate:g}"), "%"), value=money(abs(value), found),
        )
    ]  # fmt: skip
    if each.again:
        words.append(say("payback.bought_again", count=len(each.again), times=again_words(each)))
    if each.saving.half:
        words.append(say("payback.sure", runs=found.advice.replicates, span=_sure_span(found, each)))
    return paragraph(*words)


def swing_words(found: Payback, each: Decided) -> Sentence:
    """Which price matters most, and within the range of which the answer changes."""
    first, device = each.swings[0], device_name(each)
    low, high = (money(worth, found) for worth in (first.at_low, first.at_high))
    changing = [term("price", one.price) for one in each.swings if (one.at_low > 0.0) != (one.at_high > 0.0)]
    return paragraph(
        say("payback.swing", price=term("price", first.price), device=device, low=low, high=high),
        say("payback.prices_that_change", count=len(changing), device=device, prices=items(changing))
        if changing
        else say("payback.no_price_changes", device=device),
    )


def _signalled(case: Case) -> list[str]:
    """The ways that a signal starts: a monitor and a contact have no price."""
    return [each.name for each in case.policies if any(devices(trigger).signals for _, trigger in each.triggers)]


def remarks(found: Payback) -> tuple[Sentence, ...]:
    """What the bars are, and what is left out."""
    return (
        *([say("payback.credited")] if found.has_calendar else []),
        *([say("payback.without_device")] if found.advice.least == "cost" else []),
        *([say("payback.signals", ways=quoted(signalled))] if (signalled := _signalled(found.case)) else []),
        say("payback.not_counted"),
        *cautions(found.advice),
    )
