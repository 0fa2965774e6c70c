"""Demand not met because of washing, apart from what the plant could never meet: by hand."""

import pytest

from sim.case.records import Case
from sim.case.stage.records import Stage
from sim.case.train.records import Downstream, Pump, Tank, Unit, Vessels
from sim.plant.simulate import Plant, simulate
from tests.plant.builders import DAY, FILTER, HOUR, M3_H, MINUTE, Calendar, feed, make_case, policy, replace, steady

WASH = 16 * MINUTE / HOUR  # h: 10 min of backwash, 6 min of rinse
STRONG = Pump(flows=(0.0, 4.0 * M3_H), pressures=(9e5, 8.99e5), delivery=1e5, other_loss=0.0)
"""Far more pressure than a bed takes, and nothing beyond 4 m3/h."""
WEAK = Pump(flows=(0.0, 12.0 * M3_H), pressures=(2.05e5, 2.04e5), delivery=2e5, other_loss=0.0)
TWO = replace(FILTER, vessels=Vessels(count=2, arrangement="parallel", inhibit_while_sister_washes=True))


def case_of(stage: Stage = FILTER, hour: float = 3.0, days: float = 10.0, **given: object) -> Case:
    """Washed every second night."""
    trigger = Calendar(every=2 * DAY, at=hour * HOUR)
    own = (policy("own", trigger, stages=(stage,)),)
    return make_case(**{"stages": (stage,), "policies": own, "days": days, "demand": steady(5.0 * M3_H), **given})


def test_without_a_pump_all_of_it_is_because_of_washing() -> None:
    site = simulate(case_of(), "own").site
    assert site["unmet_by_washing_m3"] == site["unmet_m3"] == pytest.approx(4 * WASH * 5.0)


def test_what_the_pump_never_gives_is_not_because_of_washing() -> None:
    """4 of 5 m3/h reach service; a wash keeps those 4 from it, and 1 is missed whatever happens."""
    site = simulate(case_of(pump=STRONG), "own").site
    assert site["unmet_by_washing_m3"] == pytest.approx(4 * WASH * 4.0, rel=1e-9)
    assert site["unmet_m3"] == pytest.approx(240.0 * 1.0 + 4 * WASH * 4.0, rel=1e-9)


def test_while_a_sister_washes_it_is_what_two_would_have_given() -> None:
    """Clean beds behind a weak pump: while one washes, what both gave just before less what the other gives."""
    demand = steady(12.0 * M3_H)
    plant = Plant(case_of(TWO, pump=WEAK, demand=demand, feed=feed(0.0), hour=1.0, days=2.2), "own")
    before, after = (2 * DAY + HOUR, 2 * DAY + HOUR + 300.0)
    plant.run_until(before)
    whole, lacked = plant.result().site, plant.look()
    flow = sum(lacked.reading(i)[0] for i in range(2))
    assert whole["unmet_by_washing_m3"] == 0.0 < whole["unmet_m3"]
    plant.run_until(after)
    site = plant.result().site
    one = next(flow for flow, *_ in (plant.look().reading(i) for i in range(2)) if flow > 0.0)
    assert site["unmet_by_washing_m3"] == pytest.approx(300.0 * (flow - one), rel=1e-9)
    assert site["unmet_m3"] - whole["unmet_m3"] == pytest.approx(300.0 * (12.0 * M3_H - one), rel=1e-9)


def unit(volume: float, start: float, stop: float, level: float) -> Downstream:
    tank = Tank(volume=volume, start_below=start, stop_above=stop, level=level)
    made = Unit(feed_flow=6.0 * M3_H, recovery=0.75, tank=tank)
    return Downstream(membrane=None, unit=made, feed_limit=None, cartridge=None)


@pytest.mark.parametrize("hour", [3.0, 23.0])
def test_what_a_wash_keeps_from_the_tank_is_missed_then_or_later(hour: float) -> None:
    """4.5 m3/h of product against 7: 10 m3 last four hours. A wash of 16 min keeps 1.2 m3 away.

    At 23:00 it is empty, and they are missed at once; at 3:00 it is not, and runs dry that much earlier.
    """
    given = {"demand": steady(7.0 * M3_H), "downstream": unit(20.0, 5.0, 15.0, 10.0), "days": 1.0}
    daily = (policy("own", Calendar(every=HOUR, at=hour * HOUR)),)
    washed = simulate(case_of(**{**given, "policies": daily}), "own").site
    never = simulate(case_of(hour=hour, **given), "own").site
    assert (washed["washes"], never["washes"]) == (1, 0)
    assert never["unmet_by_washing_m3"] == 0.0
    assert never["unmet_m3"] == pytest.approx(20.0 * 2.5, rel=1e-9)
    assert washed["unmet_by_washing_m3"] == pytest.approx(4.5 * WASH, rel=1e-9)
    assert washed["unmet_m3"] == pytest.approx(20.0 * 2.5 + 4.5 * WASH, rel=1e-9)


def test_a_tank_that_fills_again_has_nothing_to_miss() -> None:
    """4.5 m3/h against 3: the tank gains what a wash kept from it, and no demand is ever unmet."""
    site = simulate(case_of(demand=steady(3.0 * M3_H), downstream=unit(20.0, 5.0, 15.0, 15.0)), "own").site
    assert (site["unmet_m3"], site["unmet_by_washing_m3"]) == (0.0, 0.0)


def test_a_tank_too_small_for_a_wash_runs_dry_because_of_it() -> None:
    """About 1 m3 as the wash begins, 30 min of wash at 3 m3/h: half a m3 is missing because of the wash."""
    slow = replace(FILTER, steps=(FILTER.steps[0], replace(FILTER.steps[1], seconds=20 * MINUTE)))
    below = unit(1.0, 0.99, 1.0, 1.0)  # starts at 0.99 m3 and stops at 1
    site = simulate(case_of(slow, demand=steady(3.0 * M3_H), downstream=below, days=2.5), "own").site
    assert site["washes"] == 1
    assert site["unmet_m3"] == pytest.approx(0.5 * 3.0 - 1.0, abs=0.011)
    assert site["unmet_by_washing_m3"] == pytest.approx(site["unmet_m3"], rel=1e-12)
