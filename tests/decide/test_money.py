"""Worth of a device: exact against hand arithmetic, and to the cent against a general library of finance."""

import math

import numpy_financial
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.case.price.records import Device, Meter, Price, Prices
from sim.study.decide.money import (
    PRICED_KEYS,
    Worth,
    break_even_water,
    net_present_value,
    range_of_year,
    renewals,
    tornado,
    worth_from_water,
    worth_of,
    worth_up_to,
)

CENT = 0.005
MONEY = st.floats(0.0, 1e5)


def price(value: float, low: float | None = None, high: float | None = None) -> Price:
    return Price(value=value, low=value if low is None else low, high=value if high is None else high)


def test_simple_payback_by_hand() -> None:
    assert Worth(price=1500.0, saving=560.0, upkeep=60.0).payback == 3.0
    assert Worth(price=1500.0, saving=60.0, upkeep=60.0).payback == math.inf
    assert Worth(price=1500.0, saving=-100.0, upkeep=0.0).payback == math.inf
    assert Worth(price=None, saving=560.0, upkeep=60.0).payback is None
    assert Worth(price=None, saving=560.0, upkeep=60.0).most_price(3.0) == 1500.0


def test_net_present_value_by_hand() -> None:
    """1000 now for 300 a year over 5 years at 10 %, by a table of annuities: 300 * 3.7908 - 1000 = 137.24."""
    worth = Worth(price=1000.0, saving=330.0, upkeep=30.0)
    assert net_present_value(worth, rate=0.1, years=5, life=None) == pytest.approx(137.24, abs=CENT)
    # Bought again after 2 and 4 years: less 1000 * (0.82645 + 0.68301).
    again = net_present_value(worth, rate=0.1, years=5, life=2.0)
    assert again == pytest.approx(137.236 - 1509.46, abs=0.01)
    assert renewals(6, 2.0) == (2.0, 4.0)  # nothing is bought at the very end


@given(MONEY, MONEY, st.floats(0.0, 0.5), st.integers(1, 40), st.one_of(st.none(), st.integers(1, 40)))
def test_net_present_value_against_a_library(
    cost: float, saving: float, rate: float, years: int, life: int | None
) -> None:
    """numpy-financial's npv of the same payments, to the cent."""
    flows = [-cost] + [saving] * years
    for at in renewals(years, None if life is None else float(life)):
        flows[round(at)] -= cost
    found = net_present_value(
        Worth(price=cost, saving=saving, upkeep=0.0),
        rate=rate,
        years=years,
        life=None if life is None else float(life),
    )
    assert found == pytest.approx(float(numpy_financial.npv(rate, flows)), abs=CENT)


def test_the_break_even_pays_exactly_then() -> None:
    """100 m3 and 30 of labour spared: at the price named the device pays after the years asked for."""
    worth = Worth(price=900.0, saving=100.0 * 2.0 + 30.0, upkeep=10.0)
    found = break_even_water(worth, volume=100.0, water_part=200.0, within=3.0)
    assert found == pytest.approx((300.0 - 30.0 + 10.0) / 100.0)
    assert Worth(price=900.0, saving=100.0 * found + 30.0, upkeep=10.0).payback == pytest.approx(3.0)


def test_the_prices_at_which_owning_is_worth_nothing_by_hand() -> None:
    """300 a year over 5 years at 10 % are 1137.24 now (annuity 3.7908); bought again after 2 and 4 years, each of
    them costs 1 + 0.82645 + 0.68301 = 2.50946 times its price, so 453.18."""
    worth = Worth(price=1000.0, saving=330.0, upkeep=30.0)
    assert worth_up_to(worth, rate=0.1, years=5, life=None) == pytest.approx(1137.24, abs=CENT)
    assert worth_up_to(worth, rate=0.1, years=5, life=2.0) == pytest.approx(1137.236 / 2.50946, abs=0.01)
    assert worth_up_to(Worth(price=1000.0, saving=20.0, upkeep=30.0), rate=0.1, years=5, life=None) == 0.0
    # 1000 / 3.7908 + 30 = 293.80 a year are needed; without water 330 - 2 * 100 = 130 are saved; 163.80 over 100 m3.
    water = worth_from_water(worth, volume=100.0, water_part=200.0, rate=0.1, years=5, life=None)
    assert water == pytest.approx(1.638, abs=0.0005)
    assert worth_from_water(worth, volume=100.0, water_part=20.0, rate=0.1, years=5, life=None) == 0.0
    assert worth_from_water(worth, volume=-1.0, water_part=200.0, rate=0.1, years=5, life=None) is None


def test_there_may_be_no_break_even() -> None:
    more = Worth(price=900.0, saving=-50.0, upkeep=0.0)
    assert break_even_water(more, volume=-10.0, water_part=-50.0, within=3.0) is None
    labour = Worth(price=900.0, saving=400.0, upkeep=0.0)
    assert break_even_water(labour, volume=0.0, water_part=0.0, within=3.0) == 0.0
    assert break_even_water(Worth(price=None, saving=5.0, upkeep=0.0), volume=1.0, water_part=0.0, within=3.0) is None


def test_a_year_between_the_ends_of_its_prices_by_hand() -> None:
    """50 m3 at 1 to 4, 12 washes at 5 to 8: 110 at the low ends, 296 at the high ones; a blank price is left out."""
    prices = Prices(water=price(2.0, 1.0, 4.0), labour=price(6.0, 5.0, 8.0))
    amount = dict.fromkeys(PRICED_KEYS, 7.0) | {"water": 50.0, "labour": 12.0}
    assert range_of_year(prices, amount) == (110.0, 296.0)


def test_a_tornado_by_hand() -> None:
    """20 m3 spared; water at 2 (1 to 4), the device at 100 (50 to 300): 2 years without interest."""
    device = Device(price=price(100.0, 50.0, 300.0))
    prices = Prices(
        water=price(2.0, 1.0, 4.0), sewer=price(1.0), meter=Meter(device=device), discount_rate=0.0, years=2
    )
    without, having = (dict.fromkeys(("water", "sewer"), 0.0) | {"water": w, "sewer": w} for w in (50.0, 30.0))
    assert worth_of(prices, device, without, having).saving == 60.0
    first, second = tornado(prices, device, without, having)
    assert (first.price, first.at_low, first.at_high) == ("price", 70.0, -180.0)
    assert (second.price, second.at_low, second.at_high) == ("water", -20.0, 100.0)
