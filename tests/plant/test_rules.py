"""Exact: when the site's rules let a wash start, and what a wash occupies, by hand.

Day 0 begins at midnight = -8 h: the runs here start at 08:00. 22:00 of day 0 is then 14 h into the run.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.case.train.records import Abort, HoursOfDay, RepeatWash, Washing
from sim.plant.allowed import (
    broken_off_at,
    day_of,
    lines_of,
    next_allowed,
    washes_again,
)

HOUR, DAY = 3600.0, 86_400.0
MIDNIGHT = -8.0 * HOUR
NIGHT = HoursOfDay(start=22 * HOUR, end=6 * HOUR)
MORNING = HoursOfDay(start=7 * HOUR, end=9 * HOUR)


def clock(day: int, hour: float) -> float:
    """Seconds from the start of the run to an hour of a day."""
    return MIDNIGHT + day * DAY + hour * HOUR


@pytest.mark.parametrize(
    ("wish", "start"),
    [
        (clock(0, 8), clock(0, 22)),
        (clock(0, 21.999), clock(0, 22)),
        (clock(0, 22), clock(0, 22)),  # the start of a span is in it
        (clock(0, 23.5), clock(0, 23.5)),
        (clock(1, 0), clock(1, 0)),  # over midnight
        (clock(1, 5.999), clock(1, 5.999)),
        (clock(1, 6), clock(1, 22)),  # its end is not
        (clock(400, 6), clock(400, 22)),
    ],
)
def test_allowed_hours_over_midnight(wish: float, start: float) -> None:
    assert next_allowed(Washing(allowed_hours=(NIGHT,)), wish, [], MIDNIGHT) == start


@pytest.mark.parametrize(
    ("wish", "start"),
    [
        (clock(1, 6.999), clock(1, 6.999)),
        (clock(1, 7), clock(1, 9)),  # the start of a locked span is locked
        (clock(1, 8), clock(1, 9)),
        (clock(1, 9), clock(1, 9)),  # its end is free again
    ],
)
def test_locked_hours(wish: float, start: float) -> None:
    assert next_allowed(Washing(locked_hours=(MORNING,)), wish, [], MIDNIGHT) == start


def test_a_locked_span_that_ends_at_midnight_frees_the_next_day() -> None:
    late = HoursOfDay(start=20 * HOUR, end=DAY)
    assert next_allowed(Washing(locked_hours=(late,)), clock(0, 21), [], MIDNIGHT) == clock(1, 0)


def test_locked_within_allowed_opens_where_both_do() -> None:
    """Allowed 22 to 6, locked 21 to 23: nothing before 23:00; locked 5 to 7: from 5:00 on not before 22:00."""
    early = Washing(allowed_hours=(NIGHT,), locked_hours=(HoursOfDay(start=21 * HOUR, end=23 * HOUR),))
    assert next_allowed(early, clock(0, 12), [], MIDNIGHT) == clock(0, 23)
    late = Washing(allowed_hours=(NIGHT,), locked_hours=(HoursOfDay(start=5 * HOUR, end=7 * HOUR),))
    assert next_allowed(late, clock(1, 5), [], MIDNIGHT) == clock(1, 22)


def test_of_two_spans_the_next_one_counts() -> None:
    noon = HoursOfDay(start=12 * HOUR, end=13 * HOUR)
    rules = Washing(allowed_hours=(NIGHT, noon))
    assert next_allowed(rules, clock(1, 6), [], MIDNIGHT) == clock(1, 12)
    assert next_allowed(rules, clock(1, 13), [], MIDNIGHT) == clock(1, 22)


def test_hours_that_never_open_give_no_time() -> None:
    whole = HoursOfDay(start=0.0, end=DAY)
    assert next_allowed(Washing(locked_hours=(whole,)), 0.0, [], MIDNIGHT) == math.inf


def test_least_interval_counts_from_the_last_start() -> None:
    rules = Washing(least_interval=8 * HOUR)
    starts = [clock(0, 9), clock(0, 20)]
    assert next_allowed(rules, clock(0, 21), starts, MIDNIGHT) == clock(1, 4)
    assert next_allowed(rules, clock(1, 4), starts, MIDNIGHT) == clock(1, 4)
    assert next_allowed(rules, clock(1, 5), starts, MIDNIGHT) == clock(1, 5)


def test_least_interval_that_ends_in_closed_hours_waits_on() -> None:
    rules = Washing(least_interval=8 * HOUR, allowed_hours=(NIGHT,))
    assert next_allowed(rules, clock(1, 2), [clock(0, 23)], MIDNIGHT) == clock(1, 22)


def test_most_a_day_ends_at_midnight() -> None:
    rules = Washing(most_a_day=2)
    assert next_allowed(rules, clock(1, 12), [clock(0, 23), clock(1, 1)], MIDNIGHT) == clock(1, 12)
    assert next_allowed(rules, clock(1, 12), [clock(1, 0), clock(1, 1)], MIDNIGHT) == clock(2, 0)
    # Midnight itself belongs to the day that it begins.
    assert next_allowed(rules, clock(2, 0), [clock(1, 0), clock(1, 1)], MIDNIGHT) == clock(2, 0)


def test_a_full_day_and_closed_hours_together() -> None:
    """One a day, allowed from 22 to 6: after a wash at 23:00 the next is due at midnight, the same night."""
    rules = Washing(most_a_day=1, allowed_hours=(NIGHT,))
    assert next_allowed(rules, clock(0, 23.5), [clock(0, 23)], MIDNIGHT) == clock(1, 0)
    # After one at 1:00 of day 1 the rest of the day is full, the hours of its evening too.
    assert next_allowed(rules, clock(1, 7), [clock(1, 1)], MIDNIGHT) == clock(2, 0)
    noon = Washing(most_a_day=1, allowed_hours=(HoursOfDay(start=12 * HOUR, end=13 * HOUR),))
    assert next_allowed(noon, clock(1, 12.5), [clock(1, 12)], MIDNIGHT) == clock(2, 12)


def test_a_hair_of_rounding_is_no_step_over_a_boundary() -> None:
    """A midnight with microseconds: 22:00 of day 3650 is 22:00, though its sum in binary is a little off."""
    midnight = -(8 * HOUR + 0.123457)
    at_ten = midnight + 22 * HOUR + 3650 * DAY
    assert next_allowed(Washing(allowed_hours=(NIGHT,)), math.nextafter(at_ten, 0.0), [], midnight) < at_ten + 1e-6
    assert day_of(math.nextafter(midnight + 3650 * DAY, 0.0), midnight) == 3650


spans = st.tuples(st.integers(0, 1439), st.integers(1, 1439)).map(
    lambda pair: HoursOfDay(start=pair[0] * 60.0, end=(pair[0] + pair[1]) % 1440 * 60.0)
)


@given(
    allowed=st.lists(spans, max_size=3),
    locked=st.lists(spans, max_size=3),
    wish=st.integers(0, 20 * 1440).map(lambda minutes: minutes * 60.0),
    starts=st.lists(st.integers(-3 * 1440, 0).map(lambda minutes: minutes * 60.0), max_size=4).map(sorted),
    most=st.none() | st.integers(1, 2),
    interval=st.integers(0, 3000).map(lambda minutes: minutes * 60.0),
)
def test_it_is_the_first_minute_that_every_rule_allows(
    allowed: list[HoursOfDay],
    locked: list[HoursOfDay],
    wish: float,
    starts: list[float],
    most: int | None,
    interval: float,
) -> None:
    """Against a search minute by minute: all times here are whole minutes."""
    rules = Washing(
        allowed_hours=tuple(allowed), locked_hours=tuple(locked), most_a_day=most, least_interval=interval
    )

    whole = set(range(1440))
    is_open = set.union(*map(minutes_of, allowed)) if allowed else whole
    is_open = is_open - set().union(*map(minutes_of, locked))

    def allows(time: float) -> bool:
        minute = round((time - MIDNIGHT) / 60.0)
        today = sum((round((start - MIDNIGHT) / 60.0)) // 1440 == minute // 1440 for start in starts)
        in_time = not starts or time >= starts[-1] + interval
        return in_time and (most is None or today < most) and minute % 1440 in is_open

    found = next_allowed(rules, wish, starts, MIDNIGHT)
    searched = (wish + minute * 60.0 for minute in range(6 * 1440))
    assert found == next((time for time in searched if allows(time)), math.inf)


def minutes_of(span: HoursOfDay) -> set[int]:
    """The minutes of the day in a span, its start included, its end not."""
    start, end = round(span.start / 60), round(span.end / 60)
    return {each % 1440 for each in range(start, end if end > start else end + 1440)}


def test_no_rules_hold_nothing_up() -> None:
    assert next_allowed(Washing(), 12.5, [1.0, 12.4], MIDNIGHT) == 12.5
    assert Washing().hour_is_open(0.0)


def test_lines_of_steps() -> None:
    assert lines_of("backwash", "header") == ("supply", "drain")
    assert lines_of("backwash", "through earlier stages") == ("raw", "drain")
    assert lines_of("rinse", "header") == lines_of("rinse", "through earlier stages") == ("raw", "drain")
    assert lines_of("settle", "header") == ()


def test_a_wash_is_repeated_while_it_left_too_much_and_may() -> None:
    rule = RepeatWash(clean_within=2000.0, most=2)
    assert washes_again(rule, 2000.1, 0)
    assert washes_again(rule, 2000.1, 1)
    assert not washes_again(rule, 2000.1, 2)
    assert not washes_again(rule, 2000.0, 0)
    assert not washes_again(None, 1e9, 0)


def test_a_wash_answers_the_moments_since_the_one_before() -> None:
    aborts = [
        Abort(stage="sand", at=100.0, after=180.0),
        Abort(stage="sand", at=200.0, after=60.0),
        Abort(stage="carbon", at=150.0, after=5.0),
    ]
    assert broken_off_at(aborts, "sand", 99.0, -math.inf) == math.inf
    assert broken_off_at(aborts, "sand", 100.0, 99.0) == 280.0
    assert broken_off_at(aborts, "sand", 150.0, 100.0) == math.inf  # that moment was answered
    assert broken_off_at(aborts, "sand", 250.0, 99.0) == 310.0  # two moments: the shorter counts
    assert broken_off_at(aborts, "carbon", 250.0, -math.inf) == 255.0
