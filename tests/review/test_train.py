"""Exact: figures of the review for a whole train, by hand."""

from collections.abc import Sequence
from dataclasses import replace

import pytest

from sim.case.series.records import Measured, Profile, Season, Seasonal, UnsettledSeason, Wander
from sim.case.train.records import Cartridge, HoldUnit, Switch, Washing
from sim.case.trigger.records import AnyOf, Calendar, Pressure, Volume, hours
from sim.case.wash.records import Pipe
from sim.review.bearable import supply_gives
from sim.review.findings import Finding, FindingName
from sim.review.meeting import meetings
from sim.review.review import review
from sim.review.site import site_of, temperature_range
from sim.review.without_run import most_a_day, run_volume
from sim.tell.review.finding_words import what_words
from tests.plant.builders import DAY, HOUR, M3_H, MINUTE, RINSE, steady
from tests.review.designs import SET, nights
from tests.review.made import (
    BY_VOLUME,
    COAL,
    DRAIN,
    FINE_SAND,
    FLOW,
    PUMP,
    TWO_VESSELS,
    WASH,
    WHOLE,
    all_of,
    fed,
    found,
    good,
    stage,
)
from tests.review.train_designs import AT_ONCE, LEARNED, NIGHTLY, SPIKE

SLOW = Switch(sample=40.0, error=0.0, reset_difference=0.0)
AREA = 3.141592653589793 * 0.762**2 / 4.0


def value(finding: Finding) -> float:
    assert finding.value is not None
    return finding.value


def test_two_vessels_share_the_flow() -> None:
    case = good(stages=(stage(vessels=TWO_VESSELS),), demand=steady(10 * M3_H))
    both = all_of(case, "filtration_rate", "rate_without_a_vessel", "rate_while_another_washes")
    assert [value(each) for each in both] == pytest.approx([5 * M3_H / AREA, 10 * M3_H / AREA])
    standing_by = replace(stage(), vessels=replace(TWO_VESSELS, arrangement="duty standby"))
    alone = good(stages=(standing_by,), demand=steady(10 * M3_H))
    assert value(found(alone, "filtration_rate")) == pytest.approx(10 * M3_H / AREA)


def test_a_rinse_behind_a_stage_comes_through_it() -> None:
    """Rinsed at 9 m3/h: a closed stage asks for that alone, beside a sister for 5.5 m3/h of service as well."""
    name: FindingName = "rate_while_another_washes"
    pair = good(stages=(stage(), stage(name="behind")))
    assert value(found(pair, name, "behind")) == pytest.approx(9 * M3_H / AREA)
    sisters = good(stages=(stage(), stage(name="behind", vessels=TWO_VESSELS)))
    assert value(found(sisters, name, "behind")) == pytest.approx(14.5 * M3_H / AREA)
    slow = stage(name="behind", steps=(WASH, replace(RINSE, flow=5 * M3_H)))
    assert not all_of(good(stages=(stage(), slow)), name)


def test_a_unit_draws_its_feed_and_the_mean_follows_its_product() -> None:
    """3 m3/h of product at a recovery of 0.75 are 4 m3/h through the train, in the mean; 5.5 while the unit runs."""
    site = site_of(fed())
    assert (site.peak, site.usual) == (FLOW, FLOW)
    assert site.mean == pytest.approx(4 * M3_H)
    assert site.largest_day == pytest.approx(96.0)
    always = site_of(fed(demand=100.0))
    assert (always.mean, always.largest_day) == (FLOW, pytest.approx(132.0)), "no more than it ever draws"


def test_volumes_of_a_vessel_between_washes() -> None:
    """Two days of 5.5 m3/h are 264 m3, half of that through each of two vessels; what comes first counts."""
    one, two = site_of(good()), site_of(good(stages=(stage(vessels=TWO_VESSELS),)))
    calendar = Calendar(every=2 * DAY, at=0.0)
    assert run_volume(one, stage(), calendar) == pytest.approx(264.0)
    assert run_volume(two, two.case.stages[0], calendar) == pytest.approx(132.0)
    either = AnyOf(triggers=(Volume(volume=200.0, at=None), calendar))
    assert run_volume(one, stage(), either) == 200.0
    assert run_volume(one, stage(), replace(either, longest_run=DAY)) == pytest.approx(132.0)
    assert run_volume(one, stage(), replace(either, triggers=(BY_VOLUME, SET))) is None, "pressure asks for a run"
    assert run_volume(one, stage(), LEARNED) == 110.0
    assert hours(AnyOf(triggers=(SET, NIGHTLY, LEARNED))) == (2 * HOUR, 0.0)


