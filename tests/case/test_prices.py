"""Prices: from the file to the records, with every unit and range by hand."""

from pathlib import Path

import pytest

from sim.case.price.records import NO_PRICES, Device, Meter, Price
from sim.errors import CaseError
from tests.case.samples import SMALL, load_text

PRICES = """
[prices]
currency = "marls"
water = { typical = "3.785411784 per 1000 gal", low = "0.5 per m3", high = "0.002 per L" }
sewer = "3 per m3"
energy = "0.36 per kWh"
wash_pressure = "2 bar"
pump_efficiency = 0.5
salt = "1 per lb"
salt_per_wash = "6 kg"
permanganate = "5 per lb"
labour = "7 per visit"
lost_production = "12 per m3"
meter = { price = "900 each", life = "8 years", upkeep = "40 per year", error = 0.03, least_flow = "0.36 m3/h" }
switch = { price = { typical = "300 each", low = "200 each", high = "500 each" } }
discount_rate = 0.07
years = 12
payback_within = "2.5 years"
"""


def flat(value: float) -> Price:
    return Price(value=value, low=value, high=value)


def test_every_price_in_si(tmp_path: Path) -> None:
    prices = load_text(tmp_path, SMALL + PRICES).prices
    assert prices is not None
    assert prices.currency == "marls"
    assert prices.water is not None
    # 1000 US gallons of 231 cubic inches are 3.785411784 m3, so the typical price is 1 a m3.
    assert (prices.water.value, prices.water.low, prices.water.high) == pytest.approx((1.0, 0.5, 2.0))
    assert prices.sewer == flat(3.0)
    assert prices.energy is not None
    assert prices.energy.value == pytest.approx(1e-7)  # per J
    assert (prices.wash_pressure, prices.rinse_pressure, prices.pump_efficiency) == (2e5, 2e5, 0.5)
    assert prices.salt is not None
    assert prices.salt.value == pytest.approx(1.0 / 0.45359237)
    assert prices.salt_per_wash == pytest.approx(6.0)
    assert prices.permanganate is not None
    assert prices.permanganate.value == pytest.approx(5.0 / 0.45359237)
    assert prices.labour == flat(7.0)
    assert prices.meter == Meter(
        device=Device(price=flat(900.0), life=8.0, upkeep=flat(40.0)), error=0.03, least_flow=pytest.approx(1e-4)
    )
    assert prices.switch.price == Price(value=300.0, low=200.0, high=500.0)
    assert (prices.discount_rate, prices.years, prices.payback_within) == (0.07, 12, 2.5)


def test_all_prices_may_be_blank(tmp_path: Path) -> None:
    assert load_text(tmp_path, SMALL).prices is None
    assert load_text(tmp_path, SMALL + "\n[prices]\n").prices == NO_PRICES


@pytest.mark.parametrize(
    ("written", "rate"),
    [("0.12", 0.12), ('"12 %"', 0.12), ('"7.5%"', 0.075), ('"100 %"', 1.0), ("1", 1.0), ("0", 0.0)],
)
def test_interest_as_people_write_it(tmp_path: Path, written: str, rate: float) -> None:
    prices = load_text(tmp_path, f"{SMALL}\n[prices]\ndiscount_rate = {written}\n").prices
    assert prices is not None
    assert prices.discount_rate == pytest.approx(rate)


@pytest.mark.parametrize(
    ("written", "told"), [("12", '"12 %", if percent was meant'), ('"101 %"', "a value within the range"),
                          ('"-1 %"', "a value within the range"), ('"12"', 'a text in percent, as in "12 %"'),
                          ("true", 'a text in percent, as in "12 %"')]
)  # fmt: skip
def test_interest_that_nobody_means_is_refused(tmp_path: Path, written: str, told: str) -> None:
    with pytest.raises(CaseError) as refused:
        load_text(tmp_path, f"{SMALL}\n[prices]\ndiscount_rate = {written}\n")
    assert told in str(refused.value)
