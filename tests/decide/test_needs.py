"""What a device needs to pay, what a dead one does to the water, what was given: by hand on the shipped cases."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from sim.case.load import load_case
from sim.case.price.records import Price
from sim.case.quantities import System
from sim.case.records import Case
from sim.case.series.records import Season, Steady, Wander
from sim.study.decide.money import net_present_value
from sim.study.decide.payback import Decided, Payback
from sim.tell.decision.decision_json import payback_json
from sim.tell.decision.given import given_table
from sim.tell.decision.needs_words import days_words, dead_words, needs_words, thresholds
from sim.tell.decision.payback_words import turning_words, verdict_words
from tests.case.samples import SMALL, load_text
from tests.decide.test_payback import CASES, shipped


def priced_at(found: Payback, each: Decided, price: float, water: float) -> float:
    """The net present value with another price of the device, and of water with sewer for nothing."""
    rest = each.worth.saving - 6.5 * each.water.mean  # 3 for water and 3.5 for sewer in the laundry
    worth = replace(each.worth, price=price, saving=rest + water * each.water.mean)
    value = net_present_value(worth, rate=found.prices.discount_rate, years=found.prices.years, life=each.life)
    assert value is not None
    return value


def test_the_prices_that_decide_are_those_at_which_nothing_is_gained() -> None:
    """The laundry's meter, bought again in year 8: the value is nothing at either price, and changes sign there."""
    found = shipped("laundry")
    (meter,) = found.decided
    most, least = thresholds(found, meter)
    assert least is not None
    assert priced_at(found, meter, 1900.0, 6.5) == pytest.approx(meter.value)
    assert priced_at(found, meter, most, 6.5) == pytest.approx(0.0, abs=1e-6)
    assert priced_at(found, meter, 1900.0, least) == pytest.approx(0.0, abs=1e-6)
    assert priced_at(found, meter, 0.99 * most, 6.5) > 0.0 > priced_at(found, meter, 1900.0, 0.99 * least)
    (told,) = payback_json(found, None)["devices"]
    assert (told["worth_it_up_to_price"], told["worth_it_from_water_and_sewer_per_m3"]) == (most, least)


@pytest.mark.parametrize(("case", "verdict"), [("laundry", "Worth it: "), ("rope_walk", "Not worth it: ")])
def test_not_worth_it_is_told_in_the_same_detail(case: str, verdict: str) -> None:
    """With either verdict: what would have to cost how much, and what a dead device does."""
    found = shipped(case)
    for each in found.decided:
        assert verdict_words(found, each, "si").startswith(f"{verdict}against the best calendar a {each.device} ")
        even, dead, _, swing, needs = turning_words(found, each, "si")
        assert even.startswith(f"Within 3 years a {each.device} pays if water plus sewer cost more than ")
        assert swing.startswith("Of the prices given, that of ")
        assert needs == needs_words(found, each, "si")
        assert f"a {each.device} is worth it if it costs less than " in needs
        assert f"a {each.device} is worth it if water plus sewer cost more than " in needs
        assert dead == dead_words(found, each, "si")
        most, _ = thresholds(found, each)
        assert each.worth.price is not None
        assert (each.worth.price < most) == (verdict == "Worth it: ")


def test_a_device_that_saves_nothing_has_no_price() -> None:
    found = shipped("laundry")
    (meter,) = found.decided
    poor = replace(meter, worth=replace(meter.worth, saving=10.0), water=meter.water._replace(mean=-1.0))
    assert thresholds(found, poor) == (0.0, None)
    assert needs_words(found, poor, "si").startswith(
        "Over 10 years, with these settings, a meter is worth it at no price, neither its own nor that of "
        "water: it saves no more than its upkeep, and no water. "
    )


