"""Costs of a year by hand."""

import pytest

from sim.case.price.records import Prices
from sim.plant.ledger import CHEMISTRY
from sim.study.costs import amounts, parts_of, year_cost
from tests.decide.test_money import price

NO_CHEMISTRY = dict.fromkeys((*CHEMISTRY, "solids_formed_kg"))


def test_a_year_by_hand() -> None:
    """120 m3 to drain at 2 + 3, of these 100 m3 pumped at 2 bar and 20 m3 at 3 bar by a pump of 50 %; 24 washes."""
    prices = Prices(
        water=price(2.0), sewer=price(3.0), energy=price(0.25 / 3.6e6), wash_pressure=2e5, rinse_pressure=3e5,
        pump_efficiency=0.5, salt=price(0.4), salt_per_wash=6.0, labour=price(7.0), cartridge=price(85.0),
        lost_production=price(12.0),
    )  # fmt: skip
    figures = {
        "drain_m3": 60.0, "backwash_m3": 50.0, "rinse_m3": 10.0, "washes": 12, "unmet_m3": 5.0,
        "cartridges_a_year": 4.0, **NO_CHEMISTRY,
    }  # fmt: skip
    half_a_year = 365.25 / 2.0
    energy = (100.0 * 2e5 + 20.0 * 3e5) / 0.5 / 3.6e6 * 0.25
    by_hand = {
        "water": 240.0, "sewer": 360.0, "energy": energy, "salt": 24 * 6.0 * 0.4, "labour": 168.0,
        "cartridges": 340.0, "lost production": 120.0,
    }  # fmt: skip
    assert parts_of(prices, amounts(prices, figures, half_a_year)) == pytest.approx(by_hand, rel=1e-12)
    assert year_cost(prices, figures, half_a_year) == pytest.approx(sum(by_hand.values()), rel=1e-12)
    assert year_cost(Prices(), figures, half_a_year) is None
    assert year_cost(None, figures, half_a_year) is None


def test_two_prices_of_one_part_add_up_and_no_time_costs_nothing_known() -> None:
    """By hand: 120 m3 to drain pumped at 0.5, beside 26e6 J at 0.01 for each MJ: 60 and 0.26."""
    prices = Prices(
        pumping=price(0.5), energy=price(0.01 / 1e6), wash_pressure=2e5, rinse_pressure=3e5, pump_efficiency=1.0
    )
    figures = {
        "drain_m3": 120.0, "backwash_m3": 100.0, "rinse_m3": 20.0, "washes": 24, "unmet_m3": 0.0, **NO_CHEMISTRY,
    }  # fmt: skip
    assert parts_of(prices, amounts(prices, figures, 365.25)) == {"energy": pytest.approx(60.26, rel=1e-12)}
    assert year_cost(prices, figures, 0.0) is None


def test_a_year_of_regenerations_by_hand() -> None:
    """Half a year: 90 kg of salt at 0.4, 3 kg of permanganate at 9; 20 m3 through the bed at the 3 bar of a rinse."""
    prices = Prices(
        energy=price(0.25 / 3.6e6), wash_pressure=2e5, rinse_pressure=3e5, pump_efficiency=0.5, salt=price(0.4),
        permanganate=price(9.0),
    )  # fmt: skip
    figures = {
        "drain_m3": 20.0, "backwash_m3": 0.0, "rinse_m3": 11.0, "washes": 30, "unmet_m3": 0.0,
        **NO_CHEMISTRY, "salt_kg": 90.0, "permanganate_kg": 3.0, "brine_m3": 4.0, "displacement_m3": 5.0,
    }  # fmt: skip
    by_hand = {"energy": 40.0 * 3e5 / 0.5 / 3.6e6 * 0.25, "salt": 180.0 * 0.4, "permanganate": 6.0 * 9.0}
    assert parts_of(prices, amounts(prices, figures, 365.25 / 2.0)) == pytest.approx(by_hand, rel=1e-12)
