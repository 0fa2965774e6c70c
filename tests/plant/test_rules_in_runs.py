"""The rules of the site in runs: hours, intervals, counts, washes by hand, broken off, repeated; several triggers."""

from typing import Any

import pytest

from sim.case.records import Case
from sim.case.train.records import Abort, ByHand, HoursOfDay, RepeatWash, Washing
from sim.case.trigger.records import AnyOf, Pressure, VolumeLearned
from sim.plant.records import RunResult
from sim.plant.simulate import simulate
from tests.plant.builders import (
    BACKWASH,
    DAY,
    EXACT_FLOW,
    FILTER,
    HOUR,
    MINUTE,
    RINSE,
    Calendar,
    Profile,
    Volume,
    make_case,
    policy,
    replace,
    steady,
    train,
)
from tests.plant.fakes import wash_starts

WASH = 16 * MINUTE
NEVER = Calendar(every=365 * DAY, at=0.0)


def case_of(trigger: Any, washing: Washing, **given: Any) -> Case:
    stages = given.get("stages", (FILTER,))
    own = (policy("own", trigger, stages=stages),)
    return make_case(**{"policies": own, "demand": steady(EXACT_FLOW), "days": 12.0, "washing": washing} | given)


def run(trigger: Any, washing: Washing, **given: Any) -> RunResult:
    return simulate(case_of(trigger, washing, **given), "own")


def hours(start: float, end: float) -> HoursOfDay:
    return HoursOfDay(start=start * HOUR, end=end * HOUR)


def volume_of(seconds: float) -> Volume:
    return Volume(volume=EXACT_FLOW * seconds, at=None)


def starts_of_all(result: RunResult) -> list[float]:
    return [entry.time_s for entry in result.log if entry.what == "wash starts"]


def test_a_wash_that_is_due_by_day_waits_for_the_night() -> None:
    """Its volume is treated at noon of every other day; washes are allowed from 22 h to 6 h."""
    result = run(volume_of(1.5 * DAY), Washing(allowed_hours=(hours(22, 6),)))
    assert wash_starts(result)[0] == (DAY + 22 * HOUR, "volume")
    assert all(time % DAY >= 22 * HOUR or time % DAY < 6 * HOUR for time, _ in wash_starts(result))
    put_off = [(e.time_s, e.why) for e in result.log if e.what == "wash put off"]
    assert put_off[0] == (1.5 * DAY, "outside the hours that the site allows")


def puts_off(result: RunResult) -> list[tuple[float, str, str]]:
    return [(e.time_s, e.who, e.why) for e in result.log if e.what == "wash put off"]


def test_each_rule_that_puts_a_wash_off_is_named_once() -> None:
    """Three stages due at 3 h on day 4: two hours apart, or one a day; and where both put off, the longer one."""
    stages = train("one", "two", "three")
    trigger = Calendar(every=4 * DAY, at=3 * HOUR)
    apart = puts_off(run(trigger, Washing(least_interval=2 * HOUR), stages=stages))
    due = 4 * DAY + 3 * HOUR
    assert sorted(each for each in apart if each[0] < 5 * DAY) == [
        (due, name, "too soon after the wash before it") for name in ("three", "two")
    ]
    for washing in (Washing(most_a_day=1), Washing(most_a_day=1, least_interval=2 * HOUR)):
        once = puts_off(run(trigger, washing, stages=stages))
        assert sorted(each[1:] for each in once if each[0] < 7 * DAY) == [
            (name, "as many washes that day as the site allows") for name in ("three", "two")
        ]
    # Due at noon, one wash a day, from 22 h on: the hours hold it first, and alone.
    night = puts_off(run(volume_of(1.5 * DAY), Washing(allowed_hours=(hours(22, 6),), most_a_day=1)))
    assert night[0] == (1.5 * DAY, "filter", "outside the hours that the site allows")


def test_hours_of_peak_demand_are_locked_out() -> None:
    result = run(volume_of(1.5 * DAY), Washing(locked_hours=(hours(11, 14),)))
    assert wash_starts(result)[0][0] == DAY + 14 * HOUR


def test_two_washes_keep_their_distance() -> None:
    """Three stages at the same hour, two hours from start to start."""
    stages = train("one", "two", "three")
    trigger = Calendar(every=4 * DAY, at=3 * HOUR)
    result = run(trigger, Washing(least_interval=2 * HOUR), stages=stages)
    assert starts_of_all(result)[:3] == [4 * DAY + h * HOUR for h in (3, 5, 7)]


def test_so_many_a_day_and_no_more() -> None:
    stages = train("one", "two", "three")
    trigger = Calendar(every=4 * DAY, at=3 * HOUR)
    result = run(trigger, Washing(together="wait", most_a_day=2), stages=stages)
    starts = starts_of_all(result)
    assert starts[:2] == [4 * DAY + 3 * HOUR, 4 * DAY + 3 * HOUR + WASH]
    assert starts[2] == 5 * DAY


def test_a_wash_by_hand_comes_at_its_time_and_asks_no_rules() -> None:
    by_hand = (ByHand(stage="filter", at=2.5 * DAY),)
    result = run(NEVER, Washing(by_hand=by_hand, allowed_hours=(hours(22, 6),)))
    assert wash_starts(result) == [(2.5 * DAY, "by hand")]


