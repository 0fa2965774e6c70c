"""The flow that a wash reaches is what washes: less water, less shear, more left behind; and air."""

import math

import pytest

from sim.case.records import Case
from sim.case.stage.records import Step
from sim.case.wash.records import Supply
from sim.plant.simulate import Plant, simulate
from tests.plant.builders import BACKWASH, DAY, HOUR, M3_H, Calendar, feed, make_case, policy, replace
from tests.plant.shear_by_hand import cleaning_by_hand
from tests.plant.test_shear import AREA, GRADED, SIZES, WASH, bed

DAILY = Calendar(every=DAY, at=3 * HOUR)
GIVES_12 = Supply(flows=(0.0, 12 * M3_H), pressures=(4e5, 4e5), pipe=None, shared_with_service=False, others=0.0)


def case_of(step: Step, supply: Supply | None, temperature: float = 15.0) -> Case:
    stage = bed(step)
    own = (policy("own", DAILY, stages=(stage,)),)
    return make_case(stages=(stage,), policies=own, days=10.0, supply=supply, feed=feed(5.0, temperature))


def test_a_supply_that_gives_less_washes_with_less() -> None:
    """12 of 17 m3/h for 10 min is 2 m3 a wash; the solids left are those that 12 m3/h leave."""
    short, enough = simulate(case_of(WASH, GIVES_12), "own"), simulate(case_of(WASH, None), "own")
    assert short.site["backwash_m3"] == pytest.approx(2.0 * 9)
    assert enough.site["backwash_m3"] == pytest.approx(17.0 / 6.0 * 9)
    assert short.site["drain_peak_m3_h"] == pytest.approx(12.0)
    assert short.runs[-1].residual_g_m2 > 1.05 * enough.runs[-1].residual_g_m2
    told = [(entry.what, entry.why) for entry in short.log if "short" in entry.what]
    assert told == [("backwash short of water", "supply gives less than asked for")] * 9
    assert not [entry for entry in enough.log if "short" in entry.what]


def test_what_12_m3_h_leave_is_the_same_asked_for_or_not() -> None:
    asked = simulate(case_of(replace(WASH, flow=12 * M3_H), None), "own")
    reached = simulate(case_of(WASH, GIVES_12), "own")
    assert reached.site.pop("wash_short_fraction") == pytest.approx(12.0 / 17.0)
    assert asked.site.pop("wash_short_fraction") == 1.0
    assert reached.site == asked.site
    assert reached.wash_flows == {"filter": (pytest.approx(12 * M3_H), 9 * M3_H)}


def test_others_on_the_line_take_their_share() -> None:
    """12 m3/h less the 5 of others leave 7 for the wash."""
    result = simulate(case_of(WASH, replace(GIVES_12, others=5 * M3_H)), "own")
    assert result.site["backwash_m3"] == pytest.approx(7.0 / 6.0 * 9)


def test_air_multiplies_both_rates() -> None:
    """First wash: loose 0.8 and firm 0.2 of what came, each sublayer at 4 f k for 10 min."""
    stage = replace(bed(replace(WASH, air=True)), air_factor=4.0)
    plant = Plant(replace(case_of(WASH, None), stages=(stage,)), "own")
    plant.run_until(DAY + 3 * HOUR)
    held = plant.look().deposits(0)
    plant.run_until(DAY + 3 * HOUR + 600.0)
    expected = 0.0
    for i, size in enumerate(SIZES):
        exposure = 4.0 * 600.0 * cleaning_by_hand(WASH.flow / AREA, 15.0, size=size, layer=GRADED)
        part = math.fsum(held[3 * i : 3 * i + 3])
        loose, firm = math.exp(-stage.loose_rate * exposure), math.exp(-stage.firm_rate * exposure)
        expected += part * (0.8 * loose + 0.2 * firm)
    assert math.fsum(plant.look().deposits(0)) == pytest.approx(expected, rel=1e-9)


def test_an_effective_rate_knows_no_air() -> None:
    given = replace(BACKWASH, water="raw")
    assert simulate(case_of(replace(given, air=True), None), "own").site == simulate(case_of(given, None), "own").site
