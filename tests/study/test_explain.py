"""A moment explained: what is told is what the log, the filter runs and the plant at that moment say."""

import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.case.records import Case
from sim.case.train.records import HoldUnit, HoursOfDay, Lines, Washing
from sim.case.trigger.records import AnyOf, VolumeLearned, VolumeReserve
from sim.plant.simulate import Plant, simulate
from sim.study.asked_moment import asked_moment
from sim.study.errors import RequestError
from sim.study.explain import Explained, explain
from sim.study.vessels import vessels
from sim.tell.run.moment_words import paragraphs, title
from tests.plant.builders import (
    BACKWASH,
    DAY,
    FILTER,
    HOUR,
    MINUTE,
    PRESSURE,
    RINSE,
    Volume,
    make_case,
    policy,
    steady,
    train,
)
from tests.plant.test_train import ALWAYS, DEMAND, below, calendar, case_of
from tests.plant.test_vessels import pair

ROOT = Path(__file__).parents[2]
THREE, WASH = 3 * HOUR, 16 * MINUTE


def told(explained: Explained, system: str = "si") -> dict[str, str]:
    """All sentences by name."""
    return {name: " ".join(sentences) for name, sentences in paragraphs(explained, system)}  # type: ignore[arg-type]


@cache
def queued(while_washing: str = "closed") -> Case:
    """Three stages washed at three on every second day, one after the other, above a unit that always runs."""
    hold = HoldUnit(end=0)
    stages = train("one", "two", "three", like=replace(FILTER, hold_unit=hold, while_washing=while_washing))
    return case_of(*stages, downstream=below(ALWAYS))


@pytest.mark.parametrize(
    ("text", "seconds"),
    [("2027-01-06T03:05", 2 * DAY + THREE + 300), ("2027-01-06 03:05:10", 2 * DAY + THREE + 310),
     ("day 1 00:00", 0.0), ("Day 3  3:05", 2 * DAY + THREE + 300), ("day 11 00:00", 10 * DAY)],
)  # fmt: skip
def test_a_moment_is_a_local_time_or_a_day_of_the_run(text: str, seconds: float) -> None:
    assert asked_moment(text, queued()) == seconds


def test_the_first_day_is_a_date_whatever_the_hour_of_the_start() -> None:
    case = queued()
    late = replace(case, run=replace(case.run, start=case.run.start.replace(hour=18)))
    assert asked_moment("day 2 01:00", late) == 7 * HOUR


@pytest.mark.parametrize(
    "text", ["", "soon", "day 12", "day 0 05:00", "day \uff11 05:00", "day 99 05:00", "2027-01-06",
             "2026-12-31T00:00", "day 2 25:00", "2027-01-06T03:05+01:00", "12d05:00"]
)  # fmt: skip
def test_what_is_no_moment_of_the_run_is_refused_with_what_is_allowed(text: str) -> None:
    with pytest.raises(RequestError, match=r"allowed: .*; try: [0-9T:-]+$"):
        asked_moment(text, queued())


@pytest.mark.parametrize("text", ["soon", "2026-12-31T00:00", "day 99 05:00"])
def test_what_is_to_be_tried_is_taken(text: str) -> None:
    with pytest.raises(RequestError) as caught:
        asked_moment(text, queued())
    offered = str(caught.value).rpartition("try: ")[2]
    assert 0.0 <= asked_moment(offered, queued()) <= queued().run.length


def test_who_waits_for_whom_and_how_long() -> None:
    """At 03:20 the first is back, the second is washed from 03:16, the third waits for both."""
    found = told(explain(queued(), "own", 2 * DAY + THREE + 20 * MINUTE))
    assert "It has been in service since 2027-01-06 03:16" in found["one"]
    assert "The calendar started it: every 2 d, due 2027-01-06 03:00." in found["one"]
    assert "It is in its wash: backwash until 2027-01-06 03:26." in found["two"]
    assert "This wash started at 2027-01-06 03:16" in found["two"]
    assert (
        "That wash had been due since 2027-01-06 03:00. It waited for its turn during the wash of one "
        "(2027-01-06 03:00 to 03:16)."
    ) in found["two"]
    assert (
        "A wash has been due since 2027-01-06 03:00 (calendar). It waits for its turn during the wash of one "
        "(2027-01-06 03:00 to 03:16) and two (2027-01-06 03:16 to 03:32)."
    ) in found["three"]
    assert "In this run its next wash starts at 2027-01-06 03:32: calendar." in found["three"]
    assert "It has not been washed yet." in found["three"]


def test_what_happens_at_the_moment_has_happened() -> None:
    """At 03:16 itself the first is back in service and the second in its wash."""
    found = told(explain(queued(), "own", 2 * DAY + THREE + WASH))
    assert "It has been in service since 2027-01-06 03:16" in found["one"]
    assert "This wash started at 2027-01-06 03:16" in found["two"]


def test_the_first_thing_ever_told_of_a_vessel_is_when_it_began() -> None:
    """Nothing is told before the first wash of the one whose turn it is at once."""
    first = explain(queued(), "own", 2 * DAY + THREE + MINUTE).vessels[0].past
    assert (first.since_s, first.start_s, first.last and first.last.due_s) == (2 * DAY + THREE,) * 3


