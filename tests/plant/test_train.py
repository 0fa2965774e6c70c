"""A whole train against hand arithmetic: unit and tank, held windows, closed and passing vessels, shared supply."""

import math
from itertools import pairwise
from typing import Any

import pytest

from sim.case.records import Case
from sim.case.stage.records import Stage
from sim.case.train.records import Abort, Downstream, HoldUnit, Lines, Tank, Unit, Washing
from sim.case.wash.records import Supply
from sim.plant.records import RunResult
from sim.plant.simulate import Plant, simulate
from sim.plant.trace import moments
from tests.plant.builders import (
    BACKWASH,
    DAY,
    FILTER,
    HOUR,
    M3_H,
    MINUTE,
    Calendar,
    make_case,
    policy,
    replace,
    steady,
    train,
)

THREE = 3 * HOUR
FEED, DEMAND = 6.0 * M3_H, 3.0 * M3_H
TANK = Tank(volume=20.0, start_below=5.0, stop_above=15.0, level=10.0)
UNIT = Unit(feed_flow=FEED, recovery=0.75, tank=TANK)


def below(unit: Unit | None = UNIT, **given: Any) -> Downstream:
    """A membrane unit below the train."""
    plain = {"membrane": None, "unit": unit, "feed_limit": None, "cartridge": None}
    return Downstream(**plain | given)


def calendar(hour: float, days: float = 2.0) -> Calendar:
    return Calendar(every=days * DAY, at=hour * HOUR)


def case_of(*stages: Stage, hours: tuple[float, ...] = (3.0,), **given: Any) -> Case:
    """Stages washed every two days at hours of their own, a steady product demand."""
    own = (policy("own", *(calendar(hour) for hour in hours), stages=stages),)
    return make_case(**{"stages": stages, "policies": own, "demand": steady(DEMAND), "days": 10.0} | given)


def off_line(result: RunResult) -> list[tuple[float, float, str]]:
    """Every wash: its start, its return, whose."""
    spans, begun = [], {}
    for entry in result.log:
        if entry.what == "wash starts":
            begun[entry.who] = entry.time_s
        elif entry.what == "back in service" and entry.who in begun:
            spans.append((begun.pop(entry.who), entry.time_s, entry.who))
    return sorted(spans)


# The unit and its tank


def test_the_unit_runs_between_its_levels() -> None:
    """4.5 m3/h of product against 3: the tank gains 1.5 m3/h to 15 m3 and then loses 3 m3/h down to 5."""
    quiet = replace(case_of(FILTER, downstream=below()), policies=(policy("own", calendar(3.0, 365.0)),))
    site = simulate(quiet, "own").site
    first, cycle = 5.0 / 1.5, 10.0 / 3.0 + 10.0 / 1.5  # h to the first stop; a stop and a run
    whole = math.floor((240.0 - first) / cycle)
    running = first + whole * 10.0 / 1.5 + max(240.0 - first - whole * cycle - 10.0 / 3.0, 0.0)
    assert site["downstream_starts"] == 1 + whole + (240.0 - first - whole * cycle > 10.0 / 3.0)
    assert site["downstream_run_h"] == pytest.approx(running, rel=1e-9)
    assert site["treated_m3"] == pytest.approx(6.0 * running, rel=1e-9)
    assert site["product_m3"] == pytest.approx(4.5 * running, rel=1e-9)
    assert site["unmet_m3"] == 0.0
    assert site["downstream_solids_kg"] == pytest.approx(site["solids_to_service_kg"], rel=1e-12)  # added up apart


def test_an_empty_tank_leaves_demand_unmet() -> None:
    """4.5 m3/h of product against 7: 10 m3 last 4 h, then 2.5 m3/h are missing."""
    dry = case_of(FILTER, hours=(23.0,), demand=steady(7.0 * M3_H), downstream=below(), days=1.0)
    site = simulate(dry, "own").site
    assert site["unmet_m3"] == pytest.approx((24.0 - 4.0) * 2.5, rel=1e-9)
    assert site["downstream_starts"] == 1


# Held windows, closed and passing vessels

WASH = 16 * MINUTE
ALWAYS = replace(UNIT, tank=replace(TANK, volume=1e4, stop_above=9e3))  # runs all the time


def held(hold: HoldUnit, while_washing: str) -> RunResult:
    """Ten days of a filter whose washes hold the unit: 10 min of backwash, 6 of rinse."""
    stage = replace(FILTER, hold_unit=hold, while_washing=while_washing)
    return simulate(case_of(stage, downstream=below(ALWAYS)), "own")


