"""Logs of washes from the product against the twin's schedule: the same washes, for the same reasons, at the same
time. A few dozen trains by default, 300 with `-m long`; half of them with faults of clocks, meters and switches, and
with power cuts.
"""

from __future__ import annotations

import os
from datetime import datetime

import pytest
from hypothesis import HealthCheck, given, settings

from sim.plant.simulate import simulate
from tests.agreement.schedules import POLICY, case_of, marks_of, trains
from tests.twin.schedule import DAY, NEVER, Calendar, Clock, Contact, Fault, Filter, Meter, Step, Train, washes

WITHIN = 1e-5  # s: a meter that counts for days adds up its water with rounding
FEW = settings(max_examples=20, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
MANY = settings(FEW, max_examples=150, derandomize="CI" in os.environ)


def agree(train: Train) -> int:
    """Each wash and each return has its match; how many there are."""
    theirs = sorted(washes(train))
    ours = sorted(marks_of(train, simulate(case_of(train), POLICY)))
    for mine, other in zip(ours, theirs, strict=False):
        assert mine[1:] == other[1:]
        assert mine.time == pytest.approx(other.time, abs=WITHIN, rel=0.0)
    assert len(ours) == len(theirs)
    return len(ours)


def try_on(how_many: settings, *, faulty: bool) -> int:
    """How many washes and returns agree over all trains drawn."""
    seen: list[int] = []
    how_many(given(trains(faulty=faulty))(lambda train: seen.append(agree(train))))()
    return sum(seen)


@pytest.mark.parametrize("faulty", [False, True])
def test_a_few_schedules_agree(faulty: bool) -> None:
    assert try_on(FEW, faulty=faulty) > 300


@pytest.mark.long
@pytest.mark.parametrize("faulty", [False, True])
def test_many_schedules_agree(faulty: bool) -> None:
    assert try_on(MANY, faulty=faulty) > 2_000


def test_a_contact_closes_every_day_by_a_clock_set_three_days_ahead() -> None:
    """A wash at 01:00 of each of the eight days, the last of which that clock calls the eleventh."""
    contact = Filter("a", (Contact(((3600.0, 7200.0),), hold=0.0),), (Step("backwash", 600.0, 0.0),))
    ahead = Fault("clock", 1234.5, NEVER, "a", number=3 * DAY)
    train = Train(start=datetime(2027, 3, 1), length=8 * DAY, flow=5.0 / 3600.0, filters=(contact,), faults=(ahead,))
    assert agree(train) == 16


def test_a_clock_jumps_past_later_hours_of_a_day_that_is_due() -> None:
    """Due every 3 d, and set 36 h ahead 20 min into the fourth day: one wash for all hours that it jumps past, then
    at 00:00 of the eighth day by its face, 36 h early.
    """
    times = Calendar((0.0, 5400.0, 8100.0), every=3 * DAY)
    clocked = Filter("a", (times,), (Step("backwash", 600.0, 0.0),))
    ahead = Fault("clock", 3 * DAY + 1234.5, NEVER, "a", number=1.5 * DAY)
    train = Train(start=datetime(2027, 3, 1), length=6 * DAY, flow=5.0 / 3600.0, filters=(clocked,), faults=(ahead,))
    assert agree(train) == 10
    starts = [mark.time for mark in washes(train) if mark.cause == "calendar"]
    assert starts == [3 * DAY, 3 * DAY + 1234.5, 5.5 * DAY, 5.5 * DAY + 5400.0, 5.5 * DAY + 8100.0]


def test_a_clock_set_back_and_forth_at_once_shows_what_both_make() -> None:
    """Back 7 h and ahead 36 h in one moment of Monday: past 00:00 of Tuesday, and no hour of Tuesday was shown."""
    clocked = Filter("a", (Calendar((0.0,), weekdays=(1,)),), (Step("backwash", 600.0, 0.0),))
    jumps = tuple(Fault("clock", 1234.5, NEVER, "a", number=hours * 3600.0) for hours in (-7.0, 36.0))
    train = Train(start=datetime(2027, 3, 1), length=8 * DAY, flow=5.0 / 3600.0, filters=(clocked,), faults=jumps)
    assert agree(train) == 4
    assert [mark.time for mark in washes(train)][::2] == [1234.5, 8 * DAY - 29 * 3600.0]


def test_a_vessel_that_a_power_cut_sends_home_waits_for_no_line() -> None:
    """Three vessels share one drain every night at 00:00: at the cut the first waits to rinse while the second is
    backwashed, and both are sent home; the third begins. In the five nights after it each washes once more.
    """
    steps = (Step("backwash", 660.0, 0.005), Step("settle", 180.0, 0.0), Step("rinse", 540.0, 0.002))
    shared = Filter("a", (Calendar((0.0,), every=DAY),), steps, vessels=3)
    cut = Fault("cut", DAY + 900.0, DAY + 1000.0, home=True)
    train = Train(start=datetime(2027, 3, 1), length=6 * DAY + 7200.0, flow=5.0 / 3600.0, filters=(shared,),
                  together="share", faults=(cut,))  # fmt: skip
    assert agree(train) == 36
    assert [mark.time for mark in washes(train)][2:5] == [DAY + 1000.0] * 3


def test_a_longest_run_that_passes_in_the_hour_shown_twice_ends_at_its_first_hour() -> None:
    """After a wash by hand at 01:00 of the fifth day 33.5 h pass at 10:30 of the sixth.

    By its clock, an hour ahead, it was 11:00 at 10:00; at 10:24 that hour was taken back. At 10:30 it shows 10:30,
    and 11:00 will not count again.
    """
    longest = Filter("a", (Calendar((0.0,), weekdays=(6,)),), (Step("backwash", 600.0, 0.0),),
                     clock=Clock(follows_summer=True), longest_run=33.5 * 3600.0, longest_run_at=11 * 3600.0,
                     by_hand=(4 * DAY + 3600.0,))  # fmt: skip
    train = Train(start=datetime(2027, 3, 1), length=6 * DAY, flow=5.0 / 3600.0, filters=(longest,),
                  summer=((7200.0, 5 * DAY + 10.4 * 3600.0, 3600.0),))  # fmt: skip
    agree(train)
    starts = [(mark.time, mark.cause) for mark in washes(train) if mark.cause != "back"]
    assert starts[-2:] == [(4 * DAY + 3600.0, "by hand"), (5 * DAY + 10 * 3600.0, "longest run")]


def test_the_twin_by_hand() -> None:
    """A clock that gains 60 s a day shows 02:00 of the second day after 26 h / (1 + 60 / 86400).

    A meter shows 60 m3 of 5 m3/h after 12 h of flow; in its third run the other filter is closed for 10 min.
    """
    wash = (Step("backwash", 600.0, 0.0),)
    clocked = Filter("a", (Calendar((7200.0,), every=DAY),), wash, clock=Clock(drift=60.0))
    metered = Filter("b", (Meter(60.0),), wash)
    train = Train(start=datetime(2027, 3, 1), length=2 * DAY, flow=5.0 / 3600.0, filters=(clocked, metered))
    shown = 26 * 3600 / (1 + 60 / DAY)
    starts = [(mark.time, mark.filter, mark.cause) for mark in washes(train) if mark.cause != "back"]
    assert starts == [
        (43_200.0, "b", "volume"), (87_000.0, "b", "volume"), (pytest.approx(shown), "a", "calendar"),
        (131_400.0, "b", "volume"),
    ]  # fmt: skip