def test_a_wash_that_ends_as_another_comes_due_is_not_waited_for() -> None:
    """The first is washed from 03:00 to 03:16, when the others come due: the third waits for the second alone."""
    hours = (3.0, *(3.0 + WASH / HOUR,) * 2)
    case = case_of(*train("one", "two", "three"), hours=hours)
    found = told(explain(case, "own", 2 * DAY + THREE + 20 * MINUTE))
    assert "due since 2027-01-06 03:16 (calendar)" in found["three"]
    assert "It waits for its turn during the wash of two (2027-01-06 03:16 to 03:32)." in found["three"]


def test_the_unit_is_held_starved_or_runs_and_raw_water_is_told() -> None:
    at = 2 * DAY + THREE
    closed, passing = queued(), queued("passes raw")
    held = told(explain(closed, "own", at + 5 * MINUTE))["unit and tank"]
    assert "The unit is held for the wash of one (studied here, not a safety function)." in held
    starved = told(explain(closed, "own", at + 12 * MINUTE))["unit and tank"]
    assert "it starves during the wash of one." in starved
    raw = told(explain(passing, "own", at + 12 * MINUTE))["unit and tank"]
    assert "The unit runs and takes 6 m3/h" in raw
    assert "Raw water bypasses one: it goes on" in raw
    quiet = told(explain(passing, "own", at - HOUR))["unit and tank"]
    assert "Raw water" not in quiet
    assert "The tank holds " in quiet


def test_an_idle_unit_says_until_what_level() -> None:
    """4.5 m3/h of product against 3: full at 15 m3 after 3 h 20 min."""
    case = case_of(FILTER, downstream=below())
    standing = told(explain(case, "own", 4 * HOUR))["unit and tank"]
    assert "The unit is idle until the tank comes down to 5 m3." in standing
    assert "until the tank comes to 15 m3" in told(explain(case, "own", 3 * HOUR))["unit and tank"]


def test_without_a_unit_the_service_is_told_and_a_quiet_filter_waits_for_its_calendar() -> None:
    found = told(explain(case_of(FILTER), "own", DAY))
    assert found["service"] == "3 m3/h go on to service."
    assert "It waits for 2027-01-06 03:00, its calendar's next hour." in found["filter"]
    assert "By the clock alone its next wash is due by 2027-01-06 03:00." in found["filter"]


def own(trigger: object, **given: object) -> Case:
    return make_case(**{"policies": (policy("own", trigger),), "demand": steady(DEMAND), "days": 12.0} | given)  # type: ignore[arg-type]


def test_a_meter_tells_set_volume_and_what_it_has_counted() -> None:
    """3 m3/h: 150 m3 after 50 h; a day later 72 m3 less the wash's 16 min."""
    case = own(Volume(volume=150.0, at=None, longest_run=6 * DAY))
    found = told(explain(case, "own", 50 * HOUR + WASH + DAY))["filter"]
    assert "Its last wash started at 2027-01-06 02:00. The meter started it: 150 m3 treated, set to 150 m3." in found
    assert "It waits for 150 m3 treated (72.0 m3 so far). It waits for 2027-01-12 02:00, " in found
    assert "2027-01-12 02:00, which ends its longest run of 6 d. Whichever comes first starts its wash." in found
    first = told(explain(own(Volume(volume=150.0, at=None)), "own", DAY))["filter"]
    assert "No hour is set: only the water decides." in first


def test_a_wash_by_the_longest_run_tells_which_and_when_it_was_due() -> None:
    """Two days and a half are over on the third day at 12:00; the last 03:00 before is that of the same day."""
    stage = replace(FILTER, longest_run=2.5 * DAY, longest_run_at=THREE)
    case = own(Volume(volume=1e6, at=None), stages=(stage,))
    found = told(explain(case, "own", 52 * HOUR))["filter"]
    assert "Its last wash started at 2027-01-06 03:00. The longest run of 60 h started it, due" in found
    assert "It waits for 2027-01-08 03:00, which ends its longest run of 60 h." in found


def test_a_booked_wash_tells_its_hour() -> None:
    """All but 60 of 150 m3 are treated after 30 h, on the second day at 06:00: booked for 03:00 on the third."""
    case = own(VolumeReserve(volume=150.0, reserve=60.0, at=THREE))
    before = told(explain(case, "own", 20 * HOUR))["filter"]
    before = before.replace("60 m3", "60.0 m3")
    assert "It waits for 90 m3 treated, which leaves the reserve (60.0 m3 so far)." in before
    booked = told(explain(case, "own", 31 * HOUR))["filter"]
    assert "It waits for 2027-01-06 03:00, the hour booked when the reserve was reached, or for 150 m3" in booked
    assert "By the clock alone its next wash is due by 2027-01-06 03:00." in booked