def test_a_dead_device_is_told_by_its_water() -> None:
    """Shares of filter runs, hours, water and pressure of the made-up runs, each beside those in order."""
    found = shipped("laundry")
    (meter,) = found.decided
    figures = {"breakthrough_risk": 0.5, "over_limit_h": 120.0, "water": 200.0, "pressure_kpa": 90.0}
    dead = replace(meter.dead, figures={**meter.dead.figures, **{k: np.array([v]) for k, v in figures.items()}})
    well = {"breakthrough_risk": 0.02, "over_limit_h": 4.0, "water": 250.0, "pressure_kpa": 60.0}
    own = meter.bar.tried.figures
    tried = replace(meter.bar.tried, figures={**own, **{k: np.array([v]) for k, v in well.items()}})
    made = replace(
        meter, bar=replace(meter.bar, tried=tried),
        what_ifs=(*meter.what_ifs[:-1], replace(meter.what_ifs[-1], tried=dead)),
    )  # fmt: skip
    told = dead_words(found, made, "si")
    assert told == (
        "A meter that is stuck starts no wash: only the longest run does, after 10 d. Until somebody notices (in "
        "brackets, the figure with all in order): breakthrough risk 50 % (2), time over the limit 120 h (4), water "
        "to drain 200 m3 (250) and highest pressure drop 90 kPa (60)."
    )
    assert turning_words(found, replace(made, verdict="idle"), "si") == ()


def test_what_days_make_a_meter_worth_something() -> None:
    case = load_case(CASES / "rope_walk.toml")
    flat = replace(case, demand=replace(case.demand, flow=Steady(value=1e-3), season=None, wander=None, closed=()))
    assert days_words(flat, "meter").endswith("Here use is the same every day.")
    season, wander = Season(swing=0.4, peak_day=1), Wander(spread=math.log(1.2), memory=1.0)
    told = days_words(replace(flat, demand=replace(flat.demand, season=season, wander=wander)), "meter")
    assert "Here use swings by 40 % up and down over the year." in told
    assert "Here use differs at random from day to day: two days in three lie within 20 % of the usual." in told
    laundry = days_words(load_case(CASES / "laundry.toml"), "meter")
    assert "Here weekdays use 30 to 100 % of what the busiest uses." in laundry
    assert days_words(flat, "switch").endswith("here the solids of the feed never change.")


def given_rows(case: Case, system: System = "si") -> dict[str, str]:
    return {row[0]: row[1] for row in given_table(case, system).rows}


def test_what_was_given_stands_in_one_table(tmp_path: Path) -> None:
    """The prices of the laundry as its file has them."""
    rows = given_rows(load_case(CASES / "laundry.toml"))
    assert rows["time simulated"] == "365 days from 2027-01-01 00:00"
    assert rows["stage sand"] == "sand"
    assert rows["wash of sand"] == "backwash 10 min and rinse 12 min"
    assert rows["what the water is for"] == "a process"
    assert rows["water"] == "3 (2 to 4.5) per m3"
    assert (rows["price of a meter"], rows["price of a switch"]) == ("1,900 (1,200 to 2,800)", "blank")
    assert (rows["upkeep of a meter in a year"], rows["life of a meter"]) == ("60", "8 years")
    assert rows["pressure of the pump in a backwash"] == rows["pressure of the pump in a rinse"] == "200 kPa"
    assert rows["efficiency of the pump"] == "55 %"
    assert rows["interest"] == "5 % a year over 10 years"
    assert rows["blank, so not counted"] == "salt, permanganate, labour for a wash and a cartridge"
    us = given_rows(load_case(CASES / "laundry.toml"), "us")
    assert us["water"] == "11.36 (7.571 to 17.03) per 1000 gal"  # 3.785411784 m3 each
    assert given_rows(load_text(tmp_path, SMALL))["all prices"] == "blank"
    energy = '\n[prices]\nenergy = "0.2 per kWh"\nwash_pressure = "2 bar"\n'
    pumped = given_rows(load_text(tmp_path, SMALL + energy))
    assert pumped["efficiency of the pump"] == "60 %, assumed; usual 40 to 75 %"


def test_a_price_range_of_one_value_is_one_value() -> None:
    found = shipped("laundry")
    prices = replace(found.prices, water=Price(value=2.0, low=2.0, high=2.0))
    rows = given_rows(replace(found.case, prices=prices))
    assert rows["water"] == "2 per m3"
