"""Washes that something weakens or stops, power that is cut, doses that are wrong: by hand."""

import pytest

from sim.case.series.records import Coagulant
from sim.case.train.records import Downstream, Tank, Unit
from sim.case.wash.records import Supply
from sim.plant.line import Line
from tests.plant.builders import BACKWASH, FILTER, HOUR, M3_H, MINUTE, feed, make_case, replace, steady
from tests.plant.lines import carried, closed
from tests.plant.solute_builders import BRINE, CHLORINE, DISPLACEMENT, SOFTENER, WASH, well

CASE = make_case(demand=steady(5.0 * M3_H))
BEGINS = 20 * HOUR


def washing(minutes: float = 0.0) -> Line:
    """A loaded filter so many minutes into its backwash of 17 m3/h."""
    line = carried(Line(CASE), BEGINS)
    assert line.begin(0, 0) == BACKWASH.flow
    return carried(line, BEGINS + minutes * MINUTE)


@pytest.mark.parametrize("shares", [(0.4, 1.0), (1.0, 0.4), (0.4, 0.7)])
def test_a_weak_supply_or_a_blocked_drain_weakens_the_backwash_under_way(shares: tuple[float, float]) -> None:
    """4 min of 17 m3/h, then 6 min of 0.4 times as much."""
    line = washing(4.0)
    line.set_wash_share(*shares)
    carried(line, BEGINS + 10 * MINUTE)
    assert line.finish(0)[0] == pytest.approx(17.0 / 60.0 * (4.0 + 0.4 * 6.0), rel=1e-12)
    closed(CASE, line)


def test_only_a_blocked_drain_holds_back_a_rinse() -> None:
    """Of 9 m3/h it lets 0.7 through; the supply that is weak too gives the rinse nothing."""
    line = carried(Line(CASE), BEGINS)
    line.set_wash_share(0.4, 0.7)
    assert line.begin(0, 0) == pytest.approx(0.4 * 17.0 * M3_H)
    line.finish(0)
    assert line.begin(0, 1) == pytest.approx(0.7 * 9.0 * M3_H)
    line.set_wash_share(0.4, 1.0)
    assert line.of_vessel("wash_flow", 0) == 9.0 * M3_H
    carried(line, BEGINS + 6 * MINUTE)
    assert line.finish(0)[0] == pytest.approx(0.9, rel=1e-12)


def test_a_supply_that_is_short_already_gives_no_less_than_its_share() -> None:
    """A supply of 12 m3/h gives 17 no more than 12, of 0.5 x 17 all of it."""
    supply = Supply(flows=(0.0, 12 * M3_H), pressures=(4e5, 4e5), pipe=None, shared_with_service=False)
    line = carried(Line(replace(CASE, supply=supply)), BEGINS)
    assert line.begin(0, 0) == pytest.approx(12.0 * M3_H)
    line.set_wash_share(0.9, 1.0)
    assert line.of_vessel("wash_flow", 0) == pytest.approx(12.0 * M3_H)
    line.set_wash_share(0.5, 1.0)
    assert line.of_vessel("wash_flow", 0) == pytest.approx(8.5 * M3_H)


def test_a_step_that_is_held_goes_on_where_it_stood() -> None:
    """3 min, three hours of nothing, 7 min: the wash of 10 min in one, to the last figure of drain and bed."""
    whole = washing(10.0)
    line = washing(3.0)
    line.hold_step(0, flows=False)
    line.set_power(False)
    carried(line, BEGINS + 3 * MINUTE + 3 * HOUR)
    closed(CASE, line)
    line.set_power(True)
    line.hold_step(0, flows=True)
    carried(line, BEGINS + 3 * HOUR + 10 * MINUTE)
    assert line.finish(0) == pytest.approx(whole.finish(0), rel=1e-12)
    assert line.at(line.time).deposits(0) == pytest.approx(whole.at(whole.time).deposits(0), rel=1e-12)


def test_a_frozen_valve_before_a_supply_that_outlives_the_cut_runs_on() -> None:
    """6 min of the wash, then 17 m3/h for three hours."""
    line = washing(6.0)
    line.set_power(False)
    carried(line, BEGINS + 6 * MINUTE + 3 * HOUR)
    assert line.finish(0)[0] == pytest.approx(17.0 * (0.1 + 3.0), rel=1e-12)
    closed(CASE, line)


