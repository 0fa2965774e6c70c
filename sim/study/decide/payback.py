"""What a meter or a switch is worth against the best calendar, which costs nothing.

Three bars at least: the calendar of today, the best calendar, and each device with the best of its settings; all keep
the same limits and are run on the same weather. A device is credited with what it has over the best calendar alone.
The price at which it pays is found with the settings that are best at that price, by searching again there.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import numpy as np

from sim.case.price.records import NO_PRICES, Device, Price, Prices
from sim.case.record import record
from sim.case.records import Case
from sim.case.trigger.records import Policy, by_calendar
from sim.study.decide.advice import (
    Advice,
    Advised,
    Advising,
    Sought,
    Wishes,
    advising,
    policy_of_today,
)
from sim.study.decide.money import (
    Swing,
    Worth,
    break_even_water,
    net_present_value,
    price_value,
    renewals,
    tornado,
    worth_from_water,
    worth_of,
    worth_up_to,
    yearly_share,
)
from sim.study.decide.trials import AMOUNT, Bench, Tried
from sim.study.decide.whatif import DeviceName, Fault, device_of, what_ifs
from sim.study.errors import RequestError
from sim.study.many.intervals import Interval, of_mean

SAME = 0.01  # of a figure: as near as that it counts as the same
TURNS = 6  # of the search for a price at which a device pays, at most
EQUAL = 1e-6  # of a price
SALT_BAND = (0.25, 0.5)
"""The share of its salt that a meter saves a softener against a clock, by the trade press; nothing is tuned to it."""
Verdict = Literal["pays", "does not pay", "not sure", "open", "idle"]


BarName = Literal[
    "today's calendar", "no better calendar", "best calendar", "best with a meter", "best with a switch"
]
WITH: dict[DeviceName, BarName] = {"meter": "best with a meter", "switch": "best with a switch"}


@record
class Bar:
    """One of the bars: which one it is, whose policy it has, and what its runs showed."""

    name: BarName
    policy: str
    tried: Tried


@record
class WhatIf:
    """A device that fails or errs, and what its setting then shows."""

    fault: Fault
    tried: Tried


@record
class Decided:
    """What a device is worth. `saving` [money a year] has the interval over the replicates, and so have water [m3],
    washes and salt [kg; None where no case takes any] of a year that it saves.

    value, value_low, value_high: net present value at the mean and at both ends of that interval; None without a
    price. `break_even`: price of water plus sewer [money per m3] at which it pays within the years that the case asks
    for; `most_price`: what it may cost for that; `price_range`: net present value with all prices against it, and
    with all for it. `life` [years], None where nobody says; `again`: when the device is bought again within the years
    of the study, from their start, which every value counts. The last of `what_ifs` is a device that no longer works:
    `idle` says that it makes no difference.
    """

    device: DeviceName
    bar: Bar
    worth: Worth
    life: float | None
    again: tuple[float, ...]
    saving: Interval
    water: Interval
    hours: Interval | None
    washes: Interval
    salt: Interval | None
    value: float | None
    value_low: float | None
    value_high: float | None
    price_range: tuple[float, float] | None
    break_even: float | None
    most_price: float | None
    swings: tuple[Swing, ...]
    what_ifs: tuple[WhatIf, ...]
    verdict: Verdict

    @property
    def dead(self) -> Tried:
        """What its setting shows once the device no longer works."""
        return self.what_ifs[-1].tried


@record
class Payback:
    """What a study of worth found. `calendar` is the bar that devices are compared with; `lost` are policies of
    devices for which no setting keeps the limits."""

    case: Case
    advice: Advice
    bars: tuple[Bar, ...]
    calendar: Bar
    decided: tuple[Decided, ...]
    lost: tuple[str, ...]

    @property
    def best_calendar(self) -> Advised | None:
        """The calendar that keeps the limits at the least; where none does, devices are compared with today's."""
        return self.advice.best_of(self.advice.calendars)

    @property
    def has_calendar(self) -> bool:
        """Whether a calendar keeps the limits."""
        return self.best_calendar is not None

    @property
    def prices(self) -> Prices:
        """The case's prices, blank ones where it gives none."""
        return self.case.prices or NO_PRICES


def payback(bench: Bench, wishes: Wishes, sought: Sought | None = None) -> Payback:
    """Today's calendar, the best one, and every device with the best of its policies; `sought` as for `advise`."""
    today = policy_of_today(bench.case, wishes.today)
    if not by_calendar(today):
        raise RequestError(
            f'payback compares with the calendar of today, and "{today.name}" is none; try: a policy with start_on = '
            '"calendar" for every stage, or --today with its name'
        )
    others = [each for each in bench.case.policies if device_of(each) is not None]
    if not others:
        raise RequestError("payback needs a policy of the case that washes by volume or by pressure drop")
    calendars = [each for each in bench.case.policies if by_calendar(each) and each.name != today.name]
    study = advising(bench, wishes, [today, *calendars, *others], sought)
    found = _found(bench, study.advice())
    prices = _prices_that_pay(study, found, search=sought is None)
    if sought is None:
        found = _found(bench, study.advice())  # the searches for a price may have found better settings for this one
    decided = tuple(replace(each, break_even=prices.get(each.device, each.break_even)) for each in found.decided)
    return replace(found, decided=decided, advice=replace(found.advice, runs=bench.tally.runs))


