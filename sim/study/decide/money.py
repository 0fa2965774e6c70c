"""What a device is worth: simple payback, net present value, break-even. Money of today, at the end of each year."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from sim.case.price.records import Device, Price, Prices
from sim.case.record import record
from sim.study.costs import PRICE_OF, parts_of

PRICED_KEYS = tuple(key for keys in PRICE_OF.values() for key in keys)


@record
class Worth:
    """A device against none. price [money], saving and upkeep [money a year]; a price of None is blank."""

    price: float | None
    saving: float
    upkeep: float

    @property
    def yearly(self) -> float:
        """What it brings in a year [money]."""
        return self.saving - self.upkeep

    @property
    def payback(self) -> float | None:
        """After how many years it has paid for itself, without interest; inf: never. None without a price.

        >>> Worth(price=1500.0, saving=550.0, upkeep=50.0).payback
        3.0
        """
        if self.price is None:
            return None
        return self.price / self.yearly if self.yearly > 0.0 else (math.inf if self.price > 0.0 else 0.0)

    def most_price(self, within: float) -> float:
        """The most that it may cost to pay for itself within so many years."""
        return max(within * self.yearly, 0.0)


def net_present_value(worth: Worth, *, rate: float, years: int, life: float | None) -> float | None:
    """The worth of owning a device for so many years at a yearly rate of discount; None without a price.

    -price, what it brings at the end of each year, and its price again whenever its life [years] is over before the
    last year is; nothing is left of it at the end.

    >>> round(net_present_value(Worth(price=1000.0, saving=300.0, upkeep=0.0), rate=0.1, years=5, life=None), 2)
    137.24
    """
    if worth.price is None:
        return None
    return worth.yearly * annuity(rate, years) - _price_now(worth.price, rate, years, life)


def annuity(rate: float, years: int) -> float:
    """What 1 at the end of each year is worth now."""
    return math.fsum((1.0 + rate) ** -year for year in range(1, years + 1))


def _price_now(price: float, rate: float, years: int, life: float | None) -> float:
    """What a device costs, brought to now, with every time that it is bought again."""
    return price * math.fsum([1.0, *((1.0 + rate) ** -time for time in renewals(years, life))])


def yearly_share(worth: Worth, *, rate: float, years: int, life: float | None) -> float:
    """What a device costs in each of these years, interest, renewals and upkeep included; 0 for a blank price.

    A device pays just where it saves more than that.

    >>> yearly_share(Worth(price=1000.0, saving=0.0, upkeep=50.0), rate=0.0, years=10, life=8.0)
    250.0
    """
    return _price_now(worth.price or 0.0, rate, years, life) / annuity(rate, years) + worth.upkeep


def renewals(years: int, life: float | None) -> tuple[float, ...]:
    """When a device is bought again [years from the start].

    >>> renewals(10, 4.0), renewals(8, 4.0), renewals(10, None)
    ((4.0, 8.0), (4.0,), ())
    """
    if life is None:
        return ()
    return tuple(count * life for count in range(1, math.ceil(years / life)))


def break_even_water(worth: Worth, *, volume: float, water_part: float, within: float) -> float | None:
    """The price of water plus sewer [money per m3] at which a device pays for itself within so many years.

    `volume` is the water to drain that it saves a year [m3], `water_part` what of its saving is water and sewer
    [money a year]. 0: it pays without them. None: no such price, or no price of the device.

    >>> break_even_water(Worth(price=900.0, saving=100.0, upkeep=0.0), volume=100.0, water_part=100.0, within=3.0)
    3.0
    """
    if worth.price is None:
        return None
    rest = worth.yearly - water_part
    needed = worth.price / within - rest
    if needed <= 0.0:
        return 0.0
    return needed / volume if volume > 0.0 else None


def worth_up_to(worth: Worth, *, rate: float, years: int, life: float | None) -> float:
    """The price of a device at which owning it for so many years is worth just nothing; 0 where no price is.

    >>> round(worth_up_to(Worth(price=None, saving=300.0, upkeep=0.0), rate=0.1, years=5, life=None), 2)
    1137.24
    """
    return max(worth.yearly * annuity(rate, years) / _price_now(1.0, rate, years, life), 0.0)


def worth_from_water(
    worth: Worth, *, volume: float, water_part: float, rate: float, years: int, life: float | None
) -> float | None:
    """The price of water plus sewer [money per m3] from which on a device is worth owning for so many years.

    `volume` and `water_part` as of `break_even_water`, and so are 0 and None.

    >>> worth = Worth(price=1000.0, saving=90.0, upkeep=40.0)
    >>> worth_from_water(worth, volume=50.0, water_part=75.0, rate=0.0, years=10, life=None)
    2.5
    """
    if worth.price is None:
        return None
    needed = yearly_share(worth, rate=rate, years=years, life=life) - (worth.saving - water_part)
    if needed <= 0.0:
        return 0.0
    return needed / volume if volume > 0.0 else None


def price_value(price: Price | None) -> float:
    """A price, 0 where it is blank."""
    return 0.0 if price is None else price.value


def range_of_year(prices: Prices, amount: Mapping[str, float]) -> tuple[float, float]:
    """What a year costs by its amounts with every price at the low end of its range, and at the high end."""
    known = [(price, amount[key]) for key in PRICED_KEYS if (price := getattr(prices, key)) is not None]
    return math.fsum(price.low * each for price, each in known), math.fsum(price.high * each for price, each in known)


def saving_of(prices: Prices, without: Mapping[str, float], having: Mapping[str, float]) -> float:
    """What a year costs less by the amounts of it, as `sim.study.costs.amounts` has them [money]."""
    before, after = parts_of(prices, without), parts_of(prices, having)
    return math.fsum([*before.values(), *(-each for each in after.values())])


def worth_of(prices: Prices, device: Device, without: Mapping[str, float], having: Mapping[str, float]) -> Worth:
    """A device by the prices of a case and the amounts of a year without and with it."""
    return Worth(
        price=None if device.price is None else device.price.value,
        saving=saving_of(prices, without, having),
        upkeep=price_value(device.upkeep),
    )


@dataclass(frozen=True, slots=True)
class Swing:
    """What one price at either end of its range makes of a figure [money]."""

    price: str
    low: float
    high: float
    at_low: float
    at_high: float


def tornado(
    prices: Prices, device: Device, without: Mapping[str, float], having: Mapping[str, float]
) -> tuple[Swing, ...]:
    """The net present value with each price that has a range at its ends, the widest swing first."""
    found = []
    for name, price in _ranges(prices, device):
        ends = []
        for value in (price.low, price.high):
            changed, other = _with(prices, device, name, Price(value=value, low=value, high=value))
            worth = worth_of(changed, other, without, having)
            ends.append(net_present_value(worth, rate=prices.discount_rate, years=prices.years, life=device.life))
        low, high = ends
        if low is not None and high is not None:
            found.append(Swing(name, price.low, price.high, low, high))
    return tuple(sorted(found, key=lambda each: -abs(each.at_high - each.at_low)))


def _ranges(prices: Prices, device: Device) -> list[tuple[str, Price]]:
    known = [(key, getattr(prices, key)) for key in PRICED_KEYS]
    known += [("price", device.price), ("upkeep", device.upkeep)]
    return [(name, price) for name, price in known if price is not None and price.is_range]


def _with(prices: Prices, device: Device, name: str, price: Price) -> tuple[Prices, Device]:
    change: dict[str, Any] = {name: price}
    if name in ("price", "upkeep"):
        return prices, replace(device, **change)
    return replace(prices, **change), device
