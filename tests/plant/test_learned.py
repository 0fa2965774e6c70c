"""Exact: a reserve learned from days on record, by hand."""

from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.case.trigger.records import VolumeLearned
from sim.plant.learned import learned_reserve, volumes_of, wash_is_due


def trigger(
    quantile: float, days: int, by: Literal["weekday", "trailing"] = "trailing", volume: float = 200.0
) -> VolumeLearned:
    return VolumeLearned(volume=volume, reserve=33.0, quantile=quantile, days=days, by=by, at=10_800.0)


def test_volumes_are_what_the_meter_moved_between_two_readings() -> None:
    assert volumes_of([100.0, 140.0, 140.0, 215.5]) == [40.0, 0.0, 75.5]
    assert volumes_of([100.0]) == []


def test_until_the_record_is_long_enough_the_reserve_given_counts() -> None:
    assert learned_reserve(trigger(0.9, 5), [50.0, 50.0, 50.0, 50.0]) == 33.0
    assert learned_reserve(trigger(0.9, 5), [50.0, 50.0, 50.0, 50.0, 50.0]) == 50.0


@pytest.mark.parametrize(
    ("quantile", "reserve"),
    [(0.01, 10.0), (0.2, 10.0), (0.21, 20.0), (0.5, 30.0), (0.8, 40.0), (0.9, 50.0), (1.0, 50.0)],
)
def test_of_five_days_each_is_a_fifth(quantile: float, reserve: float) -> None:
    """10, 20, 30, 40, 50: the least that at least a share q of them did not exceed is number ceil(5 q)."""
    assert learned_reserve(trigger(quantile, 5), [40.0, 10.0, 50.0, 20.0, 30.0]) == reserve


def test_only_the_latest_days_count() -> None:
    assert learned_reserve(trigger(1.0, 3), [900.0, 10.0, 20.0, 30.0]) == 30.0


def test_by_weekday_the_day_that_begins_looks_back_in_weeks() -> None:
    """Three weeks of 1, 2, ... 21 m3. The day that begins is of the weekday of days 15, 8 and 1, the latest first."""
    volumes = [float(day) for day in range(1, 22)]
    assert learned_reserve(trigger(1.0, 21, "weekday"), volumes) == 15.0
    assert learned_reserve(trigger(0.6, 21, "weekday"), volumes) == 8.0
    assert learned_reserve(trigger(0.3, 21, "weekday"), volumes) == 1.0
    # A day on, the record ends with a day of 99 m3; what counts are days 16, 9 and 2.
    assert learned_reserve(trigger(1.0, 21, "weekday"), [*volumes, 99.0]) == 16.0


def test_quiet_sundays_ask_for_less() -> None:
    """Eight weeks of 60 m3 a day and 5 on Sundays: before a Sunday 5 are kept back, before any other day 60."""
    weeks = [60.0] * 6 + [5.0]
    learned = trigger(0.9, 56, "weekday")
    assert learned_reserve(learned, [*weeks * 9][:-1]) == 5.0  # the record ends on a Saturday
    assert learned_reserve(learned, [*weeks * 9]) == 60.0
    assert learned_reserve(trigger(0.9, 56), [*weeks * 9][:-1]) == 60.0


def test_a_wash_is_due_when_no_more_than_the_reserve_is_left() -> None:
    learned = trigger(0.9, 5)
    assert not wash_is_due(learned, 149.9, 50.0)
    assert wash_is_due(learned, 150.0, 50.0)
    assert wash_is_due(learned, 200.0, 0.0)
    assert not wash_is_due(learned, 199.9, 0.0)


def test_a_clean_filter_is_not_washed_again_whatever_the_reserve() -> None:
    assert not wash_is_due(trigger(0.9, 5), 0.0, 500.0)
    assert wash_is_due(trigger(0.9, 5), 0.1, 500.0)


@given(st.lists(st.floats(0.0, 1e6), min_size=1, max_size=60), st.floats(0.01, 1.0))
def test_it_covers_the_share_asked_for_and_is_one_of_the_days(volumes: list[float], quantile: float) -> None:
    reserve = learned_reserve(trigger(quantile, len(volumes)), volumes)
    covered = sum(volume <= reserve for volume in volumes) / len(volumes)
    below = sum(volume < reserve for volume in volumes) / len(volumes)
    assert reserve in volumes
    assert covered >= quantile - 1e-9
    assert below < quantile + 1e-9