def _found(bench: Bench, advice: Advice) -> Payback:
    """What devices are worth by a piece of advice; the price at which they pay is for its settings alone."""
    today, best = advice.policies[0], advice.best_of(advice.calendars)
    bars = [Bar(name="today's calendar", policy=today.policy, tried=today.present)]
    calendar = Bar(name="no better calendar", policy=today.policy, tried=today.present)
    if best is not None:
        calendar = Bar(name="best calendar", policy=best.policy, tried=_best(best))
    bars.append(calendar)
    devices = _best_of(advice, bench.case.policies)
    bars += [Bar(name=WITH[device], policy=each.policy, tried=_best(each)) for device, each in devices]
    decided = [_decided(bench, device, bar, calendar) for (device, _), bar in zip(devices, bars[2:], strict=True)]
    lost = tuple(each.policy for each in advice.policies if each.best is None and each not in advice.calendars)
    return Payback(
        case=bench.case, advice=advice, bars=tuple(bars), calendar=calendar, decided=tuple(decided), lost=lost
    )


def _prices_that_pay(study: Advising, found: Payback, *, search: bool) -> dict[str, float | None]:
    """The price of water plus sewer at which each device pays, with the settings that are best at that price.

    Settings move with the price, and the price at which one of them pays with the settings: in turns, until neither
    does. What is tried on the way is known to the study afterwards.
    """
    prices: dict[str, float | None] = {}
    for each in found.decided:
        price = each.break_even
        for _ in range(TURNS):
            if not price:
                break
            there = study.at_water_price(price, search=search)
            last, price = price, _price_there(there, each.device)
            study.learn(there)
            if price is not None and abs(price - last) <= EQUAL * last:
                break
        prices[each.device] = price
    return prices


def _price_there(there: Advising, device: DeviceName) -> float | None:
    """The price of water plus sewer at which the settings that are best at the prices of a study just pay."""
    advice, case = there.advice(), there.bench.case
    best = advice.best_of(advice.calendars)
    calendar = advice.policies[0].present if best is None else _best(best)
    having = dict(_best_of(advice, case.policies)).get(device)
    return None if having is None else _break_even(case.prices or NO_PRICES, device, calendar, _best(having))


def _break_even(prices: Prices, device: str, calendar: Tried, having: Tried) -> float | None:
    without, with_it = amounts_of(calendar), amounts_of(having)
    worth = worth_of(prices, device_prices(prices, device), without, with_it)
    volume = without["water"] - with_it["water"]
    unit = price_value(prices.water) + price_value(prices.sewer)
    return break_even_water(worth, volume=volume, water_part=unit * volume, within=prices.payback_within)


def _best_of(advice: Advice, policies: Sequence[Policy]) -> list[tuple[DeviceName, Advised]]:
    """For each device the policy of least cost or water that keeps the limits."""
    named = {each.name: each for each in policies}
    by_device: dict[DeviceName, list[Advised]] = {}
    for each in advice.policies:
        device = device_of(named[each.policy])
        if device is not None:
            by_device.setdefault(device, []).append(each)
    best = {device: advice.best_of(each) for device, each in by_device.items()}
    return [(device, each) for device, each in best.items() if each is not None]


def _best(advised: Advised) -> Tried:
    assert advised.best is not None
    return advised.best


def device_prices(prices: Prices, device: str) -> Device:
    """What the case says of the price of a device."""
    return prices.meter.device if device == "meter" else prices.switch


def amounts_of(tried: Tried) -> dict[str, float]:
    """The amounts of a year in the mean of the runs, by the keys of their prices."""
    return {key.removeprefix(AMOUNT): tried.mean(key) for key in tried.figures if key.startswith(AMOUNT)}


def device_shares(prices: Prices, device: str) -> tuple[float, float, float]:
    """What a device costs in each year of the study, interest, renewals and upkeep included [money].

    At the low ends of its prices, as given, and at the high ends; 0 where they are blank.
    """
    own = device_prices(prices, device)
    blank = Price(value=0.0, low=0.0, high=0.0)
    price, upkeep = own.price or blank, own.upkeep or blank
    low, typical, high = (
        yearly_share(
            Worth(price=one, saving=0.0, upkeep=other), rate=prices.discount_rate, years=prices.years, life=own.life
        )
        for one, other in ((price.low, upkeep.low), (price.value, upkeep.value), (price.high, upkeep.high))
    )
    return low, typical, high


