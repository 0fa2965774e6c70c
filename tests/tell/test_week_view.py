"""A week as it is drawn: its steps are those of the log, its spans those of the ledger, its marks the switch's."""

from dataclasses import replace
from datetime import timedelta

import pytest

from sim.case.records import Case
from sim.case.train.records import Abort, HoldUnit, Lines, StartSpike, Tank, Unit, Washing
from sim.plant.records import RunResult
from sim.plant.simulate import simulate
from sim.plant.trace import moments, trace
from sim.study.errors import RequestError
from sim.study.weeks import weeks
from sim.tell.run.week_view import _never_less, require_week, wash_steps, week_picture
from tests.plant.builders import (
    BACKWASH,
    DAY,
    FILTER,
    HOUR,
    M3_H,
    MINUTE,
    PRESSURE,
    RINSE,
    make_case,
    policy,
    steady,
    train,
)
from tests.plant.test_train import ALWAYS, below, case_of

GALLONS_A_M3 = 1.0 / 0.003785411784  # 231 cubic inches of 25.4 mm: NIST SP 811, appendix B


def exposed(while_washing: str = "passes raw") -> Case:
    """A filter washed every other night; the unit is held for the backwash only."""
    hold = HoldUnit(end=0)
    stage = replace(FILTER, hold_unit=hold, while_washing=while_washing)
    return case_of(stage, downstream=below(ALWAYS), days=7.0)


def picture(case: Case, result: RunResult, system: str = "si"):  # type: ignore[no-untyped-def]
    return week_picture(case, result, weeks(case, "own")[0], system)  # type: ignore[arg-type]


def minutes(spans) -> float:  # type: ignore[no-untyped-def]
    return sum((span.end - span.start) / timedelta(minutes=1) for span in spans)


@pytest.mark.parametrize("while_washing", ["passes raw", "closed"])
def test_held_raw_and_starved_spans_are_those_of_the_ledger(while_washing: str) -> None:
    """To the seconds between looks: 10 min held and 6 min of rinse in each of three washes."""
    case = exposed(while_washing)
    result = simulate(case, "own")
    drawn, site = picture(case, result), result.site
    assert site["washes"] == 3
    assert minutes(drawn.held) == pytest.approx((site["downstream_stopped_h"] or 0.0) * 60.0, abs=0.2)
    assert minutes(drawn.raw) == pytest.approx(site["bypass_min"] or 0.0, abs=0.2)
    assert minutes(drawn.starved) == pytest.approx((site["downstream_starved_h"] or 0.0) * 60.0, abs=0.2)
    assert (len(drawn.raw), len(drawn.starved)) == ((3, 0) if while_washing == "passes raw" else (0, 3))


def test_units_are_the_same_amounts() -> None:
    case = exposed()
    result = simulate(case, "own")
    si, us = picture(case, result), picture(case, result, "us")
    assert (us.flow.unit, us.level.unit, us.signals[0].pressure.unit) == ("gpm", "gal", "psi")
    assert us.table["flow"].max() == pytest.approx(6.0 * GALLONS_A_M3 / 60.0, rel=1e-6)
    assert us.table["level"].max() == pytest.approx(si.table["level"].max() * GALLONS_A_M3, rel=1e-6)
    assert us.marks == pytest.approx([mark * GALLONS_A_M3 for mark in si.marks])


def test_steps_are_those_of_the_stage_and_a_wait_for_a_line_stands_between() -> None:
    """Both go off line at three; the second waits six minutes for the one raw line, while the first rinses."""
    rules = Washing(together="share", lines=Lines(supply=2, raw=1, drain=2))
    stages = train("one", "two", like=replace(FILTER, steps=(BACKWASH, RINSE)))
    case = case_of(*stages, washing=rules, days=3.0)
    at = 2 * DAY + 3 * HOUR
    told = [
        (each.who, each.step, (each.start_s - at) / MINUTE, (each.end_s - at) / MINUTE)
        for each in wash_steps(case, simulate(case, "own"))
    ]
    assert sorted(told) == [
        ("one", "backwash", 0, 10), ("one", "rinse", 10, 16),
        ("two", "backwash", 0, 10), ("two", "rinse", 16, 22), ("two", "wait", 10, 16),
    ]  # fmt: skip


def test_a_wash_that_is_broken_off_is_as_long_as_it_was() -> None:
    rules = Washing(aborts=(Abort(stage="filter", at=0.0, after=3 * MINUTE),), after_abort="wash again")
    case = case_of(FILTER, washing=rules, days=3.0)
    lengths = [(each.step, (each.end_s - each.start_s) / MINUTE) for each in wash_steps(case, simulate(case, "own"))]
    assert lengths == [("backwash", pytest.approx(3.0)), ("backwash", pytest.approx(10.0)),
                       ("rinse", pytest.approx(6.0))]  # fmt: skip


def spiky(hold: float) -> Case:
    """A unit that runs 12 minutes at a time and knocks on the gauge at each start."""
    tank = Tank(volume=3.0, start_below=1.0, stop_above=1.6, level=1.0)
    unit = Unit(feed_flow=8.0 * M3_H, recovery=0.75, tank=tank)
    stage = replace(FILTER, start_spike=StartSpike(height=6e3, length=15.0))
    own = (policy("own", replace(PRESSURE, above=18e3, hold=hold, longest_run=6.5 * DAY), stages=(stage,)),)
    return make_case(
        stages=(stage,), policies=own, demand=steady(3.0 * M3_H), days=7.0, downstream=below(unit)
    )  # fmt: skip


def test_early_triggers_are_marked_at_the_wash_that_they_started() -> None:
    case = spiky(0.0)
    result = simulate(case, "own")
    (signal,) = picture(case, result).signals
    assert len(signal.early) == result.site["early_triggers"] > 0
    starts = {case.run.start + timedelta(seconds=round(run.end_s)) for run in result.runs if run.cause is not None}
    assert set(signal.early) <= starts
    assert signal.set_point == 18.0


def test_missed_triggers_are_marked_where_a_hold_was_too_long() -> None:
    case = spiky(30 * MINUTE)
    result = simulate(case, "own")
    (signal,) = picture(case, result).signals
    assert result.site["early_triggers"] == 0
    assert result.site["missed_triggers"] > 10
    assert signal.early == ()
    assert len(signal.missed) > 10
    assert len(signal.missed) <= result.site["missed_triggers"]


def test_a_hold_still_running_is_no_missed_trigger() -> None:
    assert _never_less([0, 0, 1, 0, 1, 2, 2]) == [0, 0, 0, 0, 1, 2, 2]


def test_looking_at_the_train_changes_nothing_and_says_what_trace_says() -> None:
    case = exposed()
    before = simulate(case, "own")
    times = [place * 5391.7 for place in range(90)]
    looked = tuple(moments(case, "own", times=times))
    assert repr(tuple(each for look in looked for each in look.vessels)) == repr(trace(case, "own", times=times))
    assert simulate(case, "own") == before
    assert {round(each.train.service_m3_h, 9) for each in looked} <= {0.0, 6.0}
    assert all(0.0 <= each.train.level_m3 <= 1e4 for each in looked)


def test_a_week_that_the_run_does_not_have_is_refused() -> None:
    case = exposed()
    require_week(case, 1)
    with pytest.raises(RequestError, match=r"allowed: 1 to 1, .*; try: 1$"):
        require_week(case, 2)