def test_washes_that_a_volume_can_bring_on_a_day() -> None:
    """132 m3 a day through two vessels are 66 m3 each: three washes of one at 25 m3, and one at 66."""
    for volume, washes in ((25.0, 6), (66.0, 2), (65.9, 4)):
        site = site_of(good(stages=(stage(vessels=TWO_VESSELS),)))
        assert most_a_day(site, site.case.stages[0], Volume(volume=volume, at=None)) == washes


def test_a_sister_takes_over_what_is_asked_while_the_unit_is_not_held() -> None:
    name: FindingName = "rate_without_a_vessel"
    held, open_ = fed(stage_=stage(vessels=TWO_VESSELS, hold_unit=WHOLE)), fed(stage_=stage(vessels=TWO_VESSELS))
    assert not all_of(held, name)
    assert value(found(open_, name)) == pytest.approx(FLOW / AREA)


def test_minutes_of_a_wash_that_are_not_held() -> None:
    """A wash takes 16 min; held over its rinse alone, and 2 min more, it leaves the 10 of its backwash."""
    part = stage(hold_unit=HoldUnit(start=1, plus=2 * MINUTE), while_washing="passes raw")
    assert value(found(fed(stage_=part), "raw_water_sent_on")) == pytest.approx(10 * MINUTE)
    closed = stage(hold_unit=HoldUnit(start=1, plus=2 * MINUTE))
    assert value(found(fed(stage_=closed), "unit_without_water")) == pytest.approx(10 * MINUTE)


def test_what_a_wash_is_held_against_of_the_tank() -> None:
    """5 m3 at 4.125 - 3 m3/h take 4.44 h; the 4 m3 of the start level last 1.33 h at 3 m3/h."""
    run, empty = found(fed(), "hold_against_run"), found(fed(), "tank_while_washing")
    assert run.band.high == pytest.approx(5.0 / 1.125 * HOUR)
    assert empty.band.high == pytest.approx(4.0 / 3.0 * HOUR)
    assert value(run) == value(empty) == pytest.approx(16 * MINUTE)


def day(*busy: int) -> Profile:
    """6 m3/h in these hours of a Monday, 1 in all others; half as much on other days."""
    flows = tuple((6.0 if hour in busy else 1.0) * M3_H for hour in range(24))
    return Profile(hourly=flows, weekday=(1.0, *(0.5,) * 6))


def test_the_busiest_weekday_decides_for_the_tank() -> None:
    """1.25 times the flows: eight hours of 7.5 m3/h against 4.125."""
    base, flow = fed(), day(*range(8, 16))
    busiest = replace(base, demand=replace(base.demand, flow=replace(flow, weekday=(1.25, *(0.5,) * 6))))
    assert value(found(busiest, "tank_on_a_long_day")) == pytest.approx(8 * (7.5 - 4.125))


@pytest.mark.parametrize("busy", [range(8, 16), [*range(20, 24), *range(4)]])
def test_what_the_longest_working_day_takes_from_the_tank(busy: Sequence[int]) -> None:
    """Eight hours of 6 m3/h against 4.125 of product take 15 m3, over midnight too; in a season of 1.1, 19.8."""
    base = fed()
    case = replace(base, demand=replace(base.demand, flow=day(*busy)))
    name: FindingName = "tank_on_a_long_day"
    look = found(case, name)
    assert (value(look), look.band.high, look.level) == (pytest.approx(8 * 1.875), 4.0, "look")
    busier = replace(case, demand=replace(case.demand, season=Season(swing=0.1, peak_day=1)))
    assert value(found(busier, name)) == pytest.approx(8 * (6.6 - 4.125))
    assert (value(found(base, name)), found(base, name).level) == (0.0, "fine")
    steady_lack = fed(demand=5.0)
    assert value(found(steady_lack, name)) == pytest.approx(24 * 0.875)
    two_days = Measured(end=(8 * HOUR, 10 * HOUR, 48 * HOUR), value=(6.0 * M3_H, 1.0 * M3_H, 4.5 * M3_H))
    measured = replace(base, demand=replace(base.demand, flow=two_days))
    assert value(found(measured, name)) == pytest.approx(8 * 1.875 - 2 * 3.125 + 38 * 0.375)


def test_days_of_a_cartridge() -> None:
    """Solids behind clean coal and sand: 3 exp(-(4 x 0.45 + 10 x 0.25)) g/m3, with 96 m3 of it a day."""
    solids = 3.0 * 2.718281828459045 ** -(4.0 * COAL.depth + 10.0 * FINE_SAND.depth)
    lasts = found(fed(cartridge=Cartridge(capacity=400.0, share=0.9)), "cartridge_lasts")
    assert value(lasts) == pytest.approx(400.0 / (0.9 * solids * 96.0) * DAY, rel=1e-6)