def thresholds(found: Payback, each: Decided) -> tuple[float, float | None]:
    """The price of a device up to which it is worth it over the years of the study, and the price of water plus sewer
    [money per m3] from which on, everything else as it is; None where no such price is."""
    prices, volume = found.prices, each.water.mean
    unit = price_value(prices.water) + price_value(prices.sewer)
    rate, years = prices.discount_rate, prices.years
    most = worth_up_to(each.worth, rate=rate, years=years, life=each.life)
    least = worth_from_water(
        each.worth, volume=volume, water_part=unit * volume, rate=rate, years=years, life=each.life
    )
    return most, least


def value_of(prices: Prices, device: str, calendar: Tried, having: Tried) -> float | None:
    """The net present value of a device by the runs of a calendar and of a setting that needs it."""
    own = device_prices(prices, device)
    return _value(prices, own, worth_of(prices, own, amounts_of(calendar), amounts_of(having)))


def _decided(bench: Bench, device: DeviceName, bar: Bar, calendar: Bar) -> Decided:
    prices = bench.case.prices or NO_PRICES
    own = device_prices(prices, device)
    without, having = amounts_of(calendar.tried), amounts_of(bar.tried)
    worth = worth_of(prices, own, without, having)
    saving = _saving(calendar.tried, bar.tried, worth)
    values = [
        _value(prices, own, Worth(price=worth.price, saving=each, upkeep=worth.upkeep))
        for each in (saving.mean, saving.low, saving.high)
        if each is not None
    ]
    ifs = what_ifs(bench.case, bar.tried.candidate, device)
    bench.enter("failing", device)
    tried = bench.tried([each for _, each in ifs])
    water, washes = (_less(bar.tried, calendar.tried, key) for key in ("water", "washes"))
    return Decided(
        device=device, bar=bar, worth=worth, life=own.life, again=renewals(prices.years, own.life),
        saving=saving, water=water, washes=washes,
        hours=bar.tried.less_than(calendar.tried, "over_limit_h"),
        salt=bar.tried.less_than(calendar.tried, "salt_kg"),
        value=values[0], value_low=values[1] if len(values) > 1 else None,
        value_high=values[2] if len(values) > 1 else None,
        price_range=_price_range(prices, own, without, having),
        break_even=_break_even(prices, device, calendar.tried, bar.tried),
        most_price=worth.most_price(prices.payback_within) if _any_price(bar.tried) else None,
        swings=tornado(prices, own, without, having),
        what_ifs=tuple(WhatIf(fault=fault, tried=each) for (fault, _), each in zip(ifs, tried, strict=True)),
        verdict=_verdict(values, priced=_any_price(bar.tried)) if acts(bar.tried, tried[-1]) else "idle",
    )  # fmt: skip


def acts(having: Tried, dead: Tried) -> bool:
    """Whether a device makes a difference to speak of: with one that is dead the longest run alone starts washes."""
    return any(
        not np.allclose(having.figures[key], dead.figures[key], rtol=SAME, atol=0.0, equal_nan=True)
        for key in ("washes", "over_limit_h", "pressure_kpa", "water")
    )


def _saving(calendar: Tried, having: Tried, worth: Worth) -> Interval:
    """What a year costs less, with its interval; nothing where there is no price."""
    found = of_mean(calendar.figures["cost"] - having.figures["cost"])
    return Interval(worth.saving, None, None) if found is None else found


def _less(having: Tried, calendar: Tried, key: str) -> Interval:
    found = having.less_than(calendar, key)
    return Interval(0.0, None, None) if found is None else found


def _any_price(tried: Tried) -> bool:
    return bool((~np.isnan(tried.figures["cost"])).any())


def _value(prices: Prices, device: Device, worth: Worth) -> float | None:
    return net_present_value(worth, rate=prices.discount_rate, years=prices.years, life=device.life)


def _verdict(values: Sequence[float | None], *, priced: bool) -> Verdict:
    """By the net present value at the mean and at the ends of its interval."""
    known = [each for each in values if each is not None]
    if not known or not priced:
        return "open"
    if all(each > 0.0 for each in known):
        return "pays"
    return "does not pay" if all(each <= 0.0 for each in known) else "not sure"


def _price_range(
    prices: Prices, device: Device, without: dict[str, float], having: dict[str, float]
) -> tuple[float, float] | None:
    """The net present value with every price at the end that is against the device, and at the one that is for it."""
    swings = tornado(prices, device, without, having)
    value = _value(prices, device, worth_of(prices, device, without, having))
    if value is None or not swings:
        return None
    # The value is linear in every price, and no two of them multiply one another: their changes add up.
    worst = sum(min(each.at_low, each.at_high) - value for each in swings)
    best = sum(max(each.at_low, each.at_high) - value for each in swings)
    return value + worst, value + best