@pytest.mark.parametrize("while_washing", ["closed", "passes raw"])
def test_a_window_over_the_whole_wash_exposes_nothing(while_washing: str) -> None:
    site = held(HoldUnit(), while_washing).site
    washes = site["washes"]
    assert washes == 4
    assert site["bypass_kg"] == (0.0 if while_washing == "passes raw" else None)
    assert (site["downstream_starves"], site["downstream_starved_h"]) == (0, 0.0)
    assert site["downstream_stopped_h"] == pytest.approx(washes * WASH / HOUR)


def test_a_window_that_ends_with_the_backwash_lets_the_rinse_pass_raw() -> None:
    """Q C_raw t: 6 m3/h of 5 g/m3 for the 6 min of the rinse are 3 g a wash."""
    site = held(HoldUnit(end=0), "passes raw").site
    assert site["bypass_kg"] == pytest.approx(4 * 6.0 * 5.0 * 0.1 / 1e3, rel=1e-9)
    assert site["bypass_min"] == pytest.approx(4 * 6.0)
    assert site["downstream_starves"] == 0


def test_a_closed_vessel_starves_the_unit_instead() -> None:
    result = held(HoldUnit(end=0), "closed")
    assert result.site["bypass_kg"] is None
    assert result.site["downstream_starves"] == 4
    assert result.site["downstream_starved_h"] == pytest.approx(4 * 0.1)
    told = [(entry.what, entry.why) for entry in result.log if "starved" in entry.what]
    assert told == [("unit starved of water", "no water from the train")] * 4


def test_a_wash_that_is_broken_off_holds_the_unit_no_longer() -> None:
    """Held for 16 min, broken off after 4: the unit goes on with the filter."""
    stage = replace(FILTER, hold_unit=HoldUnit())
    rules = Washing(aborts=(Abort(stage="filter", at=0.0, after=4 * MINUTE),))
    result = simulate(case_of(stage, downstream=below(ALWAYS), washing=rules, days=3.0), "own")
    assert result.site["downstream_stopped_h"] == pytest.approx(4 / 60)
    assert [e.why for e in result.log if e.what == "unit released"] == ["broken off"]


def test_a_window_that_a_broken_wash_never_comes_to_holds_nothing() -> None:
    stage = replace(FILTER, hold_unit=HoldUnit(start=1))
    rules = Washing(aborts=(Abort(stage="filter", at=0.0, after=4 * MINUTE),))
    result = simulate(case_of(stage, downstream=below(ALWAYS), washing=rules, days=3.0), "own")
    assert result.site["downstream_stopped_h"] == 0.0


def test_raw_water_that_goes_round_a_stage_is_told_apart_from_what_it_filters() -> None:
    """Four washes of 16 min: feed of 5 mg/L goes round for 64 min, none of which the stage has filtered."""
    site = simulate(case_of(replace(FILTER, while_washing="passes raw")), "own").site
    assert (site["bypass_min"], site["over_limit_h"]) == (pytest.approx(64.0), 0.0)


@pytest.mark.parametrize(("flow", "named"), [(DEMAND, ("filter",)), (0.0, ())])
def test_water_goes_round_a_stage_while_it_flows_and_the_stage_is_washed(flow: float, named: tuple[str, ...]) -> None:
    case = case_of(replace(FILTER, while_washing="passes raw"), demand=steady(flow))
    times = (2 * DAY + 2.9 * HOUR, 2 * DAY + 3.1 * HOUR)
    before, during = (moment.train.round_stages for moment in moments(case, "own", times=times))
    assert (before, during) == ((), named)


def test_raw_water_past_the_first_stage_is_filtered_by_the_next() -> None:
    first, second = train("first", "second", like=replace(FILTER, while_washing="passes raw"))
    one = simulate(case_of(replace(FILTER, while_washing="passes raw"), downstream=below(ALWAYS)), "own")
    two = simulate(case_of(first, second, hours=(3.0, 4.0), downstream=below(ALWAYS)), "own")
    assert two.stages["first"]["bypass_kg"] > two.stages["second"]["bypass_kg"] > 0.0
    assert two.site["downstream_solids_kg"] < 0.5 * one.site["downstream_solids_kg"]


def test_the_feed_limit_counts_raw_water() -> None:
    """Raw water of 5 mg/L is over 1 mg/L for all 16 minutes of a wash that holds nothing."""
    stage = replace(FILTER, while_washing="passes raw", limit=None)
    unit = below(ALWAYS, feed_limit=1.0)
    site = simulate(case_of(stage, downstream=unit, days=3.0), "own").site
    assert site["downstream_over_min"] == pytest.approx(16.0, abs=1.0)  # and a little of the return


