"""Which filter runs broke through before their wash, by hand: not those that ripening or no bed at all explain."""

import math
from typing import Any

import pytest

from sim.case.stage.records import Ripening, Sloughing, Stage
from sim.case.train.records import ByHand, Vessels, Washing
from sim.case.trigger.records import Calendar, Trigger
from sim.plant.records import RunResult
from sim.plant.simulate import Plant, simulate
from tests.cross_checks import breakthrough_time
from tests.plant.builders import (
    BACKWASH,
    DAY,
    FILTER,
    HOUR,
    SAND,
    by_the_hour,
    feed,
    make_case,
    policy,
    replace,
    steady,
)

AREA, RATE = FILTER.vessel.area, FILTER.reference_rate
FEED, LIMIT = 50.0, 10.0
ULTIMATE = 12_000.0
SMALL = replace(SAND, ultimate_deposit=ULTIMATE)  # 10/m over 0.25 m: a clean bed passes e^-2.5, 8.2 %
HUGE = replace(SAND, ultimate_deposit=1e13, deposit_density=1e14)  # never loads
NO_RINSE = (replace(BACKWASH, water="filtered", water_solids=200.0),)
"""Without a rinse, washed with dirty water: the return is far over the limit."""


def bed(**given: Any) -> Stage:
    """One layer of sand that a dirty feed soon fills; a limit of a fifth of that feed."""
    return replace(FILTER, **{"layers": (SMALL,), "limit": LIMIT, **given})


def run(stage: Stage, every: float, days: float, **given: Any) -> RunResult:
    """Washed by the clock alone; a steady flow of 12 m/h."""
    trigger: Trigger = Calendar(every=every, at=0.0)
    given = {"demand": steady(RATE * AREA), "feed": feed(FEED), "days": days, **given}
    own = (policy("own", trigger, stages=(stage,)),)
    return simulate(make_case(**{"stages": (stage,), "policies": own, **given}), "own")


def until_limit() -> float:
    """When a fresh bed lets a fifth through [s]: Bohart and Adams (1920), K = lambda v / sigma_u, N0 = sigma_u."""
    rate = 10.0 * RATE / ULTIMATE
    return breakthrough_time(LIMIT / FEED, rate, ULTIMATE, concentration=FEED, v=RATE, depth=0.25)


def test_a_run_that_its_load_takes_over_the_limit_has_broken_through() -> None:
    """The bed lasts less than a day and is washed after one: every run, on its own and in the share."""
    assert until_limit() < 0.5 * DAY
    result = run(bed(), DAY, 3.5)
    assert [each.broke_through for each in result.runs] == [True, True, True, True]
    assert result.site["breakthrough_risk"] == 1.0


def test_a_run_that_is_washed_in_time_has_not() -> None:
    own = (policy("own", Calendar(every=1.0, at=0.9 * until_limit()), stages=(bed(),)),)
    result = run(bed(), 1.0, 1.5 * until_limit() / DAY, policies=own)
    assert [(each.broke_through, each.cause is None) for each in result.runs] == [(False, False), (False, True)]
    assert result.site["breakthrough_risk"] == 0.0


def test_what_a_wash_left_in_the_vessel_breaks_nothing_through() -> None:
    """A bed that never loads returns from each wash over the limit, and is not broken through."""
    result = run(bed(layers=(HUGE,), steps=NO_RINSE), DAY, 3.5)
    assert result.site["dirty_water_peak_mg_l"] > LIMIT
    assert [each.over_limit_h > 0.0 for each in result.runs] == [False, True, True, True]
    assert result.site["over_limit_unavoidable_h"] == 0.0
    assert result.site["breakthrough_risk"] == 0.0


def test_a_bed_that_is_yet_to_ripen_has_not_broken_through() -> None:
    """Half ripe it passes e^-1.25 of 50 mg/L, 14.3; ripe 4.1. It starts ripe: the first run is within the limit."""
    ripening = Ripening(share=0.5, volume=4.0)
    result = run(bed(layers=(HUGE,), ripening=ripening), DAY, 3.5)
    assert FEED * math.exp(-2.5) < LIMIT < FEED * math.exp(-1.25)
    assert [each.over_limit_h > 0.0 for each in result.runs] == [False, True, True, True]
    assert result.site["breakthrough_risk"] == 0.0
    loads = run(bed(ripening=ripening), DAY, 3.5)
    assert loads.site["breakthrough_risk"] == 1.0, "ripening hides no load"