def test_what_the_pump_leaves() -> None:
    """At 5.5 of 10 m3/h along 3 to 2 bar: 2.45 bar, less 1 bar of delivery and 0.1 bar of pipes."""
    pump = replace(PUMP, pressures=(3e5, 2e5), delivery=1e5, other_loss=1e4 / FLOW**2)
    assert value(found(good(pump=pump), "pump_leaves")) == pytest.approx(1.35e5)
    assert supply_gives(site_of(good(pump=pump))) == (2e5, "pump"), "most at hardly any flow: 3 bar less 1 bar"


def test_a_wash_below_lifting_leaves_the_whole_bed_where_it_lies() -> None:
    name: FindingName = "never_lifted"
    weak = stage(steps=(replace(WASH, flow=2 * M3_H), RINSE))
    assert value(found(good(stages=(weak,)), name)) == pytest.approx(1.0)
    assert value(found(good(), name)) == 0.0
    fine, coarse = replace(FINE_SAND, depth=0.15), replace(FINE_SAND, depth=0.45, size=3e-3, sublayer_sizes=(3e-3,))
    assert value(found(good(stages=(stage(layers=(fine, coarse)),)), name)) == pytest.approx(0.75)


def test_an_air_gap_is_twice_the_bore_of_its_pipe_and_an_inch_at_least() -> None:
    for bore, least in ((0.1, 0.2), (0.01, 0.025)):
        pipe = Pipe(diameter=bore, length=2.0, rise=0.0, fittings=1.0, roughness=5e-5)
        case = good(drain=replace(DRAIN, pipe=pipe, air_gap_height=0.3))
        assert found(case, "air_gap_height").band.low == pytest.approx(least)


def test_a_switch_sees_the_mean_of_a_spike() -> None:
    """20 kPa for 4 s in a sample of 40 s are 2 kPa; the hold has to outlast spike and sample."""
    trigger = Pressure(above=20e3, hold=0.0)
    bare, seen = (
        value(
            found(good(stages=(stage(start_spike=SPIKE, switch=each),), trigger=trigger), "spike", "unit start")
        )
        for each in (None, Switch(sample=40.0, error=0.0, reset_difference=0.0))
    )
    assert bare - seen == pytest.approx(18e3)
    slow = stage(start_spike=SPIKE, switch=Switch(sample=40.0, error=0.0, reset_difference=0.0))
    for hold, told in ((44.0, 1), (44.1, 0)):
        spikes = all_of(good(stages=(slow,), trigger=replace(trigger, hold=hold)), "spike")
        assert sum(each.facts["spike"] == "unit start" for each in spikes) == told


def test_two_washes_at_once_bring_twice_the_flow() -> None:
    case = replace(nights(2, 2.1), washing=AT_ONCE)
    assert value(found(case, "flow_at_once")) == pytest.approx(35.0 * M3_H)
    apart = replace(nights(2, 3), washing=AT_ONCE)
    assert found(apart, "flow_at_once").level == "look", "waits and triggers of another day can bring both"
    waiting = replace(nights(2, 2.1), washing=Washing(together="wait"))
    assert not all_of(waiting, "flow_at_once", "backwashes_at_once")


def test_water_that_strays_is_colder_and_warmer_than_its_season() -> None:
    season = Seasonal(mean=12.0, swing=6.0, peak_day=200)
    told = UnsettledSeason(usual=season, wander=Wander(spread=1.5, memory=5 * DAY))
    assert temperature_range(told) == (3.0, 21.0)
    icy = UnsettledSeason(usual=replace(season, mean=7.0), wander=Wander(spread=1.5, memory=5 * DAY))
    assert temperature_range(icy) == (0.0, 16.0)


def test_nothing_more_is_told_of_a_plain_case() -> None:
    words = " ".join(what_words(each) for each in review(good(demand=steady(FLOW))))
    assert not [each for each in ("the unit", "pump", "vessels", "cartridge", "tank") if each in words]
    assert site_of(good()).unit is None


def test_washes_that_overlap_say_for_how_long_and_how_far_apart_they_would_not() -> None:
    """By hand: 6 min apart, each as long as all its steps; 0:03 follows 23:57."""
    lasts = WASH.seconds + RINSE.seconds
    for hours_of in ((2.0, 2.1), (2.1, 2.0), (23.95, 0.05)):
        case = nights(*hours_of)
        ((one, other, shared, apart),) = meetings(case, case.policies[0])
        assert (one.name, other.name) == ("filter", "second")
        assert shared == pytest.approx(lasts - 6 * MINUTE)
        assert apart == pytest.approx(lasts)
    far = nights(2.0, 3.0)
    assert list(meetings(far, far.policies[0])) == []