def test_without_power_nothing_is_served_and_no_rinse_flows() -> None:
    """Three hours of 5 m3/h are not met, and none of it for a wash; a rinse waits for the pump."""
    line = carried(Line(CASE), BEGINS)
    line.set_power(False)
    assert line.phase(0) == "stopped"
    assert line.reading(0)[0] == 0.0
    carried(line, BEGINS + 3 * HOUR)
    site = closed(CASE, line)
    assert site["treated_m3"] == pytest.approx(100.0)
    assert (site["unmet_m3"], site["unmet_by_washing_m3"]) == (pytest.approx(15.0), 0.0)
    line.begin(0, 1)
    carried(line, BEGINS + 4 * HOUR)
    assert line.finish(0) == (0.0, 0.0)
    line.serve(0)
    line.set_power(True)
    assert closed(CASE, carried(line, BEGINS + 5 * HOUR))["treated_m3"] == pytest.approx(105.0)


def test_without_power_the_unit_stands_and_its_tank_gives() -> None:
    """4 m3/h into the tank, 3 out of it: 1 m3 in the first hour, and 3 less in the second."""
    tank = Tank(volume=20.0, start_below=5.0, stop_above=15.0, level=5.0)
    unit = Unit(feed_flow=5.0 * M3_H, recovery=0.8, tank=tank)
    below = Downstream(membrane=None, unit=unit, feed_limit=None, cartridge=None)
    case = make_case(demand=steady(3.0 * M3_H), downstream=below)
    line = carried(Line(case), HOUR)
    assert (line.unit_idle(), line.tank_level()) == (False, pytest.approx(6.0))
    line.set_power(False)
    assert line.unit_idle()
    carried(line, 2 * HOUR)
    assert line.tank_level() == pytest.approx(3.0)
    line.set_power(True)
    assert not line.unit_idle()
    line.hold(1)
    assert line.unit_idle()
    line.hold(-1)
    site = closed(case, carried(line, 3 * HOUR))
    assert (site["downstream_run_h"], site["downstream_starts"]) == (pytest.approx(2.0), 2)
    carried(line, 14 * HOUR)
    assert line.tank_level() == pytest.approx(15.0)
    assert line.unit_idle()


@pytest.mark.parametrize("factor", [0.0, 0.5, 2.0])
def test_a_wrong_dose_of_coagulant_is_that_much_more_solids(factor: float) -> None:
    """Raw 5 g/m3, 3 more by the dose; from the tenth hour on so many times 3."""
    given = replace(feed(5.0), coagulant=Coagulant(product="alum", adds=3.0, adds_per_solids=0.0))
    case = replace(CASE, feed=given)
    line = carried(Line(case), 10 * HOUR)
    line.set_dose(0, factor)
    assert line.reading(0)[2] == pytest.approx(5.0 + 3.0 * factor)
    site = closed(case, carried(line, 30 * HOUR))
    assert site["solids_dosed_kg"] == pytest.approx(5.0 * 3.0 * (10.0 + 20.0 * factor) / 1000.0)


@pytest.mark.parametrize("factor", [0.0, 0.5, 2.0])
def test_a_wrong_dose_of_chlorine_is_that_much_more_oxidant(factor: float) -> None:
    """3 g/m3 ahead of a bed that takes up none: what it sends on is the dose, once its own water has gone."""
    stage = replace(FILTER, dosing=CHLORINE)
    case = make_case(stages=(stage,), demand=steady(5.0 * M3_H), feed=well(5.0))
    line = carried(Line(case), HOUR)
    line.set_dose(0, factor)
    closed(case, carried(line, 2 * HOUR))
    told = line.at(line.time).sent_on(0)
    assert told is not None
    assert told[3] == pytest.approx(3.0 * factor)


def test_a_held_regenerant_brings_nothing_meanwhile() -> None:
    """Half of the brine before a stop of an hour, half after it: the bed and its books end as without a stop."""
    stage = replace(SOFTENER, steps=(WASH, BRINE, DISPLACEMENT))
    case = make_case(stages=(stage,), demand=steady(1.0 * M3_H), feed=well(0.0, hardness=200.0))
    ends = []
    for stop in (0.0, HOUR):
        line = carried(Line(case), BEGINS)
        line.begin(0, 1)
        line.regenerate(0, 1, 12_000.0, 0.0)
        carried(line, BEGINS + 12 * MINUTE)
        line.hold_step(0, flows=False)
        carried(line, BEGINS + 12 * MINUTE + stop)
        closed(case, line)
        line.hold_step(0, flows=True)
        carried(line, BEGINS + 24 * MINUTE + stop)
        line.finish(0)
        closed(case, line)
        ends.append((line.of_vessel("brine_total", 0), line.read("uptake")[0]["used"], line.read("taken")[0]["held"]))
    assert ends[1] == pytest.approx(ends[0], rel=1e-12)
    assert ends[0][0] == pytest.approx(0.25 * 0.4, rel=1e-12)
