"""Random weather and demand in a case file: what becomes of the keys, and what is usual where they are left out."""

import math
from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.case.records import Assumption, Case
from sim.case.series.records import Changeable, Season, Seasonal, Storms, UnsettledSeason, Wander
from sim.case.series.series import mean_of
from sim.case.series.variation import DAILY_DEMAND, STORMS
from sim.case.series.waters import WATERS
from tests.case.samples import changed, load_text, problems_of

SOLIDS, WARMTH, FLOW = 'suspended_solids = "5 mg/L"', 'temperature = "15 degC"', 'flow = "5.5 m3/h"'
HOUR, DAY = 3600.0, 86_400.0


def solids_of(folder: Path, text: str, more: str = "") -> Case:
    return load_text(folder, changed((SOLIDS, f"suspended_solids = {text}{more}")))


def assumed(case: Case, part: str) -> dict[str, Assumption]:
    return {each.key: each for each in case.assumptions if part in each.key}


def test_every_key_of_a_weather(tmp_path: Path) -> None:
    case = solids_of(
        tmp_path,
        '{ median = "4 mg/L", spread = 1.5, memory = "6 h", slow_spread = 1.2, slow_memory = "9 d", '
        "season = { swing = 0.3, highest_on = 2027-02-01 }, "
        'storms = { per_year = 12, height = 6, length = "1 d", season = { swing = 1, highest_on = 2027-01-01 } } }',
    )
    assert case.feed.solids == Changeable(
        median=4.0,
        fast=Wander(spread=math.log(1.5), memory=6 * HOUR),
        slow=Wander(spread=math.log(1.2), memory=9 * DAY),
        season=Season(swing=0.3, peak_day=32),
        storms=Storms(per_year=12.0, height=6.0, length=DAY, season=Season(swing=1.0, peak_day=1)),
    )
    assert case.is_random
    assert assumed(case, "feed.") == {}


def test_a_median_is_enough_and_storms_only_come_where_named(tmp_path: Path) -> None:
    case = solids_of(tmp_path, '{ median = "4 mg/L" }')
    solids = case.feed.solids
    assert isinstance(solids, Changeable)
    assert (solids.slow, solids.season, solids.storms) == (None, None, None)
    known = assumed(case, "suspended_solids")
    assert set(known) == {"feed.suspended_solids.spread", "feed.suspended_solids.memory"}
    for each in known.values():
        assert each.low < each.value < each.high
    assert math.exp(solids.fast.spread) == pytest.approx(known["feed.suspended_solids.spread"].value)


def test_storms_left_bare_are_those_of_the_kind_of_water(tmp_path: Path) -> None:
    river = WATERS["river"]
    plain = solids_of(tmp_path, '{ median = "4 mg/L", storms = {} }')
    named = solids_of(tmp_path, '{ median = "4 mg/L", storms = { length = "2 d" } }', '\nwater = "river"')
    for case, years, height in ((plain, STORMS["per_year"], STORMS["height"]),
                                (named, river.storms_a_year, river.storm_strength)):  # fmt: skip
        solids = case.feed.solids
        assert isinstance(solids, Changeable)
        assert solids.storms is not None
        assert (solids.storms.per_year, solids.storms.height) == (years.value, height.value)
    assert "feed.suspended_solids.storms.length" in assumed(plain, "storms")
    assert set(assumed(named, "storms")) == {f"feed.suspended_solids.storms.{key}" for key in ("per_year", "height")}


def test_turbidity_is_weathered_like_solids(tmp_path: Path) -> None:
    ratio = 'solids_per_turbidity = "1.5 mg/L per NTU"'
    text = changed((SOLIDS, f'turbidity = {{ median = "4 NTU", spread = 1.5 }}\n{ratio}'))
    solids = load_text(tmp_path, text).feed.solids
    assert isinstance(solids, Changeable)
    assert solids.median == 6.0


def test_temperature_and_demand_vary_from_day_to_day(tmp_path: Path) -> None:
    season = '{ mean = "12 degC", swing = "6 degC", highest_on = 2027-07-20'
    text = changed(
        (WARMTH, f'temperature = {season}, variation = {{ spread = "1.8 degF", memory = "4 d" }} }}'),
        (FLOW + "\n[[stage]]", FLOW + '\nvariation = { memory = "2 d" }\n[[stage]]'),
    )
    case = load_text(tmp_path, text)
    usual = Seasonal(mean=12.0, swing=6.0, peak_day=201)
    assert case.feed.temperature == UnsettledSeason(usual=usual, wander=Wander(spread=1.0, memory=4 * DAY))
    assert mean_of(case.feed.temperature) == 12.0
    assert case.demand.wander == Wander(spread=math.log(DAILY_DEMAND.value), memory=2 * DAY)
    assert set(assumed(case, "variation")) == {"demand.variation.spread"}
    assert case.feed.is_random
    assert case.demand.is_random


def test_a_setting_of_the_weather_is_changed_by_its_key(tmp_path: Path) -> None:
    solids_of(tmp_path, '{ median = "4 mg/L", storms = {} }')
    case = load_case(tmp_path / "case.toml", {"feed.suspended_solids.storms.per_year": 3.0})
    assert isinstance(case.feed.solids, Changeable)
    assert case.feed.solids.storms is not None
    assert case.feed.solids.storms.per_year == 3.0


def test_the_mean_of_a_weather_by_hand(tmp_path: Path) -> None:
    """4 e^(ln(1.5)^2 / 2) (1 + 12 / 365.25 * 5) with storms of a day; of the seasons only their product counts."""
    calm = '{ median = "4 mg/L", spread = 1.5'
    storms = 'storms = { per_year = 12, height = 6, length = "1 d"'
    base = 4.0 * math.exp(math.log(1.5) ** 2 / 2)
    assert mean_of(solids_of(tmp_path, calm + " }").feed.solids) == pytest.approx(base)
    lifted = base * (1.0 + 12 / 365.25 * 5.0)
    assert mean_of(solids_of(tmp_path, f"{calm}, {storms} }} }}").feed.solids) == pytest.approx(lifted)
    season = "season = { swing = 0.5, highest_on = 2027-03-01 }"
    both = base * (1.0 + 12 / 365.25 * 5.0 * (1.0 + 0.5 * 0.5 * 0.5))
    found = solids_of(tmp_path, f"{calm}, {season}, {storms}, {season} }} }}").feed.solids
    assert mean_of(found) == pytest.approx(both)


def test_a_steady_case_is_not_random(tmp_path: Path) -> None:
    assert not load_text(tmp_path, changed()).is_random
    assert problems_of(tmp_path / "case.toml") == ()