# Stagger


def test_an_hour_apart_three_stages_never_overlap_in_a_year() -> None:
    stages = train("one", "two", "three")
    result = simulate(case_of(*stages, hours=(1.0, 2.0, 3.0), days=365.0), "own")
    spans = off_line(result)
    assert len(spans) == 3 * 182
    assert all(end <= start for (_, end, _), (start, _, _) in pairwise(spans))
    assert result.site["waits"] == 0


def test_at_the_same_hour_they_queue_and_the_log_says_so() -> None:
    stages = train("one", "two", "three")
    result = simulate(case_of(*stages, hours=(3.0,), days=365.0), "own")
    spans = off_line(result)
    assert len(spans) == 3 * 182
    assert all(end <= start for (_, end, _), (start, _, _) in pairwise(spans))
    assert result.site["waits"] == 2 * 182
    assert result.site["waited_h"] == pytest.approx(182 * 3 * WASH / HOUR)
    assert [e.who for e in result.log if e.what == "waits for its turn"][:2] == ["two", "three"]


def test_share_washes_each_at_less_flow() -> None:
    """One supply of 20 m3/h for two washes that ask for 17 each: what one does not take the other gets."""
    supply = Supply(flows=(0.0, 20 * M3_H), pressures=(4e5, 4e5), pipe=None, shared_with_service=False, others=0.0)
    rules = Washing(together="share", lines=Lines(supply=2, raw=2, drain=2))
    stages = train("one", "two", like=replace(FILTER, steps=(BACKWASH,)))
    both = simulate(case_of(*stages, supply=supply, washing=rules), "own")
    alone = simulate(case_of(*stages, hours=(3.0, 4.0), supply=supply, washing=rules), "own")
    assert [s["backwash_m3"] for s in alone.stages.values()] == pytest.approx([4 * 17.0 / 6.0] * 2)
    assert both.site["backwash_m3"] == pytest.approx(4 * 20.0 / 6.0, rel=1e-6)
    assert [s["backwash_m3"] for s in both.stages.values()] == pytest.approx([4 * 10.0 / 6.0] * 2, rel=1e-6)
    assert both.site["drain_peak_m3_h"] == pytest.approx(20.0, rel=1e-6)
    assert both.site["waits"] == 0


def test_share_waits_for_a_line_that_takes_one() -> None:
    """Both go off line at three; the second waits for the supply, then for the drain, step by step."""
    rules = Washing(together="share", lines=Lines(supply=1, raw=1, drain=1))
    stages = train("one", "two", like=replace(FILTER, steps=(BACKWASH,)))
    result = simulate(case_of(*stages, washing=rules, days=3.0), "own")
    told = [(e.time_s - 2 * DAY - THREE, e.who, e.what) for e in result.log if "supply" in e.what]
    assert told == [(0.0, "two", "waits for the supply line")]
    assert result.stages["two"]["waited_h"] == pytest.approx(10 / 60)
    assert off_line(result)[1][0] == 2 * DAY + THREE + 10 * MINUTE  # it stays in service until the supply is free
    assert result.stages["two"]["downtime_h"] == pytest.approx(10 / 60)


# Through the stages before


def test_a_wash_through_the_stages_before_draws_filtered_water() -> None:
    """17 m3/h for 10 min pass the first stage on their way: they count there as served, and load it."""
    first, second = train("first", "second", like=replace(FILTER, steps=(replace(BACKWASH, water="raw"),)))
    pulled = replace(second, wash_path="through earlier stages")
    header = simulate(case_of(first, second, hours=(3.0, 4.0)), "own")
    through = simulate(case_of(first, pulled, hours=(3.0, 4.0)), "own")
    more = through.stages["first"]["treated_m3"] - header.stages["first"]["treated_m3"]
    assert more == pytest.approx(4 * 17.0 / 6.0, rel=1e-9)
    assert through.stages["second"]["solids_in_kg"] < header.stages["second"]["solids_in_kg"]


def test_cut_anywhere_a_train_runs_alike() -> None:
    stages = train("one", "two", like=replace(FILTER, while_washing="passes raw"))
    case = case_of(*stages, hours=(3.0, 3.0), downstream=below(), days=6.0)
    whole, cut = Plant(case, "own"), Plant(case, "own")
    for i in range(1, 97):
        cut.run_until(i * 5391.7)
    for plant in (whole, cut):
        plant.run_until(6 * DAY)
    assert replace(cut.result(), counts={}) == replace(whole.result(), counts={})