def test_a_wash_by_hand_during_a_wash_follows_it() -> None:
    every = Calendar(every=2 * DAY, at=3 * HOUR)
    by_hand = (ByHand(stage="filter", at=2 * DAY + 3 * HOUR + 60.0),)
    starts = wash_starts(run(every, Washing(by_hand=by_hand)))
    assert starts[:2] == [(2 * DAY + 3 * HOUR, "calendar"), (2 * DAY + 3 * HOUR + WASH, "by hand")]


ABORT = (Abort(stage="filter", at=0.0, after=4 * MINUTE),)
EVERY_TWO = Calendar(every=2 * DAY, at=3 * HOUR)


def test_a_wash_that_is_broken_off_returns_with_what_it_has_done() -> None:
    """4 of 10 min of backwash; no rinse; it does not count as a wash."""
    result = run(EVERY_TWO, Washing(aborts=ABORT))
    whole = run(EVERY_TWO, Washing())
    assert result.site["washes"] == whole.site["washes"] - 1
    assert result.site["backwash_m3"] == pytest.approx(whole.site["backwash_m3"] - 17.0 * 0.1)
    assert result.site["rinse_m3"] == pytest.approx(whole.site["rinse_m3"] - 0.9)
    assert result.runs[1].start_s == 2 * DAY + 3 * HOUR + 4 * MINUTE
    assert result.runs[1].residual_g_m2 > 10.0 * result.runs[2].residual_g_m2
    assert ("backwash broken off", "broken off") in [(e.what, e.why) for e in result.log]


def test_a_wash_that_is_broken_off_may_start_again() -> None:
    result = run(EVERY_TWO, Washing(aborts=ABORT, after_abort="wash again"))
    assert result.runs[1].start_s == 2 * DAY + 3 * HOUR + 4 * MINUTE + WASH
    assert result.site["washes"] == run(EVERY_TWO, Washing()).site["washes"]


def test_a_wash_that_does_not_clean_is_repeated_up_to_its_most() -> None:
    """A wash at 0.1 1/min for 10 min leaves e^-1 of the deposit: the pressure does not come back."""
    weak = replace(FILTER, steps=(replace(BACKWASH, cleaning_rate=0.1 / MINUTE), RINSE))
    once, thrice = (
        run(EVERY_TWO, Washing(repeat_wash=rule), stages=(weak,))
        for rule in (None, RepeatWash(clean_within=50.0, most=2))
    )
    assert once.site["washes"] == 5
    assert thrice.site["washes"] == 15
    assert thrice.runs[1].start_s == 2 * DAY + 3 * HOUR + 3 * WASH
    assert [e.why for e in thrice.log if e.what == "washes again"][:2] == ["not clean enough"] * 2


def test_a_wash_that_cleans_is_not_repeated() -> None:
    result = run(EVERY_TWO, Washing(repeat_wash=RepeatWash(clean_within=500.0, most=2)))
    assert not [e for e in result.log if e.what == "washes again"]


# Several triggers


def test_whichever_comes_first() -> None:
    """A calendar of four days, a volume of two and a half, a pressure out of reach."""
    triggers = (Calendar(every=4 * DAY, at=3 * HOUR), volume_of(2.5 * DAY))
    both = AnyOf(triggers=(*triggers, Pressure(above=1e9, hold=0.0)))
    starts = wash_starts(run(both, Washing()))
    assert starts[0] == (2.5 * DAY, "volume")
    later = AnyOf(triggers=(triggers[0], volume_of(10 * DAY)))
    assert wash_starts(run(later, Washing()))[0] == (4 * DAY + 3 * HOUR, "calendar")
    longest = AnyOf(triggers=(triggers[0], volume_of(10 * DAY)), longest_run=DAY)
    assert wash_starts(run(longest, Washing()))[0] == (3 * HOUR, "longest run")


LEARNED = VolumeLearned(
    volume=10 * EXACT_FLOW * DAY, reserve=3 * EXACT_FLOW * DAY, quantile=0.9, days=3, by="trailing", at=3 * HOUR,
)  # fmt: skip


def test_a_learned_reserve_keeps_what_the_days_before_used() -> None:
    """A steady day uses one tenth of the volume: once known, the wash comes when one day is left, at three."""
    starts = wash_starts(run(LEARNED, Washing(), days=25.0))
    assert starts[0] == (9 * DAY + 3 * HOUR, "reserve reached, at its hour")


def test_until_it_knows_the_given_reserve_counts() -> None:
    slow = replace(LEARNED, days=30)
    assert wash_starts(run(slow, Washing(), days=25.0))[0] == (7 * DAY + 3 * HOUR, "reserve reached, at its hour")


def test_a_week_teaches_its_own_weekday() -> None:
    """Mondays use twice as much: by weekday the reserve before a Monday is a Monday's, else any day's."""
    double = Profile(hourly=(EXACT_FLOW,) * 24, weekday=(2.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0))
    demand = replace(steady(EXACT_FLOW), flow=double)
    trigger = replace(LEARNED, volume=6 * EXACT_FLOW * DAY, reserve=EXACT_FLOW * DAY, quantile=0.5, days=14, at=0.0)
    by_weekday = run(replace(trigger, by="weekday"), Washing(), days=60.0, demand=demand)
    trailing = run(trigger, Washing(), days=60.0, demand=demand)
    spent = [[cause for time, cause in wash_starts(each) if time > 14 * DAY] for each in (by_weekday, trailing)]
    assert "reserve spent" not in spent[0]
    assert "reserve spent" in spent[1]