def test_a_learned_reserve_is_the_one_that_the_plant_used() -> None:
    """72 m3 every day, learned from three days; before that 40 m3 are kept."""
    trigger = VolumeLearned(
        volume=200.0, reserve=40.0, quantile=1.0, days=3, by="trailing", at=THREE
    )
    case = own(trigger)
    early = explain(case, "own", 2 * DAY).vessels[0].waits_for[0]
    assert early.reserve_m3 == 40.0
    late = explain(case, "own", 10 * DAY)
    assert late.vessels[0].waits_for[0].reserve_m3 == pytest.approx(72.0, abs=1.0)
    assert "the reserve learned, 7" in told(late)["filter"]


def test_a_pressure_wash_tells_set_point_against_figure_and_which_of_several_it_was() -> None:
    either = AnyOf(triggers=(PRESSURE, calendar(3.0, 30.0)))
    case = own(either, demand=steady(5.5 / 3600), days=12.0)
    start = simulate(case, "own").runs[0].end_s
    found = told(explain(case, "own", start + HOUR))["filter"]
    found = found.replace("14 kPa", "14.0 kPa")
    assert "The pressure drop started it: 14.0 kPa, set point 14.0 kPa, held for 3 min." in found
    assert "a pressure drop of 14" in found
    assert "its calendar's next hour" in found


def test_rules_of_the_site_put_a_wash_off_and_move_the_latest_hour() -> None:
    rules = Washing(locked_hours=(HoursOfDay(start=2 * HOUR, end=5 * HOUR),))
    case = case_of(FILTER, washing=rules)
    found = told(explain(case, "own", DAY))["filter"]
    assert "due by 2027-01-06 05:00." in found
    waiting = told(explain(case, "own", 2 * DAY + 4 * HOUR))["filter"]
    assert "has been due since 2027-01-06 03:00 (calendar). It waits for an hour that the site allows." in waiting
    after = told(explain(case, "own", 3 * DAY))["filter"]
    assert "started at 2027-01-06 05:00" in after
    assert "That wash had been due since 2027-01-06 03:00. It waited for an hour that the site allows." in after


def test_a_vessel_waits_in_service_for_the_line_of_its_first_step() -> None:
    rules = Washing(together="share", lines=Lines(supply=1, raw=1, drain=1))
    case = case_of(*train("one", "two"), washing=rules)
    found = told(explain(case, "own", 2 * DAY + THREE + 5 * MINUTE))
    assert "backwash until 2027-01-06 03:10" in found["one"]
    assert "It has been in service since 2027-01-04 00:00" in found["two"]
    assert (
        "A wash has been due since 2027-01-06 03:00 (calendar). It waits for the supply line during the wash of one "
        "(2027-01-06 03:00 to 03:16)." in found["two"]
    )  # fmt: skip
    later = told(explain(case, "own", 2 * DAY + THREE + 20 * MINUTE))
    assert "03:00. It waited for the supply line and drain line during the wash of one" in later["two"]


def test_a_vessel_off_line_waits_for_a_line() -> None:
    """Both are backwashed at once; the one raw line lets one after the other rinse."""
    rules = Washing(together="share", lines=Lines(supply=2, raw=1, drain=2))
    case = case_of(*train("one", "two", like=replace(FILTER, steps=(BACKWASH, RINSE))), washing=rules)
    found = told(explain(case, "own", 2 * DAY + THREE + 12 * MINUTE))
    assert "rinse until 2027-01-06 03:16" in found["one"]
    assert "It is out of service and waits for the raw line, which another vessel uses." in found["two"]


def test_a_vessel_on_standby_says_so() -> None:
    stage = pair(arrangement="duty standby")
    case = make_case(
        stages=(stage,), policies=(policy("own", Volume(volume=250.0, at=None), stages=(stage,)),),
        demand=steady(DEMAND), days=6.0,
    )  # fmt: skip
    found = told(explain(case, "own", DAY))
    assert "It has been in service since" in found["filter 1"]
    assert "It has been on standby, washed, since" in found["filter 2"]


def test_vessels_have_the_names_of_the_line() -> None:
    for path in ("boiler_house", "parts_hall"):
        case = load_case(ROOT / "cases" / f"{path}.toml")
        line = Plant(case, case.policies[0].name).look()
        assert tuple(each.name for each in vessels(case)) == line.names


def test_explaining_changes_nothing_and_is_plain_data() -> None:
    case = queued()
    before = simulate(case, "own")
    found = explain(case, "own", 2 * DAY + THREE + 20 * MINUTE)
    assert found.result == before
    data = json.loads(json.dumps(found.to_json(), allow_nan=False))
    assert data["time"] == "2027-01-06T03:20:00"
    assert [each["name"] for each in data["vessels"]] == ["one", "two", "three"]
    assert data["vessels"][1]["doing"]["phase"] == "backwash"
    assert data["vessels"][2]["past"]["waiting"]["behind"][0]["who"] == "one"
    assert title(found) == "2027-01-06 03:20, day 3 of the run, with “own”"


def test_us_units_are_the_same_amounts() -> None:
    """6 m3/h are 26.4 gpm of 231 cubic inches; 14 kPa are 2.03 psi."""
    found = told(explain(queued("passes raw"), "own", DAY), "us")
    assert "The unit runs and takes 26.4 gpm" in found["unit and tank"]