def test_unavoidable_hours_break_nothing_through() -> None:
    """A clean bed passes 4.1 mg/L of the feed, over a limit of 4 all the time."""
    result = run(bed(limit=4.0), DAY, 3.5)
    hours = result.site["over_limit_h"]
    assert result.site["over_limit_unavoidable_h"] == hours == pytest.approx(84.0 - result.site["downtime_h"])
    assert result.site["breakthrough_risk"] == 0.0


def test_deposit_that_sloughs_at_a_higher_flow_is_a_breakthrough() -> None:
    """Six hours at 6 m/h, then 12: a bed that holds what the lower rate lets it hold sheds what is over that."""
    low, high = 0.5 * RATE * AREA, RATE * AREA
    steps = {"demand": by_the_hour(low, low, low, low, low, low, high, high), "feed": feed(0.5 * LIMIT)}
    full = bed(layers=(replace(SMALL, ultimate_deposit=60.0),), limit=0.8 * LIMIT, sloughing=Sloughing(exponent=2.0))
    shed = run(full, 30 * DAY, 0.5, **steps)
    kept = run(replace(full, sloughing=None), 30 * DAY, 0.5, **steps)
    assert (kept.site["over_limit_h"], kept.runs[0].broke_through) == (0.0, False)
    assert shed.site["over_limit_h"] > 0.0
    assert shed.runs[0].broke_through
    assert shed.site["breakthrough_risk"] == 1.0


def test_of_two_sisters_only_the_loaded_one_has_broken_through() -> None:
    """One is washed shortly before the other brings the mixture over the limit."""
    stage = bed(vessels=Vessels(count=2, arrangement="parallel", inhibit_while_sister_washes=True))
    trigger = Calendar(every=30 * DAY, at=0.0)
    case = make_case(stages=(stage,), policies=(policy("own", trigger, stages=(stage,)),), days=1.0,
                     demand=steady(2.0 * RATE * AREA), feed=feed(FEED))  # fmt: skip
    hand = Washing(by_hand=(ByHand(stage="filter", at=0.9 * until_limit()),))
    plant = Plant(replace(case, washing=hand), "own")
    plant.run_until(1.6 * until_limit())
    fresh, loaded = (next(r for r in plant.result().runs if r.cause is None and r.vessel == n) for n in (1, 2))
    assert (fresh.start_s > 0.0, loaded.start_s) == (True, 0.0)
    assert fresh.over_limit_h > 0.0, "the mixture is over the limit"
    assert (fresh.broke_through, loaded.broke_through) == (False, True)


def test_a_run_that_the_end_cuts_short_counts_once_it_has_broken_through() -> None:
    """Over the limit before its wash, whenever that would have come; of others nobody knows. Without any: 0."""
    cut = until_limit() / DAY
    assert run(bed(), 30 * DAY, 0.99 * cut).site["breakthrough_risk"] == 0.0
    late = run(bed(), 30 * DAY, 1.01 * cut)
    assert (late.site["washes"], late.site["breakthrough_risk"]) == (0, 1.0)
    one_and_a_half = run(bed(), DAY, 1.0 + 0.5 * cut)
    assert [each.broke_through for each in one_and_a_half.runs] == [True, False]
    assert one_and_a_half.site["breakthrough_risk"] == 1.0


def test_the_moment_it_breaks_through_is_that_of_the_first_second_over_the_limit() -> None:
    plant_case = make_case(stages=(bed(),), policies=(policy("own", Calendar(every=30 * DAY, at=0.0)),),
                           days=1.0, demand=steady(RATE * AREA), feed=feed(FEED))  # fmt: skip
    for factor, told in ((0.999, False), (1.001, True)):
        plant = Plant(plant_case, "own")
        plant.run_until(factor * until_limit())
        assert plant.result().runs[0].broke_through is told
        over = max(factor - 1.0, 0.0) * until_limit()
        assert HOUR * plant.result().runs[0].over_limit_h == pytest.approx(over, abs=1.0)
