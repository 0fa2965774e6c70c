"""A moment with something failed: what is said of a power cut, of a device, of hours that passed by."""

from dataclasses import replace
from pathlib import Path

import pytest

from sim.case.fault.records import What
from sim.case.load import read_case
from sim.case.records import Case
from sim.study.check import checked
from sim.study.compare import compare
from sim.study.explain import explain
from sim.study.single import run
from sim.tell.comparison.first_screen import screen_of_one
from sim.tell.review.finding_words import closing_words
from sim.tell.run.moment_words import paragraphs
from sim.tell.run.run_words import answer
from sim.tell.sentences import fault_words
from tests.test_walks import PLANT, STEPS

DAY, HOUR, MINUTE = 86_400.0, 3600.0, 60.0
FAULTS = """[[fault]]
what = "power cut"
from = 2027-03-03T22:43:00
until = 2027-03-04T01:43:00
valve = "{valve}"
[[fault]]
what = "clock wrong"
stage = "bed"
from = 2027-03-06T12:00:00
by = "-90 min"
[policy.calendar.bed]
start_on = "calendar"
every = "2 d"
at = 22:40:00
[policy.meter.bed]
start_on = "volume"
volume = "500 m3"
"""
SUPPLY = '[supply]\npressure = "4 bar"\nlimit = "40 m3/h"\noutlives_power_cut = {}\n'
IN_THE_CUT = 3 * DAY  # midnight, 77 min into it


def case_of(valve: str, outlives: str = "false") -> Case:
    text = PLANT.format(medium="sand", steps=STEPS).replace("[drain]", SUPPLY.format(outlives) + "[drain]")
    return read_case(text + FAULTS.format(valve=valve), Path("cut.toml"), {})


def told(case: Case, policy: str, time: float) -> str:
    return " ".join(sentence for each in paragraphs(explain(case, policy, time), "si") for sentence in each.sentences)


@pytest.mark.parametrize(("valve", "outlives", "says"), [
    ("frozen", "false", "The power cut holds its wash: the backwash goes on at"),
    ("frozen", "true", "its water flows on"),
    ("home", "true", "The power cut broke its wash off"),
])  # fmt: skip
def test_a_cut_in_a_wash_is_no_wash(valve: str, outlives: str, says: str) -> None:
    words = told(case_of(valve, outlives), "calendar", IN_THE_CUT)
    assert says in words
    assert "The power is cut until" in words
    assert "It is in its wash" not in words
    assert "It waits for" not in words


def test_a_cut_in_service_is_told_and_nothing_is_waited_for() -> None:
    words = told(case_of("frozen"), "meter", IN_THE_CUT)
    assert "no water goes through it" in words
    assert "wash: " not in words
    assert "It waits for" not in words


def test_an_hour_is_that_of_the_clock_as_it_shows_it() -> None:
    """Washed on day 4 at 22:40; put back by 90 min on day 5: the next comes at 00:10 of day 7."""
    case = case_of("home")
    before, after = (explain(case, "calendar", 5 * DAY + hour * HOUR).vessels[0] for hour in (11.0, 13.0))
    assert before.waits_for[0].at_s == pytest.approx(6 * DAY + 22 * HOUR + 40 * MINUTE)
    assert after.waits_for[0].at_s == pytest.approx(7 * DAY + 10 * MINUTE)
    assert after.next_s == pytest.approx(7 * DAY + 10 * MINUTE)
    assert "Failed here: clock wrong." in told(case, "calendar", 5 * DAY + 13 * HOUR)


def test_an_hour_that_passed_in_a_cut_is_not_waited_for() -> None:
    case = case_of("frozen")
    cut = replace(case.faults[0], start=2 * DAY + 22 * HOUR, end=3 * DAY + HOUR)
    vessel = explain(replace(case, faults=(cut,)), "calendar", 3 * DAY + 2 * HOUR).vessels[0]
    assert vessel.waits_for[0].at_s == vessel.next_s == pytest.approx(3 * DAY + 22 * HOUR + 40 * MINUTE)


def test_a_meter_is_told_by_what_it_shows() -> None:
    case = case_of("frozen")
    stuck = replace(case_of("home").faults[1], start=DAY, by=None, what=What.METER_STUCK)
    vessel = explain(replace(case, faults=(stuck,)), "meter", 2 * DAY).vessels[0]
    (volume, _) = vessel.waits_for
    assert volume.treated_m3 == pytest.approx(6.0 * 24)
    assert vessel.treated_m3 == pytest.approx(6.0 * 48)


def test_each_result_says_that_a_case_has_faults() -> None:
    case = case_of("frozen")
    told = "This case has 2 faults: power cut and clock wrong."
    assert fault_words(case) == (told,)
    assert fault_words(replace(case, faults=())) == ()
    assert told in answer(run(case, "meter"), "si")
    assert told in screen_of_one(compare(case), "si").foot
    assert told in closing_words(checked(case), (), "si")
